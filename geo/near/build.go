package near

import (
	"cmp"
	"math"
	"runtime"
	"slices"
	"sync"
)

// entry is a point while the tree is being built: coordinates side by side so
// that the axis can be chosen by number, and where it came from.
type entry struct {
	c   [2]float64
	pos int32
}

// forkPoints is the least number of points worth a goroutine of its own.
const forkPoints = 1 << 14

// build lays out the tree. The points are known to be finite and some.
func build(x, y []float64, key []uint64) *Index {
	n := len(x)
	var levels uint
	for (n+1<<levels-1)>>levels > leafPoints {
		levels++
	}
	ix := &Index{
		pts:    make([]point, n),
		pos:    make([]int32, n),
		slot:   make([]int32, n),
		boxes:  make([]box, 2<<levels),
		levels: levels,
	}
	if key != nil {
		ix.key = make([]uint64, n)
	}
	entries := make([]entry, n)
	for i := range entries {
		entries[i] = entry{c: [2]float64{x[i], y[i]}, pos: int32(i)}
	}
	forks := 0
	for 1<<forks < 2*runtime.GOMAXPROCS(0) {
		forks++
	}
	b := builder{ix: ix, entries: entries, key: key}
	b.split(1, 0, forks)
	ix.tie = ix.pos
	return ix
}

type builder struct {
	ix      *Index
	entries []entry
	key     []uint64
}

// split halves the points of a node by count along the longer side of their
// box, and so on down; forks is how many more levels may use a goroutine. The
// result does not depend on forks, since the halves share nothing.
func (b *builder) split(node int32, level uint, forks int) {
	ix := b.ix
	n := uint64(len(b.entries))
	m := uint64(node) - 1<<level
	lo, hi := int(m*n>>level), int((m+1)*n>>level)
	bounds := boundsOf(b.entries[lo:hi])
	ix.boxes[node] = bounds
	if level == ix.levels {
		b.settle(lo, hi)
		return
	}
	axis := 0
	if bounds.maxY-bounds.minY > bounds.maxX-bounds.minX {
		axis = 1
	}
	mid := int((2*m + 1) * n >> (level + 1))
	if bounds.minX != bounds.maxX || bounds.minY != bounds.maxY {
		selectNth(b.entries, lo, hi-1, mid, axis)
	}
	if forks > 0 && hi-lo >= forkPoints {
		var wg sync.WaitGroup
		wg.Go(func() { b.split(2*node, level+1, forks-1) })
		b.split(2*node+1, level+1, forks-1)
		wg.Wait()
		return
	}
	b.split(2*node, level+1, 0)
	b.split(2*node+1, level+1, 0)
}

// settle writes a finished leaf into the index.
func (b *builder) settle(lo, hi int) {
	ix := b.ix
	for s := lo; s < hi; s++ {
		e := &b.entries[s]
		ix.pts[s] = point{e.c[0], e.c[1]}
		ix.pos[s] = e.pos
		ix.slot[e.pos] = int32(s)
		if b.key != nil {
			ix.key[s] = b.key[e.pos]
		}
	}
}

// boundsOf returns the tight box of some entries, at least one.
func boundsOf(es []entry) box {
	r := box{es[0].c[0], es[0].c[1], es[0].c[0], es[0].c[1]}
	for i := range es[1:] {
		x, y := es[i+1].c[0], es[i+1].c[1]
		if x < r.minX {
			r.minX = x
		} else if x > r.maxX {
			r.maxX = x
		}
		if y < r.minY {
			r.minY = y
		} else if y > r.maxY {
			r.maxY = y
		}
	}
	return r
}

// selectNth reorders es[left..right] (both included) so that es[k] is what a
// full sort along the axis would put there, with nothing greater before it
// and nothing smaller after it. The method is that of R. W. Floyd and
// R. L. Rivest, 'Expected time bounds for selection', Communications of the
// ACM 18(3), 1975: a sample around the wanted rank is ordered first, so that
// the pivot is almost surely right. Should an arrangement of the data defeat
// the sampling, a plain sort bounds the work.
func selectNth(es []entry, left, right, k, axis int) {
	axis &= 1
	for rounds := 0; right > left; rounds++ {
		if rounds > 40 {
			slices.SortFunc(es[left:right+1], func(a, b entry) int { return cmp.Compare(a.c[axis], b.c[axis]) })
			return
		}
		if right-left > 600 {
			n, i := float64(right-left+1), float64(k-left+1)
			z := math.Log(n)
			s := 0.5 * math.Exp(2*z/3)
			sd := 0.5 * math.Sqrt(z*s*(n-s)/n)
			if i < n/2 {
				sd = -sd
			}
			l := max(left, int(float64(k)-i*s/n+sd))
			r := min(right, int(float64(k)+(n-i)*s/n+sd))
			selectNth(es, l, r, k, axis)
		}
		pivot := es[k].c[axis]
		i, j := left, right
		for i <= j {
			for es[i].c[axis] < pivot {
				i++
			}
			for es[j].c[axis] > pivot {
				j--
			}
			if i <= j {
				es[i], es[j] = es[j], es[i]
				i++
				j--
			}
		}
		// Now everything up to j is at most the pivot, everything from i on at
		// least the pivot, and what lies between equals it.
		switch {
		case k <= j:
			right = j
		case k >= i:
			left = i
		default:
			return
		}
	}
}
