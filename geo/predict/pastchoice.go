package predict

import (
	"context"
	"math"
	"slices"
)

// RanksFrom says which tests set the ranks of a range.
type RanksFrom uint8

// The choices.
const (
	// RanksRecent: the last five years' wells, or those of as many more years as
	// Calibrate takes, each forecast from wells before it.
	RanksRecent RanksFrom = iota
	// RanksEarlier: all wells so far, each forecast from wells before it.
	RanksEarlier
	// RanksHidden: all wells so far, each with its site hidden and later
	// neighbours in view.
	RanksHidden
	// RanksPlain: the 10 % and 90 % quantiles as they are.
	RanksPlain
)

// String is the choice in words.
func (r RanksFrom) String() string {
	switch r {
	case RanksRecent:
		return "the last five years"
	case RanksEarlier:
		return "all years before"
	case RanksHidden:
		return "all wells, without regard to time"
	}
	return "none: plain 10 % and 90 %"
}

// recencyYears is the recency weight that is tried: exp(-age / 30 years).
const recencyYears = 30

// PastChoice is one way to set ranges, and how it would have done.
type PastChoice struct {
	Ranks RanksFrom
	// RecencyYears is that of Params: 0 is off.
	RecencyYears float64
	// Coverage is the share of outcomes that the ranges held, Width their median
	// width.
	Coverage Coverage
	Width    float64
	// RangeScore is the mean interval score at 80 % (Gneiting and Raftery 2007,
	// from memory): the width, and ten times what an outcome lies outside.
	// Smaller is better; wide ranges pay for width, narrow ones for misses. Over
	// outcomes that are values, where every choice gives a whole range.
	RangeScore float64
	// Change is the mean change of the range score against RanksRecent with the
	// same recency, below zero when this one is better, SE its standard error.
	Change, SE float64
	// CRPS is the mean score of the distribution, on which ranks have no bearing,
	// CRPSChange its mean change against the model's own recency and CRPSSE the
	// standard error of that.
	CRPS, CRPSChange, CRPSSE float64
}

// PastChoices is which way to set ranges would have served best so far.
type PastChoices struct {
	// Choices starts with what Calibrate did: the last five years, and the model's
	// own recency, which is off unless it was asked for.
	Choices []PastChoice
	// FirstYear and LastYear are the years of the wells judged, Scored how many of
	// them the range score rests on.
	FirstYear, LastYear, Scored int
	// Best is the number of the choice to go by: the recency first, by the CRPS,
	// then the ranks, by the range score. Each leaves what Calibrate does only for
	// a change of more than 1.3 standard errors.
	Best int
}

// Options are o with the settings of a choice: what Calibrate has to be given to
// act on it. RanksPlain cannot be had from Calibrate and is given as RanksHidden.
func (c PastChoice) Options(o CalibrationOptions) CalibrationOptions {
	if o.Params == (Params{}) {
		o.Params = DefaultParams()
	}
	o.Params.RecencyYears = c.RecencyYears
	switch c.Ranks {
	case RanksRecent:
		o.RecentYears = 0
	case RanksEarlier:
		o.RecentYears = math.Inf(1)
	default:
		o.RecentYears = math.SmallestNonzeroFloat64 // none are recent
	}
	return o
}

// PastChoices tries ways to set ranges on the wells that Past would forecast,
// year by year: a year's ranges go by ranks that the years before it would have
// set, so that no choice sees what it is judged by. Years are judged from the
// first before which recent years hold the 200 forecasts that Calibrate asks for.
// It returns ErrTooFew when there is none.
func (m *Model) PastChoices(ctx context.Context, o PastOptions) (PastChoices, error) {
	o = o.withDefaults()
	o.Thresholds = nil
	if o.Progress != nil {
		o.Progress = sixth(o.Progress)
	}
	var out PastChoices
	recencies := []float64{0, recencyYears}
	if m.params.RecencyYears > 0 {
		recencies = []float64{m.params.RecencyYears, 0}
	}
	var ways []*pastWay
	for _, recency := range recencies {
		params := m.params
		params.RecencyYears = recency
		w := &pastWay{params: params}
		var p Past
		w.tests = p.draw(m.obs, o)
		if len(w.tests.list) == 0 {
			return out, ErrTooFew
		}
		hidden := *w.tests
		hidden.list = slices.Clone(w.tests.list)
		hidden.hidden = true
		w.hidden = hidden.list
		for _, t := range []*pastTrials{w.tests, &hidden} {
			err := t.each(ctx, params, func(pr *Predictor, _ *query, tr *trial, _ int) {
				y := m.obs.sample(tr.i)
				pr.distribution(params.Kappa, &pr.mixed)
				tr.d8 = pr.d8
				tr.rank, tr.crps = rankOf(&pr.mixed, y), pr.mixed.CRPSOf(y)
			})
			if err != nil {
				return out, err
			}
		}
		ways = append(ways, w)
	}
	from := ways[0].firstJudged()
	if from == len(ways[0].tests.list) {
		return out, ErrTooFew
	}
	out.FirstYear = int(math.Floor(ways[0].tests.list[from].year))
	out.LastYear = int(math.Floor(ways[0].tests.list[len(ways[0].tests.list)-1].year))
	for _, w := range ways {
		if err := w.setRanks(ctx, from); err != nil {
			return out, err
		}
		if err := w.ranges(ctx, m, from); err != nil {
			return out, err
		}
	}
	err := out.compare(ways, from, m.obs)
	return out, err
}

// sixth makes one bar of the six passes.
func sixth(tell func(done, total int)) func(done, total int) {
	pass := 0
	return func(done, total int) {
		tell(pass*total+done, 6*total)
		if done == total {
			pass++
		}
	}
}

// pastWay is the tests under one setting of recency.
type pastWay struct {
	params Params
	tests  *pastTrials
	hidden []trial // the same wells, with their site alone hidden
	// By test from the first judged on, and by RanksFrom.
	ranks [][ranksChoices][2]float64
	spans [][ranksChoices]Range
}

const ranksChoices = int(RanksPlain) + 1

// defaultRecent is how many years count as recent.
const defaultRecent = 5

// firstJudged is the first test of the first year before which recent years hold
// enough forecasts.
func (w *pastWay) firstJudged() int {
	list := w.tests.list
	for j := range list {
		year := math.Floor(list[j].year)
		if j > 0 && math.Floor(list[j-1].year) == year {
			continue
		}
		n := 0
		for k := range list[:j] {
			if !list[k].failed && list[k].year >= year-longestRecent*defaultRecent {
				n++
			}
		}
		if n >= minRecent {
			return j
		}
	}
	return len(list)
}

// setRanks finds, for each year judged, the ranks that the years before it set.
func (w *pastWay) setRanks(ctx context.Context, from int) error {
	list := w.tests.list
	w.ranks = make([][ranksChoices][2]float64, len(list))
	var lines [ranksChoices]rankLine
	for j := from; j < len(list); j++ {
		year := math.Floor(list[j].year)
		if j == from || math.Floor(list[j-1].year) < year {
			if err := ctx.Err(); err != nil {
				return err
			}
			since := recentSince(list[:j], year, defaultRecent)
			recent := func(t *trial) bool { return t.year < year && t.year > since }
			earlier := func(t *trial) bool { return t.year < year }
			var err error
			if lines[RanksRecent], err = newRankLine(list, recent, ownRank); err != nil {
				return err
			}
			if lines[RanksEarlier], err = newRankLine(list, earlier, ownRank); err != nil {
				return err
			}
			if lines[RanksHidden], err = newRankLine(w.hidden, earlier, ownRank); err != nil {
				return err
			}
		}
		for c, line := range lines {
			w.ranks[j][c][0], w.ranks[j][c][1] = line.at(list[j].d8)
		}
	}
	return nil
}

// ranges finds the ranges of every test judged.
func (w *pastWay) ranges(ctx context.Context, m *Model, from int) error {
	w.spans = make([][ranksChoices]Range, len(w.tests.list))
	return w.tests.each(ctx, w.params, func(pr *Predictor, _ *query, _ *trial, j int) {
		if j < from {
			return
		}
		pr.distribution(w.params.Kappa, &pr.mixed)
		for c, r := range w.ranks[j] {
			w.spans[j][c] = pr.mixed.RangeAt(r[0], r[1])
		}
	})
}

// compare fills in the choices from the tests judged.
func (out *PastChoices) compare(ways []*pastWay, from int, obs *Observations) error {
	whole := func(j int) bool { // a value, and a whole range by every choice
		for _, w := range ways {
			if w.tests.list[j].failed {
				return false
			}
			for _, r := range w.spans[j] {
				if r.AtLeastHigh || r.AtMostLow {
					return false
				}
			}
		}
		return obs.wells[ways[0].tests.list[j].i].bound == Exact
	}
	var scored []int
	for j := from; j < len(ways[0].tests.list); j++ {
		if whole(j) {
			scored = append(scored, j)
		}
	}
	out.Scored = len(scored)
	best := 0 // the way that the CRPS chooses
	for k, w := range ways {
		var crps, change []float64
		for j := from; j < len(w.tests.list); j++ {
			if a, b := &ways[0].tests.list[j], &w.tests.list[j]; !a.failed && !b.failed {
				crps, change = append(crps, b.crps), append(change, b.crps-a.crps)
			}
		}
		first := len(out.Choices)
		var firstScores []float64
		for by := range ranksChoices {
			c := PastChoice{Ranks: RanksFrom(by), RecencyYears: w.params.RecencyYears}
			var width, score, diff []float64
			for n, j := range scored {
				s := intervalScore(w.spans[j][by], obs.wells[w.tests.list[j].i].value)
				score = append(score, s)
				if by > 0 {
					diff = append(diff, s-firstScores[n])
				}
			}
			for j := from; j < len(w.tests.list); j++ {
				if !w.tests.list[j].failed {
					width = append(width, w.spans[j][by].Width())
				}
			}
			c.RangeScore, _ = meanSE(score)
			c.Width = middle(width)
			c.CRPS, _ = meanSE(crps)
			if by == 0 {
				firstScores = score
			} else {
				c.Change, c.SE = meanSE(diff)
			}
			if k > 0 {
				c.CRPSChange, c.CRPSSE = meanSE(change)
			}
			var err error
			if c.Coverage, err = w.coverage(from, by); err != nil {
				return err
			}
			out.Choices = append(out.Choices, c)
		}
		if c := out.Choices[first]; k > 0 && c.CRPSChange+verdictSE*c.CRPSSE < 0 {
			best = first
		}
	}
	out.Best = best
	for k := best; k < best+ranksChoices; k++ {
		if c := out.Choices[k]; c.Change+verdictSE*c.SE < 0 && c.Change < out.Choices[out.Best].Change {
			out.Best = k
		}
	}
	return nil
}

// coverage is that of a choice, whose ranks change from year to year: each rank
// is moved so that every year's range runs from 0.1 to 0.9.
func (w *pastWay) coverage(from, by int) (Coverage, error) {
	moved := slices.Clone(w.tests.list[from:])
	for j := range moved {
		r := w.ranks[from+j][by]
		t := &moved[j]
		t.rank = straightPair(t.rank, r[0], r[1])
	}
	return coverage(moved, anyTrial, ownRank, 0.1, 0.9)
}

// intervalScore is the width of an 80 % range and 2 / 0.2 times what the outcome
// lies outside.
func intervalScore(r Range, y float64) float64 {
	return r.High - r.Low + 10*(max(r.Low-y, 0)+max(y-r.High, 0))
}
