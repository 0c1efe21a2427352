package snapshot_test

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"sync"
	"testing"

	"tallybook/records"
	"tallybook/records/snapshot"
)

// memory is a store of digests alone, as the picture needs them. What the
// picture never calls panics.
type memory struct {
	records.Store
	mu      sync.Mutex
	wells   map[int64]records.Digest
	written map[int64]int64 // the commit that last wrote a well
	gone    map[int64]int64 // the commit that took it out
	commit  int64
	nextID  int64
	// sightings by their keys below zero, as wells above
	sightings map[int64]records.Digest
}

func newMemory() *memory {
	return &memory{wells: map[int64]records.Digest{}, written: map[int64]int64{}, gone: map[int64]int64{}, sightings: map[int64]records.Digest{}}
}

// change is one commit: fn may put and remove.
func (m *memory) change(fn func()) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.commit++
	fn()
}

func (m *memory) put(d records.Digest) int64 {
	if d.ID == 0 {
		m.nextID++
		d.ID = m.nextID
	}
	d.Revision++
	m.wells[d.ID], m.written[d.ID] = d, m.commit
	return d.ID
}

func (m *memory) putSighting(d records.Digest) {
	d.Revision++
	m.sightings[d.ID], m.written[d.ID] = d, m.commit
}

func (m *memory) removeSighting(id int64) {
	delete(m.sightings, id)
	m.gone[id] = m.commit
}

func (m *memory) remove(id int64) {
	delete(m.wells, id)
	m.gone[id] = m.commit
}

func (m *memory) Changes(context.Context) (int64, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.commit, nil
}

func (m *memory) View(_ context.Context, fn func(records.StoreView) error) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	return fn(&memoryView{m: m})
}

type memoryView struct {
	records.StoreView
	m *memory
}

func (v *memoryView) Commit() int64 { return v.m.commit }

func (v *memoryView) CountWells(context.Context) (int64, error) { return int64(len(v.m.wells)), nil }

func (v *memoryView) RockUnits(context.Context) (map[uint16]string, error) {
	return map[uint16]string{1: "Upper Schist"}, nil
}

func (v *memoryView) Digests(_ context.Context, fn func([]records.Digest) error) error {
	for id := int64(1); id <= v.m.nextID; id++ {
		if d, ok := v.m.wells[id]; ok {
			if err := fn([]records.Digest{d}); err != nil {
				return err
			}
		}
	}
	return nil
}

// DigestsSince gives them in no order, since none is promised.
func (v *memoryView) DigestsSince(_ context.Context, commit int64) (changed []records.Digest, gone []int64, err error) {
	for id, at := range v.m.written {
		if d, ok := v.m.wells[id]; ok && at > commit {
			changed = append(changed, d)
		}
	}
	for id, at := range v.m.gone {
		if at > commit && id > 0 {
			gone = append(gone, id)
		}
	}
	return changed, gone, nil
}

func (v *memoryView) SightingDigests(_ context.Context, commit int64) (changed []records.Digest, gone []int64, err error) {
	for id, d := range v.m.sightings {
		if v.m.written[id] > commit {
			changed = append(changed, d)
		}
	}
	for id, at := range v.m.gone {
		if at > commit && id < 0 {
			gone = append(gone, id)
		}
	}
	return changed, gone, nil
}

// broken is a store whose reading fails.
type broken struct{ records.Store }

var errBroken = errors.New("the disk is out")

func (broken) View(context.Context, func(records.StoreView) error) error { return errBroken }
func (broken) Changes(context.Context) (int64, error)                    { return 99, nil }

// digest invents a well at a position; NaN: not located.
func digest(r *rand.Rand, lon, lat float64) records.Digest {
	value := func() records.DigestValue {
		v := records.DigestValue{Value: math.Round(r.Float64() * 100)}
		switch r.IntN(6) {
		case 0:
			return records.DigestValue{}
		case 1:
			v.Qualifier = records.LessThan
		case 2:
			v.Qualifier = records.GreaterThan
		case 3:
			v.Qualifier, v.High = records.Between, v.Value+5
		case 4:
			v.Qualifier = records.About
		default:
			v.Qualifier = records.Exact
		}
		return v
	}
	return records.Digest{
		Key: r.Uint64(), Lon: lon, Lat: lat, AccuracyM: float32(r.IntN(3) * 10),
		Bedrock: value(), Yield: value(), TotalDepth: value(),
		FirstRockM: float32(r.IntN(30)), CasingM: records.NaN32(), StaticM: 3, GroundM: 120,
		Year: float32(r.IntN(3) * 1000), Purpose: uint8(r.IntN(4)), Setting: uint8(r.IntN(3)), Rock: uint16(r.IntN(2)),
		Materials: 1 << r.IntN(5), StrikesM: [3]float32{1, records.NaN32(), records.NaN32()},
		Flags: records.DigestFlags(r.IntN(4)),
	}
}

// opened makes a snapshot of a store of n invented wells in a box.
func opened(t testing.TB, n int, box records.Bounds, seed uint64) (*snapshot.Snapshot, *memory) {
	t.Helper()
	m := newMemory()
	r := rand.New(rand.NewPCG(seed, 1))
	m.change(func() {
		for range n {
			m.put(digest(r, box.West+r.Float64()*(box.East-box.West), box.South+r.Float64()*(box.North-box.South)))
		}
	})
	s, err := snapshot.Open(t.Context(), m)
	if err != nil {
		t.Fatal(err)
	}
	return s, m
}

// all gathers the digests of a picture by id.
func all(p *snapshot.Picture) map[int64]records.Digest {
	out := map[int64]records.Digest{}
	p.Each(func(r snapshot.Row) bool {
		out[r.ID()] = r.Digest()
		return true
	})
	return out
}
