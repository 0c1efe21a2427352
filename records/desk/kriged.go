package desk

import (
	"context"
	"math"

	"tallybook/geo/near"
	"tallybook/geo/position"
	"tallybook/geo/predict"
	"tallybook/geo/surface"
	"tallybook/geo/variogram"
	"tallybook/records"
	"tallybook/records/snapshot"
)

// KrigingAsk says how a surface is kriged; the zero KrigingAsk lets the values
// choose the model, and uses 24 neighbours.
type KrigingAsk struct {
	ModelAsk
	Neighbours int // 0: 24
}

const usualKrigingNeighbours = 24

// KrigedReport is what a kriged surface stands on.
type KrigedReport struct {
	Fitted                 variogram.Fitted
	Lags                   variogram.Lags
	Log                    bool
	Unit                   float64 // what counts as one on the logarithmic scale, base unit
	Values, Bounds, Marked int     // numbers used; bounds that could not be; marked unreliable
	Sites, Neighbours      int
	Centres                int // of so many the pairs were drawn; 0: all were compared
	// Places have a value. Of them Beyond lie beyond all the wells that entered,
	// which weights below zero allow, and Floored came out below zero and are set to
	// zero. Singular have no value because their equations had no sound answer.
	Places, Beyond, Floored, Singular int
}

// kriger is kriging made ready.
type kriger struct {
	*variogram.Kriging
	index  *near.Index
	report KrigedReport
}

// newKriger fits a model and makes kriging ready; place gives positions on the
// plane on which distances are measured.
func newKriger(ctx context.Context, s *snapshot.Selection, f snapshot.Field, ask KrigingAsk, place func(o *predict.Observation) (x, y float64)) (*kriger, error) {
	if ask.Neighbours == 0 {
		ask.Neighbours = usualKrigingNeighbours
	}
	if ask.Neighbours < 1 || ask.Neighbours > 500 {
		return nil, records.Errorf(records.Invalid, "kriging takes 1 to 500 nearest wells, not %d", ask.Neighbours)
	}
	log := ask.onLog(f)
	p := exactPoints(s, log, place)
	for i := range p.x {
		if p.x[i]-p.x[i] != 0 || p.y[i]-p.y[i] != 0 {
			return nil, records.Errorf(records.Invalid, "the wells lie outside of where these coordinates can be used")
		}
	}
	one, err := p.onePerSite()
	if err != nil {
		return nil, err
	}
	l, err := ask.learn(ctx, one)
	if err != nil {
		return nil, structureError(err)
	}
	k := &kriger{report: KrigedReport{
		Fitted: l.Fitted, Lags: l.Lags, Log: log, Unit: s.Observations.Unit(), Values: len(p.v), Bounds: p.bounds, Marked: s.LeftOut,
		Neighbours: ask.Neighbours, Centres: l.Pairs.Centres,
	}}
	if k.Kriging, err = variogram.NewKriging(p.x, p.y, p.v, l.Fitted.Model, variogram.Options{Neighbours: ask.Neighbours, SiteM: siteM}); err != nil {
		return nil, structureError(err)
	}
	k.report.Sites = k.Sites()
	k.index, err = near.New(p.x, p.y, p.key)
	return k, err
}

// fill works a surface out: the values and their standard errors in the base unit
// of the field, NaN where there is none.
func (k *kriger) fill(ctx context.Context, n int, place func(i int) (x, y float64, ok bool)) (values, errors []float64, r KrigedReport, err error) {
	f, err := k.Fill(ctx, n, 0, place)
	if err != nil {
		return nil, nil, r, structureError(err)
	}
	r = k.report
	r.Places, r.Beyond, r.Singular = f.Places, f.Beyond, f.Singular
	values, errors = f.Value, f.Variance
	for i, v := range values {
		if math.IsNaN(v) {
			continue
		}
		values[i], errors[i] = backFromScale(v, errors[i], r.Log, r.Unit)
		if values[i] < 0 {
			values[i] = 0
			r.Floored++
		}
	}
	return values, errors, r, nil
}

func logOf(v, unit float64) float64 { return math.Log1p(v / unit) }

// backFromScale turns what kriging says on its scale into the value and its
// standard error in the base unit. From a normal logarithm these are the median
// and the standard deviation of the lognormal distribution (J. Aitchison and
// J. A. C. Brown, The Lognormal Distribution, Cambridge, 1957, from memory).
func backFromScale(v, variance float64, log bool, unit float64) (value, se float64) {
	if !log {
		return v, math.Sqrt(variance)
	}
	return unit * math.Expm1(v), unit * math.Exp(v+variance/2) * math.Sqrt(math.Expm1(variance))
}

// kriging is the model's wells made ready for kriging, each way once.
func (m *Model) kriging(ctx context.Context, ask KrigingAsk) (*kriger, error) {
	m.krigersMu.Lock()
	defer m.krigersMu.Unlock()
	if k := m.krigers[ask]; k != nil {
		return k, nil
	}
	k, err := newKriger(ctx, m.Selection, m.Field, ask, onOwnPlane)
	if err != nil {
		return nil, err
	}
	if m.krigers == nil || len(m.krigers) >= 4 {
		m.krigers = map[KrigingAsk]*kriger{}
	}
	m.krigers[ask] = k
	return k, nil
}

func (m *Model) kriged(ctx context.Context, ask SurfaceAsk, nodes []position.LonLat) (*Surface, error) {
	k, err := m.kriging(ctx, ask.Kriging)
	if err != nil {
		return nil, err
	}
	support := ask.supportFor()
	s := &Surface{Model: m, Flat: make([]bool, len(nodes))}
	mask := make([]bool, len(nodes))
	x, y := make([]float64, len(nodes)), make([]float64, len(nodes))
	err = inParallel(ctx, len(nodes), func(from, to int) error {
		for i := from; i < to; i++ {
			x[i], y[i] = m.Selection.Projection.Forward(nodes[i])
			mask[i] = ask.Everywhere || support.Supported(k.index, x[i], y[i])
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	s.Values, s.Errors, _, err = k.fill(ctx, len(nodes), func(i int) (float64, float64, bool) { return x[i], y[i], mask[i] })
	return s, err
}

// KrigedOn is a kriged surface on a grid with its standard error, distances being
// measured in the coordinates of the grid where those are metres, as other
// packages do.
func (d *Desk) KrigedOn(ctx context.Context, actor records.Actor, ask SurfaceAsk, grid surface.Grid, on position.Projection) (values, errors surface.Field, r KrigedReport, err error) {
	values, errors = surface.Field{Grid: grid}, surface.Field{Grid: grid} // row after row
	if err = d.Permit(actor, Look); err != nil {
		return values, errors, r, err
	}
	if err = grid.Validate(); err != nil {
		return values, errors, r, &records.Error{Code: records.Invalid, Message: err.Error()}
	}
	if ask.levels() {
		return values, errors, r, errNoLevelKriging()
	}
	s, err := d.Picture().Select(ask.Field, &ask.Filter)
	if err != nil {
		return values, errors, r, selectError(err, ask.Field)
	}
	place, node := onOwnPlane, func(col, row int) (float64, float64) {
		return s.Projection.Forward(on.Inverse(grid.X(col), grid.Y(row)))
	}
	if on.Unit() == "m" {
		place = func(o *predict.Observation) (x, y float64) { return on.Forward(o.At) }
		node = func(col, row int) (float64, float64) { return grid.X(col), grid.Y(row) }
	}
	k, err := newKriger(ctx, s, ask.Field, ask.Kriging, place)
	if err != nil {
		return values, errors, r, err
	}
	x, y, mask := make([]float64, grid.Len()), make([]float64, grid.Len()), make([]bool, grid.Len())
	support := ask.supportFor()
	err = inParallel(ctx, grid.Len(), func(from, to int) error {
		for i := from; i < to; i++ {
			x[i], y[i] = node(i%grid.Cols, i/grid.Cols)
			mask[i] = ask.Everywhere || support.Supported(k.index, x[i], y[i])
		}
		return nil
	})
	if err != nil {
		return values, errors, r, err
	}
	values.Values, errors.Values, r, err = k.fill(ctx, grid.Len(), func(i int) (float64, float64, bool) { return x[i], y[i], mask[i] })
	return values, errors, r, err
}
