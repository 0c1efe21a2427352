package records_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
	"tallybook/records/recordstest"
)

func TestDiff(t *testing.T) {
	for name, c := range map[string]struct {
		change func(w *records.Well)
		want   []records.Change
	}{
		"nothing":         {func(*records.Well) {}, nil},
		"keys":            {func(w *records.Well) { w.ID, w.Revision = 7, 8 }, nil},
		"a text":          {func(w *records.Well) { w.Number = "T-2" }, []records.Change{{Field: "number", Was: "T-1", Is: "T-2"}}},
		"moved":           {func(w *records.Well) { w.Place.Lat = 44.5 }, []records.Change{{Field: "lat", Was: "44.25", Is: "44.5"}}},
		"no place":        {func(w *records.Well) { w.Place.Located = false }, []records.Change{{Field: "lon", Was: "-72.5"}, {Field: "lat", Was: "44.25"}}},
		"a quantity":      {func(w *records.Well) { w.Place.Elevation = recordstest.Metres[records.Height]("302") }, []records.Change{{Field: "ground_elevation_m", Was: "301.50 m", Is: "302 m"}}},
		"only the digits": {func(w *records.Well) { w.Place.Elevation = recordstest.Metres[records.Height]("301.5") }, []records.Change{{Field: "ground_elevation_m", Was: "301.50 m", Is: "301.5 m"}}},
		"a bound":         {func(w *records.Well) { w.Yield = recordstest.Gpm("<1") }, []records.Change{{Field: "yield_lps", Was: `0.3785411784 L/s (given as "6" gpm)`, Is: `less than 0.0630901964 L/s (given as "<1" gpm)`}}},
		"a range":         {func(w *records.Well) { w.Place.Elevation = records.Within[records.Height](300, 310) }, []records.Change{{Field: "ground_elevation_m", Was: "301.50 m", Is: "between 300 and 310 m"}}},
		"in a group":      {func(w *records.Well) { w.Crew.Rig = "" }, []records.Change{{Field: "crew.rig", Was: "Rig 1"}}},
		"private":         {func(w *records.Well) { w.Owner.Telephone = "001" }, []records.Change{{Field: "owner.telephone", Was: "000", Is: "001", Private: true}}},
		"a date":          {func(w *records.Well) { w.Completed.Day = 0 }, []records.Change{{Field: "completed", Was: "2004-06-15", Is: "2004-06"}}},
		"a flag":          {func(w *records.Well) { w.Yields = nil }, []records.Change{{Field: "counts_for_yield", Was: "true"}}},
		"in a row":        {func(w *records.Well) { w.Strata[3].Description = "granite" }, []records.Change{{Field: "strata[3].description", Was: "gray granite, hard", Is: "granite"}}},
		"row put in": {func(w *records.Well) {
			w.Strata = append(w.Strata[:1:1], append([]records.Stratum{{Description: "sand"}}, w.Strata[1:]...)...)
		}, []records.Change{{Field: "strata[1]", Is: "description sand"}}},
		"row taken out":    {func(w *records.Well) { w.Rods = nil }, []records.Change{{Field: "rods[0]", Was: `number 1, from_m 0 m (given as "0" ft), to_m 6.096 m (given as "20" ft), time_min 12 min, remark smooth`}}},
		"kept":             {func(w *records.Well) { w.Extra[0].JSON = "1" }, []records.Change{{Field: "tile", Was: `{"a":[1,2.50]}`, Is: "1"}}},
		"kept, renamed":    {func(w *records.Well) { w.Extra[0].Name = "plot" }, []records.Change{{Field: "plot", Is: `{"a":[1,2.50]}`}, {Field: "tile", Was: `{"a":[1,2.50]}`}}},
		"kept in a row":    {func(w *records.Well) { w.Strata[0].Extra = nil }, []records.Change{{Field: "strata[0].sample", Was: "7"}}},
		"an empty row put": {func(w *records.Well) { w.Strata = append(w.Strata, records.Stratum{}) }, []records.Change{{Field: "strata[6]", Is: "an empty row"}}},
	} {
		t.Run(name, func(t *testing.T) {
			a, b := recordstest.Full(), recordstest.Full()
			c.change(b)
			if diff := cmp.Diff(c.want, records.Diff(a, b)); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
			back := records.Diff(b, a)
			if len(back) != len(c.want) {
				t.Errorf("backwards %v", back)
			}
		})
	}
}

// Two records differ exactly where their properties do.
func TestDiffAgreesWithWhatIsWritten(t *testing.T) {
	for seed := range uint64(300) {
		a, b := recordstest.Random(seed), recordstest.Random(seed+1)
		if len(records.Diff(a, a)) != 0 {
			t.Fatalf("well %d differs from itself", seed)
		}
		if len(records.Diff(a, b)) == 0 {
			t.Fatalf("wells %d and %d do not differ", seed, seed+1)
		}
		if len(records.Diff(nil, a)) == 0 {
			t.Fatalf("well %d does not differ from none", seed)
		}
	}
	if got := records.Diff(nil, nil); len(got) != 0 {
		t.Errorf("nothing differs from nothing in %v", got)
	}
}

func TestDiffPlates(t *testing.T) {
	a := &records.Plate{Number: "1", Seen: []records.PlateSighting{{By: "A", Located: true, Lon: 1, Lat: 2}}}
	b := &records.Plate{Number: "1", Seen: []records.PlateSighting{{By: "A", Located: true, Lon: 1, Lat: 3}}}
	want := []records.Change{{Field: "seen[0].lat", Was: "2", Is: "3"}}
	if diff := cmp.Diff(want, records.DiffPlates(a, b)); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}
