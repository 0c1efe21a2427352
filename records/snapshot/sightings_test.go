package snapshot_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"tallybook/geo/position"
	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/snapshot"
)

// seen invents a sighting at a place.
func seen(id int64, lon, lat float64, bedrock records.DigestValue) records.Digest {
	return records.Digest{ID: -id, Key: uint64(id) << 40, Lon: lon, Lat: lat, Bedrock: bedrock, AccuracyM: 25, Year: 2026}
}

func ids(p *snapshot.Picture) (out []int64) {
	p.EachSighting(func(r snapshot.Row) bool {
		id, ok := r.Sighting()
		if !ok {
			out = append(out, 0)
		}
		out = append(out, id)
		return true
	})
	return out
}

func TestSightingsStandBesideTheWells(t *testing.T) {
	box := records.Bounds{West: -72.1, South: 44, East: -72, North: 44.1}
	s, m := opened(t, 50, box, 3)
	ledge := records.DigestValue{Qualifier: records.Exact}
	deeper := records.DigestValue{Value: 2.4384, Qualifier: records.GreaterThan}
	before := s.Picture()
	refresh := func() *snapshot.Picture {
		t.Helper()
		if _, err := s.Refresh(t.Context(), m); err != nil {
			t.Fatal(err)
		}
		return s.Picture()
	}
	m.change(func() {
		m.putSighting(seen(1, -72.05, 44.05, ledge))
		m.putSighting(seen(2, -72.06, 44.05, deeper))
		m.putSighting(seen(3, -72.05, 44.06, records.DigestValue{}))
	})
	p := refresh()
	if got := ids(p); !slices.Equal(got, []int64{1, 2, 3}) || p.CountSightings() != 3 {
		t.Fatalf("sightings %v, want 1, 2, 3", got)
	}
	if before.CountSightings() != 0 {
		t.Error("an earlier picture has changed")
	}
	inBox := 0
	p.InBox(box, func(r snapshot.Row) bool { inBox++; return true })
	if p.Len() != 50 || inBox != 50 || len(all(p)) != 50 {
		t.Errorf("counted as wells: %d, %d in the box, %d one by one; want 50 each", p.Len(), inBox, len(all(p)))
	}
	if _, ok := p.ByID(-1); ok {
		t.Error("a sighting is found as a well")
	}
	around := p.SightingsAround(position.LonLat{Lon: -72.05, Lat: 44.05}, 1000)
	if len(around) != 2 || around[0].ID() != -1 || around[0].DistanceM != 0 {
		t.Errorf("around the first one: %v", around)
	}

	// One changed, one taken out, one new; the others stay.
	m.change(func() {
		m.removeSighting(-2)
		m.putSighting(seen(3, -72.05, 44.06, deeper))
		m.putSighting(seen(4, -72.05, 44.07, ledge))
	})
	p = refresh()
	if got := ids(p); !slices.Equal(got, []int64{1, 3, 4}) {
		t.Errorf("sightings %v, want 1, 3, 4", got)
	}
	// A picture opened afresh shows the same.
	again, err := snapshot.Open(t.Context(), m)
	if err != nil {
		t.Fatal(err)
	}
	if got := ids(again.Picture()); !slices.Equal(got, []int64{1, 3, 4}) {
		t.Errorf("opened afresh: %v, want 1, 3, 4", got)
	}
}

// What the estimates read ends with the sightings, bounds as bounds and each
// with its accuracy.
func TestSelectTakesSightings(t *testing.T) {
	s, m := opened(t, 30, records.Bounds{West: -72.1, South: 44, East: -72, North: 44.1}, 4)
	wells, err := s.Picture().Select(snapshot.Bedrock, nil)
	if err != nil {
		t.Fatal(err)
	}
	m.change(func() {
		m.putSighting(seen(1, -72.05, 44.05, records.DigestValue{Value: 1.5, Qualifier: records.About}))
		m.putSighting(seen(2, -72.05, 44.05, records.DigestValue{}))
	})
	if _, err := s.Refresh(t.Context(), m); err != nil {
		t.Fatal(err)
	}
	got, err := s.Picture().Select(snapshot.Bedrock, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Rows) != len(wells.Rows)+1 || got.Observations.Len() != len(got.Rows) {
		t.Fatalf("%d rows and %d observations, want %d", len(got.Rows), got.Observations.Len(), len(wells.Rows)+1)
	}
	for i, r := range got.Rows {
		if _, ok := r.Sighting(); ok != (i == len(wells.Rows)) {
			t.Errorf("row %d of %d: a sighting is %v", i, len(got.Rows), ok)
		}
	}
	if yields, err := s.Picture().Select(snapshot.Yield, nil); err != nil || slices.ContainsFunc(yields.Rows, func(r snapshot.Row) bool { _, ok := r.Sighting(); return ok }) {
		t.Errorf("a sighting without a yield is read for yield (%v)", err)
	}
	deep := 10.0
	if deepOnes, err := s.Picture().Select(snapshot.Bedrock, &snapshot.Filter{Depth: snapshot.Range{Min: &deep}}); err != nil || slices.ContainsFunc(deepOnes.Rows, func(r snapshot.Row) bool { _, ok := r.Sighting(); return ok }) {
		t.Errorf("a filter on the depth of wells takes a sighting (%v)", err)
	}
}

// Commits that change neither a well nor a sighting leave the content as it
// is, so that estimates need no new calibration.
func TestContentChangesWithWellsAndSightings(t *testing.T) {
	s, m := opened(t, 5, records.Bounds{West: -72.1, South: 44, East: -72, North: 44.1}, 5)
	r := rand.New(rand.NewPCG(6, 6))
	for i, c := range []struct {
		what    string
		fn      func()
		changes bool
	}{
		{"nothing to see", func() {}, false},
		{"a well", func() { m.put(digest(r, -72, 44)) }, true},
		{"a sighting", func() { m.putSighting(seen(1, -72, 44, records.DigestValue{Qualifier: records.Exact})) }, true},
		{"nothing again", func() {}, false},
		{"a sighting taken out", func() { m.removeSighting(-1) }, true},
		{"a well taken out", func() { m.remove(1) }, true},
	} {
		before := s.Picture().Content()
		m.change(c.fn)
		if _, err := s.Refresh(t.Context(), m); err != nil {
			t.Fatal(err)
		}
		p := s.Picture()
		if p.Commit() != int64(i+2) || (p.Content() == p.Commit()) != c.changes || (p.Content() != before) != c.changes {
			t.Errorf("%s: commit %d, content %d after %d", c.what, p.Commit(), p.Content(), before)
		}
	}
}

// A ledge at the site pulls the estimate up. A pit that met nothing to its
// end, deeper than all wells say, pushes it down and is no value there; one
// that ended above everything changes next to nothing.
func TestSightingsMoveTheEstimate(t *testing.T) {
	m := newMemory()
	r := rand.New(rand.NewPCG(8, 8))
	at := position.LonLat{Lon: -72.05, Lat: 44.05}
	m.change(func() {
		for range 120 {
			d := digest(r, -72.1+0.1*r.Float64(), 44+0.1*r.Float64())
			d.Bedrock = records.DigestValue{Value: 8 + 4*r.Float64(), Qualifier: records.Exact}
			m.put(d)
		}
	})
	estimate := func(sightings ...records.Digest) predict.Distribution {
		t.Helper()
		m.change(func() {
			for id := range m.sightings {
				m.removeSighting(id)
			}
			for _, d := range sightings {
				m.putSighting(d)
			}
		})
		s, err := snapshot.Open(t.Context(), m)
		if err != nil {
			t.Fatal(err)
		}
		sel, err := s.Picture().Select(snapshot.Bedrock, nil)
		if err != nil {
			t.Fatal(err)
		}
		model, err := predict.NewModel(sel.Observations, predict.DefaultParams())
		if err != nil {
			t.Fatal(err)
		}
		e, err := model.At(predict.Site{At: at, Year: math.NaN()}, predict.LeaveOut{})
		if err != nil {
			t.Fatal(err)
		}
		return e.FromNeighbours
	}
	plain := estimate()
	ledge := estimate(seen(1, at.Lon, at.Lat, records.DigestValue{Qualifier: records.Exact}))
	deeper := estimate(seen(2, at.Lon, at.Lat, records.DigestValue{Value: 11, Qualifier: records.GreaterThan}))
	shallow := estimate(seen(3, at.Lon, at.Lat, records.DigestValue{Value: 2.4384, Qualifier: records.GreaterThan}))
	if !(ledge.Median() < plain.Median()) || plain.Below(5) != 0 || ledge.ZeroShare() < 0.1 {
		t.Errorf("with a ledge %.2f m (%.2f at the surface), without %.2f m (%.2f above 5 m)", ledge.Median(), ledge.ZeroShare(), plain.Median(), plain.Below(5))
	}
	// A place known only to within miles says less of this one.
	vague := seen(4, at.Lon, at.Lat, records.DigestValue{Qualifier: records.Exact})
	vague.AccuracyM = 3000
	if v := estimate(vague); !(v.ZeroShare() < ledge.ZeroShare()/2) {
		t.Errorf("a ledge somewhere within 3 km has %.3f of the weight, one within 25 m %.3f", v.ZeroShare(), ledge.ZeroShare())
	}
	if !(deeper.Median() > plain.Median()+0.5) {
		t.Errorf("with a pit that went to 11 m without refusal %.2f m, without %.2f m", deeper.Median(), plain.Median())
	}
	if p := shallow.Below(2.44); p != 0 {
		t.Errorf("a pit of 2.44 m without refusal puts %.3f of the weight at or above its end: it was taken for a value", p)
	}
	if d := math.Abs(shallow.Median() - plain.Median()); d > 1 {
		t.Errorf("a pit that ended above all rock moves the middle by %.2f m", d)
	}
}
