package near

import (
	"math"
	"slices"
)

// Candidate is a point that may be among the nearest of some place.
type Candidate struct {
	I    int32   // position in the slices given to New
	X, Y float64 // metres
}

// Cover returns every point that can be among the k nearest of any place in
// the closed rectangle, in metres, ordered by key: a superset of all those
// answers, ties included. It serves surfaces, which ask for many places close
// together: the tree is walked once for a tile of nodes instead of once for
// each. k < 1, or an inverted or NaN rectangle, gives none. The result is
// written over buf.
//
// A point is left out only when k others are nearer at every place of the
// rectangle: when its least distance to the rectangle exceeds the k-th
// smallest of the greatest distances.
func (ix *Index) Cover(minX, minY, maxX, maxY float64, k int, buf []Candidate) []Candidate {
	found := buf[:0]
	n := len(ix.pts)
	if n == 0 || k < 1 || !(minX <= maxX && minY <= maxY) {
		return found
	}
	r := box{minX, minY, maxX, maxY}
	bound := math.Inf(1)
	if k < n {
		bound = ix.coverBound(&r, k)
	}
	var stack [maxDepth]int32
	firstLeaf := int32(1) << ix.levels
	stack[0] = 1
	for sp := 1; sp > 0; {
		sp--
		node := stack[sp]
		if r.gap2(&ix.boxes[node]) > bound {
			continue
		}
		if node < firstLeaf {
			stack[sp], stack[sp+1] = 2*node, 2*node+1
			sp += 2
			continue
		}
		lo, hi := ix.leaf(node)
		for i, p := range ix.pts[lo:hi] {
			if r.dist2(p.x, p.y) <= bound {
				found = append(found, Candidate{int32(lo + i), p.x, p.y})
			}
		}
	}
	slices.SortFunc(found, func(a, b Candidate) int {
		if a.I == b.I {
			return 0
		}
		if ix.before(a.I, b.I) {
			return -1
		}
		return 1
	})
	for i := range found {
		found[i].I = ix.pos[found[i].I]
	}
	return found
}

// coverBound returns the k-th smallest of the greatest squared distances from
// the points to the rectangle: at every place of it, k points are at least so
// near. k is below the number of points.
func (ix *Index) coverBound(r *box, k int) float64 {
	type pending struct {
		d2   float64
		node int32
	}
	var (
		stack [maxDepth]pending
		room  [64]float64
	)
	least := room[:0] // the k smallest so far, ascending
	if k > len(room) {
		least = make([]float64, 0, k)
	}
	bound := math.Inf(1)
	firstLeaf := int32(1) << ix.levels
	stack[0] = pending{0, 1}
	for sp := 1; sp > 0; {
		sp--
		if stack[sp].d2 > bound {
			continue
		}
		node := stack[sp].node
		if node < firstLeaf {
			a := pending{r.leastFar2(&ix.boxes[2*node]), 2 * node}
			b := pending{r.leastFar2(&ix.boxes[2*node+1]), 2*node + 1}
			if a.d2 < b.d2 {
				a, b = b, a
			}
			stack[sp], stack[sp+1] = a, b
			sp += 2
			continue
		}
		lo, hi := ix.leaf(node)
		for _, p := range ix.pts[lo:hi] {
			d2 := r.far2(p)
			if d2 >= bound {
				continue
			}
			if len(least) < k {
				least = append(least, d2)
			}
			i := len(least) - 1
			for ; i > 0 && least[i-1] > d2; i-- {
				least[i] = least[i-1]
			}
			least[i] = d2
			if len(least) == k {
				bound = least[k-1]
			}
		}
	}
	return bound
}

// leastFar2 returns a lower bound of far2 over the points of another box, up
// to rounding: it only steers and trims the walk, and any k points give a
// valid cover.
func (b *box) leastFar2(o *box) float64 {
	hx, hy := b.maxX/2-b.minX/2, b.maxY/2-b.minY/2
	cx, cy := b.minX+hx, b.minY+hy
	dx := hx + max(0, o.minX-cx, cx-o.maxX)
	dy := hy + max(0, o.minY-cy, cy-o.maxY)
	return float64(dx*dx) + float64(dy*dy)
}

// far2 returns the greatest squared distance in m2 from a point to a place of
// the box, which is at a corner.
func (b *box) far2(p point) float64 {
	dx := max(math.Abs(p.x-b.minX), math.Abs(p.x-b.maxX))
	dy := max(math.Abs(p.y-b.minY), math.Abs(p.y-b.maxY))
	return float64(dx*dx) + float64(dy*dy)
}

// gap2 returns the least squared distance in m2 between two boxes.
func (b *box) gap2(o *box) float64 {
	dx := max(0, o.minX-b.maxX, b.minX-o.maxX)
	dy := max(0, o.minY-b.maxY, b.minY-o.maxY)
	return float64(dx*dx) + float64(dy*dy)
}
