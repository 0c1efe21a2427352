package recordstest

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tallybook/records"
	"tallybook/records/cql2"
)

// ConformFilters holds what a store chooses by filters against cases worked by
// hand, and against Chosen for filters drawn at random over records that lie
// close together.
func ConformFilters(t *testing.T, open Opener) {
	t.Run("worked", func(t *testing.T) { filtersWorked(t, open(t)) })
	t.Run("in time", func(t *testing.T) { filtersInTime(t, open(t)) })
	s := open(t)
	write(t, s, func(ctx context.Context, tx records.StoreTx) error { return fillForFilters(ctx, tx) })
	for _, name := range []string{records.FeaturesWells, records.FeaturesForecasts, records.FeaturesPlates} {
		t.Run(name, func(t *testing.T) {
			c, err := records.FeatureCollectionNamed(name)
			if err != nil {
				t.Fatal(err)
			}
			all := kept(t, s, records.FeatureQuery{Collection: name})
			held := heldBy(t, c, all)
			chosen, filters := 0, 0
			rapid.Check(t, func(t *rapid.T) {
				x := drawFilter(t, c, held)
				text := cql2.Print(x)
				fields := cql2.FieldsOf(c)
				x, err := cql2.Read(text, fields, cql2.CRS{})
				if err != nil {
					t.Fatalf("%s: %v", text, err)
				}
				var want, got []string
				for _, f := range all {
					if Chosen(x, c, f) {
						want = append(want, f.ID)
					}
				}
				err = s.View(context.Background(), func(v records.StoreView) error {
					return v.EachFeature(context.Background(), records.FeatureQuery{Collection: name, Where: cql2.Condition(x, fields)}, func(f *records.Feature) error {
						got = append(got, f.ID)
						return nil
					})
				})
				if err != nil {
					t.Fatalf("%s: %v", text, err)
				}
				if !slices.Equal(got, want) {
					t.Fatalf("%s:\n%s", text, cmp.Diff(want, got))
				}
				filters++
				if len(want) > 0 && len(want) < len(all) {
					chosen++
				}
			})
			// Filters that choose all or nothing show little.
			if filters >= 100 && chosen*10 < filters {
				t.Errorf("only %d of %d filters chose some of %d", chosen, filters, len(all))
			}
		})
	}
}

// kept are features that outlast the reading.
func kept(t *testing.T, s records.Store, q records.FeatureQuery) (out []*records.Feature) {
	t.Helper()
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		return v.EachFeature(ctx, q, func(f *records.Feature) error {
			one := *f
			one.Values = slices.Clone(f.Values)
			out = append(out, &one)
			return nil
		})
	})
	return out
}

var (
	filterTexts = []string{"", "A-1", "a-1", "Bluff", "bluff", "Blüff", "BLÜFF", "Straße", "STRASSE", "100%", "100", "it's", `a\b`, "Οδος", "_"}
	filterDates = []records.Date{{}, {Year: 2004}, {Year: 2004, Month: 2}, {Year: 2004, Month: 2, Day: 29}, {Year: 2004, Month: 6, Day: 15}, {Year: 2004, Month: 6, Day: 16}, {Year: 2005, Month: 1, Day: 1}}
	filterTimes = []string{"2004-02-29T00:00:00Z", "2004-02-29T12:00:00.5Z", "2004-06-15T23:59:59.999999Z"}
)

// fillForFilters writes wells on a grid of few places and values, and plates
// and forecasts.
func fillForFilters(ctx context.Context, tx records.StoreTx) error {
	for i := range 60 {
		w := &records.Well{Number: filterTexts[i%len(filterTexts)], Rock: filterTexts[i*7%len(filterTexts)], Completed: filterDates[i%len(filterDates)]}
		if i%9 != 0 {
			w.Place = records.Place{Located: true, Lon: float64(i%5 - 2), Lat: float64(i/5%5 - 2)}
		}
		if i%10 == 1 {
			w.Place = records.Place{Located: true, Lon: float64(179 - i%4), Lat: 1}
		}
		if i%4 > 0 {
			w.Yield = records.Of(records.Flow(i % 4))
		}
		if i%3 > 0 {
			w.TotalDepth = records.Of(records.Depth(float64(i%7) - 0.5))
		}
		if err := tx.PutWell(ctx, w, ""); err != nil {
			return err
		}
		if i%4 != 0 {
			continue
		}
		p := &records.Plate{Number: fmt.Sprint(i), Since: filterDates[i/4%len(filterDates)]}
		if i%8 == 0 {
			p.WellID, p.LinkedAt, p.LinkedBy = w.ID, tx.Now(), "Invented Person"
		}
		f := &records.Forecast{Lon: float64(i%5 - 2), Lat: float64(i/5%5 - 2), DataCommit: int64(i),
			Expected: []records.ForecastQuantity{{Name: "yield", Unit: "L/s", Distribution: json.RawMessage(`{}`)}}}
		if err := errors.Join(tx.PutPlate(ctx, p, ""), tx.KeepForecast(ctx, f)); err != nil {
			return err
		}
		if i%8 == 0 {
			if err := tx.DecideForecast(ctx, f.ID, &records.ForecastDecision{Withdrawn: true, Why: "tried"}); err != nil {
				return err
			}
		}
	}
	filterTimes = append(filterTimes, tx.Now().UTC().Format("2006-01-02T15:04:05.000000Z"))
	return nil
}
