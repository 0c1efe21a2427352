package snapshot_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"

	"tallybook/geo/position"
	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/snapshot"
)

// one is the row of a single well.
func one(t *testing.T, change func(*records.Digest)) snapshot.Row {
	t.Helper()
	m := newMemory()
	m.change(func() {
		d := records.Digest{
			Lon: -71, Lat: 44, Year: 1999.5, Purpose: 2, Materials: 0b100, Flags: records.HasPlate,
			TotalDepth: records.DigestValue{Value: 60, Qualifier: records.Exact},
			Yield:      records.DigestValue{Value: 0.5, Qualifier: records.Exact},
		}
		if change != nil {
			change(&d)
		}
		m.put(d)
	})
	s, err := snapshot.Open(t.Context(), m)
	if err != nil {
		t.Fatal(err)
	}
	row, _ := s.Picture().ByID(1)
	return row
}

func TestFilterTakesOnlyWhatIsSure(t *testing.T) {
	from := func(v float64) snapshot.Range { return snapshot.Range{Min: &v} }
	to := func(v float64) snapshot.Range { return snapshot.Range{Max: &v} }
	span := func(a, b float64) snapshot.Range { return snapshot.Range{Min: &a, Max: &b} }
	depth := func(q records.Qualifier, v, high float64) func(*records.Digest) {
		return func(d *records.Digest) { d.TotalDepth = records.DigestValue{Qualifier: q, Value: v, High: high} }
	}
	for _, c := range []struct {
		name   string
		well   func(*records.Digest)
		filter snapshot.Filter
		want   bool
	}{
		{"nothing asked", nil, snapshot.Filter{}, true},
		{"within", nil, snapshot.Filter{Depth: span(50, 70)}, true},
		{"at the lower end", nil, snapshot.Filter{Depth: from(60)}, true},
		{"at the upper end", nil, snapshot.Filter{Depth: to(60)}, true},
		{"below", nil, snapshot.Filter{Depth: from(60.1)}, false},
		{"above", nil, snapshot.Filter{Depth: to(59.9)}, false},
		{"nobody wrote it", depth(records.Missing, 0, 0), snapshot.Filter{Depth: from(0)}, false},
		{"about counts as the value", depth(records.About, 60, 0), snapshot.Filter{Depth: span(60, 60)}, true},
		{"less than 60 is surely up to 60", depth(records.LessThan, 60, 0), snapshot.Filter{Depth: to(60)}, true},
		{"less than 60 may be under 10", depth(records.LessThan, 60, 0), snapshot.Filter{Depth: from(10)}, false},
		{"less than 60 is surely at least 0", depth(records.LessThan, 60, 0), snapshot.Filter{Depth: span(0, 60)}, true},
		{"more than 60 is surely over 60", depth(records.GreaterThan, 60, 0), snapshot.Filter{Depth: from(60)}, true},
		{"more than 60 may be over 1000", depth(records.GreaterThan, 60, 0), snapshot.Filter{Depth: to(1000)}, false},
		{"50 to 70 is surely within 50 to 70", depth(records.Between, 50, 70), snapshot.Filter{Depth: span(50, 70)}, true},
		{"50 to 70 may be over 69", depth(records.Between, 50, 70), snapshot.Filter{Depth: to(69)}, false},
		{"50 to 70 may be under 51", depth(records.Between, 50, 70), snapshot.Filter{Depth: from(51)}, false},
		{"yield within", nil, snapshot.Filter{Yield: span(0.5, 1)}, true},
		{"yield outside", nil, snapshot.Filter{Yield: from(1)}, false},
		{"year within", nil, snapshot.Filter{Years: span(1999, 2000)}, true},
		{"year outside", nil, snapshot.Filter{Years: to(1999)}, false},
		{"no year", func(d *records.Digest) { d.Year = 0 }, snapshot.Filter{Years: to(2000)}, false},
		{"this use", nil, snapshot.Filter{Purpose: 2}, true},
		{"another use", nil, snapshot.Filter{Purpose: 1}, false},
		{"one of the materials", nil, snapshot.Filter{Materials: 0b110}, true},
		{"none of the materials", nil, snapshot.Filter{Materials: 0b011}, false},
		{"has a plate", nil, snapshot.Filter{Plate: snapshot.Yes}, true},
		{"has a plate, and none is wanted", nil, snapshot.Filter{Plate: snapshot.No}, false},
		{"has no plate", func(d *records.Digest) { d.Flags = records.HasStrata }, snapshot.Filter{Plate: snapshot.No}, true},
		{"all of it", nil, snapshot.Filter{Depth: to(60), Yield: from(0.1), Purpose: 2, Plate: snapshot.Yes}, true},
		{"all but one", nil, snapshot.Filter{Depth: to(60), Yield: from(0.1), Purpose: 3, Plate: snapshot.Yes}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := c.filter.Takes(one(t, c.well)); got != c.want {
				t.Errorf("takes the well: %v, want %v", got, c.want)
			}
		})
	}
	var none *snapshot.Filter
	if !none.Takes(one(t, nil)) || !none.IsZero() || none.Key() != (&snapshot.Filter{}).Key() {
		t.Error("no filter is not the filter that takes all")
	}
}

func TestFilterKeyTellsFiltersApart(t *testing.T) {
	v, w := 1.0, 2.0
	filters := []snapshot.Filter{
		{}, {Depth: snapshot.Range{Min: &v}}, {Depth: snapshot.Range{Max: &v}}, {Depth: snapshot.Range{Min: &w}},
		{Yield: snapshot.Range{Min: &v}}, {Years: snapshot.Range{Min: &v}}, {Purpose: 1}, {Materials: 1}, {Plate: snapshot.Yes}, {Plate: snapshot.No},
	}
	seen := map[string]int{}
	for i := range filters {
		if j, ok := seen[filters[i].Key()]; ok {
			t.Errorf("filters %d and %d share a key", j, i)
		}
		seen[filters[i].Key()] = i
		if filters[i].IsZero() != (i == 0) {
			t.Errorf("filter %d: IsZero is %v", i, filters[i].IsZero())
		}
	}
	again := 1.0
	if (&snapshot.Filter{Depth: snapshot.Range{Min: &again}}).Key() != filters[1].Key() {
		t.Error("two equal filters have two keys")
	}
}

// TestSelect holds a selection against a plain scan.
func TestSelect(t *testing.T) {
	s, m := opened(t, 400, records.Bounds{West: -72, South: 44, East: -71, North: 45}, 6)
	r := rand.New(rand.NewPCG(6, 6))
	m.change(func() {
		for range 20 {
			m.put(digest(r, math.NaN(), math.NaN()))
			m.put(digest(r, -71.5, 44.5))
		}
	})
	refresh(t, s, m)
	bounds := map[records.Qualifier]predict.Bound{records.Exact: predict.Exact, records.About: predict.Exact,
		records.LessThan: predict.LessThan, records.GreaterThan: predict.GreaterThan, records.Between: predict.Between}
	deep := 40.0
	filter := snapshot.Filter{Depth: snapshot.Range{Min: &deep}}
	for _, f := range snapshot.Fields() {
		sel, err := s.Picture().Select(f, &filter)
		if err != nil {
			t.Fatal(err)
		}
		want := map[int64]bool{}
		s.Picture().Each(func(r snapshot.Row) bool {
			if _, _, ok := r.Position(); ok && r.Value(f).Qualifier != records.Missing && filter.Takes(r) {
				want[r.ID()] = true
			}
			return true
		})
		if len(want) == 0 || len(sel.Rows) != len(want) || sel.Observations.Len() != len(want) {
			t.Fatalf("%v: %d rows and %d observations, want %d", f, len(sel.Rows), sel.Observations.Len(), len(want))
		}
		for i, row := range sel.Rows {
			if !want[row.ID()] {
				t.Errorf("%v: well %d does not belong", f, row.ID())
			}
			o, v := sel.Observations.Observation(i), row.Value(f)
			lon, lat, _ := row.Position()
			if o.Value != v.Value || o.High != v.High || o.Key != row.Key() || o.At.Lon != lon || o.At.Lat != lat {
				t.Errorf("%v: well %d is observed as %+v", f, row.ID(), o)
			}
			if bound := bounds[v.Qualifier]; o.Bound != bound || math.IsNaN(o.Year) != (row.Year() == 0) || o.Category != 0 != (f == snapshot.Yield && row.Digest().Rock != 0) {
				t.Errorf("%v: well %d, %+v, is observed as %+v", f, row.ID(), row.Digest(), o)
			}
		}
	}
	none := 1e9
	_, err := s.Picture().Select(snapshot.Yield, &snapshot.Filter{Depth: snapshot.Range{Min: &none}})
	if !errors.Is(err, predict.ErrTooFew) {
		t.Errorf("nothing to select gives %v", err)
	}
}

func TestFilterByArea(t *testing.T) {
	square := func(w, s, e, n float64) orb.Ring {
		return orb.Ring{{w, s}, {e, s}, {e, n}, {w, n}, {w, s}}
	}
	outline, err := snapshot.OutlineArea(orb.MultiPolygon{{square(0, 0, 4, 4), square(1, 1, 2, 2)}, {square(10, 0, 11, 1)}})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		what     string
		area     snapshot.Area
		lon, lat float64
		in       bool
	}{
		{"in the box", snapshot.BoxArea(records.Bounds{West: 1, South: 1, East: 2, North: 2}), 1.5, 2, true},
		{"beside the box", snapshot.BoxArea(records.Bounds{West: 1, South: 1, East: 2, North: 2}), 2.1, 2, false},
		{"over the antimeridian", snapshot.BoxArea(records.Bounds{West: 179, South: 1, East: -179, North: 2}), -179.5, 1.5, true},
		// A degree of longitude on the equator is 111,319.49 m (WGS 84: 2 pi 6378137 / 360, worked by hand).
		{"in the circle", snapshot.CircleArea(position.LonLat{Lon: 10}, 111_320), 11, 0, true},
		{"beside the circle", snapshot.CircleArea(position.LonLat{Lon: 10}, 111_319), 11, 0, false},
		{"a circle over the antimeridian", snapshot.CircleArea(position.LonLat{Lon: 179.9}, 30_000), -179.9, 0, true},
		{"in the outline", outline, 3, 3, true},
		{"in its hole", outline, 1.5, 1.5, false},
		{"in its other part", outline, 10.5, 0.5, true},
		{"between its parts", outline, 7, 0.5, false},
	} {
		if got := c.area.Has(c.lon, c.lat); got != c.in {
			t.Errorf("%s: %v", c.what, got)
		}
	}
	for _, bad := range []orb.MultiPolygon{nil, {{{{0, 0}, {1, 0}, {1, 1}}}}, {{square(0, 0, 4, 91)}}, {{square(-179, 0, 179, 1)}}} {
		if _, err := snapshot.OutlineArea(bad); records.CodeOf(err) != records.Invalid {
			t.Errorf("%v is taken: %v", bad, err)
		}
	}
	f, g := snapshot.Filter{Area: outline}, snapshot.Filter{Area: snapshot.BoxArea(records.Bounds{East: 1, North: 1})}
	if f.IsZero() || f.Key() == g.Key() || f.Key() == new(snapshot.Filter).Key() {
		t.Errorf("keys %q and %q", f.Key(), g.Key())
	}
}
