package spread

import (
	"math"
	"math/rand/v2"
	"slices"

	"tallybook/geo/near"
	"tallybook/geo/predict"
)

// Pair is two points close together.
type Pair struct {
	A, B      int32 // positions in the caller's slices, A < B
	DistanceM float64
}

// mostPartners is how many of the nearest a point is paired with: at one spot
// there may be thousands.
const mostPartners = 16

// PairsWithin gives the pairs of points at most radiusM apart, each once, in
// the order of A and B; of a point with more than sixteen others around it those
// with its sixteen nearest, ties by key.
func PairsWithin(ix *near.Index, x, y []float64, radiusM float64) []Pair {
	var out []Pair
	var hits [mostPartners + 1]near.Hit
	for i := range x {
		partners := 0
		for _, h := range ix.NearestWithin(x[i], y[i], mostPartners+1, radiusM*radiusM, hits[:]) {
			if int(h.I) != i && partners < mostPartners {
				partners++
				out = append(out, Pair{min(int32(i), h.I), max(int32(i), h.I), math.Sqrt(h.D2)})
			}
		}
	}
	slices.SortFunc(out, func(a, b Pair) int {
		if a.A != b.A {
			return int(a.A) - int(b.A)
		}
		return int(a.B) - int(b.B)
	})
	return slices.CompactFunc(out, func(a, b Pair) bool { return a.A == b.A && a.B == b.B })
}

// Apart is how far two values differ, as a value or a bound: 40 and 'more than
// 55' differ by more than 15. ok is false where nothing is known of it. The
// weight is 1.
func Apart(a, b predict.Sample) (difference predict.Sample, ok bool) {
	a1, a2 := ends(a)
	b1, b2 := ends(b)
	low := max(0, a1-b2, b1-a2)
	high := max(a2-b1, b2-a1)
	d := predict.Sample{Value: low, Weight: 1}
	switch {
	case a1 == a2 && b1 == b2:
	case math.IsInf(high, 1) && low == 0:
		return d, false
	case math.IsInf(high, 1):
		d.Bound = predict.GreaterThan
	case low == 0 && high == 0:
	default:
		d.Bound, d.High = predict.Between, high
	}
	return d, true
}

func ends(s predict.Sample) (low, high float64) {
	switch s.Bound {
	case predict.LessThan:
		return 0, s.Value
	case predict.GreaterThan:
		return s.Value, math.Inf(1)
	case predict.Between:
		return s.Value, s.High
	}
	return s.Value, s.Value
}

// Drawn gives n pairs of different positions below size, drawn with a fixed
// seed; fewer than two positions give none.
func Drawn(size, n int, seed uint64) []Pair {
	if size < 2 {
		return nil
	}
	r := rand.New(rand.NewPCG(seed, 0x5eed))
	out := make([]Pair, n)
	for k := range out {
		a := r.IntN(size)
		b := r.IntN(size - 1)
		if b >= a {
			b++
		}
		out[k] = Pair{int32(min(a, b)), int32(max(a, b)), math.NaN()}
	}
	return out
}
