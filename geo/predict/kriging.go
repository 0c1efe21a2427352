package predict

import (
	"cmp"
	"context"
	"errors"
	"math"
	"slices"

	"tallybook/geo/variogram"
)

// krigingWells is how many sites enter a system of kriging where the method does
// not say: more change little, for those behind stand in the shadow of those
// before.
const krigingWells = 24

// normal is what kriging says of a place: a normal distribution of the value, or
// of its logarithm.
type normal struct {
	mean, sd float64
	ok       bool
}

// normalSteps is how many equal shares stand for a normal distribution, so that
// it is scored by the same steps as every other. The CRPS so comes out right to
// some thousandths of the standard deviation.
const normalSteps = 100

var normalQuantiles = func() (q [normalSteps]float64) {
	for i := range q {
		p := (float64(i) + 0.5) / normalSteps
		q[i] = math.Sqrt2 * math.Erfinv(2*p-1)
	}
	return q
}()

// into fills d with the distribution on the plain scale. What would lie below
// zero stands at zero.
func (n *normal) into(d *Distribution, logUnit float64) {
	d.reset()
	for i, q := range normalQuantiles {
		v := n.mean + n.sd*q
		if logUnit > 0 {
			v = logUnit * math.Expm1(v)
		}
		d.push(max(0, v), float64(i+1)/normalSteps, 1./normalSteps)
	}
}

// values are the observations that kriging can use: those that are values and no
// bounds, with their places on the plane.
type krigingData struct {
	x, y, v []float64
	key     []uint64
	of      []int32 // position among the observations
}

func (o *Observations) krigingData(logUnit float64) *krigingData {
	d := &krigingData{}
	// In the order of their keys, so that sums come out the same in any order.
	order := make([]int32, len(o.wells))
	for i := range order {
		order[i] = int32(i)
	}
	slices.SortStableFunc(order, func(a, b int32) int { return cmp.Compare(o.key[a], o.key[b]) })
	for _, i := range order {
		w := &o.wells[i]
		if w.bound != Exact {
			continue
		}
		x, y := o.index.At(int(i))
		v := w.value
		if logUnit > 0 {
			v = math.Log1p(v / logUnit)
		}
		d.x, d.y, d.v = append(d.x, x), append(d.y, y), append(d.v, v)
		d.key, d.of = append(d.key, o.key[i]), append(d.of, i)
	}
	return d
}

// onePerSite are the data with one of each site, drawn by lot.
func (d *krigingData) onePerSite(siteM float64, s variogram.Sampling) (*krigingData, error) {
	s.Key = d.key
	kept, err := variogram.OnePerSite(d.x, d.y, siteM, s)
	if err != nil {
		return nil, err
	}
	one := &krigingData{}
	for _, i := range kept {
		one.x, one.y, one.v = append(one.x, d.x[i]), append(one.y, d.y[i]), append(one.v, d.v[i])
		one.key, one.of = append(one.key, d.key[i]), append(one.of, d.of[i])
	}
	return one, nil
}

// krige answers every test well. Where blocks are hidden the variogram is fitted
// anew without each fold's wells, by the lags that the whole set chose; where
// sites are hidden it stays as the whole set has it.
func (t *trials) krige(ctx context.Context, m Method) ([]normal, error) {
	o := t.obs
	logUnit := 0.0
	if m.Log {
		logUnit = o.unit
	}
	data := o.krigingData(logUnit)
	one, err := data.onePerSite(t.hold.SiteM, variogram.Sampling{})
	if err != nil {
		return nil, err
	}
	learnt, err := variogram.Learn(ctx, one.x, one.y, one.v, variogram.Sampling{Key: one.key})
	if err != nil {
		return nil, krigingError(err)
	}
	options := variogram.Options{Neighbours: m.krigingWells(), SiteM: t.hold.SiteM}
	k, err := variogram.NewKriging(data.x, data.y, data.v, learnt.Fitted.Model, options)
	if err != nil {
		return nil, krigingError(err)
	}
	out := make([]normal, len(t.list))
	if t.folds == nil {
		return out, t.krigeSome(ctx, k, out, nil, func(x, y float64, s *variogram.Scratch) (variogram.Estimate, error) {
			return k.AtHidden(x, y, t.hold.SiteM, s)
		})
	}
	for f := range int32(t.hold.Folds) {
		some := t.inFold(f)
		if len(some) == 0 {
			continue
		}
		model := learnt.Fitted.Model
		without := learnt.Pairs.Empirical(func(i, j int32) bool { return t.folds[one.of[i]] != f && t.folds[one.of[j]] != f })
		if fit, err := variogram.FitBest(without, variogram.LearntShapes, variogram.PairsOverSquare, variogram.Classical); err == nil {
			model = fit.Model
		}
		rest, err := k.Without(func(i int32) bool { return t.folds[data.of[i]] != f }, model)
		if err != nil {
			continue // nothing is left to tell from
		}
		if err := t.krigeSome(ctx, rest, out, some, rest.At); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// inFold are the test wells of a fold.
func (t *trials) inFold(f int32) []int {
	var some []int
	for j := range t.list {
		if t.folds[t.list[j].i] == f {
			some = append(some, j)
		}
	}
	return some
}

// krigeSome answers some of the test wells, nil meaning all.
func (t *trials) krigeSome(ctx context.Context, k *variogram.Kriging, out []normal, some []int, at func(x, y float64, s *variogram.Scratch) (variogram.Estimate, error)) error {
	n := len(out)
	if some != nil {
		n = len(some)
	}
	return parallel(ctx, n, 64, t.hold.Workers, func() func(j int) error {
		var s variogram.Scratch
		return func(j int) error {
			defer t.tick()
			if some != nil {
				j = some[j]
			}
			x, y := t.obs.index.At(int(t.list[j].i))
			if e, err := at(x, y, &s); err == nil {
				out[j] = normal{mean: e.Value, sd: math.Sqrt(e.Variance), ok: true}
			}
			return nil
		}
	})
}

// krigingError turns what stands in the way of any kriging into ErrTooFew, for
// then there is nothing to fit a model to.
func krigingError(err error) error {
	for _, few := range []error{variogram.ErrNoSamples, variogram.ErrTooFewLags, variogram.ErrNoVariation, variogram.ErrOneSpot} {
		if errors.Is(err, few) {
			return ErrTooFew
		}
	}
	return err
}

// testKriging tests kriging as testSpread does the others.
func (s *Scores) testKriging(ctx context.Context, t *trials, method Method, opts ScoreOptions, results []result) error {
	said, err := t.krige(ctx, method)
	if err != nil {
		return err
	}
	s.Unused = t.obs.bounds
	logUnit := 0.0
	if method.Log {
		logUnit = t.obs.unit
	}
	var d Distribution
	for j := range t.list {
		w := &t.list[j]
		if w.failed = !said[j].ok; w.failed {
			continue
		}
		said[j].into(&d, logUnit)
		w.rank = rankOf(&d, t.obs.sample(w.i))
	}
	line, err := s.cover(t, ownRank, false)
	if err != nil {
		return err
	}
	for j := range t.list {
		w := &t.list[j]
		if w.failed {
			continue
		}
		said[j].into(&d, logUnit)
		results[j].take(&d, t.obs.sample(w.i), line, w.d8, opts.Thresholds)
	}
	return nil
}
