package sqlite_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/recordstest"
	"tallybook/records/sqlite"
)

func TestFeaturesConform(t *testing.T) { recordstest.ConformFeatures(t, fresh) }

// featuresOf reads the features of a collection by name, each value by its
// field.
func featuresOf(t *testing.T, s records.Store, q records.FeatureQuery) (out []map[string]any) {
	t.Helper()
	c, err := records.FeatureCollectionNamed(q.Collection)
	if err != nil {
		t.Fatal(err)
	}
	view(t, s.(*sqlite.Store), func(ctx context.Context, v records.StoreView) error {
		return v.EachFeature(ctx, q, func(f *records.Feature) error {
			one := map[string]any{"located": f.Located}
			for i, v := range f.Values {
				one[c.Fields[i].Name] = v
			}
			out = append(out, one)
			return nil
		})
	})
	return out
}

// What another program wrote into the columns is what features say at once;
// what it put there that is of the wrong kind is not there, be it read or asked
// for; and how a value was given no longer holds.
func TestFeaturesEditedOutside(t *testing.T) {
	s := fresh(t)
	w := recordstest.Plain()
	if err := s.Update(t.Context(), recordstest.Writer(), func(tx records.StoreTx) error { return tx.PutWell(t.Context(), w, "") }); err != nil {
		t.Fatal(err)
	}
	foreign(t, s.(*sqlite.Store).Path(), "UPDATE wells SET total_depth_m = 70.5, yield_lps = 'plenty', number = 'T-1a', geom = "+geom(10, 20))
	got := featuresOf(t, s, records.FeatureQuery{Collection: records.FeaturesWells})[0]
	for name, want := range map[string]any{"total_depth_m": 70.5, "total_depth_as_written": nil, "yield_lps": nil, "number": "T-1a"} {
		if got[name] != want {
			t.Errorf("%s is %v, want %v", name, got[name], want)
		}
	}
	yield := records.ExprField("yield_lps")
	for name, c := range map[string]struct {
		where records.Condition
		want  int
	}{
		"more than any number": {records.CondCompare{Op: ">", Left: yield, Right: records.ExprValue{Value: 1e9}}, 0},
		"missing":              {records.CondMissing{Of: yield}, 1},
		"where it is now":      {records.CondBox{Box: records.Bounds{West: 9, South: 19, East: 11, North: 21}}, 1},
		"where it was":         {records.CondBox{Box: records.Bounds{West: -73, South: 44, East: -72, North: 45}}, 0},
	} {
		if got := featuresOf(t, s, records.FeatureQuery{Collection: records.FeaturesWells, Where: c.where}); len(got) != c.want {
			t.Errorf("%s: %d, want %d", name, len(got), c.want)
		}
	}
	if got := featuresOf(t, s, records.FeatureQuery{Collection: records.FeaturesStrata})[0]; got["well_number"] != "T-1a" {
		t.Errorf("a stratum says %v", got["well_number"])
	}
}

// Wells of an intake that is not published are in no collection, nor is the
// number of a plate's well.
func TestFeaturesNotPublished(t *testing.T) {
	s := fresh(t)
	w := recordstest.Plain()
	b := &records.Batch{Source: "a file", State: "staged"}
	err := s.Update(t.Context(), recordstest.Writer(), func(tx records.StoreTx) error {
		if err := tx.PutBatch(t.Context(), b); err != nil {
			return err
		}
		w.Provenance.Batch, w.Provenance.Row = b.ID, 1
		if err := tx.PutWell(t.Context(), w, ""); err != nil {
			return err
		}
		return tx.PutPlate(t.Context(), &records.Plate{Number: "7", WellID: w.ID}, "")
	})
	if err != nil {
		t.Fatal(err)
	}
	box := records.CondBox{Box: records.Bounds{West: -180, South: -90, East: 180, North: 90}}
	for _, collection := range []string{records.FeaturesWells, records.FeaturesStrata, records.FeaturesStrikes} {
		for _, where := range []records.Condition{nil, box} {
			if got := featuresOf(t, s, records.FeatureQuery{Collection: collection, Where: where}); len(got) != 0 {
				t.Errorf("%s: %d of what is not published", collection, len(got))
			}
		}
	}
	view(t, s.(*sqlite.Store), func(ctx context.Context, v records.StoreView) error {
		n, counted, err := v.CountFeatures(ctx, records.FeaturesWells, nil)
		if n != 0 || !counted {
			t.Errorf("%d wells are counted (%v)", n, counted)
		}
		if _, err := v.Feature(ctx, records.FeaturesWells, w.UID); records.CodeOf(err) != records.NotFound || err == nil {
			t.Errorf("found by its name: %v", err)
		}
		return err
	})
	if got := featuresOf(t, s, records.FeatureQuery{Collection: records.FeaturesPlates}); len(got) != 1 || got[0]["well_number"] != nil || got[0]["located"] != false {
		t.Errorf("the plate tells of its well: %v", got)
	}
}

// A box gives the same wells whether the spatial index finds them or each is
// tried: the naive way is to look at all.
func TestFeaturesInBoxes(t *testing.T) {
	s := fresh(t)
	r := rand.New(rand.NewPCG(3, 9))
	var wells []*records.Well
	for i := range 400 {
		w := &records.Well{Number: fmt.Sprint(i), Place: records.Place{Located: i%7 != 0, Lon: -180 + 360*r.Float64(), Lat: -90 + 180*r.Float64()}}
		if i%5 == 0 { // on the lines of a grid, so that borders are met
			w.Place.Lon, w.Place.Lat = float64(r.IntN(37)*10-180), float64(r.IntN(19)*10-90)
		}
		wells = append(wells, w)
	}
	err := s.Update(t.Context(), recordstest.Writer(), func(tx records.StoreTx) error {
		for _, w := range wells {
			if err := tx.PutWell(t.Context(), w, ""); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for range 60 {
		b := records.Bounds{West: float64(r.IntN(37)*10 - 180), East: float64(r.IntN(37)*10 - 180), South: float64(r.IntN(10)*10 - 90), North: float64(r.IntN(10) * 10)}
		var want []string
		for _, w := range wells {
			if w.Place.Located && b.Has(w.Place.Lon, w.Place.Lat) {
				want = append(want, w.Number)
			}
		}
		for way, where := range map[string]records.Condition{
			"by the index": records.CondBox{Box: b},
			"each tried":   records.CondAny{records.CondBox{Box: b}, records.CondAny{}}, // which needs no box
		} {
			var got []string
			for _, f := range featuresOf(t, s, records.FeatureQuery{Collection: records.FeaturesWells, Where: where}) {
				got = append(got, f["number"].(string))
			}
			if !slices.Equal(got, want) {
				t.Fatalf("%+v %s: %v, want %v", b, way, got, want)
			}
		}
	}
}

// No page sorts all that there is: each collection is read in the order of its
// keys, and at most the parts of one log are sorted.
func TestFeaturesAreReadInOrder(t *testing.T) {
	s := fresh(t).(*sqlite.Store)
	for _, c := range records.FeatureCollections() {
		for _, backwards := range []bool{false, true} {
			plan := s.FeaturePlan(t, records.FeatureQuery{Collection: c.Name, After: records.FeatureKey{Record: 1, Part: 1}, Limit: 10, Backwards: backwards})
			if strings.Contains(plan, "USE TEMP B-TREE FOR ORDER BY") {
				t.Errorf("%s sorts everything:\n%s", c.Name, plan)
			}
		}
	}
	near := s.FeaturePlan(t, records.FeatureQuery{Collection: records.FeaturesWells, Where: records.CondBox{Box: records.Bounds{West: 1, South: 1, East: 2, North: 2}}})
	if !strings.Contains(near, "VIRTUAL TABLE INDEX") {
		t.Errorf("the spatial index is not asked:\n%s", near)
	}
}
