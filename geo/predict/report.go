package predict

import (
	"math"
	"runtime"
)

// Choice is one pair that Calibrate tried.
type Choice struct {
	Kappa, Gamma float64
	// CRPS is its mean score, in the unit of the observations.
	CRPS float64
}

// Coverage is how often a range held the outcome.
type Coverage struct {
	// Share is that share; NaN when nothing was tested. Nominal is 0.8.
	Share float64
	// Tested is how many test wells it rests on.
	Tested int
}

// SE is the standard error of Share, as if test wells were independent.
func (c Coverage) SE() float64 {
	return math.Sqrt(c.Share * (1 - c.Share) / float64(c.Tested))
}

// DistanceCoverage is the coverage where the nearest well stood at a distance in
// [FromM, ToM).
type DistanceCoverage struct {
	FromM, ToM float64
	Coverage   Coverage
}

// Remedy is a correction for drift that was tried.
type Remedy struct {
	RecencyYears, LevelShift float64
	// Change is the mean change of the CRPS, below zero when it helps; SE its
	// standard error.
	Change, SE float64
}

// ForwardReport is how older wells predicted recent ones.
type ForwardReport struct {
	// Tested is how many recent test wells were predicted from older ones; 0 when
	// there were too few and the range was set without regard to time.
	Tested int
	CRPS   float64
	// Raw and Adjusted are the coverage of the plain and of the adjusted range on
	// the half that did not set it.
	Raw, Adjusted Coverage
	// Remedies are what CorrectForward tried.
	Remedies []Remedy
}

// Report is what Calibrate found.
type Report struct {
	By     By
	Params Params
	// Wells is how many observations there are, Bounds how many of them are
	// bounds, Tested how many were predicted with their site or block hidden.
	Wells, Bounds, Tested int
	Choices               []Choice
	// CRPS and MAE are of the estimate, AreaCRPS and AreaMAE of the area alone, on
	// the same test wells. MAE is of medians, over outcomes that are values.
	CRPS, AreaCRPS, MAE, AreaMAE float64
	// Skill is 1 - CRPS / AreaCRPS over the whole set, SkillSE its standard error.
	Skill, SkillSE float64
	// RankLow and RankHigh are the ranks between which eight outcomes in ten lay.
	// Range80 goes by ranks that were set so for sites whose wells stand about as
	// far off as the site's own: these are what they are over all.
	RankLow, RankHigh float64
	// Raw and Adjusted are the coverage of [10 %, 90 %] and of Range80 on the half
	// of the sites that did not set the ranks. With fewer than 400 test wells all
	// of them set the ranks, and Adjusted is each half's under the other's.
	Raw, Adjusted Coverage
	// ByDistance is Adjusted by the distance to the nearest well.
	ByDistance []DistanceCoverage
	Forward    ForwardReport
}

// learn sets the model's ranks and local record from the trials, and fills the
// report.
func (m *Model) learn(t, recent *trials, r *Report) error {
	set := t.list
	if recent != nil {
		set = recent.list
	}
	if usable(set) < minTrials {
		set = t.list
		recent = nil
	}
	var err error
	own, area := ownRank, areaRank
	some := setter(true)
	if usable(set) < minHalves {
		some = anyTrial
	}
	if m.rankLow, m.rankHigh, err = rangeRanks(set, some, own); err != nil {
		return err
	}
	if m.ranks, err = newRankLine(set, some, own); err != nil {
		return err
	}
	if m.areaLow, m.areaHigh, err = rangeRanks(set, some, area); err != nil {
		return err
	}
	m.areaLow, m.areaHigh = aroundMiddle(m.areaLow, m.areaHigh)
	r.Params, r.RankLow, r.RankHigh = m.params, m.rankLow, m.rankHigh
	r.summarise(m.obs, t.list)
	if r.Raw, err = coverage(t.list, setter(false), own, 0.1, 0.9); err != nil {
		return err
	}
	if r.Adjusted, err = m.adjusted(set, t.list); err != nil {
		return err
	}
	for _, c := range [][2]float64{{0, 250}, {250, 1000}, {1000, 4000}, {4000, math.Inf(1)}} {
		in := func(w *trial) bool { return !w.setter && w.nearestM >= c[0] && w.nearestM < c[1] }
		cov, err := coverage(t.list, in, m.ranks.straight, 0.1, 0.9)
		if err != nil {
			return err
		}
		r.ByDistance = append(r.ByDistance, DistanceCoverage{FromM: c[0], ToM: c[1], Coverage: cov})
	}
	if recent != nil {
		f := &r.Forward
		f.Tested = usable(recent.list)
		for j := range recent.list {
			if w := &recent.list[j]; !w.failed {
				f.CRPS += w.crps / float64(f.Tested)
			}
		}
		if f.Raw, err = coverage(recent.list, setter(false), own, 0.1, 0.9); err != nil {
			return err
		}
		if f.Adjusted, err = m.adjusted(set, recent.list); err != nil {
			return err
		}
	}
	return m.keepTrials(t)
}

// adjusted is the coverage on the wells that did not set the ranks.
func (m *Model) adjusted(set, tested []trial) (Coverage, error) {
	if usable(set) >= minHalves {
		return coverage(tested, setter(false), m.ranks.straight, 0.1, 0.9)
	}
	var share float64
	var n int
	for _, half := range []bool{false, true} {
		other, err := newRankLine(set, setter(!half), ownRank)
		if err != nil {
			return Coverage{}, err
		}
		c, err := coverage(tested, setter(half), other.straight, 0.1, 0.9)
		if err != nil {
			return Coverage{}, err
		}
		if c.Tested > 0 {
			share += c.Share * float64(c.Tested)
			n += c.Tested
		}
	}
	return Coverage{Share: share / float64(n), Tested: n}, nil
}

func (r *Report) summarise(o *Observations, list []trial) {
	var own, area, ownErr, areaErr []float64
	for j := range list {
		w := &list[j]
		if w.failed {
			continue
		}
		own, area = append(own, w.crps), append(area, w.areaCRPS)
		if y := o.sample(w.i); y.Bound == Exact && finite(w.median) && finite(w.areaMedian) {
			ownErr = append(ownErr, math.Abs(w.median-y.Value))
			areaErr = append(areaErr, math.Abs(w.areaMedian-y.Value))
		}
	}
	r.MAE, _ = meanSE(ownErr)
	r.AreaMAE, _ = meanSE(areaErr)
	r.CRPS, _ = meanSE(own)
	r.AreaCRPS, _ = meanSE(area)
	r.Skill, r.SkillSE = skill(own, area)
}

func setter(is bool) func(*trial) bool { return func(w *trial) bool { return w.setter == is } }
func anyTrial(*trial) bool             { return true }
func ownRank(w *trial) rankPair        { return w.rank }
func areaRank(w *trial) rankPair       { return w.areaRank }

func usable(list []trial) int {
	n := 0
	for j := range list {
		if !list[j].failed {
			n++
		}
	}
	return n
}

// rangeRanks are the ranks between which eight outcomes in ten fell: a tenth of
// the outcomes lie below the range and a tenth above. Ends taken from n outcomes
// reach out by 0.4 / n, so that the next outcome lies between them eight times in
// ten and not only the n (the k-th of n in order stands at k / (n + 1)). At a block of equal values
// an outcome is below the range only if the whole block is, hence the highest
// rank for the lower end and the lowest for the upper.
func rangeRanks(list []trial, some func(*trial) bool, of func(*trial) rankPair) (low, high float64, err error) {
	var los, his []Sample
	for j := range list {
		w := &list[j]
		if w.failed || !some(w) {
			continue
		}
		r := of(w)
		if r.known {
			los = append(los, Sample{Value: r.lo, Weight: 1})
			his = append(his, Sample{Value: r.hi, Weight: 1})
			continue
		}
		s := Sample{Value: r.lo, High: r.hi, Bound: Between, Weight: 1}
		los, his = append(los, s), append(his, s)
	}
	if len(los) == 0 {
		return 0.1, 0.9, nil
	}
	lower, err := NewDistribution(his)
	if err != nil {
		return 0, 0, err
	}
	upper, err := NewDistribution(los)
	if err != nil {
		return 0, 0, err
	}
	reach := 0.4 / float64(len(los))
	low, high = lower.Quantile(0.1-reach), upper.Quantile(0.9+reach)
	if !(low < high) {
		return 0.1, 0.9, nil // all outcomes alike: any ranks will do
	}
	return low, high, nil
}

// coverage is how often the range between two ranks held the outcome. Where
// outcomes are bounds it is the self-consistent estimate, since a bound may lie
// in the range or not.
func coverage(list []trial, some func(*trial) bool, of func(*trial) rankPair, low, high float64) (Coverage, error) {
	var inside, n, unknown int
	for j := range list {
		w := &list[j]
		if w.failed || !some(w) {
			continue
		}
		n++
		switch r := of(w); {
		case r.hi < low || r.lo > high: // outside, whether value or bound
		case r.known || (r.lo >= low && r.hi <= high):
			inside++
		default:
			unknown++
		}
	}
	c := Coverage{Share: float64(inside) / float64(n), Tested: n}
	if unknown == 0 {
		return c, nil
	}
	var ranks []Sample
	for j := range list {
		w := &list[j]
		if w.failed || !some(w) {
			continue
		}
		r := of(w)
		if r.known {
			ranks = append(ranks, Sample{Value: min(max((r.lo+r.hi)/2, r.lo), r.hi), Weight: 1})
			continue
		}
		ranks = append(ranks, Sample{Value: r.lo, High: r.hi, Bound: Between, Weight: 1})
	}
	d, err := NewDistribution(ranks)
	if err != nil {
		return Coverage{}, err
	}
	c.Share = d.AtLeast(low) - d.AtLeast(math.Nextafter(high, math.Inf(1)))
	return c, nil
}

// meanSE is the mean of xs and its standard error; NaN when there is none.
func meanSE(xs []float64) (mean, se float64) {
	for _, x := range xs {
		mean += x
	}
	mean /= float64(len(xs))
	for _, x := range xs {
		se += float64((x - mean) * (x - mean))
	}
	n := float64(len(xs))
	return mean, math.Sqrt(se / (n - 1) / n)
}

func workerCount(workers, n int) int {
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	return max(min(workers, n), 1)
}
