package predict

import (
	"context"
	"math"
	"slices"
)

// CalibrationOptions are the settings of Calibrate. Zero fields take the
// defaults.
type CalibrationOptions struct {
	Holdout
	// Params are the settings to start from; the zero value means DefaultParams.
	Params Params
	// RecentYears is how many years back from the latest count as recent; 0 means
	// 5. Where fewer than 200 test wells are that recent, as many more years count
	// as it takes, up to three times as many. Where then 200 are recent they alone
	// set the range, each predicted from older wells only, as the next well will
	// be.
	RecentYears float64
	// CorrectForward tries recency weights and half of the level shift seen in the
	// recent wells, and keeps what lowers the forward score by more than 1.3
	// standard errors.
	CorrectForward bool
}

// minRecent is how many recent test wells it takes to set the range by them.
const minRecent = 200

// minTrials is how few test wells are too few to choose anything by.
const minTrials = 20

// minHalves is how few test wells are too few to let half of them set the range:
// below it all of them set it, and the coverage is still that of each half under
// the range that the other half would set.
const minHalves = 400

// Calibrate sets the weight of the area (Kappa) and of unlike wells (Gamma) by
// the lowest mean CRPS over the test wells, then the ranks of the 80 % range,
// and keeps how the estimate did at each test well, for the local verdict.
//
// With fewer than 20 observations nothing can be tested: the model leans on the
// area (Kappa 4), its ranges are plain quantiles, and the report says so
// (Tested 0). It returns ErrTooFew when there is no observation at all, and
// ctx's error when it ends.
func Calibrate(ctx context.Context, o *Observations, opts CalibrationOptions) (*Model, Report, error) {
	if o.Len() == 0 {
		return nil, Report{}, ErrTooFew
	}
	p := opts.Params
	if p == (Params{}) {
		p = DefaultParams()
	}
	if err := p.Validate(); err != nil {
		return nil, Report{}, err
	}
	if o.Len() < minTrials {
		p.Kappa, p.Gamma = 4, 1
		m := &Model{obs: o, params: p}
		return m, Report{By: opts.By, Params: p, Wells: o.Len(), Bounds: o.bounds}, nil
	}
	t, err := draw(o, opts.Holdout)
	if err != nil {
		return nil, Report{}, err
	}
	t.total = 2 * len(t.list)
	report := Report{By: opts.By, Wells: o.Len(), Bounds: o.bounds, Tested: len(t.list)}
	if report.Choices, err = t.choose(ctx, &p); err != nil {
		return nil, Report{}, err
	}
	recent, err := t.recent(opts, o)
	if err != nil {
		return nil, Report{}, err
	}
	if recent != nil {
		if opts.CorrectForward {
			if err := recent.correct(ctx, &p, &report); err != nil {
				return nil, Report{}, err
			}
		}
		if err := recent.evaluate(ctx, p); err != nil {
			return nil, Report{}, err
		}
	}
	if err := t.evaluate(ctx, p); err != nil {
		return nil, Report{}, err
	}
	m := &Model{obs: o, params: p}
	if err := m.learn(t, recent, &report); err != nil {
		return nil, Report{}, err
	}
	return m, report, nil
}

// choose sets kappa and gamma to the pair of lowest mean CRPS. The search, votes
// and slope of a test well are shared by all pairs, and one pass over its values
// by all kappas.
func (t *trials) choose(ctx context.Context, p *Params) ([]Choice, error) {
	c, err := t.candidates(ctx, *p)
	if err != nil {
		return nil, err
	}
	choices, best := c.among(t, anyTrial)
	p.Kappa, p.Gamma = choices[best].Kappa, choices[best].Gamma
	return choices, nil
}

// candidates are the scores of every pair of kappa and gamma at every test well.
type candidates struct {
	kappas, gammas []float64
	scores         []float64 // by test well, then gamma, then kappa
}

func (t *trials) candidates(ctx context.Context, p Params) (*candidates, error) {
	kappas, gammas := kappaChoices(), gammaChoices()
	if !t.obs.categories {
		gammas = gammas[:1]
	}
	pairs := len(kappas) * len(gammas)
	scores := make([]float64, pairs*len(t.list))
	err := t.each(ctx, p, func(pr *Predictor, q *query, j int) {
		own := scores[j*pairs : (j+1)*pairs]
		y := t.obs.sample(t.list[j].i)
		d := &pr.mixed
		pr.censor.rough = true
		for g, gamma := range gammas {
			pr.prepare(q, gamma)
			if !pr.bounded {
				parts := scoreMixture(pr.entries, y)
				for k, kappa := range kappas {
					own[g*len(kappas)+k] = parts.at(pr.total / (pr.total + kappa))
				}
				continue
			}
			for k, kappa := range kappas {
				pr.distribution(kappa, d)
				own[g*len(kappas)+k] = d.CRPSOf(y)
			}
		}
	})
	return &candidates{kappas, gammas, scores}, err
}

// among gives the mean score of every pair over some of the test wells, and which
// is best.
func (c *candidates) among(t *trials, some func(*trial) bool) (choices []Choice, best int) {
	kappas, gammas := c.kappas, c.gammas
	pairs := len(kappas) * len(gammas)
	choices = make([]Choice, pairs)
	tested := 0
	for j := range t.list {
		if t.list[j].failed || !some(&t.list[j]) {
			continue
		}
		tested++
		for k, s := range c.scores[j*pairs : (j+1)*pairs] {
			choices[k].CRPS += s
		}
	}
	for c := range choices {
		choices[c].Gamma, choices[c].Kappa = gammas[c/len(kappas)], kappas[c%len(kappas)]
		choices[c].CRPS /= float64(max(tested, 1))
		if choices[c].CRPS < choices[best].CRPS {
			best = c
		}
	}
	return choices, best
}

// evaluate predicts every test well with settled parameters.
func (t *trials) evaluate(ctx context.Context, p Params) error {
	return t.evaluateBy(ctx, p, func(*trial) Params { return p })
}

// evaluateBy is evaluate with kappa and gamma that may differ by test well.
func (t *trials) evaluateBy(ctx context.Context, p Params, of func(*trial) Params) error {
	return t.each(ctx, p, func(pr *Predictor, q *query, j int) {
		w := &t.list[j]
		p := of(w)
		y := t.obs.sample(w.i)
		pr.prepare(q, p.Gamma)
		w.nearestM, w.d8 = pr.nearestM(), pr.d8
		d := &pr.mixed
		pr.distribution(p.Kappa, d)
		w.crps, w.rank, w.median = d.CRPSOf(y), rankOf(d, y), d.Median()
		pr.areaAlone(d)
		w.areaCRPS, w.areaRank, w.areaMedian = d.CRPSOf(y), rankOf(d, y), d.Median()
	})
}

// rankOf is where an outcome falls in a distribution.
func rankOf(d *Distribution, y Sample) rankPair {
	at := func(v float64) (lo, hi float64) {
		lo, hi = d.ranks(v)
		if share, from, ok := d.UpperUnknown(); ok && v > from {
			return 1 - share, 1
		}
		return lo, hi
	}
	lo, hi := at(y.Value)
	switch y.Bound {
	case LessThan:
		return rankPair{lo: 0, hi: hi}
	case GreaterThan:
		return rankPair{lo: lo, hi: 1}
	case Between:
		_, hi = at(y.High)
		return rankPair{lo: lo, hi: hi}
	}
	return rankPair{lo: lo, hi: hi, known: true}
}

// recent is the test forward in time: the recent ones among the test wells, each
// to be predicted from older wells. It is nil when there are too few.
func (t *trials) recent(opts CalibrationOptions, o *Observations) (*trials, error) {
	years := opts.RecentYears
	if years <= 0 {
		years = 5
	}
	r := &trials{obs: o, hold: t.hold, folds: t.folds, before: true}
	r.hold.Progress = nil
	since := recentSince(t.list, o.lastYear, years)
	for _, w := range t.list {
		if w.year > since {
			r.list = append(r.list, trial{i: w.i, year: w.year, setter: w.setter})
		}
	}
	if len(r.list) < minRecent {
		return nil, nil
	}
	return r, nil
}

// longestRecent is how many times further back than asked recent wells may be
// looked for.
const longestRecent = 3

// recentSince is the year after which test wells are recent: so many years before
// the last, or as much further back as it takes to have enough.
func recentSince(list []trial, last, years float64) float64 {
	var all []float64
	for i := range list {
		if y := list[i].year; !math.IsNaN(y) {
			all = append(all, y)
		}
	}
	if len(all) < minRecent {
		return last - years
	}
	slices.Sort(all)
	enough := math.Nextafter(all[len(all)-minRecent], math.Inf(-1))
	return max(min(last-years, enough), last-longestRecent*years)
}

// correct tries the two remedies against drift on the setting half of the recent
// wells.
func (t *trials) correct(ctx context.Context, p *Params, report *Report) error {
	base := *p
	if err := t.evaluate(ctx, base); err != nil {
		return err
	}
	before := make([]float64, len(t.list))
	var shift float64
	var n int
	for j := range t.list {
		w := &t.list[j]
		before[j] = w.crps
		y := t.obs.sample(w.i)
		if w.failed || !w.setter || y.Bound != Exact || y.Value == 0 || math.IsInf(w.median, 1) {
			continue
		}
		shift += math.Log1p(y.Value/t.obs.unit) - math.Log1p(w.median/t.obs.unit)
		n++
	}
	if n > 0 {
		shift /= float64(n)
	}
	tried := []Params{base, base, base}
	tried[0].RecencyYears = 30
	tried[1].LevelShift = shift / 2
	tried[2].RecencyYears, tried[2].LevelShift = 30, shift/2
	best := 0.0
	for _, c := range tried {
		if err := t.evaluate(ctx, c); err != nil {
			return err
		}
		var diff []float64
		for j := range t.list {
			if w := &t.list[j]; !w.failed && w.setter {
				diff = append(diff, w.crps-before[j])
			}
		}
		mean, se := meanSE(diff)
		report.Forward.Remedies = append(report.Forward.Remedies, Remedy{
			RecencyYears: c.RecencyYears, LevelShift: c.LevelShift, Change: mean, SE: se,
		})
		if mean+verdictSE*se < 0 && mean < best {
			best, *p = mean, c
		}
	}
	return nil
}
