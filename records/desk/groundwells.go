package desk

import (
	"context"
	"math"
	"slices"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/snapshot"
)

// GroundCover says what the loaded grids do for the wells.
type GroundCover struct {
	Wells    int // in all
	Located  int
	Recorded int // located, with an elevation of their own
	Derived  int // located, without one, and given one by a grid
	Without  int // located, and still without
	// Apart are the wells whose own elevation and a grid's differ by more than
	// GroundApartM; Held is how many could be held against each other, and
	// MiddleApartM the middle of their differences, without sign.
	Held, Apart  int
	MiddleApartM float64
	// By is how many located wells each grid answers for, by its key.
	By map[int64]int
}

// GroundCover looks at every well.
func (d *Desk) GroundCover(ctx context.Context, actor records.Actor) (*GroundCover, error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	c := &GroundCover{By: map[int64]int{}, MiddleApartM: math.NaN()}
	var rows []snapshot.Row
	d.Picture().Each(func(r snapshot.Row) bool {
		c.Wells++
		if _, _, ok := r.Position(); ok {
			rows = append(rows, r)
		}
		return true
	})
	c.Located = len(rows)
	derived, err := d.groundOfRows(ctx, actor, rows)
	if err != nil {
		return nil, err
	}
	var apart []float64
	for i, r := range rows {
		own, at := r.GroundM(), derived[i]
		if at.OK {
			c.By[at.GridID]++
		}
		switch {
		case !math.IsNaN(own):
			c.Recorded++
		case at.OK:
			c.Derived++
		default:
			c.Without++
		}
		if !math.IsNaN(own) && at.OK {
			apart = append(apart, math.Abs(own-at.ElevationM))
			if math.Abs(own-at.ElevationM) > GroundApartM {
				c.Apart++
			}
		}
	}
	if c.Held = len(apart); c.Held > 0 {
		c.MiddleApartM = middleOf(apart)
	}
	return c, nil
}

// GroundApartM is by how much a well's own elevation and a grid's may differ
// before both are shown as not agreeing: ten feet, about what is read off a map
// with contours every twenty. Ours, no source.
const GroundApartM = 3.048

func middleOf(values []float64) float64 {
	slices.Sort(values)
	n := len(values)
	return (values[(n-1)/2] + values[n/2]) / 2
}

// groundOfRows is what the grids say at each of many located wells.
func (d *Desk) groundOfRows(ctx context.Context, actor records.Actor, rows []snapshot.Row) ([]GroundAt, error) {
	places := make([]position.LonLat, len(rows))
	for i, r := range rows {
		places[i].Lon, places[i].Lat, _ = r.Position()
	}
	return d.GroundAlong(ctx, actor, places)
}
