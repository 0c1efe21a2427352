package predict

import (
	"math"
	"math/rand/v2"
	"slices"
)

// ReliabilityBin is the forecasts that gave about the same chance.
type ReliabilityBin struct {
	// From and To bound the chance: [From, To), and To included in the last.
	From, To float64
	// Tested is how many forecasts it holds, Forecast the mean of their chances,
	// and Observed the share that came true; NaN when it holds none.
	Tested             int
	Forecast, Observed float64
	// Low and High are the consistency bar: where Observed would lie nine times in
	// ten if every forecast were right.
	Low, High float64
}

// Consistent reports whether the observed share lies within the bar. A bin that
// holds none is consistent with anything.
func (b ReliabilityBin) Consistent() bool {
	return b.Tested == 0 || (b.Observed >= b.Low && b.Observed <= b.High)
}

// reliabilityDraws is how often forecasts are drawn anew for the bars.
const reliabilityDraws = 1000

// Reliability compares chances with what came true, in equal bins. The bars are
// those of Broecker and Smith, 'Increasing the reliability of reliability
// diagrams', Weather and Forecasting 22 (2007), from memory: forecasts are drawn
// anew from the set with replacement, for each an outcome is drawn that is true
// with the very chance forecast, and the share that comes true in a bin is noted;
// the bar runs from the 5 % to the 95 % quantile of a thousand such shares.
// A chance that is NaN or outside [0, 1] is left out. The seed settles the draws.
// bins below 1 means 10. It panics when the slices differ in length.
func Reliability(chances []float64, came []bool, bins int, seed uint64) []ReliabilityBin {
	if len(chances) != len(came) {
		panic("predict: chances and outcomes differ in number")
	}
	if bins < 1 {
		bins = 10
	}
	out := make([]ReliabilityBin, bins)
	for b := range out {
		out[b] = ReliabilityBin{
			From: float64(b) / float64(bins), To: float64(b+1) / float64(bins),
			Forecast: math.NaN(), Observed: math.NaN(), Low: math.NaN(), High: math.NaN(),
		}
	}
	sum, hit := make([]float64, bins), make([]int, bins)
	var used []float64
	for k, c := range chances {
		if !(c >= 0 && c <= 1) {
			continue
		}
		used = append(used, c)
		b := min(int(c*float64(bins)), bins-1)
		out[b].Tested++
		sum[b] += c
		if came[k] {
			hit[b]++
		}
	}
	if len(used) == 0 {
		return out
	}
	shares := make([][]float64, bins)
	r := rand.New(rand.NewPCG(seed, 0x72656c69))
	n, hits := make([]int, bins), make([]int, bins)
	for range reliabilityDraws {
		clear(n)
		clear(hits)
		for range used {
			c := used[r.IntN(len(used))]
			b := min(int(c*float64(bins)), bins-1)
			n[b]++
			if r.Float64() < c {
				hits[b]++
			}
		}
		for b := range shares {
			if n[b] > 0 {
				shares[b] = append(shares[b], float64(hits[b])/float64(n[b]))
			}
		}
	}
	for b := range out {
		if out[b].Tested == 0 {
			continue
		}
		out[b].Forecast = sum[b] / float64(out[b].Tested)
		out[b].Observed = float64(hit[b]) / float64(out[b].Tested)
		s := shares[b]
		slices.Sort(s)
		if len(s) > 0 {
			out[b].Low = s[int(0.05*float64(len(s)-1))]
			out[b].High = s[int(math.Ceil(0.95*float64(len(s)-1)))]
		}
	}
	return out
}

// PastReliability is the reliability of P(y >= t).
type PastReliability struct {
	Threshold float64
	Bins      []ReliabilityBin
	// Tested is how many forecasts it rests on; Open were left out because a bound
	// leaves the outcome, or an unknown tail the chance, undecided.
	Tested, Open int
}

// Reliability is that of P(y >= t) at each of the thresholds that Past was given.
// Bounds that leave the outcome open are left out, which makes deep outcomes
// rarer among 'deeper than' records than they are: Open says how many.
func (p *Past) Reliability(bins int) []PastReliability {
	out := make([]PastReliability, len(p.thresholds))
	for k, t := range p.thresholds {
		var chances []float64
		var came []bool
		r := PastReliability{Threshold: t}
		for j := range p.Forecasts {
			c := p.Forecasts[j].AtLeast[k]
			happened, known := reached(p.samples[j], t)
			if !known || math.IsNaN(c) {
				r.Open++
				continue
			}
			chances, came = append(chances, c), append(came, happened)
		}
		r.Tested = len(chances)
		r.Bins = Reliability(chances, came, bins, p.seed)
		out[k] = r
	}
	return out
}

// reached is whether an outcome is t or more, if that is known.
func reached(y Sample, t float64) (yes, known bool) {
	switch y.Bound {
	case LessThan:
		return false, t >= y.Value
	case GreaterThan:
		return true, t <= y.Value
	case Between:
		return t <= y.Value, t <= y.Value || t > y.High
	}
	return y.Value >= t, true
}
