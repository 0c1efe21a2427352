package desk

import (
	"context"
	"math"
	"slices"

	"tallybook/geo/near"
	"tallybook/geo/position"
	"tallybook/geo/predict"
	"tallybook/geo/surface"
	"tallybook/records"
	"tallybook/records/snapshot"
)

// Station is a place on the line of a section with what is told of the ground
// there. Depths and elevations are metres; NaN: not told.
type Station struct {
	AlongM   float64
	At       position.LonLat
	GroundM  float64 // elevation of the ground
	GroundIs GroundSource
	// The central 80 % range of the depth to sound bedrock and its middle; NaN
	// where no well supports an estimate. HighM is +Inf where no more is known
	// than that it is deeper than LowM.
	LowM, MiddleM, HighM float64
	// Flat says that the wells around tell no more than the area as a whole.
	Flat bool
}

// Told says whether an estimate of bedrock stands at the station.
func (t *Station) Told() bool { return !math.IsNaN(t.MiddleM) }

// groundIDW reads the ground between wells: the nearest eight by the inverse
// square of their distance (Shepard; the number is ours, no source).
var groundIDW = surface.IDW{Power: 2, Neighbours: 8}

// sectionGround finds the ground's elevation along the line, and at the wells
// whose records have none: from the office's elevation grids, else between the
// wells around, as far as a surface would claim anything.
func (d *Desk) sectionGround(ctx context.Context, actor records.Actor, p *snapshot.Picture, s *Section) error {
	between, err := s.groundBetween(p)
	if err != nil {
		return err
	}
	var places []position.LonLat
	var set []func(m float64, is GroundSource)
	for i := range s.Stations {
		t := &s.Stations[i]
		places = append(places, t.At)
		set = append(set, func(m float64, is GroundSource) {
			t.GroundM, t.GroundIs = m, is
			if s.Ground != GroundOfGrid {
				s.Ground = is
			}
		})
	}
	for i := range s.Wells {
		w := &s.Wells[i]
		if at, ok := placeOfWell(w.Well); ok && w.GroundIs == GroundUnknown {
			places = append(places, at)
			set = append(set, func(m float64, is GroundSource) { w.GroundM, w.GroundIs = m, is })
		}
	}
	grids, err := d.GroundAlong(ctx, actor, places)
	if err != nil {
		return err
	}
	for i, g := range grids {
		if g.OK {
			set[i](g.ElevationM, GroundOfGrid)
			s.sawGrid(&g)
		} else if m, ok := between(s.Plane.ToXY(places[i])); ok {
			set[i](m, GroundBetween)
		}
	}
	return ctx.Err()
}

// sawGrid keeps the name and the datum of a grid that was read.
func (s *Section) sawGrid(g *GroundAt) {
	if !slices.Contains(s.GridNames, g.Grid) {
		s.GridNames = append(s.GridNames, g.Grid)
	}
	if !slices.Contains(s.GridDatums, g.Datum) {
		s.GridDatums = append(s.GridDatums, g.Datum)
	}
}

func placeOfWell(w *records.Well) (position.LonLat, bool) {
	at := position.LonLat{Lon: w.Place.Lon, Lat: w.Place.Lat}
	return at, w.Place.Located && at.Valid() == nil
}

// groundBetween reads the ground's elevation from the wells around, on the
// section's plane; ok is false where none is near enough.
func (s *Section) groundBetween(p *snapshot.Picture) (func(x, y float64) (m float64, ok bool), error) {
	var xs, ys, values []float64
	var keys []uint64
	p.InBox(s.box(s.WidthM/2+surface.DefaultSupport.MaxM), func(r snapshot.Row) bool {
		m := float64(r.Digest().GroundM)
		if math.IsNaN(m) || math.IsInf(m, 0) {
			return true
		}
		lon, lat, _ := r.Position()
		x, y := s.Plane.ToXY(position.LonLat{Lon: lon, Lat: lat})
		xs, ys, values, keys = append(xs, x), append(ys, y), append(values, m), append(keys, r.Key())
		return true
	})
	ix, err := near.New(xs, ys, keys)
	if err != nil {
		return nil, err
	}
	return func(x, y float64) (float64, bool) {
		if len(values) == 0 || !surface.DefaultSupport.Supported(ix, x, y) {
			return 0, false
		}
		return groundIDW.At(ix, values, x, y), true
	}, nil
}

// sectionBedrock estimates the depth to sound bedrock at the stations that a
// well supports. Without any well that says something of bedrock there is no
// estimate, which is no error.
func (d *Desk) sectionBedrock(ctx context.Context, ask *SectionAsk, s *Section) error {
	model := d.Model
	if ask.Soon {
		model = d.ModelSoon
	}
	m, err := model(ctx, snapshot.Bedrock, &ask.Filter)
	switch {
	case records.CodeOf(err) == records.NotFound:
		return nil
	case err != nil:
		return err
	case m == nil:
		s.NotYet = true
		return nil
	}
	s.Model = m
	nodes := make([]position.LonLat, len(s.Stations))
	for i := range nodes {
		nodes[i] = s.Stations[i].At
	}
	mask, err := m.supported(ctx, SurfaceAsk{}, nodes)
	if err != nil {
		return err
	}
	r := predict.GridRequest{Quantiles: []float64{0.5}}
	var at []int
	for i, ok := range mask {
		if ok {
			r.Points, at = append(r.Points, nodes[i]), append(at, i)
		}
	}
	if r.Categories, err = m.presumed(ctx, r.Points); err != nil {
		return err
	}
	g, err := m.EvaluateGrid(ctx, r)
	if err != nil {
		return err
	}
	for k, i := range at {
		t := &s.Stations[i]
		if math.IsInf(g.Quantile[0][k], 0) {
			continue // the wells around only say 'deeper than'
		}
		t.LowM, t.MiddleM, t.HighM = g.Low[k], g.Quantile[0][k], g.High[k]
		t.Flat = g.Verdict[k] == predict.NoMoreThanArea
	}
	return nil
}
