package desk

import (
	"context"
	"fmt"
	"math"
	"runtime"

	"golang.org/x/sync/errgroup"

	"tallybook/geo/near"
	"tallybook/geo/position"
	"tallybook/geo/predict"
	"tallybook/geo/surface"
	"tallybook/records"
	"tallybook/records/snapshot"
)

// Method is how a surface is made.
type Method uint8

// The methods.
const (
	ByNeighbours      Method = iota + 1 // the estimate from neighbours
	ByInverseDistance                   // Shepard's inverse distance weighting
	ByKriging                           // ordinary kriging
)

// String gives the method's name in addresses and on the command line.
func (m Method) String() string {
	switch m {
	case ByInverseDistance:
		return "idw"
	case ByKriging:
		return "kriging"
	}
	return "neighbours"
}

// ParseMethod reads the names that String writes.
func ParseMethod(s string) (Method, error) {
	switch s {
	case "neighbours":
		return ByNeighbours, nil
	case "idw":
		return ByInverseDistance, nil
	case "kriging":
		return ByKriging, nil
	}
	return 0, records.Errorf(records.Invalid, "%q is no way to make a surface; use neighbours, idw or kriging", s)
}

// Reading is what of a distribution a surface shows.
type Reading uint8

// The readings.
const (
	Middle  Reading = iota + 1 // the median
	Spread                     // the width of the 80 % range
	Chance                     // the probability of at least a threshold
	Promise                    // local skill
)

var readingNames = [...]string{Middle: "median", Spread: "range", Chance: "chance", Promise: "skill"}

// String gives the reading's name in addresses and on the command line.
func (r Reading) String() string {
	if int(r) < len(readingNames) {
		return readingNames[r]
	}
	return ""
}

// ParseReading reads the names that String writes.
func ParseReading(s string) (Reading, error) {
	for r := Middle; r <= Promise; r++ {
		if readingNames[r] == s {
			return r, nil
		}
	}
	return 0, records.Errorf(records.Invalid, "%q is nothing that a surface can show; use median, range, chance or skill", s)
}

// SurfaceAsk says what surface is wanted.
type SurfaceAsk struct {
	Field     snapshot.Field
	Filter    snapshot.Filter
	Method    Method
	Reading   Reading // for ByNeighbours; the others have only one
	Threshold float64 // base unit, for Chance
	IDW       surface.IDW
	Kriging   KrigingAsk
	// Through is how bedrock comes about, its depth or its elevation.
	Through LevelWay
	// Everywhere leaves in what no well supports, as other packages do; else
	// it is NaN.
	Everywhere bool
	// SpacingM is how far apart the nodes are: a well always supports the
	// nodes of its own cell, so that far out a surface does not fall into
	// specks. 0: nothing is added.
	SpacingM float64
}

// Surface is a field of values at nodes, with what it stands on.
type Surface struct {
	Values []float64 // in the order of the nodes asked for; NaN: unsupported
	Flat   []bool    // where the wells say no more than the area; false where unsupported
	Errors []float64 // standard errors, for ByKriging
	Model  *Model
}

// levels says whether elevations of bedrock come into it.
func (ask *SurfaceAsk) levels() bool {
	return ask.Field == snapshot.BedrockElevation || ask.Field == snapshot.Bedrock && ask.Through != UsualWay
}

// supportFor is how far from its wells a surface claims anything.
func (ask *SurfaceAsk) supportFor() surface.Support {
	s := surface.DefaultSupport
	s.MinM = max(s.MinM, 0.75*ask.SpacingM)
	s.MaxM = max(s.MaxM, s.MinM)
	return s
}

// supported tells which nodes some well supports; nil: all are to be shown.
func (m *Model) supported(ctx context.Context, ask SurfaceAsk, nodes []position.LonLat) ([]bool, error) {
	if ask.Everywhere {
		return nil, nil
	}
	ix := m.Observations().Index()
	support := ask.supportFor()
	mask := make([]bool, len(nodes))
	err := inParallel(ctx, len(nodes), func(from, to int) error {
		for i := from; i < to; i++ {
			x, y := m.Selection.Projection.Forward(nodes[i])
			mask[i] = support.Supported(ix, x, y)
		}
		return nil
	})
	return mask, err
}

// SurfaceAt evaluates a surface at positions.
func (d *Desk) SurfaceAt(ctx context.Context, actor records.Actor, ask SurfaceAsk, nodes []position.LonLat) (*Surface, error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	if ask.levels() {
		return d.levelSurface(ctx, actor, ask, nodes)
	}
	m, err := d.Model(ctx, ask.Field, &ask.Filter)
	if err != nil {
		return nil, err
	}
	switch ask.Method {
	case ByInverseDistance:
		return m.inverseDistance(ctx, ask, nodes)
	case ByKriging:
		return m.kriged(ctx, ask, nodes)
	}
	return m.neighbours(ctx, ask, nodes)
}

// neighbours is the estimate at the nodes that a well supports; the others are
// not worked out at all.
func (m *Model) neighbours(ctx context.Context, ask SurfaceAsk, nodes []position.LonLat) (*Surface, error) {
	mask, err := m.supported(ctx, ask, nodes)
	if err != nil {
		return nil, err
	}
	r := predict.GridRequest{Points: nodes}
	if mask != nil {
		r.Points = make([]position.LonLat, 0, len(nodes))
		for i, at := range nodes {
			if mask[i] {
				r.Points = append(r.Points, at)
			}
		}
	}
	if r.Categories, err = m.presumed(ctx, r.Points); err != nil {
		return nil, err
	}
	switch ask.Reading {
	case Middle:
		r.Quantiles = []float64{0.5}
	case Chance:
		r.Thresholds = []float64{ask.Threshold}
	}
	g, err := m.EvaluateGrid(ctx, r)
	if err != nil {
		return nil, fmt.Errorf("surface of %s: %w", ask.Field, err)
	}
	var values []float64
	switch ask.Reading {
	case Middle:
		values = g.Quantile[0]
	case Chance:
		values = g.AtLeast[0]
	case Spread:
		values = g.High
		for i := range values {
			values[i] -= g.Low[i]
		}
	case Promise:
		values = g.Skill
	default:
		return nil, records.Errorf(records.Invalid, "a surface shows the median, the range, the chance or the skill")
	}
	s := &Surface{Model: m, Values: make([]float64, len(nodes)), Flat: make([]bool, len(nodes))}
	k := 0
	for i := range nodes {
		s.Values[i] = math.NaN()
		if mask != nil && !mask[i] {
			continue
		}
		if !math.IsInf(values[k], 0) {
			s.Values[i] = values[k]
		}
		s.Flat[i] = g.Verdict[k] == predict.NoMoreThanArea && ask.Reading != Promise
		k++
	}
	return s, nil
}

func (m *Model) inverseDistance(ctx context.Context, ask SurfaceAsk, nodes []position.LonLat) (*Surface, error) {
	ix, values, err := m.plainPoints()
	if err != nil {
		return nil, err
	}
	if err := ask.IDW.Validate(); err != nil {
		return nil, &records.Error{Code: records.Invalid, Message: err.Error()}
	}
	mask, err := m.supported(ctx, ask, nodes)
	if err != nil {
		return nil, err
	}
	s := &Surface{Model: m, Values: make([]float64, len(nodes))}
	return s, inParallel(ctx, len(nodes), func(from, to int) error {
		for i := from; i < to; i++ {
			s.Values[i] = math.NaN()
			if mask == nil || mask[i] {
				x, y := m.Selection.Projection.Forward(nodes[i])
				s.Values[i] = ask.IDW.At(ix, values, x, y)
			}
		}
		return nil
	})
}

// SurfaceOn evaluates a surface on a grid in the coordinates of a projection.
// The classic surface measures its distances in those coordinates, as other
// packages do; the estimate from neighbours measures on planes of its own.
func (d *Desk) SurfaceOn(ctx context.Context, actor records.Actor, ask SurfaceAsk, grid surface.Grid, on position.Projection) (surface.Field, *Model, error) {
	f := surface.Field{Grid: grid}
	if err := d.Permit(actor, Look); err != nil {
		return f, nil, err
	}
	if err := grid.Validate(); err != nil {
		return f, nil, &records.Error{Code: records.Invalid, Message: err.Error()}
	}
	if ask.Method == ByKriging {
		f, _, _, err := d.KrigedOn(ctx, actor, ask, grid, on)
		return f, nil, err
	}
	if ask.Method != ByInverseDistance || on.Unit() != "m" || ask.levels() {
		nodes := make([]position.LonLat, grid.Len())
		for row := range grid.Rows {
			for col := range grid.Cols {
				nodes[grid.Index(col, row)] = on.Inverse(grid.X(col), grid.Y(row))
			}
		}
		s, err := d.SurfaceAt(ctx, actor, ask, nodes)
		if err != nil {
			return f, nil, err
		}
		f.Values = s.Values
		return f, s.Model, nil
	}
	if err := ask.IDW.Validate(); err != nil {
		return f, nil, &records.Error{Code: records.Invalid, Message: err.Error()}
	}
	ix, values, err := plainPointsOn(d.Picture(), &ask, on)
	if err != nil {
		return f, nil, err
	}
	if f, err = ask.IDW.Grid(ctx, ix, values, grid, 0); err != nil || ask.Everywhere {
		return f, nil, err
	}
	mask, err := ask.supportFor().Mask(ctx, ix, grid, 0)
	if err != nil {
		return f, nil, err
	}
	for i, supported := range mask {
		if !supported {
			f.Values[i] = math.NaN()
		}
	}
	return f, nil, nil
}

// plainPointsOn are the wells whose value is a number, in the coordinates of a
// projection.
func plainPointsOn(p *snapshot.Picture, ask *SurfaceAsk, on position.Projection) (*near.Index, []float64, error) {
	s, err := p.Select(ask.Field, &ask.Filter)
	if err != nil {
		return nil, nil, selectError(err, ask.Field)
	}
	var x, y, values []float64
	var keys []uint64
	for i, r := range s.Rows {
		v := s.Value(i)
		if v.Qualifier != records.Exact && v.Qualifier != records.About {
			continue
		}
		lon, lat, _ := r.Position()
		px, py := on.Forward(position.LonLat{Lon: lon, Lat: lat})
		x, y, values, keys = append(x, px), append(y, py), append(values, v.Value), append(keys, r.Key())
	}
	ix, err := near.New(x, y, keys)
	if err != nil {
		return nil, nil, records.WrapError(records.Invalid, err, "the wells lie outside of where %s can be used", on.Describe())
	}
	return ix, values, nil
}

// inParallel splits n things among the processors, in pieces small enough
// that a cancelled context is noticed soon.
func inParallel(ctx context.Context, n int, work func(from, to int) error) error {
	const piece = 512
	g, inner := errgroup.WithContext(ctx)
	g.SetLimit(runtime.GOMAXPROCS(0))
	for from := 0; from < n; from += piece {
		if inner.Err() != nil {
			break
		}
		g.Go(func() error { return work(from, min(from+piece, n)) })
	}
	if err := g.Wait(); err != nil {
		return err
	}
	return ctx.Err()
}
