package spread

import (
	"math"
	"slices"
	"sort"

	"tallybook/geo/predict"
)

// Summary is how a set of values and bounds spreads.
type Summary struct {
	N       int // all
	Values  int // exact values, noughts included
	Zeros   int
	Less    int // upper limits
	Greater int // lower limits
	Between int
	// Rounded says that values were rounded to four significant figures, which
	// is done where more than twenty thousand different ones stand beside limits
	// of both kinds.
	Rounded bool

	shares predict.Distribution
	at     []float64 // the different values and limits, ascending
}

// mostDifferent is how many different numbers Turnbull's rounds are worked on.
const mostDifferent = 20000

// Of sums samples up; their weights count. The samples are not kept. Errors
// are those of predict.NewDistribution.
func Of(samples []predict.Sample) (*Summary, error) {
	s := &Summary{N: len(samples)}
	for i := range samples {
		switch samples[i].Bound {
		case predict.LessThan:
			s.Less++
		case predict.GreaterThan:
			s.Greater++
		case predict.Between:
			s.Between++
		default:
			s.Values++
			if samples[i].Value == 0 {
				s.Zeros++
			}
		}
	}
	merged, largest := merge(samples, nil)
	if len(merged) > mostDifferent && (s.Between > 0 || s.Less > 0 && s.Greater > 0) {
		for i := range merged {
			merged[i].Value, merged[i].High = fourFigures(merged[i].Value), fourFigures(merged[i].High)
		}
		merged, largest = merge(merged, largest)
		s.Rounded = true
	}
	var err error
	if s.shares, err = predict.NewMergedDistribution(merged, largest); err != nil {
		return nil, err
	}
	for i := range merged {
		s.at = append(s.at, merged[i].Value)
		if merged[i].Bound == predict.Between {
			s.at = append(s.at, merged[i].High)
		}
	}
	slices.Sort(s.at)
	s.at = slices.Compact(s.at)
	return s, nil
}

// merge adds up the weights of samples that say the same. largest is the
// greatest single weight in each; nil: each is single. It gives the same of what
// is merged.
func merge(samples []predict.Sample, largest []float64) ([]predict.Sample, []float64) {
	type one struct {
		predict.Sample
		largest float64
	}
	all := make([]one, len(samples))
	for i := range samples {
		all[i] = one{samples[i], samples[i].Weight}
		if largest != nil {
			all[i].largest = largest[i]
		}
	}
	slices.SortFunc(all, func(a, b one) int {
		switch {
		case a.Value != b.Value:
			return sign(a.Value < b.Value)
		case a.Bound != b.Bound:
			return int(a.Bound) - int(b.Bound)
		case a.High != b.High:
			return sign(a.High < b.High)
		case a.Weight != b.Weight: // summed in one order
			return sign(a.Weight < b.Weight)
		}
		return 0
	})
	var out []predict.Sample
	var most []float64
	for i := range all {
		s := &all[i]
		if n := len(out); n > 0 && out[n-1].Value == s.Value && out[n-1].Bound == s.Bound && out[n-1].High == s.High {
			out[n-1].Weight += s.Weight
			most[n-1] = max(most[n-1], s.largest)
			continue
		}
		out, most = append(out, s.Sample), append(most, s.largest)
	}
	return out, most
}

func sign(less bool) int {
	if less {
		return -1
	}
	return 1
}

func fourFigures(v float64) float64 {
	if v == 0 || math.IsInf(v, 0) {
		return v
	}
	p := math.Pow(10, 3-math.Floor(math.Log10(math.Abs(v))))
	return math.Round(v*p) / p
}

// Limit is a quantile: a value, or where the share lies beyond all limits only
// that it is more than one.
type Limit struct {
	Value float64
	More  bool // the quantile is more than Value
}

// Quantile gives the value that a share p does not exceed. Between two values
// it runs straight from the middle of one's share to the middle of the next, so
// that of an odd number of values the median is the middle one (R's type 5).
func (s *Summary) Quantile(p float64) Limit {
	v := s.shares.Quantile(p)
	if math.IsInf(v, 1) {
		_, from, _ := s.shares.UpperUnknown()
		return Limit{from, true}
	}
	return Limit{v, false}
}

// QuantileRange is where the quantile of what the samples were drawn from lies
// 95 times in a hundred: the quantiles at p ± 1.96 sqrt(p (1 - p) / n), the
// binomial's normal approximation for the ranks, as if all were independent
// values (common practice, no source).
func (s *Summary) QuantileRange(p float64) (low, high Limit) {
	half := 1.959964 * math.Sqrt(p*(1-p)/float64(s.N))
	return s.Quantile(max(p-half, 0)), s.Quantile(min(p+half, 1))
}

// AtMost is the share known to be v or less.
func (s *Summary) AtMost(v float64) float64 {
	_, high := s.shares.AtLeastBounds(math.Nextafter(v, math.Inf(1)))
	return 1 - high
}

// Unknown is the share known only to lie above a limit, and that limit; the
// share is 0 where there is none.
func (s *Summary) Unknown() (share, from float64) {
	share, from, _ = s.shares.UpperUnknown()
	return share, from
}

// Below is the share known only to lie below a limit, and that limit; the share
// is 0 where there is none. Quantiles run evenly over it, which nobody measured.
func (s *Summary) Below() (share, to float64) {
	share, to, _ = s.shares.LowerUnknown()
	return share, to
}

// Step is one step of the share of all that is Value or less.
type Step struct{ Value, AtMost float64 }

// Steps gives the steps of the shares, where they rise; of more than most,
// those spread evenly over the shares, the first and the last among them.
func (s *Summary) Steps(most int) []Step {
	var all []Step
	last := 0.0
	for _, v := range s.at {
		if p := s.AtMost(v); p > last {
			all = append(all, Step{v, p})
			last = p
		}
	}
	if most < 2 || len(all) <= most {
		return all
	}
	out := make([]Step, 0, most)
	first, span := all[0].AtMost, all[len(all)-1].AtMost-all[0].AtMost
	taken := -1
	for k := range most {
		p := first + span*float64(k)/float64(most-1)
		i := sort.Search(len(all), func(i int) bool { return all[i].AtMost >= p })
		if i = min(i, len(all)-1); i > taken {
			out, taken = append(out, all[i]), i
		}
	}
	return out
}
