package scout

import (
	"math"

	"tallybook/geo/predict"
	"tallybook/records"
)

// Own are the distributions of single fields at the site (depths in metres,
// yield in litres a second), from which missing fields are drawn. A nil one
// is not known.
type Own struct {
	Bedrock, Depth, Yield *predict.Distribution
}

// Drawn says which fields of an outcome are no findings of the record.
type Drawn uint8

// The fields that may be drawn.
const (
	DrewBedrock Drawn = 1 << iota
	DrewDepth
	DrewYield
)

// whole is a neighbour with nothing missing.
type whole struct {
	*Neighbour
	bedrock records.Depth
	depth   records.Depth // drilled
	gains   []Gain
	overrun float64
	drawn   Drawn
}

// fill completes a neighbour. What is missing, or known only as a bound, is
// drawn from the field's own distribution within the limits that the record
// sets:
//
//   - the draw is a rank between 0 and 1 that comes from the record's key and
//     the field alone, so that the same data give the same answer on every
//     machine, and two fields of one record are drawn apart;
//   - the rank is squeezed between the ranks of the limits, so that a hole
//     'deeper than 30' is drawn from what lies beyond 30;
//   - where nothing is known beyond a limit the limit itself is taken, which
//     makes depth to bedrock, and so the cost, too small rather than too
//     great.
//
// The depth drilled of a hole known only to a bound is that bound: a hole
// tells nothing below where it was seen. A missing yield is drawn and put
// where the water can have come in.
func (n *Neighbour) fill(own Own, overrun float64) whole {
	w := whole{Neighbour: n, overrun: n.Overrun}
	if !(w.overrun > 0) {
		w.overrun = overrun
	}
	if v, ok := n.Bedrock.Number(); ok {
		w.bedrock = max(v, 0)
	} else {
		low, high := limits(n.Bedrock)
		w.bedrock = records.Depth(draw(own.Bedrock, n.Key, 1, float64(low), float64(high)))
		w.drawn |= DrewBedrock
	}
	if bottom, ok := n.Bottom(); ok {
		w.depth = bottom
	} else {
		low, high := limits(n.Depth)
		w.depth = records.Depth(draw(own.Depth, n.Key, 2, float64(low), float64(high)))
		w.drawn |= DrewDepth
	}
	yield := n.Yield
	if !yield.Known() && !n.flowing() {
		yield = records.Roughly(records.Flow(draw(own.Yield, n.Key, 3, 0, math.Inf(1))))
		w.drawn |= DrewYield
	}
	w.gains, _ = gainsFor(n.Strikes, yield, min(max(n.openTop(), 0), w.depth), w.depth)
	return w
}

// flowing says whether every strike has its flow, so that the water of the
// hole is known without a final yield.
func (n *Neighbour) flowing() bool {
	for _, s := range n.Strikes {
		if !s.Flow.Known() {
			return false
		}
	}
	return len(n.Strikes) > 0
}

// draw takes a value between two limits from a distribution.
func draw(d *predict.Distribution, key, salt uint64, low, high float64) float64 {
	if d == nil || d.Empty() {
		return low
	}
	from, to := 0.0, 1.0
	if low > 0 {
		from = d.CDF(low)
	}
	if !math.IsInf(high, 1) {
		to = d.CDF(high)
	}
	v := d.Quantile(from + (to-from)*rank(key, salt))
	if math.IsInf(v, 1) {
		_, v, _ = d.UpperUnknown()
	}
	if math.IsNaN(v) {
		return low
	}
	return min(max(v, low), high)
}

// rank is a number evenly spread over (0, 1) that depends on key and salt
// alone (the mixing step of SplitMix64: Steele, Lea and Flood, 2014).
func rank(key, salt uint64) float64 {
	h := key + salt*0x9e3779b97f4a7c15
	h = (h ^ h>>30) * 0xbf58476d1ce4e5b9
	h = (h ^ h>>27) * 0x94d049bb133111eb
	h ^= h >> 31
	return (float64(h>>11) + 0.5) / (1 << 53)
}

// overrunOf all neighbours is the weighted median of what they took; without
// any, one and the plan's extra.
func commonOverrun(neighbours []Neighbour, extra float64) float64 {
	var samples []predict.Sample
	for i := range neighbours {
		if n := &neighbours[i]; n.Overrun > 0 && finite(n.Overrun) {
			samples = append(samples, predict.Sample{Value: n.Overrun, Weight: n.Weight})
		}
	}
	d, err := predict.NewDistribution(samples)
	if err != nil {
		return 1 + extra
	}
	return d.Median()
}
