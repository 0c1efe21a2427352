package predict

import (
	"errors"
	"math"
	"slices"
	"sort"
)

// ErrNoWeight is returned when a distribution is asked of nothing: no sample,
// or none with a weight above zero.
var ErrNoWeight = errors.New("predict: no observation carries any weight")

// ErrBadSample is returned for a sample that is NaN, infinite or negative, or
// whose upper limit lies under its lower one.
var ErrBadSample = errors.New("predict: sample is not a finite, non-negative value or bound")

// Distribution is a weighted distribution of one non-negative quantity, in the
// unit of the observations. It is a set of values with shares of weight, and,
// where bounds leave it so, a share known only to lie above a limit.
//
// Quantiles and ranks follow the midpoint rule: the i-th value in ascending
// order stands at the middle of its own share, and between two values the
// quantile runs straight. Equal values stand as a block: flat from half the
// largest single weight inside its lower end to as much inside its upper end,
// so that a quarter of dry holes gives quantiles of exactly zero up to nearly a
// quarter, and the order of equal values does not matter. Probabilities
// (AtLeast, Below) and the CRPS are of the values and shares themselves, without
// interpolation.
//
// The zero Distribution is empty: its quantiles are NaN.
type Distribution struct {
	values []float64 // strictly ascending
	cum    []float64 // share of weight up to and including values[i]
	half   []float64 // half of the largest single weight at values[i]

	upperShare float64 // share known only to lie above upperFrom; cum ends at 1 - upperShare
	upperFrom  float64
	lowerShare float64 // share known only to lie below lowerTo; spread evenly in (0, lowerTo)
	lowerTo    float64

	rankLow, rankHigh float64 // ranks of the calibrated 80 % range; both zero means 0.1 and 0.9
}

// NewDistribution builds the distribution of weighted samples, in any order.
// With bounds among them it is the Kaplan-Meier estimate (lower limits only, or
// upper limits only) or Turnbull's self-consistent one (both, or 'between').
//
// A share that the samples place only between two limits is spread evenly
// between them, at four points; one that they place only above a limit stays
// unknown (see UpperUnknown).
//
// It returns ErrBadSample or ErrNoWeight.
func NewDistribution(samples []Sample) (Distribution, error) {
	points := make([]point, 0, len(samples))
	var total float64
	for _, s := range samples {
		if !s.valid() {
			return Distribution{}, ErrBadSample
		}
		if s.Weight == 0 {
			continue
		}
		total += s.Weight
		points = append(points, point{value: s.Value, high: s.High, weight: s.Weight, bound: s.Bound})
	}
	if !(total > 0) {
		return Distribution{}, ErrNoWeight
	}
	slices.SortFunc(points, comparePoints)
	var c censoring
	var d Distribution
	c.build(points, &d)
	return d, nil
}

// Empty reports whether nothing stands behind the distribution.
func (d *Distribution) Empty() bool { return len(d.values) == 0 && d.upperShare == 0 }

// Len is the number of values that carry weight.
func (d *Distribution) Len() int { return len(d.values) }

// push adds a value at or above the last, with the share of weight up to and
// including it and its own weight.
func (d *Distribution) push(value, cum, weight float64) {
	if n := len(d.values); n > 0 && d.values[n-1] == value {
		d.cum[n-1] = cum
		d.half[n-1] = max(d.half[n-1], weight/2)
		return
	}
	d.values = append(d.values, value)
	d.cum = append(d.cum, cum)
	d.half = append(d.half, weight/2)
}

// hold sets how many values d has; a longer d has none that mean anything.
func (d *Distribution) hold(n int) {
	d.values, d.cum, d.half = resize(d.values, n), resize(d.cum, n), resize(d.half, n)
}

// reset empties d, keeping its memory and its ranks.
func (d *Distribution) reset() {
	*d = Distribution{
		values: d.values[:0], cum: d.cum[:0], half: d.half[:0],
		rankLow: d.rankLow, rankHigh: d.rankHigh,
	}
}

// NewMergedDistribution is NewDistribution of samples that were merged before:
// those that say the same stand as one, with their weights added up. largest
// holds, for each, the greatest single weight in it. The quantiles are those of
// the samples before they were merged.
func NewMergedDistribution(samples []Sample, largest []float64) (Distribution, error) {
	d, err := NewDistribution(samples)
	if err != nil {
		return d, err
	}
	for i := range samples {
		if s := &samples[i]; s.Bound == Exact && largest[i] < s.Weight {
			if at, ok := slices.BinarySearch(d.values, s.Value); ok {
				d.half[at] *= largest[i] / s.Weight
			}
		}
	}
	return d, nil
}

// stands gives the ranks between which the quantile is values[i].
func (d *Distribution) stands(i int) (lo, hi float64) {
	below := 0.0
	if i > 0 {
		below = d.cum[i-1]
	}
	lo, hi = below+d.half[i], d.cum[i]-d.half[i]
	if lo > hi { // one weight: the same place but for rounding
		lo = (lo + hi) / 2
		hi = lo
	}
	return lo, hi
}

// Quantile is the value that a share p of outcomes does not exceed, by the
// midpoint rule. p is held to [0, 1]. It is +Inf where p falls in the share that
// is known only to lie above a limit (see UpperUnknown for the limit), and NaN
// when the distribution is empty or p is NaN.
func (d *Distribution) Quantile(p float64) float64 {
	if d.Empty() || math.IsNaN(p) {
		return math.NaN()
	}
	p = min(max(p, 0), 1)
	n := len(d.values)
	if d.upperShare > 0 && p > 1-d.upperShare {
		return math.Inf(1)
	}
	if n == 0 {
		return math.Inf(1)
	}
	// first i that ends at or above p
	i, end := 0, n
	for i < end {
		h := int(uint(i+end) >> 1)
		if _, hi := d.stands(h); hi < p {
			i = h + 1
		} else {
			end = h
		}
	}
	if i == n {
		return d.values[n-1]
	}
	lo, _ := d.stands(i)
	if i == 0 || p >= lo {
		return d.values[i]
	}
	_, before := d.stands(i - 1)
	v0, v1 := d.values[i-1], d.values[i]
	return v0 + float64((v1-v0)*((p-before)/(lo-before)))
}

// Median is Quantile(0.5): the estimate.
func (d *Distribution) Median() float64 { return d.Quantile(0.5) }

// CDF is the rank of t: the inverse of Quantile, between 0 (below every value)
// and 1 (above every value). At a value that carries a block of mass it is the
// middle of the block. It is NaN for a NaN or an empty distribution.
func (d *Distribution) CDF(t float64) float64 {
	lo, hi := d.ranks(t)
	return (lo + hi) / 2
}

// ranks gives the lowest and the highest rank whose quantile is t. They differ
// only where t is a block of equal values or an end of them all.
func (d *Distribution) ranks(t float64) (lo, hi float64) {
	if d.Empty() || math.IsNaN(t) {
		return math.NaN(), math.NaN()
	}
	n := len(d.values)
	if n == 0 {
		return 0, 0
	}
	i := sort.SearchFloat64s(d.values, t) // first value >= t
	if i == n {
		if d.upperShare > 0 {
			return 1 - d.upperShare, 1 - d.upperShare
		}
		return 1, 1
	}
	if d.values[i] > t {
		if i == 0 {
			return 0, 0
		}
		_, p0 := d.stands(i - 1)
		p1, _ := d.stands(i)
		v0, v1 := d.values[i-1], d.values[i]
		r := p0 + float64((p1-p0)*((t-v0)/(v1-v0)))
		return r, r
	}
	// The ends of the support hold everything beyond them: Quantile(0) is the
	// first value, Quantile(1) the last.
	lo, hi = d.stands(i)
	if i == 0 {
		lo = 0
	}
	if i == n-1 {
		hi = 1 - d.upperShare
	}
	return lo, hi
}

// AtLeast is the probability of t or more: the share of weight at or above t. A
// share known only to lie above a limit counts when the limit is at or above t;
// for a t beyond the limit see AtLeastBounds.
func (d *Distribution) AtLeast(t float64) float64 {
	low, high := d.AtLeastBounds(t)
	if d.upperShare > 0 && t <= d.upperFrom {
		return high
	}
	return low
}

// AtLeastBounds gives the least and the greatest probability of t or more that
// the observations allow. They are equal unless part of the weight is known
// only to lie above a limit that is below t.
func (d *Distribution) AtLeastBounds(t float64) (low, high float64) {
	if d.Empty() || math.IsNaN(t) {
		return math.NaN(), math.NaN()
	}
	below := 0.0
	if i := sort.SearchFloat64s(d.values, t); i > 0 {
		below = d.cum[i-1]
	}
	high = min(max(1-below, 0), 1)
	if d.upperShare > 0 && t > d.upperFrom {
		return max(high-d.upperShare, 0), high
	}
	return high, high
}

// Below is the probability of less than t: 1 - AtLeast(t).
func (d *Distribution) Below(t float64) float64 { return 1 - d.AtLeast(t) }

// ZeroShare is the share of weight at exactly zero (dry holes; outcrop).
func (d *Distribution) ZeroShare() float64 {
	if len(d.values) == 0 || d.values[0] > 0 {
		return 0
	}
	return d.cum[0]
}

// UpperUnknown gives the share of weight known only to lie above a limit, and
// the limit. ok is false when the whole upper tail is known.
func (d *Distribution) UpperUnknown() (share, from float64, ok bool) {
	return d.upperShare, d.upperFrom, d.upperShare > 0
}

// LowerUnknown gives the share of weight known only to lie below a limit that
// is itself below every value, and the limit. ok is false when there is none.
func (d *Distribution) LowerUnknown() (share, to float64, ok bool) {
	return d.lowerShare, d.lowerTo, d.lowerShare > 0
}

// Dots gives n equally likely outcomes, ascending: the quantiles at
// (i + 1/2) / n. Outcomes in an unknowable upper tail are +Inf. n below 1 gives
// none.
func (d *Distribution) Dots(n int) []float64 {
	if n < 1 {
		return nil
	}
	dots := make([]float64, n)
	for i := range dots {
		dots[i] = d.Quantile((float64(i) + 0.5) / float64(n))
	}
	return dots
}
