package recordstest

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
)

// ConformFeatures holds a store against what is asked of it for flat features.
func ConformFeatures(t *testing.T, open Opener) {
	t.Run("read flat", func(t *testing.T) { featuresRead(t, open(t)) })
	t.Run("conditions", func(t *testing.T) { featuresPicked(t, open(t)) })
	t.Run("pages and counts", func(t *testing.T) { featuresPaged(t, open(t)) })
	t.Run("plates and forecasts", func(t *testing.T) { featuresOther(t, open(t)) })
}

// flat is a feature's values by name, those alone that are there.
func flat(t *testing.T, f *records.Feature, collection string) map[string]any {
	t.Helper()
	c, err := records.FeatureCollectionNamed(collection)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]any{"id": f.ID}
	for i, v := range f.Values {
		if v != nil {
			out[c.Fields[i].Name] = v
		}
	}
	if f.Located {
		out["at"] = fmt.Sprintf("%g %g", f.Lon, f.Lat)
	}
	return out
}

func flats(t *testing.T, s records.Store, q records.FeatureQuery) (out []map[string]any) {
	t.Helper()
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		return v.EachFeature(ctx, q, func(f *records.Feature) error {
			out = append(out, flat(t, f, q.Collection))
			return nil
		})
	})
	return out
}

func featuresRead(t *testing.T, s records.Store) {
	w := Plain()
	w.Bedrock = records.Within[records.Depth](10, 14)
	w.Yield = records.Under(records.Flow(0.1))
	w.Owner.Name, w.Owner.Telephone, w.Place.Address = "Invented Person", "000", "Invented Road 1"
	w.Unreliable = []records.Doubt{{About: records.DoubtYield, Reason: "read off a bucket"}, {About: records.DoubtStrata, Reason: "from memory"}, {About: records.DoubtStrata, Reason: "twice"}}
	w.OwnPicks = []records.OwnPick{{Set: "first", Of: records.PickBedrock, Depth: records.Of[records.Depth](9)}, {Set: "second", Of: records.PickBedrock, Depth: Feet[records.Depth]("41"), By: "Invented Person"},
		{Set: "third", Of: records.PickStrike, Depth: records.Of[records.Depth](30)}}
	bare := &records.Well{UID: "0190a1b2-c3d4-7e5f-8a6b-0000000000aa"}
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		return errors.Join(tx.PutWell(ctx, w, ""), tx.PutWell(ctx, bare, ""))
	})
	wells := flats(t, s, records.FeatureQuery{Collection: records.FeaturesWells})
	want := []map[string]any{{
		"id": w.UID, "uid": w.UID, "number": "T-1", "status": "in_use", "purpose": "domestic", "completed": "2004-06-15",
		"total_depth_m": 203 * 0.3048, "total_depth_qualifier": "exact", "total_depth_as_written": "203 ft",
		"depth_to_bedrock_m": 10.0, "depth_to_bedrock_high_m": 14.0, "depth_to_bedrock_qualifier": "between",
		"yield_lps": 0.1, "yield_qualifier": "less_than",
		"static_level_m": 18 * 0.3048, "static_level_qualifier": "exact", "static_level_as_written": "18 ft",
		"casing_depth_m": 51 * 0.3048, "accuracy_m": 5.0, "located_by": "gps", "at": "-72.5 44.25",
		"marked_unreliable": "strata, yield", "own_picks": int64(3), "own_bedrock_set": "second",
		"own_bedrock_m": 41 * 0.3048, "own_bedrock_qualifier": "exact", "own_bedrock_as_written": "41 ft",
	}, {"id": bare.UID, "uid": bare.UID, "own_picks": int64(0)}}
	if diff := cmp.Diff(want, wells); diff != "" {
		t.Errorf("wells:\n%s", diff)
	}
	strata := flats(t, s, records.FeatureQuery{Collection: records.FeaturesStrata})
	if len(strata) != len(w.Strata) {
		t.Fatalf("%d strata, want %d", len(strata), len(w.Strata))
	}
	second := map[string]any{"id": w.UID + ".2", "well_uid": w.UID, "well_number": "T-1", "completed": "2004-06-15", "position": int64(2),
		"top_m": 4 * 0.3048, "top_qualifier": "exact", "bottom_m": 22 * 0.3048, "bottom_qualifier": "exact",
		"description": "brown sandy clay w/ cobbles", "at": "-72.5 44.25", "marked_unreliable": "strata, yield"}
	got := strata[1]
	if got["material"] == nil || got["class"] == nil {
		t.Errorf("a stratum without material or class: %v", got)
	}
	delete(got, "material") // as the store's reader reads it
	delete(got, "class")
	if diff := cmp.Diff(second, got); diff != "" {
		t.Errorf("the second stratum:\n%s", diff)
	}
	strikes := flats(t, s, records.FeatureQuery{Collection: records.FeaturesStrikes})
	if len(strikes) != 2 {
		t.Fatalf("%d strikes, want 2", len(strikes))
	}
	if diff := cmp.Diff(map[string]any{"id": w.UID + ".1", "well_uid": w.UID, "well_number": "T-1", "completed": "2004-06-15", "position": int64(1), "flow_is": "gain",
		"depth_m": 97 * 0.3048, "depth_qualifier": "exact", "depth_as_written": "97 ft",
		"flow_lps": strikes[0]["flow_lps"], "flow_qualifier": "exact", "flow_as_written": "2 gpm", "at": "-72.5 44.25",
		"marked_unreliable": "strata, yield"}, strikes[0]); diff != "" {
		t.Errorf("the first strike:\n%s", diff)
	}
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		for collection, id := range map[string]string{records.FeaturesWells: w.UID, records.FeaturesStrata: w.UID + ".6", records.FeaturesStrikes: w.UID + ".2"} {
			f, err := v.Feature(ctx, collection, id)
			if err != nil || f.ID != id {
				t.Errorf("%s %s: %v, %v", collection, id, f, err)
			}
		}
		for _, not := range [][2]string{{records.FeaturesWells, "x"}, {records.FeaturesStrata, w.UID}, {records.FeaturesStrata, w.UID + ".7"},
			{records.FeaturesStrata, w.UID + ".01"}, {records.FeaturesStrikes, w.UID + ".0"}, {"nothing", w.UID}} {
			if _, err := v.Feature(ctx, not[0], not[1]); records.CodeOf(err) != records.NotFound || err == nil {
				t.Errorf("%v: %v, want not found", not, err)
			}
		}
		if err := v.EachFeature(ctx, records.FeatureQuery{Collection: records.FeaturesWells, Where: records.CondMissing{Of: records.ExprField("owner_name")}}, nil); records.CodeOf(err) != records.Invalid {
			t.Errorf("a field that is not there: %v", err)
		}
		return nil
	})
	for _, one := range append(append(wells, strata...), strikes...) {
		text, err := json.Marshal(one)
		if err != nil || strings.Contains(string(text), "Invented") || strings.Contains(string(text), "000\"") {
			t.Errorf("private things in %s (%v)", text, err)
		}
	}
}

// pickedWells are wells that conditions tell apart, by number.
func pickedWells() []*records.Well {
	at := func(number string, lon, lat float64, completed records.Date, yield records.Amount[records.Flow]) *records.Well {
		return &records.Well{Number: number, Completed: completed, Yield: yield, Place: records.Place{Located: true, Lon: lon, Lat: lat}}
	}
	return []*records.Well{
		at("A", -72, 44, records.Date{Year: 2004}, records.Of(records.Flow(0))),
		at("b", -72, 45, records.Date{Year: 2004, Month: 6}, records.Of(records.Flow(0.5))),
		at("C é", 179.5, -10, records.Date{Year: 2004, Month: 6, Day: 15}, records.Of(records.Flow(1))),
		at("D%x", -179.5, -10, records.Date{Year: 2005, Month: 1, Day: 1}, records.Amount[records.Flow]{}),
		{Number: "E"},
	}
}

func featuresPicked(t *testing.T, s records.Store) {
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		for _, w := range pickedWells() {
			if err := tx.PutWell(ctx, w, ""); err != nil {
				return err
			}
		}
		return nil
	})
	number, yield := records.ExprField("number"), records.ExprField("yield_lps")
	value := func(v any) records.Expression { return records.ExprValue{Value: v} }
	compare := func(l records.Expression, op string, r records.Expression) records.Condition {
		return records.CondCompare{Op: op, Left: l, Right: r}
	}
	when := func(from, to string) records.Condition {
		return records.CondTime{Field: "completed", From: from, To: to}
	}
	east := records.CondShape{Box: records.Bounds{West: 0, South: -90, East: 180, North: 90}, Has: func(lon, lat float64) bool { return lon > 0 }}
	for _, c := range []struct {
		name  string
		where records.Condition
		want  string
	}{
		{"all", nil, "A b C é D%x E"},
		{"equal", compare(number, "=", value("b")), "b"},
		{"a capital is another letter", compare(number, "=", value("B")), ""},
		{"unequal leaves out what is missing", compare(yield, "<>", value(0.5)), "A C é"},
		{"a measured zero is there", compare(yield, "=", value(0.0)), "A"},
		{"at least", compare(yield, ">=", value(0.5)), "b C é"},
		{"not of unknown is unknown", records.CondNot{Of: compare(yield, ">=", value(0.5))}, "A"},
		{"missing", records.CondMissing{Of: yield}, "D%x E"},
		{"not missing", records.CondNot{Of: records.CondMissing{Of: yield}}, "A b C é"},
		{"unknown or true", records.CondAny{compare(yield, ">", value(9.0)), compare(number, "=", value("E"))}, "E"},
		{"all of none", records.CondAll{}, "A b C é D%x E"},
		{"any of none", records.CondAny{}, ""},
		{"one of", records.CondIn{Of: number, List: []records.Expression{value("A"), value("E"), value("x")}}, "A E"},
		{"like", records.CondLike{Of: number, Pattern: value("_ %")}, "C é"},
		{"like a sign", records.CondLike{Of: number, Pattern: value(`D\%%`)}, "D%x"},
		{"folded", compare(records.ExprFold{Of: number, Case: true, Accents: true}, "=", value("c e")), "C é"},
		{"sum", compare(records.ExprSum{Op: '/', Left: yield, Right: value(int64(2))}, "=", value(0.25)), "b"},
		{"nothing in a value is run", compare(number, "=", value("' OR 1=1 --")), ""},
		{"box with its border", records.CondBox{Box: records.Bounds{West: -72, South: 44, East: -72, North: 45}}, "A b"},
		{"box over the antimeridian", records.CondBox{Box: records.Bounds{West: 179, South: -20, East: -179, North: 0}}, "C é D%x"},
		{"not in the box leaves out what has no place", records.CondNot{Of: records.CondBox{Box: records.Bounds{West: -180, South: 0, East: 180, North: 90}}}, "C é D%x"},
		{"shape", east, "C é"},
		{"shape or name", records.CondAny{east, compare(number, "=", value("A"))}, "A C é"},
		{"a day in June meets the month and the year", when("2004-06-20", "2004-06-20"), "A b"},
		{"from the year on", when("2004", ""), "A b C é D%x"},
		{"after its middle", when("2004-06-16", ""), "A b D%x"},
		{"up to a day", when("", "2004-06-14"), "A b"},
		{"up to a month", when("", "2004-06"), "A b C é"},
		{"up to the year before", when("", "2003"), ""},
		{"any time", when("", ""), "A b C é D%x"},
		{"not in a time leaves out what has none", records.CondNot{Of: when("2005", "")}, "A b C é"},
		{"a time of day is its day", when("2004-06-15T23:59:59Z", "2004-06-15T23:59:59Z"), "A b C é"},
	} {
		var got []string
		look(t, s, func(ctx context.Context, v records.StoreView) error {
			n, counted, err := v.CountFeatures(ctx, records.FeaturesWells, c.where)
			if err != nil {
				return err
			}
			err = v.EachFeature(ctx, records.FeatureQuery{Collection: records.FeaturesWells, Where: c.where}, func(f *records.Feature) error {
				got = append(got, f.Values[1].(string))
				return nil
			})
			if !counted || n != int64(len(got)) {
				t.Errorf("%s: counted %d (%v), there are %d", c.name, n, counted, len(got))
			}
			return err
		})
		if strings.Join(got, " ") != c.want {
			t.Errorf("%s: got %q, want %q", c.name, strings.Join(got, " "), c.want)
		}
	}
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		x, err := v.FeatureExtent(ctx, records.FeaturesWells)
		if want := (records.FeatureExtent{Located: true, Box: records.Bounds{West: -179.5, South: -10, East: 179.5, North: 45}, From: "2004", To: "2005-01-01"}); !cmp.Equal(x, want) {
			t.Errorf("extent %+v, want %+v", x, want)
		}
		return err
	})
}

func featuresPaged(t *testing.T, s records.Store) {
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		for i := range 7 {
			w := Plain()
			w.UID, w.Number = "", fmt.Sprint("N", i)
			w.Place.Lon += float64(i)
			if i == 3 {
				w.Strata, w.Strikes = nil, nil
			}
			if err := tx.PutWell(ctx, w, ""); err != nil {
				return err
			}
		}
		return nil
	})
	for collection, total := range map[string]int{records.FeaturesWells: 7, records.FeaturesStrata: 36, records.FeaturesStrikes: 12} {
		for _, where := range []records.Condition{nil, records.CondBox{Box: records.Bounds{West: -73, South: 40, East: -60, North: 50}}} {
			whole := ids(t, s, records.FeatureQuery{Collection: collection, Where: where})
			turned := ids(t, s, records.FeatureQuery{Collection: collection, Where: where, Backwards: true})
			slices.Reverse(turned)
			if !slices.Equal(turned, whole) {
				t.Errorf("%s backwards: %v, want %v turned round", collection, turned, whole)
			}
			if len(whole) != total {
				t.Errorf("%s: %d, want %d", collection, len(whole), total)
			}
			for limit := 1; limit < 18; limit++ {
				var paged []string
				q := records.FeatureQuery{Collection: collection, Where: where, Limit: (limit + 1) / 2, Backwards: limit%2 == 0}
				for {
					page := 0
					look(t, s, func(ctx context.Context, v records.StoreView) error {
						return v.EachFeature(ctx, q, func(f *records.Feature) error {
							page++
							q.After = f.Key
							paged = append(paged, f.ID)
							return nil
						})
					})
					if page > q.Limit {
						t.Fatalf("%s: a page of %d has %d", collection, q.Limit, page)
					}
					if page < q.Limit {
						break
					}
				}
				if q.Backwards {
					slices.Reverse(paged)
				}
				if !slices.Equal(paged, whole) {
					t.Errorf("%s by %d: %d features, in one go %d", collection, limit, len(paged), len(whole))
				}
			}
		}
	}
}

func ids(t *testing.T, s records.Store, q records.FeatureQuery) (out []string) {
	t.Helper()
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		return v.EachFeature(ctx, q, func(f *records.Feature) error {
			out = append(out, f.ID)
			return nil
		})
	})
	return out
}

func featuresOther(t *testing.T, s records.Store) {
	w := Plain()
	linked := &records.Plate{Number: "100", Stamped: records.Stamped{Depth: Feet[records.Depth]("203"), Date: records.Date{Year: 2004}}}
	loose := &records.Plate{Number: "1?0", Seen: []records.PlateSighting{{Located: true, Lon: 1, Lat: 2, By: "Invented Person"}, {Note: "seen again"}}}
	lost := &records.Plate{Number: "300"}
	f := &records.Forecast{Lon: -72, Lat: 44, Label: "Invented Person's land", DataCommit: 1,
		Expected: []records.ForecastQuantity{{Name: "yield", Unit: "L/s", Distribution: json.RawMessage(`{}`)}}}
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		if err := tx.PutWell(ctx, w, ""); err != nil {
			return err
		}
		linked.WellID, linked.LinkedBy, linked.LinkedAt = w.ID, "Invented Person", tx.Now()
		return errors.Join(tx.PutPlate(ctx, linked, ""), tx.PutPlate(ctx, loose, ""), tx.PutPlate(ctx, lost, ""), tx.KeepForecast(ctx, f))
	})
	plates := flats(t, s, records.FeatureQuery{Collection: records.FeaturesPlates})
	if len(plates) != 3 {
		t.Fatalf("%d plates, want 3", len(plates))
	}
	if p := plates[0]; p["well_number"] != "T-1" || p["at"] != "-72.5 44.25" || p["stamped_total_depth_m"] != 203*0.3048 || p["stamped_date"] != "2004" {
		t.Errorf("the linked plate: %v", p)
	}
	if p := plates[1]; p["well_number"] != nil || p["at"] != "1 2" || p["number"] != "1?0" {
		t.Errorf("the loose plate: %v", p)
	}
	if p := plates[2]; p["at"] != nil {
		t.Errorf("the plate that nobody saw: %v", p)
	}
	forecasts := flats(t, s, records.FeatureQuery{Collection: records.FeaturesForecasts})
	if len(forecasts) != 1 {
		t.Fatalf("%d forecasts, want 1", len(forecasts))
	}
	if g := forecasts[0]; g["uid"] != f.UID || g["withdrawn"] != false || g["at"] != "-72 44" || g["data_commit"] != int64(1) || g["kept_at"] == nil {
		t.Errorf("the forecast: %v", g)
	}
	in := records.CondBox{Box: records.Bounds{West: 0, South: 0, East: 5, North: 5}}
	if got := ids(t, s, records.FeatureQuery{Collection: records.FeaturesPlates, Where: in}); !slices.Equal(got, []string{loose.UID}) {
		t.Errorf("plates in the box: %v", got)
	}
	text, err := json.Marshal([]any{plates, forecasts})
	if err != nil || strings.Contains(string(text), "Invented") {
		t.Errorf("private things in %s (%v)", text, err)
	}
}
