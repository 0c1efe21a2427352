package snapshot_test

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"tallybook/records"
	"tallybook/records/snapshot"
)

// TestOverlayEqualsOpenedAnew: whatever is written, moved and taken out, in
// commits small and large, the picture that followed step by step is the one
// that is opened anew.
func TestOverlayEqualsOpenedAnew(t *testing.T) {
	folded, rebuilt := false, false
	rapid.Check(t, func(t *rapid.T) {
		m := newMemory()
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 2))
		where := func() (lon, lat float64) {
			if r.IntN(6) == 0 {
				return math.NaN(), math.NaN()
			}
			return -72 + r.Float64(), 44 + r.Float64()
		}
		m.change(func() {
			for range rapid.IntRange(0, 40).Draw(t, "at first") {
				at := m2(where)
				m.put(digest(r, at[0], at[1]))
			}
		})
		s, err := snapshot.Open(t.Context(), m)
		if err != nil {
			t.Fatal(err)
		}
		foldAt := rapid.IntRange(1, 12).Draw(t, "fold at")
		s.SetFoldAt(foldAt)
		for range rapid.IntRange(1, 25).Draw(t, "commits") {
			edits := rapid.IntRange(1, 15).Draw(t, "edits")
			rebuilt = rebuilt || edits >= foldAt
			m.change(func() {
				for range edits {
					change(m, r, where)
				}
			})
			if rapid.IntRange(0, 3).Draw(t, "refresh") == 0 {
				continue // several commits are taken in at once next time
			}
			refresh(t, s, m)
			if rapid.Bool().Draw(t, "settle") {
				s.Settle()
				if n, _ := s.FoldState(); n == 0 {
					folded = true
				}
			}
			same(t, s, m)
		}
		refresh(t, s, m)
		s.Settle()
		same(t, s, m)
	})
	if !folded || !rebuilt {
		t.Errorf("no sequence folded (%v) or rebuilt (%v): the test does not test that", folded, rebuilt)
	}
}

// m2 draws a position; a place without one has neither coordinate.
func m2(where func() (float64, float64)) [2]float64 {
	lon, lat := where()
	if math.IsNaN(lon) != math.IsNaN(lat) {
		panic("half a position")
	}
	return [2]float64{lon, lat}
}

// change makes one random edit.
func change(m *memory, r *rand.Rand, where func() (lon, lat float64)) {
	var ids []int64
	for id := int64(1); id <= m.nextID; id++ {
		if _, ok := m.wells[id]; ok {
			ids = append(ids, id)
		}
	}
	kind := r.IntN(4)
	if len(ids) == 0 || kind == 0 {
		at := m2(where)
		m.put(digest(r, at[0], at[1]))
		return
	}
	id := ids[r.IntN(len(ids))]
	switch kind {
	case 1:
		m.remove(id)
	case 2: // moved, perhaps off the map
		d := m.wells[id]
		d.Lon, d.Lat = where()
		m.put(d)
	default:
		d := m.wells[id]
		d.Yield = records.DigestValue{Value: r.Float64(), Qualifier: records.Exact}
		m.put(d)
	}
}

func refresh(t rapid.TB, s *snapshot.Snapshot, m *memory) {
	t.Helper()
	if _, err := s.Refresh(context.Background(), m); err != nil {
		t.Fatal(err)
	}
}

// same holds a snapshot's picture against one opened anew, in every question
// that can be asked of it.
func same(t rapid.TB, s *snapshot.Snapshot, m *memory) {
	t.Helper()
	fresh, err := snapshot.Open(context.Background(), m)
	if err != nil {
		t.Fatal(err)
	}
	got, want := s.Picture(), fresh.Picture()
	if got.Commit() != want.Commit() || got.Len() != want.Len() {
		t.Fatalf("commit %d with %d wells, want commit %d with %d", got.Commit(), got.Len(), want.Commit(), want.Len())
	}
	if diff := cmp.Diff(all(want), all(got), cmpopts.EquateNaNs()); diff != "" {
		t.Fatalf("wells (-anew +followed):\n%s", diff)
	}
	if len(all(got)) != got.Len() {
		t.Fatalf("Each shows %d wells and Len says %d", len(all(got)), got.Len())
	}
	for id := int64(0); id <= m.nextID+1; id++ {
		a, okA := want.ByID(id)
		b, okB := got.ByID(id)
		if okA != okB || okA && !cmp.Equal(a.Digest(), b.Digest(), cmpopts.EquateNaNs()) {
			t.Fatalf("well %d differs", id)
		}
	}
	whole := records.Bounds{West: -180, South: -90, East: 180, North: 90}
	part := records.Bounds{West: -71.8, South: 44.1, East: -71.3, North: 44.9}
	for _, b := range []records.Bounds{whole, part} {
		if diff := cmp.Diff(inBox(want, b), inBox(got, b)); diff != "" {
			t.Fatalf("in %v (-anew +followed):\n%s", b, diff)
		}
	}
}

// inBox is the set of wells in a box; a well shown twice is an error of its
// own.
func inBox(p *snapshot.Picture, b records.Bounds) map[int64]int {
	out := map[int64]int{}
	p.InBox(b, func(r snapshot.Row) bool { out[r.ID()]++; return true })
	return out
}

// TestReadersNeverSeeHalfAnEdit: every commit swaps the depths of two wells,
// and moves both. Whoever sees a picture must find their sum unchanged and
// both on the same side, in the base, in the overlay, and while it is folded.
func TestReadersNeverSeeHalfAnEdit(t *testing.T) {
	const pairs = 50
	m := newMemory()
	r := rand.New(rand.NewPCG(3, 3))
	m.change(func() {
		for i := range 2 * pairs {
			d := digest(r, -72, 44)
			d.TotalDepth = records.DigestValue{Value: float64(100 + 100*(i%2)), Qualifier: records.Exact}
			m.put(d)
		}
	})
	s, err := snapshot.Open(t.Context(), m)
	if err != nil {
		t.Fatal(err)
	}
	s.SetFoldAt(20)
	done := make(chan struct{})
	var readers sync.WaitGroup
	for range 3 {
		readers.Add(1)
		go func() {
			defer readers.Done()
			var last int64
			for {
				select {
				case <-done:
					return
				default:
				}
				p := s.Picture()
				if p.Commit() < last {
					t.Errorf("the picture went back from commit %d to %d", last, p.Commit())
					return
				}
				last = p.Commit()
				if p.Len() != 2*pairs {
					t.Errorf("%d wells, want %d", p.Len(), 2*pairs)
					return
				}
				for id := int64(1); id <= 2*pairs; id += 2 {
					a, _ := p.ByID(id)
					b, _ := p.ByID(id + 1)
					lonA, _, _ := a.Position()
					lonB, _, _ := b.Position()
					if sum := a.Value(snapshot.TotalDepth).Value + b.Value(snapshot.TotalDepth).Value; sum != 300 || lonA != lonB {
						t.Errorf("half an edit: sum %g, longitudes %g and %g", sum, lonA, lonB)
						return
					}
				}
			}
		}()
	}
	for range 600 {
		id := 1 + 2*r.Int64N(pairs)
		m.change(func() {
			a, b := m.wells[id], m.wells[id+1]
			a.TotalDepth, b.TotalDepth = b.TotalDepth, a.TotalDepth
			a.Lon += 0.001
			b.Lon += 0.001
			m.put(a)
			m.put(b)
		})
		refresh(t, s, m)
	}
	close(done)
	readers.Wait()
	s.Settle()
	same(t, s, m)
}

func TestRefreshTellsWhetherThereWasAnything(t *testing.T) {
	s, m := opened(t, 3, records.Bounds{West: 1, South: 1, East: 2, North: 2}, 1)
	if news, err := s.Refresh(t.Context(), m); err != nil || news {
		t.Errorf("nothing happened, and Refresh gives %v, %v", news, err)
	}
	before := s.Picture()
	m.change(func() { m.remove(2) })
	if news, err := s.Refresh(t.Context(), m); err != nil || !news {
		t.Errorf("a well went, and Refresh gives %v, %v", news, err)
	}
	if before.Len() != 3 || s.Picture().Len() != 2 {
		t.Errorf("%d wells before and %d after, want 3 and 2: a picture never changes", before.Len(), s.Picture().Len())
	}
}

func TestBrokenStore(t *testing.T) {
	if _, err := snapshot.Open(t.Context(), broken{}); !errors.Is(err, errBroken) {
		t.Errorf("Open gives %v", err)
	}
	s, _ := opened(t, 3, records.Bounds{West: 1, South: 1, East: 2, North: 2}, 1)
	p := s.Picture()
	if _, err := s.Refresh(t.Context(), broken{}); !errors.Is(err, errBroken) {
		t.Errorf("Refresh gives %v", err)
	}
	if s.Picture() != p {
		t.Error("a refresh that failed changed the picture")
	}
}

func TestEmpty(t *testing.T) {
	p := snapshot.Empty().Picture()
	if _, ok := p.Extent(); ok || p.Len() != 0 || len(inBox(p, records.Bounds{West: -180, South: -90, East: 180, North: 90})) != 0 {
		t.Error("an empty picture shows something")
	}
	if _, err := p.Select(snapshot.Yield, nil); err == nil {
		t.Error("an empty picture selects something")
	}
}
