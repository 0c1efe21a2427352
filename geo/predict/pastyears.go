package predict

import (
	"math"
)

// PastSummary is how a group of forecasts did.
type PastSummary struct {
	// Tested is how many, Inside, Outside and CannotTell how the ranges held.
	Tested, Inside, Outside, CannotTell int
	// Coverage is the share held; where bounds leave it open, its self-consistent
	// estimate (Turnbull).
	Coverage Coverage
	// CRPS and AreaCRPS are means; Skill is 1 - CRPS / AreaCRPS and SkillSE its
	// standard error, as if wells were independent.
	CRPS, AreaCRPS, Skill, SkillSE float64
	// Width is the median width of the ranges, +Inf where most have no upper end.
	Width float64
}

// PastYear is the summary of the wells of one year.
type PastYear struct {
	Year int
	PastSummary
}

// Overall sums up all forecasts.
func (p *Past) Overall() (PastSummary, error) { return p.sum(0, len(p.Forecasts)) }

// Years sums up year by year, in order; years without a forecast are not listed.
func (p *Past) Years() ([]PastYear, error) {
	var out []PastYear
	for from := 0; from < len(p.Forecasts); {
		to := from
		for to < len(p.Forecasts) && p.Forecasts[to].Year == p.Forecasts[from].Year {
			to++
		}
		s, err := p.sum(from, to)
		if err != nil {
			return nil, err
		}
		out = append(out, PastYear{p.Forecasts[from].Year, s})
		from = to
	}
	return out, nil
}

func (p *Past) sum(from, to int) (PastSummary, error) {
	s := PastSummary{Tested: to - from}
	var own, area, width []float64
	for j := from; j < to; j++ {
		f := &p.Forecasts[j]
		switch f.Held {
		case Inside:
			s.Inside++
		case Outside:
			s.Outside++
		default:
			s.CannotTell++
		}
		own, area = append(own, f.CRPS), append(area, f.AreaCRPS)
		width = append(width, f.Width)
	}
	s.CRPS, _ = meanSE(own)
	s.AreaCRPS, _ = meanSE(area)
	s.Skill, s.SkillSE = skill(own, area)
	s.Width = middle(width)
	var err error
	s.Coverage, err = coverage(p.trials[from:to], anyTrial, ownRank, 0.1, 0.9)
	return s, err
}

// RankHistogram shares the ranks of all forecasts out to equal bins, which
// together hold len(Forecasts): flat when forecasts are what they say. See
// RankHistogram.
func (p *Past) RankHistogram(bins int) []float64 {
	js := make([]Judgement, len(p.Forecasts))
	for i := range p.Forecasts {
		js[i] = p.Forecasts[i].Judgement
	}
	return RankHistogram(js, bins)
}

// RankHistogram shares the ranks of judgements out to equal bins over [0, 1]. A
// value in a block of equal ones is spread evenly over the block's ranks (Czado,
// Gneiting and Held, Biometrics 65, 2009; from memory). A bound is spread over
// the ranks that it allows in proportion to what the bins hold, again and again
// until nothing moves (Turnbull's self-consistency): spread evenly it would hide
// a slope. Judgements without ranks are left out. bins below 1 gives none.
func RankHistogram(judged []Judgement, bins int) []float64 {
	if bins < 1 {
		return nil
	}
	fixed := make([]float64, bins)
	var open []Judgement
	n := 0
	for _, j := range judged {
		switch {
		case math.IsNaN(j.RankLow) || math.IsNaN(j.RankHigh):
		case j.RankKnown:
			n++
			eachBin(j.RankLow, j.RankHigh, bins, func(b int, part float64) { fixed[b] += part })
		default:
			n++
			open = append(open, j)
		}
	}
	held := make([]float64, bins)
	for b := range held {
		held[b] = float64(n) / float64(bins)
	}
	if len(open) == 0 {
		return fixed
	}
	next := make([]float64, bins)
	for range 500 {
		copy(next, fixed)
		for _, j := range open {
			var sum float64
			width := max(j.RankHigh-j.RankLow, 0)
			inside := func(b int, part float64) float64 {
				// What of the bin's content lies in the interval, if the bin is even.
				return held[b] * max(part*width*float64(bins), 1e-12)
			}
			eachBin(j.RankLow, j.RankHigh, bins, func(b int, part float64) { sum += inside(b, part) })
			eachBin(j.RankLow, j.RankHigh, bins, func(b int, part float64) { next[b] += inside(b, part) / sum })
		}
		var moved float64
		for b := range held {
			moved = max(moved, math.Abs(next[b]-held[b]))
		}
		held, next = next, held
		if moved < 1e-6*float64(n) {
			break
		}
	}
	return held
}

// eachBin gives the parts of [lo, hi] that fall in each of equal bins of [0, 1];
// they sum to one.
func eachBin(lo, hi float64, bins int, f func(b int, part float64)) {
	at := func(r float64) int { return min(max(int(r*float64(bins)), 0), bins-1) }
	if !(hi > lo) {
		f(at(lo), 1)
		return
	}
	for b := at(lo); b <= at(hi); b++ {
		from, to := max(lo, float64(b)/float64(bins)), min(hi, float64(b+1)/float64(bins))
		if to > from {
			f(b, (to-from)/(hi-lo))
		}
	}
}
