package surface

import (
	"math"

	"tallybook/geo/near"
)

// buckets is the wells of one grid run dealt into square buckets of about two
// each, row by row, so that those of a row of buckets are one run of memory.
// Where wells stand about evenly and a node's neighbour has set a bound, looking
// through the few buckets within it is quicker than a walk down the tree; where
// too many stand within it, as in a town of a wide country, the tree is asked.
// It is never changed and may be read by many at once.
type buckets struct {
	minX, minY float64 // metres
	perM       float64 // buckets a metre
	cols, rows int
	start      []int32 // of each bucket, and one more
	wells      []near.Candidate
}

const (
	perBucket = 2  // wells in a bucket, on average
	crowded   = 10 // wells within a bound, for each neighbour wanted, beyond which the tree is asked
	widest    = 64 // buckets along a side of a bound beyond which the tree is asked
)

func newBuckets(ix *near.Index) *buckets {
	n := ix.Len()
	minX, minY, maxX, maxY := ix.Bounds()
	w, h := maxX-minX, maxY-minY
	side := math.Sqrt(w * h * perBucket / float64(n))
	side = max(side, max(w, h)*perBucket/float64(n)) // wells on a line
	if !(side > 0) || math.IsInf(side, 1) {
		return nil // all on one spot, or too far apart to be told
	}
	b := &buckets{minX: minX, minY: minY, perM: 1 / side}
	if !finite(b.perM) {
		return nil
	}
	b.cols, b.rows = int(w*b.perM)+1, int(h*b.perM)+1
	b.start = make([]int32, b.cols*b.rows+1)
	b.wells = make([]near.Candidate, n)
	at := make([]int32, n)
	for i := range n {
		x, y := ix.At(i)
		at[i] = int32(b.row(y)*b.cols + b.col(x))
		b.start[at[i]]++
	}
	var sum int32
	for c, count := range b.start {
		b.start[c] = sum
		sum += count
	}
	for i := range n {
		x, y := ix.At(i)
		slot := &b.start[at[i]]
		b.wells[*slot] = near.Candidate{I: int32(i), X: x, Y: y}
		*slot++
	}
	// Every start has moved on to its end: the next one's start.
	copy(b.start[1:], b.start)
	b.start[0] = 0
	return b
}

// col and row are made of monotone steps, so that what lies between two places
// lies between their buckets.
func (b *buckets) col(x float64) int {
	return int(min(max((x-b.minX)*b.perM, 0), float64(b.cols-1)))
}

func (b *buckets) row(y float64) int {
	return int(min(max((y-b.minY)*b.perM, 0), float64(b.rows-1)))
}

// nearest gives the k nearest to a place among the wells within bound, a squared
// distance that holds at least k: the answer of the index, ties by key included.
// It is not ok, and found is no use, where the tree is to be asked.
func (b *buckets) nearest(ix *near.Index, x, y float64, k int, bound float64, buf []near.Hit) (found []near.Hit, ok bool) {
	reach := math.Sqrt(bound) * (1 + 1e-9)
	col0, col1 := b.col(x-reach), b.col(x+reach)
	row0, row1 := b.row(y-reach), b.row(y+reach)
	if row1-row0 > widest || col1-col0 > widest {
		return buf, false
	}
	within := 0
	for row := row0; row <= row1; row++ {
		within += int(b.start[row*b.cols+col1+1] - b.start[row*b.cols+col0])
	}
	if within > crowded*k {
		return buf, false
	}
	found = buf[:0]
	for row := row0; row <= row1; row++ {
		for _, c := range b.wells[b.start[row*b.cols+col0]:b.start[row*b.cols+col1+1]] {
			dx, dy := c.X-x, c.Y-y
			d2 := float64(dx*dx) + float64(dy*dy)
			if d2 > bound {
				continue
			}
			h := near.Hit{I: c.I, D2: d2}
			if len(found) < k {
				found = append(found, h)
			} else if last := found[k-1]; d2 == last.D2 && !ix.Before(h.I, last.I) {
				continue
			}
			i := len(found) - 1
			for ; i > 0 && (d2 < found[i-1].D2 || d2 == found[i-1].D2 && ix.Before(h.I, found[i-1].I)); i-- {
				found[i] = found[i-1]
			}
			found[i] = h
			if len(found) == k {
				bound = found[k-1].D2
			}
		}
	}
	return found, len(found) == k
}
