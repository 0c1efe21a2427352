package predict

import (
	"cmp"
	"math"
	"slices"
)

// rankLine is the ranks that a range goes by, by how far off the wells around a
// site stand (D8). Most test wells stand among wells, and their ranks make ranges
// that hold too little where wells are few. Between its knots the ranks run
// straight in the logarithm of D8; beyond its ends they stay.
type rankLine []rankKnot

type rankKnot struct{ logD8, low, high float64 }

// Of tests in order of D8, up to rankGroups groups of equal number make a knot
// each, at their middle. A group holds rankGroupLeast at the least: the 200 tests
// that the recent years need make three.
const (
	rankGroups     = 5
	rankGroupLeast = 66
)

// newRankLine makes the line from some of the tests. It always has a knot.
func newRankLine(list []trial, some func(*trial) bool, of func(*trial) rankPair) (rankLine, error) {
	var own []trial
	for j := range list {
		if !list[j].failed && some(&list[j]) {
			own = append(own, list[j])
		}
	}
	slices.SortStableFunc(own, func(a, b trial) int { return cmp.Compare(a.d8, b.d8) })
	groups := max(min(rankGroups, len(own)/rankGroupLeast), 1)
	var line rankLine
	for g := range groups {
		part := own[g*len(own)/groups : (g+1)*len(own)/groups]
		low, high, err := rangeRanks(part, anyTrial, of)
		if err != nil {
			return nil, err
		}
		low, high = aroundMiddle(low, high)
		k := rankKnot{low: low, high: high}
		if len(part) > 0 {
			k.logD8 = math.Log(part[len(part)/2].d8) // at least half a metre
		}
		line = append(line, k)
	}
	return line, nil
}

// aroundMiddle are ranks that have the middle between them. Where the estimate
// was off to one side at nearly all tests their own ranks would not, and a
// reader would be told of an estimate and a range that it is not in; such a
// range holds more than it says.
func aroundMiddle(low, high float64) (float64, float64) { return min(low, 0.5), max(high, 0.5) }

// at is the ranks where the nearest eight wells stand d8 metres off on average;
// plain 10 % and 90 % by the empty line.
func (l rankLine) at(d8 float64) (low, high float64) {
	if len(l) == 0 {
		return 0.1, 0.9
	}
	x := math.Log(d8)
	if !(x > l[0].logD8) {
		return l[0].low, l[0].high
	}
	for k := 1; k < len(l); k++ {
		if a, b := l[k-1], l[k]; x < b.logD8 {
			t := (x - a.logD8) / (b.logD8 - a.logD8)
			return a.low + float64(t*(b.low-a.low)), a.high + float64(t*(b.high-a.high))
		}
	}
	return l[len(l)-1].low, l[len(l)-1].high
}

// ranksAt is the ranks of a range there; both zero before calibration.
func (m *Model) ranksAt(d8 float64) (low, high float64) {
	if len(m.ranks) == 0 {
		return 0, 0
	}
	return m.ranks.at(d8)
}

// straight is a test's rank, moved so that its range runs from 0.1 to 0.9
// wherever it stands.
func (l rankLine) straight(w *trial) rankPair {
	low, high := l.at(w.d8)
	return straightPair(w.rank, low, high)
}

func straightPair(r rankPair, low, high float64) rankPair {
	return rankPair{lo: straighten(r.lo, low, high), hi: straighten(r.hi, low, high), known: r.known}
}

// straighten maps [0, 1] onto itself piece by piece so that low becomes 0.1 and
// high 0.9.
func straighten(u, low, high float64) float64 {
	switch {
	case u == low:
		return 0.1
	case u == high:
		return 0.9
	case u < low:
		return 0.1 * u / low
	case u > high:
		return 0.9 + 0.1*(u-high)/(1-high)
	}
	return 0.1 + 0.8*(u-low)/(high-low)
}
