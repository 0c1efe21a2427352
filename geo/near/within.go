package near

import (
	"math/bits"
	"slices"
)

// Within returns every point whose squared distance from (x, y) is at most
// radiusM*radiusM, in metres, nearest first and ties by key. A negative or
// NaN radius, or a NaN coordinate, gives none. The result is written over buf.
func (ix *Index) Within(x, y, radiusM float64, buf []Hit) []Hit {
	hits := buf[:0]
	if len(ix.pts) == 0 || !(radiusM >= 0) || x != x || y != y {
		return hits
	}
	r2 := radiusM * radiusM
	var stack [maxDepth]int32
	firstLeaf := int32(1) << ix.levels
	stack[0] = 1
	for sp := 1; sp > 0; {
		sp--
		node := stack[sp]
		if ix.boxes[node].dist2(x, y) > r2 {
			continue
		}
		if node < firstLeaf {
			stack[sp], stack[sp+1] = 2*node, 2*node+1
			sp += 2
			continue
		}
		lo, hi := ix.leaf(node)
		for i, p := range ix.pts[lo:hi] {
			if d2 := p.dist2(x, y); d2 <= r2 {
				hits = append(hits, Hit{int32(lo + i), d2})
			}
		}
	}
	hits = ix.sortHits(hits)
	for i := range hits {
		hits[i].I = ix.pos[hits[i].I]
	}
	return hits
}

// Box returns the position of every point in the closed box, in metres,
// ascending. An inverted or NaN box gives none. The result is written over buf.
func (ix *Index) Box(minX, minY, maxX, maxY float64, buf []int32) []int32 {
	found := buf[:0]
	if len(ix.pts) == 0 || !(minX <= maxX && minY <= maxY) {
		return found
	}
	var stack [maxDepth]int32
	stack[0] = 1
	for sp := 1; sp > 0; {
		sp--
		node := stack[sp]
		b := &ix.boxes[node]
		if b.minX > maxX || b.maxX < minX || b.minY > maxY || b.maxY < minY {
			continue
		}
		lo, hi, isLeaf := ix.span(node)
		if minX <= b.minX && b.maxX <= maxX && minY <= b.minY && b.maxY <= maxY {
			found = append(found, ix.pos[lo:hi]...)
			continue
		}
		if !isLeaf {
			stack[sp], stack[sp+1] = 2*node, 2*node+1
			sp += 2
			continue
		}
		for i, p := range ix.pts[lo:hi] {
			if minX <= p.x && p.x <= maxX && minY <= p.y && p.y <= maxY {
				found = append(found, ix.pos[lo+i])
			}
		}
	}
	sortPositions(found, len(ix.pts))
	return found
}

// span returns the slots [lo, hi) under any node.
func (ix *Index) span(node int32) (lo, hi int, isLeaf bool) {
	level := uint(bits.Len32(uint32(node)) - 1)
	m := uint64(node) - 1<<level
	n := uint64(len(ix.pts))
	return int(m * n >> level), int((m + 1) * n >> level), level == ix.levels
}

// sortPositions sorts distinct positions below n. A large answer is sorted by
// marking a bit for each, which takes time in proportion to n/64 and no
// comparisons.
func sortPositions(found []int32, n int) {
	if len(found) < 256 || len(found) < n/64 {
		slices.Sort(found)
		return
	}
	marks := make([]uint64, (n+63)/64)
	for _, i := range found {
		marks[i>>6] |= 1 << (i & 63)
	}
	at := 0
	for w, mark := range marks {
		for mark != 0 {
			found[at] = int32(w<<6 + bits.TrailingZeros64(mark))
			at++
			mark &= mark - 1
		}
	}
}
