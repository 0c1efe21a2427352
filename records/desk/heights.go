package desk

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"sync"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/snapshot"
)

// Heights are the elevations of the ground at wells and sightings: what their
// records say, else what an elevation grid has there.
type Heights struct {
	commit int64     // the latest that changed a well, a sighting or a grid
	ids    []int64   // of those whose record says nothing and a grid does, ascending
	m      []float64 // derived, in their order
	bare   bool      // no grid is in use
}

// Of is the ground's elevation at a well or sighting, metres; derived says that
// a grid has it and not the record.
func (h *Heights) Of(r snapshot.Row) (m float64, derived, ok bool) {
	if own := r.GroundM(); !math.IsNaN(own) {
		return own, false, true
	}
	if i, found := slices.BinarySearch(h.ids, r.ID()); found {
		return h.m[i], true, true
	}
	return 0, false, false
}

// Bedrock is the elevation of sound bedrock at a well as far as a filter trusts
// it; Missing where the depth or the ground is not known. Deeper than a depth is
// lower than an elevation, and rock lies nowhere above the ground.
func (h *Heights) Bedrock(r snapshot.Row, f *snapshot.Filter) records.DigestValue {
	v := f.Value(r, snapshot.Bedrock)
	ground, _, ok := h.Of(r)
	if !ok {
		return records.DigestValue{}
	}
	switch v.Qualifier {
	case records.Missing:
		return v
	case records.GreaterThan:
		v.Value, v.Qualifier = ground-v.Value, records.LessThan
	case records.LessThan:
		v.Value, v.High, v.Qualifier = ground-v.Value, ground, records.Between
	case records.Between:
		v.Value, v.High = ground-v.High, ground-v.Value
	default:
		v.Value = ground - v.Value
	}
	return v
}

// heightsShelf keeps the latest.
type heightsShelf struct {
	mu   sync.Mutex
	last *Heights
}

// Heights gives the ground's elevation of every well and sighting as they stand.
// It works them out where the records or the grids have changed since.
func (d *Desk) Heights(ctx context.Context) (*Heights, error) {
	d.heights.mu.Lock()
	defer d.heights.mu.Unlock()
	p := d.Picture()
	out := &Heights{}
	var places []position.LonLat
	err := d.store.View(ctx, func(v records.StoreView) error {
		sources, err := d.ground.sources(ctx, v)
		if err != nil {
			return err
		}
		out.commit, out.bare = max(p.Content(), d.ground.lastChange()), len(sources) == 0
		if last := d.heights.last; last != nil && last.commit == out.commit {
			out = last
			return nil
		}
		if out.bare {
			return nil
		}
		add := func(r snapshot.Row) bool {
			if lon, lat, ok := r.Position(); ok && math.IsNaN(r.GroundM()) {
				out.ids = append(out.ids, r.ID())
				places = append(places, position.LonLat{Lon: lon, Lat: lat})
			}
			return true
		}
		p.Each(add)
		p.EachSighting(add)
		found := make([]GroundAt, len(places))
		if err := d.ground.read(ctx, v, sources, places, found); err != nil {
			return err
		}
		out.keep(found)
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("ground elevations of wells: %w", err)
	}
	d.heights.last = out
	return out, nil
}

// keep keeps those that were found, in the order of their keys.
func (h *Heights) keep(found []GroundAt) {
	order := make([]int, 0, len(found))
	for i := range found {
		if found[i].OK {
			order = append(order, i)
		}
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(h.ids[a], h.ids[b]) })
	ids := make([]int64, len(order))
	h.m = make([]float64, len(order))
	for k, i := range order {
		ids[k], h.m[k] = h.ids[i], found[i].ElevationM
	}
	h.ids = ids
}
