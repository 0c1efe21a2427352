package near

import (
	"fmt"
	"math"
	"slices"
)

// Sites numbers the sites of wells: two wells share a site when they stand at
// most tolM metres apart, or when a chain of such steps joins them. The result
// holds one number for each well, counted from 0 in the order in which the
// sites first appear. Half the wells of a real set may share their position
// with another (a second hole, a deepened one, the centre of a parcel), so a
// score that leaves out the well and not its site flatters every method.
//
// tolM = 0 joins identical positions only. Errors: lengths that differ, a
// coordinate that is not finite, a tolerance that is negative, not finite, or
// too small for the extent (below about a 2^36th of it).
func Sites(x, y []float64, tolM float64) ([]int32, error) {
	if len(x) != len(y) {
		return nil, fmt.Errorf("near: %d x coordinates but %d y coordinates", len(x), len(y))
	}
	if err := checkFinite(x, y); err != nil {
		return nil, err
	}
	if !(tolM >= 0) || math.IsInf(tolM, 1) {
		return nil, fmt.Errorf("near: tolerance of a site must be a finite distance, not %g m", tolM)
	}
	if len(x) == 0 {
		return []int32{}, nil
	}
	cells, err := siteCells(x, y, tolM)
	if err != nil {
		return nil, err
	}
	return cells.sites(), nil
}

// siteCell is a square so small that all wells in it share a site.
type siteCell struct {
	col, row float64 // whole numbers; with tolerance zero, the position itself
	lo, hi   int32   // range of members
}

// siteSet is the wells sorted into cells, and which cells are joined so far.
type siteSet struct {
	x, y    []float64
	tolM    float64
	members []int32 // well numbers, cell after cell
	cells   []siteCell
	parent  []int32 // of each cell: the union-find forest
}

func siteCells(x, y []float64, tolM float64) (*siteSet, error) {
	minX, minY := slices.Min(x), slices.Min(y)
	// A square with this side has its diagonal just below the tolerance, by
	// more than the rounding of the cell numbers below.
	side := tolM / math.Sqrt2 * (1 - 1e-4)
	if extent := max(slices.Max(x)-minX, slices.Max(y)-minY); tolM > 0 && extent/side > 1<<36 {
		return nil, fmt.Errorf("near: tolerance of %g m is too small for an extent of %g m", tolM, extent)
	}
	type place struct {
		col, row float64
		well     int32
	}
	places := make([]place, len(x))
	for i := range x {
		places[i] = place{x[i], y[i], int32(i)}
		if tolM > 0 {
			places[i].col = math.Floor((x[i] - minX) / side)
			places[i].row = math.Floor((y[i] - minY) / side)
		}
	}
	slices.SortFunc(places, func(a, b place) int {
		switch {
		case a.row != b.row && a.row < b.row, a.row == b.row && a.col < b.col:
			return -1
		case a.row == b.row && a.col == b.col:
			return int(a.well) - int(b.well)
		}
		return 1
	})
	s := &siteSet{x: x, y: y, tolM: tolM, members: make([]int32, len(x))}
	for i, p := range places {
		s.members[i] = p.well
		if last := len(s.cells) - 1; last >= 0 && s.cells[last].col == p.col && s.cells[last].row == p.row {
			s.cells[last].hi++
			continue
		}
		s.cells = append(s.cells, siteCell{p.col, p.row, int32(i), int32(i + 1)})
	}
	s.parent = make([]int32, len(s.cells))
	for i := range s.parent {
		s.parent[i] = int32(i)
	}
	return s, nil
}

// sites joins neighbouring cells and numbers what results.
func (s *siteSet) sites() []int32 {
	if s.tolM > 0 {
		s.joinNeighbours()
	}
	root := make([]int32, len(s.x)) // of each well
	for c, cell := range s.cells {
		for _, w := range s.members[cell.lo:cell.hi] {
			root[w] = s.find(int32(c))
		}
	}
	number := make([]int32, len(s.cells))
	for i := range number {
		number[i] = -1
	}
	next := int32(0)
	for w, c := range root {
		if number[c] < 0 {
			number[c] = next
			next++
		}
		root[w] = number[c]
	}
	return root
}

// joinNeighbours joins cells that hold two wells within the tolerance. Such
// cells lie at most two rows and two columns apart, and since cells are sorted
// by row, then column, one finger for each of the rows ahead suffices.
func (s *siteSet) joinNeighbours() {
	var finger [3]int
	for a := range s.cells {
		ca := &s.cells[a]
		for ahead := range finger {
			row := ca.row + float64(ahead)
			f := max(finger[ahead], 0)
			for f < len(s.cells) && (s.cells[f].row < row || s.cells[f].row == row && s.cells[f].col < ca.col-2) {
				f++
			}
			finger[ahead] = f
			for b := f; b < len(s.cells) && s.cells[b].row == row && s.cells[b].col <= ca.col+2; b++ {
				if b > a && s.find(int32(a)) != s.find(int32(b)) && s.touch(ca, &s.cells[b]) {
					s.join(int32(a), int32(b))
				}
			}
		}
	}
}

// touch tells whether any well of one cell is within the tolerance of any of
// the other.
func (s *siteSet) touch(a, b *siteCell) bool {
	ma, mb := s.members[a.lo:a.hi], s.members[b.lo:b.hi]
	if len(ma) > len(mb) {
		ma, mb = mb, ma
	}
	t2 := s.tolM * s.tolM
	if len(ma)*len(mb) <= 4096 {
		for _, i := range ma {
			for _, j := range mb {
				if (point{s.x[i], s.y[i]}).dist2(s.x[j], s.y[j]) <= t2 {
					return true
				}
			}
		}
		return false
	}
	// Two crowds: ask an index of the larger one, lest the time grow with the
	// product.
	bx, by := make([]float64, len(mb)), make([]float64, len(mb))
	for k, j := range mb {
		bx[k], by[k] = s.x[j], s.y[j]
	}
	ix := build(bx, by, nil)
	var buf [1]Hit
	for _, i := range ma {
		if h := ix.Nearest(s.x[i], s.y[i], 1, buf[:]); h[0].D2 <= t2 {
			return true
		}
	}
	return false
}

func (s *siteSet) find(c int32) int32 {
	for s.parent[c] != c {
		s.parent[c] = s.parent[s.parent[c]]
		c = s.parent[c]
	}
	return c
}

func (s *siteSet) join(a, b int32) {
	a, b = s.find(a), s.find(b)
	s.parent[max(a, b)] = min(a, b)
}
