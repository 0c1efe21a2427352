package snapshot_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/tidwall/geodesic"
	"pgregory.net/rapid"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/snapshot"
)

var world = records.Bounds{West: -180, South: -90, East: 180, North: 90}

// scattered is a picture with wells in base and overlay, some not located,
// some taken out, some exactly on whole degrees, where borders run.
func scattered(t testing.TB, n int, seed uint64) *snapshot.Picture {
	t.Helper()
	r := rand.New(rand.NewPCG(seed, 5))
	lon := func() float64 {
		switch r.IntN(4) {
		case 0:
			return float64(r.IntN(361) - 180)
		case 1: // about the antimeridian
			return math.Remainder(178+4*r.Float64(), 360)
		}
		return -180 + 360*r.Float64()
	}
	lat := func() float64 {
		if r.IntN(4) == 0 {
			return float64(r.IntN(181) - 90)
		}
		return -90 + 180*r.Float64()
	}
	m := newMemory()
	put := func(n int) {
		for range n {
			d := digest(r, lon(), lat())
			if r.IntN(10) == 0 {
				d.Lon, d.Lat = math.NaN(), math.NaN()
			}
			m.put(d)
		}
	}
	m.change(func() { put(n) })
	s, err := snapshot.Open(t.Context(), m)
	if err != nil {
		t.Fatal(err)
	}
	m.change(func() {
		put(n / 4)
		for id := int64(1); id < int64(n); id += 7 {
			m.remove(id)
		}
		for id := int64(3); id < int64(n); id += 7 {
			d := m.wells[id]
			d.Lon, d.Lat = lon(), lat()
			m.put(d)
		}
	})
	refresh(t, s, m)
	if n, _ := s.FoldState(); n == 0 {
		t.Fatal("nothing lies over the base: the test does not test it")
	}
	return s.Picture()
}

// within is the naive rule of a box.
func within(b records.Bounds, lon, lat float64) bool {
	if lat < b.South || lat > b.North || math.IsNaN(lon) {
		return false
	}
	if b.West > b.East {
		return lon >= b.West || lon <= b.East
	}
	return lon >= b.West && lon <= b.East
}

func TestInBoxAgainstNaive(t *testing.T) {
	p := scattered(t, 1500, 1)
	degree := rapid.OneOf(rapid.Float64Range(-180, 180), rapid.Map(rapid.IntRange(-180, 180), func(i int) float64 { return float64(i) }))
	rapid.Check(t, func(t *rapid.T) {
		b := records.Bounds{West: degree.Draw(t, "west"), East: degree.Draw(t, "east")}
		b.South, b.North = degree.Draw(t, "south")/2, degree.Draw(t, "north")/2
		want := map[int64]int{}
		p.Each(func(r snapshot.Row) bool {
			if lon, lat, ok := r.Position(); ok && within(b, lon, lat) {
				want[r.ID()]++
			}
			return true
		})
		if diff := cmp.Diff(want, inBox(p, b)); diff != "" {
			t.Fatalf("box %v (-naive +index):\n%s", b, diff)
		}
	})
}

func TestInBoxStopsWhenTold(t *testing.T) {
	p := scattered(t, 300, 2)
	for _, b := range []records.Bounds{world, {West: 170, South: -90, East: -170, North: 90}} {
		total := len(inBox(p, b))
		for _, most := range []int{1, 2, total - 1} {
			n := 0
			p.InBox(b, func(snapshot.Row) bool { n++; return n < most })
			if n != most {
				t.Errorf("%v: %d shown after a stop at %d", b, n, most)
			}
		}
	}
	n := 0
	p.Each(func(snapshot.Row) bool { n++; return n < 280 })
	if n != 280 {
		t.Errorf("Each showed %d after a stop at 280", n)
	}
}

// TestBordersBelongToTheBox: with a well on each corner and each side.
func TestBordersBelongToTheBox(t *testing.T) {
	m := newMemory()
	r := rand.New(rand.NewPCG(1, 1))
	m.change(func() {
		for _, lon := range []float64{-71, -70.5, -70} {
			for _, lat := range []float64{44, 44.5, 45} {
				m.put(digest(r, lon, lat))
			}
		}
	})
	s, err := snapshot.Open(t.Context(), m)
	if err != nil {
		t.Fatal(err)
	}
	b := records.Bounds{West: -71, South: 44, East: -70, North: 45}
	if n := len(inBox(s.Picture(), b)); n != 9 {
		t.Errorf("%d wells in a box with 9 on its border and within", n)
	}
	got, ok := s.Picture().Extent()
	if !ok || got != b {
		t.Errorf("the extent is %v, want %v", got, b)
	}
	b = records.Bounds{West: math.Nextafter(-71, 0), South: 44, East: math.Nextafter(-70, -99), North: math.Nextafter(45, 0)}
	if n := len(inBox(s.Picture(), b)); n != 2 {
		t.Errorf("%d wells in a box that a hair's breadth parts from all but 2", n)
	}
}

// naiveNeighbours is a full scan with Karney's geodesic (C. F. F. Karney 2013,
// "Algorithms for geodesics", J. Geodesy 87, 43-55) in the port of package
// tidwall/geodesic.
func naiveNeighbours(p *snapshot.Picture, at position.LonLat, keep func(snapshot.Row) bool) []snapshot.Neighbour {
	var out []snapshot.Neighbour
	p.Each(func(r snapshot.Row) bool {
		lon, lat, ok := r.Position()
		if ok && (keep == nil || keep(r)) {
			n := snapshot.Neighbour{Row: r}
			geodesic.WGS84.Inverse(at.Lat, at.Lon, lat, lon, &n.DistanceM, &n.BearingDeg, nil)
			n.BearingDeg = math.Mod(n.BearingDeg+360, 360)
			out = append(out, n)
		}
		return true
	})
	slices.SortFunc(out, func(a, b snapshot.Neighbour) int {
		switch {
		case a.DistanceM < b.DistanceM:
			return -1
		case a.DistanceM > b.DistanceM:
			return 1
		case a.Key() < b.Key():
			return -1
		}
		return 1
	})
	return out
}

// agree compares neighbours by distance, one by one: wells closer together
// than the plane's 30 mm at 300 km may change places.
func agree(t rapid.TB, what string, got, want []snapshot.Neighbour) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%s: %d wells, want %d", what, len(got), len(want))
	}
	for i := range got {
		tolerance := 0.04
		if want[i].DistanceM < 50_000 {
			tolerance = 2e-5 + 1e-12*want[i].DistanceM
		}
		if math.Abs(got[i].DistanceM-want[i].DistanceM) > tolerance {
			t.Fatalf("%s, neighbour %d: %.6f m, want %.6f m", what, i, got[i].DistanceM, want[i].DistanceM)
		}
		turn := math.Abs(math.Remainder(got[i].BearingDeg-want[i].BearingDeg, 360))
		if got[i].ID() == want[i].ID() && turn > 1e-4 && want[i].DistanceM > 1 && want[i].DistanceM < 1.9e7 {
			t.Fatalf("%s, neighbour %d: bearing %.6f, want %.6f", what, i, got[i].BearingDeg, want[i].BearingDeg)
		}
	}
}

func TestNeighboursAgainstTheGeodesic(t *testing.T) {
	p := scattered(t, 1500, 4)
	odd := func(r snapshot.Row) bool { return r.ID()%2 == 1 }
	rapid.Check(t, func(t *rapid.T) {
		at := position.LonLat{
			Lon: rapid.OneOf(rapid.Float64Range(-180, 180), rapid.SampledFrom([]float64{-180, 180, 179.999, -179.999, 0})).Draw(t, "lon"),
			Lat: rapid.OneOf(rapid.Float64Range(-90, 90), rapid.SampledFrom([]float64{-90, 90, 89.9, 0})).Draw(t, "lat"),
		}
		var keep func(snapshot.Row) bool
		if rapid.Bool().Draw(t, "odd only") {
			keep = odd
		}
		want := naiveNeighbours(p, at, keep)
		k := rapid.IntRange(1, 40).Draw(t, "k")
		agree(t, "nearest", p.Nearest(at, k, keep), want[:min(k, len(want))])

		// A radius halfway between two neighbours, so that rounding decides
		// nothing.
		i := rapid.IntRange(0, 300).Draw(t, "within")
		radius := (want[i].DistanceM + want[i+1].DistanceM) / 2
		if want[i+1].DistanceM-want[i].DistanceM > 0.2 {
			agree(t, "around", p.Around(at, radius, keep), want[:i+1])
		}
	})
}

func TestNeighboursInOnePlace(t *testing.T) {
	m := newMemory()
	r := rand.New(rand.NewPCG(1, 1))
	m.change(func() {
		for range 30 {
			m.put(digest(r, -71, 44))
		}
	})
	s, err := snapshot.Open(t.Context(), m)
	if err != nil {
		t.Fatal(err)
	}
	p := s.Picture()
	at := position.LonLat{Lon: -71, Lat: 44}
	for _, list := range [][]snapshot.Neighbour{p.Around(at, 0, nil), p.Nearest(at, 30, nil)} {
		if len(list) != 30 || !slices.IsSortedFunc(list, func(a, b snapshot.Neighbour) int {
			if a.Key() < b.Key() {
				return -1
			}
			return 1
		}) {
			t.Errorf("%d wells in one place, want 30 in the order of their keys", len(list))
		}
	}
	if few := p.Nearest(at, 3, nil); len(few) != 3 || few[0].Key() > few[1].Key() || few[1].Key() > few[2].Key() || few[2].Key() != p.Nearest(at, 30, nil)[2].Key() {
		t.Error("of wells in one place, the lowest keys are not taken")
	}
	if len(p.Nearest(at, 99, nil)) != 30 || p.Nearest(at, 0, nil) != nil {
		t.Error("k beyond what is there, or none")
	}
	if n := p.Nearest(at, 5, func(snapshot.Row) bool { return false }); len(n) != 0 {
		t.Errorf("%d wells that nobody wants", len(n))
	}
}

func TestRow(t *testing.T) {
	m := newMemory()
	d := digest(rand.New(rand.NewPCG(9, 9)), -71.25, 44.5)
	d.Bedrock = records.DigestValue{Value: 12, High: 14, Qualifier: records.Between}
	m.change(func() { d.ID = m.put(d) })
	d.Revision = 1
	s, err := snapshot.Open(t.Context(), m)
	if err != nil {
		t.Fatal(err)
	}
	row, ok := s.Picture().ByID(d.ID)
	if !ok {
		t.Fatal("not there")
	}
	if diff := cmp.Diff(d, row.Digest(), cmpopts.EquateNaNs()); diff != "" {
		t.Errorf("digest (-put +read):\n%s", diff)
	}
	if row.Value(snapshot.Bedrock) != d.Bedrock || row.Value(snapshot.Yield) != d.Yield || row.Value(snapshot.TotalDepth) != d.TotalDepth || row.Value(0) != (records.DigestValue{}) {
		t.Error("a value is not the digest's")
	}
	if s.Picture().RockUnit(1) != "Upper Schist" {
		t.Error("the rock unit has lost its name")
	}
	for _, f := range snapshot.Fields() {
		if back, err := snapshot.ParseField(f.String()); err != nil || back != f {
			t.Errorf("%v comes back as %v, %v", f, back, err)
		}
	}
	if _, err := snapshot.ParseField("depth"); records.CodeOf(err) != records.Invalid {
		t.Errorf("a field that is none: %v", err)
	}
}
