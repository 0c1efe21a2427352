package desk

import (
	"cmp"
	"context"
	"fmt"
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
	// Most are the wells that differ most, those that differ more than
	// GroundApartM alone.
	Most []WellApart
	// By is how many located wells each grid answers for, by its key.
	By map[int64]int
}

// WellApart is a well whose own elevation and that of a grid differ.
type WellApart struct {
	ID              int64
	OwnM, DerivedM  float64
	Grid, GridDatum string
}

// mostApart is how many of them are listed.
const mostApart = 20

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
				c.Most = append(c.Most, WellApart{r.ID(), own, at.ElevationM, at.Grid, at.Datum})
			}
		}
	}
	if c.Held = len(apart); c.Held > 0 {
		c.MiddleApartM = middleOf(apart)
	}
	slices.SortFunc(c.Most, func(a, b WellApart) int {
		return cmp.Or(cmp.Compare(math.Abs(b.OwnM-b.DerivedM), math.Abs(a.OwnM-a.DerivedM)), cmp.Compare(a.ID, b.ID))
	})
	c.Most = c.Most[:min(len(c.Most), mostApart)]
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

// groundUnder reads what the grids have at the places of records, and says
// where a record's own elevation does not agree.
func (d *Desk) groundUnder(ctx context.Context, v records.StoreView, sheets []*Sheet) error {
	if d.ground.bare(v.Commit()) {
		return nil
	}
	sources, err := d.ground.sources(ctx, v)
	if err != nil || len(sources) == 0 {
		return err
	}
	places := make([]position.LonLat, len(sheets))
	for i, s := range sheets {
		places[i] = position.LonLat{Lon: math.NaN(), Lat: math.NaN()}
		if p := &s.Well.Place; p.Located {
			places[i] = position.LonLat{Lon: p.Lon, Lat: p.Lat}
		}
	}
	found := make([]GroundAt, len(sheets))
	if err := d.ground.read(ctx, v, sources, places, found); err != nil {
		return err
	}
	for i, s := range sheets {
		s.Ground = found[i]
		if f, apart := groundApart(s.Well, found[i]); apart {
			s.Faults = append(s.Faults, f)
		}
	}
	return nil
}

// groundApart says that a record's own elevation and a grid's differ.
func groundApart(w *records.Well, at GroundAt) (records.Fault, bool) {
	own, ok := w.Place.Elevation.Number()
	if !ok || !at.OK || !(math.Abs(float64(own)-at.ElevationM) > GroundApartM) {
		return records.Fault{}, false
	}
	const footM = 0.3048
	apart := math.Abs(float64(own) - at.ElevationM)
	return records.Fault{Severity: records.Warning, Field: "ground_elevation_m",
		Message: fmt.Sprintf("the record says %.1f m and the elevation grid %q %.1f m there: %.1f m (%.0f ft) apart", float64(own), at.Grid, at.ElevationM, apart, apart/footM),
		Mend:    "look at the place first, then at the unit and the datum of the elevation; the record's own is used"}, true
}

// checkGround finds the records whose own elevation differs from a grid's.
func (d *Desk) checkGround(ctx context.Context, v records.StoreView, held *groundHeld, r *CheckReport) error {
	sources, err := d.ground.sources(ctx, v)
	if err != nil || len(sources) == 0 || len(held.places) == 0 {
		return err
	}
	found := make([]GroundAt, len(held.places))
	if err := d.ground.read(ctx, v, sources, held.places, found); err != nil {
		return err
	}
	for i, at := range found {
		w := records.Well{Place: records.Place{Elevation: records.Of(records.Height(held.ownM[i]))}}
		f, apart := groundApart(&w, at)
		if !apart {
			continue
		}
		r.Warnings++
		if held.told++; held.told <= mostApart {
			r.Notes = append(r.Notes, fmt.Sprintf("record %d (%s): %s", held.ids[i], held.numbers[i], f))
		}
	}
	if held.told > mostApart {
		r.Notes = append(r.Notes, fmt.Sprintf("and %d more records whose elevation differs from a grid's by more than %.1f m", held.told-mostApart, GroundApartM))
	}
	return nil
}

// groundHeld are the records that have an elevation and a place.
type groundHeld struct {
	ids     []int64
	numbers []string
	ownM    []float64
	places  []position.LonLat
	told    int
}

func (h *groundHeld) add(w *records.Well) {
	own, ok := w.Place.Elevation.Number()
	if !ok || !w.Place.Located {
		return
	}
	h.ids, h.numbers = append(h.ids, w.ID), append(h.numbers, w.Number)
	h.ownM, h.places = append(h.ownM, float64(own)), append(h.places, position.LonLat{Lon: w.Place.Lon, Lat: w.Place.Lat})
}
