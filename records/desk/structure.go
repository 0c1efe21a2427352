package desk

import (
	"cmp"
	"context"
	"errors"
	"math"
	"slices"

	"tallybook/geo/predict"
	"tallybook/geo/variogram"
	"tallybook/records"
	"tallybook/records/snapshot"
)

// Scale is on which scale values are compared with distance.
type Scale uint8

// The scales. By the field: the logarithm for yield, which spreads by ratios,
// and plain values for depths.
const (
	ScaleByField Scale = iota
	PlainScale
	LogScale // log(1 + value / unit), the unit a metre or a US gallon a minute
)

// ParseScale reads ”, 'plain' and 'log'.
func ParseScale(s string) (Scale, error) {
	switch s {
	case "", "auto":
		return ScaleByField, nil
	case "plain":
		return PlainScale, nil
	case "log":
		return LogScale, nil
	}
	return 0, records.Errorf(records.Invalid, "%q is no scale; use plain or log", s)
}

// ModelAsk says how the structure is to be modelled; the zero ModelAsk lets the
// values choose.
type ModelAsk struct {
	Scale Scale
	// Shape is the name of a shape; "" takes the spherical or the exponential
	// one, whichever comes nearer.
	Shape string
	// Robust fits the estimate that wild values do not spoil.
	Robust bool
	// WidthM and CutoffM are the lags, metres; 0 lets the values choose.
	WidthM, CutoffM float64

	coarse bool // chosen lags are twice as wide
}

// Shapes are the names of the shapes that can be fitted.
func Shapes() []string {
	return []string{variogram.Spherical.String(), variogram.Exponential.String(), variogram.Gaussian.String()}
}

func (a *ModelAsk) shapes() ([]variogram.Shape, error) {
	if a.Shape == "" || a.Shape == "auto" {
		return variogram.LearntShapes, nil
	}
	for _, s := range []variogram.Shape{variogram.Spherical, variogram.Exponential, variogram.Gaussian} {
		if s.String() == a.Shape {
			return []variogram.Shape{s}, nil
		}
	}
	return nil, records.Errorf(records.Invalid, "%q is no shape of a variogram; use spherical, exponential or gaussian", a.Shape)
}

func (a *ModelAsk) onLog(f snapshot.Field) bool {
	return a.Scale == LogScale || a.Scale == ScaleByField && f == snapshot.Yield
}

func (a *ModelAsk) estimator() variogram.Estimator {
	if a.Robust {
		return variogram.Robust
	}
	return variogram.Classical
}

// Structure is how a field's value varies with distance.
type Structure struct {
	Field  snapshot.Field
	Model  ModelAsk
	Log    bool
	Unit   float64 // what counts as one on the logarithmic scale, base unit
	Values int     // wells and sightings whose value is a number
	Bounds int     // those that say only a bound, and so have no part
	Marked int     // those left out because they are marked unreliable
	Sites  int     // one of each is compared
	Spot   variogram.OnTheSpot

	variogram.Lags
	Chosen    bool // the lags were chosen by the reader
	Centres   int  // 0: every pair was compared
	Pairs     int
	Empirical variogram.Empirical
	Fitted    variogram.Fitted
	FitErr    error // why there is no model
	No        variogram.NoStructure
	Along     [4]Direction
}

// Direction is the structure along a line.
type Direction struct {
	AzimuthDeg float64
	Empirical  variogram.Empirical
}

// shuffles is how often values are dealt out anew: one in forty of 200 lies
// beyond either end of the envelope.
const shuffles = 199

// structureSeed fixes the lots of which pairs are drawn.
const structureSeed = 1

// points are the values of a selection that are numbers, on some plane.
type points struct {
	x, y, v []float64 // v on the scale asked for
	key     []uint64
	bounds  int
}

// exactPoints gathers them; place gives a row's position on the plane.
func exactPoints(s *snapshot.Selection, log bool, place func(o *predict.Observation) (x, y float64)) *points {
	p := &points{}
	unit := s.Observations.Unit()
	// In the order of their keys, so that another copy of the records gives the
	// same numbers to the last digit.
	order := make([]int, s.Observations.Len())
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(s.Rows[a].Key(), s.Rows[b].Key()) })
	for _, i := range order {
		o := s.Observations.Observation(i)
		if o.Bound != predict.Exact {
			p.bounds++
			continue
		}
		x, y := place(&o)
		v := o.Value
		if log {
			v = logOf(v, unit)
		}
		p.x, p.y, p.v, p.key = append(p.x, x), append(p.y, y), append(p.v, v), append(p.key, o.Key)
	}
	return p
}

func onOwnPlane(o *predict.Observation) (x, y float64) { return o.XM, o.YM }

// onePerSite draws one of each site; a site is a metre.
func (p *points) onePerSite() (*points, error) {
	kept, err := variogram.OnePerSite(p.x, p.y, siteM, variogram.Sampling{Key: p.key, Seed: structureSeed})
	if err != nil {
		return nil, err
	}
	one := &points{bounds: p.bounds}
	for _, i := range kept {
		one.x, one.y, one.v, one.key = append(one.x, p.x[i]), append(one.y, p.y[i]), append(one.v, p.v[i]), append(one.key, p.key[i])
	}
	return one, nil
}

// siteM is how near wells stand to count as one site.
const siteM = 1

// learn fits a model to points of which there is one a site.
func (a *ModelAsk) learn(ctx context.Context, p *points) (l variogram.Learnt, err error) {
	shapes, err := a.shapes()
	if err != nil {
		return l, err
	}
	s := variogram.Sampling{Key: p.key, Seed: structureSeed}
	if l.Lags, err = variogram.ChooseLags(ctx, p.x, p.y, p.v, s); err != nil {
		return l, structureError(err)
	}
	if a.coarse {
		l.WidthM *= 2
		l.CutoffM = l.WidthM * math.Ceil(l.CutoffM/l.WidthM-1e-9)
	}
	if a.WidthM > 0 {
		l.WidthM = a.WidthM
		l.CutoffM = max(l.CutoffM, a.WidthM)
	}
	if a.CutoffM > 0 {
		l.CutoffM = a.CutoffM
		if a.WidthM <= 0 {
			l.WidthM = a.CutoffM / 15
		}
	}
	if l.CutoffM/l.WidthM > mostLags {
		return l, records.Errorf(records.Invalid, "lags of %.4g m up to %.4g m are more than %d: choose wider ones", l.WidthM, l.CutoffM, mostLags)
	}
	if err := l.Validate(); err != nil {
		return l, &records.Error{Code: records.Invalid, Message: "lags must be above zero and not without end"}
	}
	if l.Pairs, err = variogram.Draw(ctx, p.x, p.y, p.v, l.Edges(), s); err != nil {
		return l, err
	}
	l.Empirical = l.Pairs.Empirical(nil)
	l.Fitted, err = variogram.FitBest(l.Empirical, shapes, variogram.PairsOverSquare, a.estimator())
	return l, err
}

// mostLags is how many lags a chart shows.
const mostLags = 60

// structureError says in words why nothing can be said of distance.
func structureError(err error) error {
	switch {
	case errors.Is(err, variogram.ErrNoSamples), errors.Is(err, variogram.ErrTooFewLags):
		return records.WrapError(records.Invalid, err, "too few wells have a value for anything to be said of distance")
	case errors.Is(err, variogram.ErrOneSpot):
		return records.WrapError(records.Invalid, err, "all wells with a value stand on one spot, so nothing can be said of distance")
	case errors.Is(err, variogram.ErrNoVariation):
		return records.WrapError(records.Invalid, err, "all wells have the same value, so there is nothing that could vary with distance")
	case errors.Is(err, variogram.ErrSingular):
		return records.WrapError(records.Invalid, err, "the equations of kriging have no sound answer with this model: choose the spherical or the exponential shape")
	}
	return err
}

// StructureOf is how a field varies with distance, from the wells that filter
// takes.
func (d *Desk) StructureOf(ctx context.Context, actor records.Actor, f snapshot.Field, filter *snapshot.Filter, ask ModelAsk) (*Structure, error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	return structureOf(ctx, d.Picture(), f, filter, ask, func(string, int, int) {})
}

func structureOf(ctx context.Context, p *snapshot.Picture, f snapshot.Field, filter *snapshot.Filter, ask ModelAsk, progress func(string, int, int)) (*Structure, error) {
	return workStructure(ctx, p, f, filter, ask, true, progress)
}

// directionTolerance parts the pairs among four directions, degrees.
const directionTolerance = 22.5

// directionsOf is the structure in half as many lags, since each direction has a
// quarter of the pairs, and without the envelope.
func directionsOf(ctx context.Context, p *snapshot.Picture, f snapshot.Field, filter *snapshot.Filter, ask ModelAsk) (*Structure, error) {
	ask.coarse = true
	return workStructure(ctx, p, f, filter, ask, false, func(string, int, int) {})
}

func workStructure(ctx context.Context, p *snapshot.Picture, f snapshot.Field, filter *snapshot.Filter, ask ModelAsk, envelope bool, progress func(string, int, int)) (*Structure, error) {
	if _, err := ask.shapes(); err != nil {
		return nil, err
	}
	progress("reading the wells", 0, 0)
	s, err := p.Select(f, filter)
	if err != nil {
		return nil, selectError(err, f)
	}
	out := &Structure{Field: f, Model: ask, Log: ask.onLog(f), Unit: s.Observations.Unit(), Marked: s.LeftOut, Chosen: ask.WidthM > 0 || ask.CutoffM > 0}
	all := exactPoints(s, out.Log, onOwnPlane)
	out.Values, out.Bounds = len(all.v), all.bounds
	one, err := all.onePerSite()
	if err != nil {
		return nil, err
	}
	out.Sites = len(one.v)
	if out.Spot, err = variogram.SameSite(all.x, all.y, all.v, siteM); err != nil {
		return nil, err
	}
	progress("comparing pairs", 0, 0)
	l, err := ask.learn(ctx, one)
	if l.Pairs == nil {
		if err == nil {
			err = variogram.ErrNoSamples
		}
		return nil, structureError(err)
	}
	out.Lags, out.Empirical, out.Fitted, out.FitErr = l.Lags, l.Empirical, l.Fitted, structureError(err)
	out.Centres, out.Pairs = l.Pairs.Centres, l.Pairs.Len()
	for i := range out.Along {
		a := float64(45 * i)
		out.Along[i] = Direction{AzimuthDeg: a, Empirical: l.Pairs.Along(a, directionTolerance)}
	}
	if !envelope {
		return out, nil
	}
	progress("dealing the values out at random", 0, 0)
	out.No, err = l.Pairs.Shuffled(ctx, shuffles, structureSeed)
	return out, err
}
