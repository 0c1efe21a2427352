package predict

import (
	"context"
	"fmt"
	"math"
	"slices"
)

// ScoreOptions are the settings of Score.
type ScoreOptions struct {
	Holdout
	// Thresholds are the values t at which the Brier score of P(y >= t) is taken.
	Thresholds []float64
}

// Scores are how a method did on test wells that were hidden from it. All are in
// the unit of the observations, but for coverages and Brier scores, which have
// none. Smaller is better for all errors.
type Scores struct {
	Method Method
	By     By
	Tested int
	// Unused is how many observations are bounds that the method cannot use: one
	// number for a place knows none, and neither does kriging.
	Unused int
	// Params are those that calibration chose (Neighbours only).
	Params Params
	// MAE and RMSE are of the estimate (the median, where there is a
	// distribution), over outcomes that are values.
	MAE, RMSE float64
	// CRPS is NaN for a method that gives one number.
	CRPS float64
	// Raw and Adjusted are the coverage of the 10 % to 90 % range and of the one
	// with calibrated ranks, on the half of the sites that did not set the ranks;
	// the widths are their medians over all tests (an end that is unknown counts
	// as infinitely far). NaN for a method that gives one number.
	Raw, Adjusted           Coverage
	RawWidth, AdjustedWidth float64
	// Brier is the mean of (P(y >= t) - outcome)^2 at each threshold, over the
	// tests whose outcome is known there. One number counts as a certainty.
	Brier []float64
}

// Score tests a method on wells drawn from the observations, each predicted with
// its site or block hidden. The same seed draws the same wells for every method.
// It returns ErrTooFew for fewer than 20 observations, and where there is too
// little to fit a model to (Kriging only).
func Score(ctx context.Context, o *Observations, method Method, opts ScoreOptions) (Scores, error) {
	s, _, _, err := scored(ctx, o, method, opts, false)
	return s, err
}

// scored is Score with what came of each test well. With apart, the settings that
// Neighbours takes from test wells are taken for each half of the sites from the
// other half, so that no well is tested with settings that it helped to choose.
func scored(ctx context.Context, o *Observations, method Method, opts ScoreOptions, apart bool) (Scores, *trials, []result, error) {
	if o.Len() < minTrials {
		return Scores{}, nil, nil, ErrTooFew
	}
	s := Scores{Method: method, By: opts.By}
	p := method.Params
	if p == (Params{}) {
		p = DefaultParams()
	}
	if err := p.Validate(); err != nil {
		return Scores{}, nil, nil, err
	}
	t, err := draw(o, opts.Holdout)
	if err != nil {
		return Scores{}, nil, nil, err
	}
	t.total = len(t.list)
	results := make([]result, len(t.list))
	for j := range results {
		results[j] = result{raw: math.NaN(), adjusted: math.NaN(), brier: make([]float64, len(opts.Thresholds))}
	}
	switch {
	case method.Kind == Kriging:
		err = s.testKriging(ctx, t, method, opts, results)
	case method.spread():
		err = s.testSpread(ctx, t, p, method, opts, results, apart)
	default:
		s.Unused = o.bounds
		err = testPoint(ctx, t, method, opts, results)
	}
	if err != nil {
		return Scores{}, nil, nil, err
	}
	s.sum(t, results, opts.Thresholds)
	return s, t, results, nil
}

// result is what a method said of one test well.
type result struct {
	estimate      float64
	crps          float64
	raw, adjusted float64 // widths
	brier         []float64
}

// take scores a distribution against what was found.
func (r *result) take(d *Distribution, y Sample, line rankLine, d8 float64, thresholds []float64) {
	r.estimate, r.crps = d.Median(), d.CRPSOf(y)
	r.raw, r.adjusted = d.RangeAt(0.1, 0.9).Width(), d.RangeAt(line.at(d8)).Width()
	for k, at := range thresholds {
		r.brier[k] = brier(d.AtLeast(at), y, at)
	}
}

// cover measures coverage and gives the ranks of the adjusted range: one pair for
// all, or where local is true by how far off the neighbours stand.
func (s *Scores) cover(t *trials, of func(*trial) rankPair, local bool) (rankLine, error) {
	line, err := newRankLine(t.list, setter(true), of)
	if err != nil {
		return nil, err
	}
	if !local { // as the estimate's own area has it
		low, high, err := rangeRanks(t.list, setter(true), of)
		if err != nil {
			return nil, err
		}
		line = rankLine{{low: low, high: high}}
	}
	if s.Raw, err = coverage(t.list, setter(false), of, 0.1, 0.9); err != nil {
		return nil, err
	}
	straight := func(w *trial) rankPair {
		low, high := line.at(w.d8)
		return straightPair(of(w), low, high)
	}
	s.Adjusted, err = coverage(t.list, setter(false), straight, 0.1, 0.9)
	return line, err
}

// testSpread tests a method that gives a distribution: once to set the ranks of
// its range, once more for the widths.
func (s *Scores) testSpread(ctx context.Context, t *trials, p Params, method Method, opts ScoreOptions, results []result, apart bool) error {
	choosing := method.Kind == Neighbours
	paramsOf := func(*trial) Params { return p }
	t.total *= 2
	if choosing {
		t.total += len(t.list)
		c, err := t.candidates(ctx, p)
		if err != nil {
			return err
		}
		choices, best := c.among(t, anyTrial)
		p.Kappa, p.Gamma = choices[best].Kappa, choices[best].Gamma
		s.Params = p
		if apart {
			half := map[bool]Params{true: p, false: p}
			for which, q := range half {
				choices, best := c.among(t, setter(!which))
				q.Kappa, q.Gamma = choices[best].Kappa, choices[best].Gamma
				half[which] = q
			}
			paramsOf = func(w *trial) Params { return half[w.setter] }
		}
	}
	if err := t.evaluateBy(ctx, p, paramsOf); err != nil {
		return err
	}
	of := areaRank
	if choosing {
		of = ownRank
	}
	line, err := s.cover(t, of, choosing)
	if err != nil {
		return err
	}
	return t.each(ctx, p, func(pr *Predictor, q *query, j int) {
		p := paramsOf(&t.list[j])
		pr.prepare(q, p.Gamma)
		d := &pr.mixed
		if choosing {
			pr.distribution(p.Kappa, d)
		} else {
			pr.areaAlone(d)
		}
		results[j].take(d, t.obs.sample(t.list[j].i), line, pr.d8, opts.Thresholds)
	})
}

// testPoint tests a method that gives one number. Bounds are no values, and have
// no part in one number: only wells with a value are asked.
func testPoint(ctx context.Context, t *trials, method Method, opts ScoreOptions, results []result) error {
	o := t.obs
	power, k := method.inverse()
	if method.Kind == NearestWell {
		k = 1
	}
	if power <= 0 || k < 1 {
		return fmt.Errorf("predict: %v makes no sense", method)
	}
	whole := o.all()
	median := whole.Median()
	p := DefaultParams()
	p.Near, p.SlopeWells, p.Area = k, 0, 8
	return parallel(ctx, len(t.list), 64, t.hold.Workers, func() func(j int) error {
		pr := newPredictor(o, p)
		return func(j int) error {
			defer t.tick()
			w := &t.list[j]
			r := &results[j]
			r.crps = math.NaN()
			switch method.Kind {
			case GlobalMedian:
				r.estimate = median
			case NearestWell, InverseDistance:
				out := t.leaveOut(j)
				if o.bounds > 0 {
					hidden := out.Skip
					out.Skip = func(i int32) bool {
						return o.wells[i].bound != Exact || (hidden != nil && hidden(i))
					}
				}
				q := pr.own(w.i, out)
				if err := pr.find(&q); err != nil {
					w.failed = true
					return nil
				}
				r.estimate = pr.inverseDistance(power, k)
			default:
				return fmt.Errorf("predict: no method %d", method.Kind)
			}
			y := o.sample(w.i)
			for k, at := range opts.Thresholds {
				certain := 0.0
				if r.estimate >= at {
					certain = 1
				}
				r.brier[k] = brier(certain, y, at)
			}
			return nil
		}
	})
}

// inverseDistance is the mean of the k nearest found, weighted by 1 / d^power. A
// well on the very spot is the answer.
func (p *Predictor) inverseDistance(power float64, k int) float64 {
	var sum, weights float64
	for _, h := range p.hits[:min(k, len(p.hits))] {
		v := p.obs.wells[h.I].value
		if h.D2 == 0 {
			return v
		}
		w := math.Pow(h.D2, -power/2)
		sum += float64(w * v)
		weights += w
	}
	return sum / weights
}

// brier is the squared error of a probability of t or more; NaN where the
// outcome, a bound, leaves it open.
func brier(probability float64, y Sample, t float64) float64 {
	switch y.Bound {
	case LessThan:
		if t >= y.Value {
			return probability * probability
		}
		return math.NaN()
	case GreaterThan:
		if t <= y.Value {
			return (1 - probability) * (1 - probability)
		}
		return math.NaN()
	case Between:
		switch {
		case t <= y.Value:
			return (1 - probability) * (1 - probability)
		case t > y.High:
			return probability * probability
		}
		return math.NaN()
	}
	if y.Value >= t {
		return (1 - probability) * (1 - probability)
	}
	return probability * probability
}

// sum takes the means, in the order of the draw, so that they do not depend on
// which worker did what.
func (s *Scores) sum(t *trials, results []result, thresholds []float64) {
	var crps, abs, square mean
	var raw, adjusted []float64
	briers := make([]mean, len(thresholds))
	for j := range results {
		if t.list[j].failed {
			continue
		}
		s.Tested++
		r := &results[j]
		if y := t.obs.sample(t.list[j].i); y.Bound == Exact {
			e := r.estimate - y.Value
			if finite(e) {
				abs.add(math.Abs(e))
				square.add(e * e)
			}
		}
		crps.add(r.crps)
		raw, adjusted = append(raw, r.raw), append(adjusted, r.adjusted)
		for k := range briers {
			briers[k].add(r.brier[k])
		}
	}
	s.MAE, s.RMSE, s.CRPS = abs.value(), math.Sqrt(square.value()), crps.value()
	s.RawWidth, s.AdjustedWidth = middle(raw), middle(adjusted)
	if !s.Method.spread() {
		s.Raw, s.Adjusted = Coverage{Share: math.NaN()}, Coverage{Share: math.NaN()}
	}
	for k := range briers {
		s.Brier = append(s.Brier, briers[k].value())
	}
}

// mean is a running mean that passes over NaN; NaN when nothing came.
type mean struct {
	sum float64
	n   int
}

func (m *mean) add(x float64) {
	if !math.IsNaN(x) {
		m.sum += x
		m.n++
	}
}

func (m *mean) value() float64 { return m.sum / float64(m.n) }

// middle is the median of xs, which it sorts; NaN when there is none.
func middle(xs []float64) float64 {
	if len(xs) == 0 {
		return math.NaN()
	}
	slices.Sort(xs)
	n := len(xs)
	if lo, hi := xs[(n-1)/2], xs[n/2]; lo != hi {
		return (lo + hi) / 2
	}
	return xs[n/2]
}
