package snapshot

import (
	"cmp"
	"context"
	"slices"

	"tallybook/geo/position"
	"tallybook/records"
)

// Sightings are few and stand beside the wells: the estimates read both, and
// what counts, lists or draws wells sees none of them. Their keys are below
// zero here.

// firstSightings reads all sightings.
func firstSightings(ctx context.Context, v records.StoreView) (*columns, error) {
	ds, _, err := v.SightingDigests(ctx, 0)
	return sightingColumns(ds), err
}

// nextSightings gives the sightings as they stand in v; where none changed
// since the picture, its own.
func nextSightings(ctx context.Context, v records.StoreView, now *Picture) (*columns, error) {
	changed, gone, err := v.SightingDigests(ctx, now.commit)
	if err != nil || len(changed)+len(gone) == 0 {
		return now.sightings, err
	}
	replaced := make(map[int64]bool, len(changed)+len(gone))
	for _, d := range changed {
		replaced[d.ID] = true
	}
	for _, id := range gone {
		replaced[id] = true
	}
	now.EachSighting(func(r Row) bool {
		if !replaced[r.ID()] {
			changed = append(changed, r.Digest())
		}
		return true
	})
	return sightingColumns(changed), nil
}

// sightingColumns puts digests in the order of the sightings' own keys.
func sightingColumns(ds []records.Digest) *columns {
	slices.SortFunc(ds, func(a, b records.Digest) int { return cmp.Compare(b.ID, a.ID) })
	c := newColumns(len(ds))
	for i := range ds {
		c.add(&ds[i])
	}
	return c
}

// Sighting says whether the row is a sighting and no well, and gives its own
// key. A sighting's ID is that below zero, and no well's.
func (r Row) Sighting() (id int64, ok bool) {
	if id := r.ID(); id < 0 {
		return -id, true
	}
	return 0, false
}

// CountSightings is the number of sightings; Len does not count them.
func (p *Picture) CountSightings() int { return p.sightings.len() }

// EachSighting shows every sighting, in the order of their keys, until fn
// returns false.
func (p *Picture) EachSighting(fn func(Row) bool) {
	for i := range int32(p.sightings.len()) {
		if !fn(Row{p.sightings, i}) {
			return
		}
	}
}

// SightingsAround gives the sightings within radiusM of a place, nearest
// first, ties by key. Distances are those of the geodesic.
func (p *Picture) SightingsAround(at position.LonLat, radiusM float64) []Neighbour {
	var out []Neighbour
	m := newMeasure(at)
	p.EachSighting(func(r Row) bool {
		if n, ok := m.within(r, radiusM); ok {
			out = append(out, n)
		}
		return true
	})
	slices.SortFunc(out, nearer)
	return out
}

// eachEvidence shows what estimates stand on: every well, then every sighting.
func (p *Picture) eachEvidence(fn func(Row) bool) {
	going := true
	p.Each(func(r Row) bool { going = fn(r); return going })
	if going {
		p.EachSighting(fn)
	}
}
