package near

import (
	"fmt"
	"math"
)

// leafPoints is the most points a leaf of the tree holds. Eight points are
// two cache lines; measured, smaller leaves pay in steps and larger ones in
// distances computed for nothing.
const leafPoints = 8

// maxDepth bounds the tree: 2^31 points in leaves of eight need 28 levels.
const maxDepth = 32

// point is one position in metres.
type point struct{ x, y float64 }

// box is a closed rectangle in metres.
type box struct{ minX, minY, maxX, maxY float64 }

// Index is an immutable neighbour index over points on a plane.
//
// It is a balanced k-d tree laid out flat: points are stored leaf after leaf,
// and every node keeps the tight box of its points, so that the empty ground
// between dense clumps costs nothing to skip. A tree is used rather than a
// grid of equal buckets because wells are not spread evenly: thousands may
// stand in one town, or at one position, in a set that spans a thousand
// kilometres. The balance is by count, so neither case makes it deeper.
//
// The zero Index is empty and may be searched.
type Index struct {
	pts    []point  // by slot: the order of the leaves
	pos    []int32  // slot -> position in the caller's slices
	slot   []int32  // position in the caller's slices -> slot
	key    []uint64 // by slot; nil when the position itself breaks ties
	tie    []int32  // by slot: the position given to New, which breaks the ties of equal keys
	boxes  []box    // heap order, root at 1; a node's two children share a cache line
	levels uint     // the leaves stand at this level, the root at level 0
}

// New builds an index over the points (x[i], y[i]) in metres. key[i] breaks
// ties of distance (the lower first), so that an answer depends only on the
// set of points and not on their order; keys should therefore be unique, and
// equal keys fall back to the position in the slices. A nil key means the
// position. The slices are copied, not kept.
//
// An error is returned when the lengths differ, when there are more than
// 2^31-1 points, or when a coordinate is not finite; it names the position of
// the first such point. Building takes O(n log n) on as many processors as
// there are.
func New(x, y []float64, key []uint64) (*Index, error) {
	n := len(x)
	if len(y) != n {
		return nil, fmt.Errorf("near: %d x coordinates but %d y coordinates", n, len(y))
	}
	if key != nil && len(key) != n {
		return nil, fmt.Errorf("near: %d points but %d keys", n, len(key))
	}
	if n > math.MaxInt32 {
		return nil, fmt.Errorf("near: %d points are more than the index can number", n)
	}
	if err := checkFinite(x, y); err != nil {
		return nil, err
	}
	if n == 0 {
		return &Index{}, nil
	}
	return build(x, y, key), nil
}

// checkFinite reports the first point with a coordinate that is NaN or infinite.
func checkFinite(x, y []float64) error {
	for i := range x {
		// A finite number minus itself is zero; NaN and infinity give NaN.
		if x[i]-x[i] != 0 || y[i]-y[i] != 0 {
			return fmt.Errorf("near: point %d is not finite: (%g, %g)", i, x[i], y[i])
		}
	}
	return nil
}

// Len returns the number of points.
func (ix *Index) Len() int { return len(ix.pts) }

// At returns the coordinates, in metres, of the point at position i of the
// slices given to New. It panics when i is out of range.
func (ix *Index) At(i int) (x, y float64) {
	p := ix.pts[ix.slot[i]]
	return p.x, p.y
}

// Key returns what breaks ties for the point at position i: the key given to
// New, or the position given to New when there were none. It panics when i is out of
// range.
func (ix *Index) Key(i int) uint64 {
	s := ix.slot[i]
	if ix.key != nil {
		return ix.key[s]
	}
	return uint64(ix.tie[s])
}

// Bounds returns the closed box of all points, in metres. For an empty index
// the minima are +Inf and the maxima -Inf.
func (ix *Index) Bounds() (minX, minY, maxX, maxY float64) {
	if len(ix.pts) == 0 {
		return math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	}
	b := ix.boxes[1]
	return b.minX, b.minY, b.maxX, b.maxY
}

// leaf returns the slots [lo, hi) of the leaf at the given node number. The
// ranges are a closed form of the number of points, so nothing is stored.
func (ix *Index) leaf(node int32) (lo, hi int) {
	m := uint64(node) - 1<<ix.levels
	n := uint64(len(ix.pts))
	return int(m * n >> ix.levels), int((m + 1) * n >> ix.levels)
}

// before tells whether the point in slot a goes before the one in slot b when
// both are equally far.
func (ix *Index) before(a, b int32) bool {
	if ix.key != nil && ix.key[a] != ix.key[b] {
		return ix.key[a] < ix.key[b]
	}
	return ix.tie[a] < ix.tie[b]
}

// dist2 returns the squared distance in m2. The conversions forbid a fused
// multiply-add, which would let ties fall differently on other processors.
func (p point) dist2(x, y float64) float64 {
	dx, dy := p.x-x, p.y-y
	return float64(dx*dx) + float64(dy*dy)
}

// dist2 returns the squared distance in m2 from (x, y) to the nearest place
// of the box, zero inside. It is computed by the same steps as a point's
// distance, each of them monotone, so it never exceeds the computed distance
// of a point in the box: pruning by it is exact.
func (b *box) dist2(x, y float64) float64 {
	var dx, dy float64
	if x < b.minX {
		dx = b.minX - x
	} else if x > b.maxX {
		dx = x - b.maxX
	}
	if y < b.minY {
		dy = b.minY - y
	} else if y > b.maxY {
		dy = y - b.maxY
	}
	return float64(dx*dx) + float64(dy*dy)
}
