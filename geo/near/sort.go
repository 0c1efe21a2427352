package near

import (
	"math"
	"slices"
)

// rungs is how many steps of squared distance hits are dealt to before they are
// sorted. Points that stand evenly fill the steps evenly.
const rungs = 256

// fewHits is how many hits are sorted without being dealt out, and how many in a
// step are sorted one by one.
const fewHits = 24

// sortHits sorts hits that hold slots by distance, then by key, in place. It uses
// the room behind them, and makes it where it is wanting. Dealing hits out by
// squared distance and mending what is left costs a fifth of sorting them by
// comparison.
func (ix *Index) sortHits(hits []Hit) []Hit {
	n := len(hits)
	if n <= fewHits {
		ix.insertionSort(hits)
		return hits
	}
	var far float64
	for i := range hits {
		far = max(far, hits[i].D2)
	}
	perRung := (rungs - 1) / far
	if !(perRung < math.MaxFloat64) {
		perRung = 0 // all stand at one distance, or nearly
	}
	hits = slices.Grow(hits, n)
	spare := hits[n : 2*n]
	copy(spare, hits)
	var ends [rungs]int32
	for i := range spare {
		ends[uint8(int(spare[i].D2*perRung))]++
	}
	var sum, most int32
	for r, c := range ends {
		most = max(most, c)
		ends[r] = sum
		sum += c
	}
	for _, h := range spare {
		at := &ends[uint8(int(h.D2*perRung))]
		hits[*at] = h
		*at++
	}
	if most <= fewHits {
		ix.insertionSort(hits)
		return hits
	}
	from := 0
	for _, to := range ends {
		ix.sortSome(hits[from:to])
		from = int(to)
	}
	return hits
}

// sortSome sorts any number of hits by comparison.
func (ix *Index) sortSome(hits []Hit) {
	if len(hits) <= fewHits {
		ix.insertionSort(hits)
		return
	}
	slices.SortFunc(hits, func(a, b Hit) int {
		switch {
		case a.I == b.I:
			return 0
		case a.D2 < b.D2 || (a.D2 == b.D2 && ix.before(a.I, b.I)):
			return -1
		}
		return 1
	})
}

func (ix *Index) insertionSort(hits []Hit) {
	for i := 1; i < len(hits); i++ {
		h := hits[i]
		j := i
		for j > 0 && (h.D2 < hits[j-1].D2 || (h.D2 == hits[j-1].D2 && ix.before(h.I, hits[j-1].I))) {
			hits[j] = hits[j-1]
			j--
		}
		hits[j] = h
	}
}
