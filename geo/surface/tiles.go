package surface

import (
	"math"

	"tallybook/geo/near"
)

// tiler computes the nodes of tiles with the neighbours shared between them.
//
// One search at the middle of a tile finds its k nearest there, and how far
// they are from the tile's corners bounds how far any node has its own. If the
// tile is small beside that distance, all wells so near to it are fetched at
// once, and the tile is halved both ways again and again, each quarter keeping
// of its parent's wells those that can still matter to it. From node to node
// the set of nearest is carried over and only mended, since it changes little.
// If the tile is large beside the distance, it is cut up and the pieces are
// tried in turn; where wells stand closer than nodes, each node is searched by
// itself, beginning with the bound that its neighbour's wells set.
//
// Every step keeps a superset of the true neighbours, judged by the same
// computed distances, so the answer is exactly that of a search at each node,
// ties by key included; only the order of summing differs, and with it the
// last digits.
type tiler struct {
	IDW
	ix      *near.Index
	buckets *buckets // nil where they would not pay
	values  []float64
	grid    Grid
	out     []float64
	root    root

	found []near.Candidate
	hits  []near.Hit
	sets  []*wellSet // one for each level of halving
	spare []float64
	order []float64
	d2    []float64
	last  []near.Hit // the k nearest to the place last searched
	lastX []float64  // and where they are
	lastY []float64
}

// Tuning, by measurement; none of these changes a result.
const (
	mostShared = 64  // most neighbours for which tiles pay
	smallTile  = 8   // side in nodes below which a tile is not halved
	roomy      = 1.0 // a tile is taken whole when the k-th well is this many half diagonals away
	cutBy      = 8   // the most pieces a side of a tile is cut into at once
	fewNodes   = 20  // nodes of a piece below which each is searched by itself
	mostFound  = 12  // wells for each neighbour beyond which a tile is cut after all
)

// shares tells whether tiles serve these parameters.
func (w IDW) shares(ix *near.Index) bool {
	return w.Neighbours > 0 && w.Neighbours <= mostShared && w.Neighbours < ix.Len()
}

func newTiler(w IDW, ix *near.Index, b *buckets, values []float64, grid Grid, out []float64) *tiler {
	return &tiler{IDW: w, ix: ix, buckets: b, values: values, grid: grid, out: out, root: rootOf(w.Power)}
}

// do computes a tile, cutting it up until its wells are few.
func (t *tiler) do(a tile) {
	g, k := t.grid, t.Neighbours
	cols, rows := a.col1-a.col0, a.row1-a.row0
	if cols == 1 && rows == 1 {
		t.single(a.col0, a.row0)
		return
	}
	minX, minY, maxX, maxY := g.X(a.col0), g.Y(a.row0), g.X(a.col1-1), g.Y(a.row1-1)
	x, y := minX/2+maxX/2, minY/2+maxY/2
	distance := t.search(x, y)
	half := math.Hypot(max(maxX-x, x-minX), max(maxY-y, y-minY))
	if distance >= roomy*half {
		// Every node has these k wells no farther than the farthest of them
		// is from the farthest corner.
		reach2 := 0.0
		for i, px := range t.lastX {
			py := t.lastY[i]
			dx, dy := max(px-minX, maxX-px), max(py-minY, maxY-py)
			reach2 = max(reach2, float64(dx*dx)+float64(dy*dy))
		}
		var whole bool
		if t.found, whole = t.ix.Around(minX, minY, maxX, maxY, reach2, mostFound*k, t.found); whole {
			t.begin(x, y)
			t.refine(a, 0)
			return
		}
	}
	// Pieces of a size that suits this place, but not at once much smaller:
	// elsewhere in the tile wells may be sparser.
	step := distance / roomy * math.Sqrt2
	stepC := 1 + int(min(step/g.CellW, float64(cols)))
	stepR := 1 + int(min(step/g.CellH, float64(rows)))
	if stepC*stepR < fewNodes {
		for row := a.row0; row < a.row1; row++ {
			for col := a.col0; col < a.col1; col++ {
				t.single(col, row)
			}
		}
		return
	}
	stepC = min(max(stepC, cols/cutBy, 1), max(1, cols/2))
	stepR = min(max(stepR, rows/cutBy, 1), max(1, rows/2))
	for row := a.row0; row < a.row1; row += stepR {
		for col := a.col0; col < a.col1; col += stepC {
			t.do(tile{col, row, min(col+stepC, a.col1), min(row+stepR, a.row1)})
		}
	}
}

// search finds the k nearest to a place and returns the distance of the last.
// The wells that were nearest to the place before set a bound to begin with.
func (t *tiler) search(x, y float64) float64 {
	bound := math.Inf(1)
	if len(t.lastX) > 0 {
		bound = 0
		for i, px := range t.lastX {
			dx, dy := px-x, t.lastY[i]-y
			bound = max(bound, float64(dx*dx)+float64(dy*dy))
		}
	}
	ok := false
	if t.buckets != nil && bound < math.MaxFloat64 {
		t.last, ok = t.buckets.nearest(t.ix, x, y, t.Neighbours, bound, t.last)
	}
	if !ok {
		t.last = t.ix.NearestWithin(x, y, t.Neighbours, bound, t.last)
	}
	t.lastX, t.lastY = t.lastX[:0], t.lastY[:0]
	for _, h := range t.last {
		px, py := t.ix.At(int(h.I))
		t.lastX, t.lastY = append(t.lastX, px), append(t.lastY, py)
	}
	return math.Sqrt(t.last[t.Neighbours-1].D2)
}

// begin fills the first set with the wells found around a tile, those nearest
// to its middle first, so that the first node finds its own almost in order.
func (t *tiler) begin(x, y float64) {
	nearest := t.last[len(t.last)-1].D2
	s := t.set(0)
	s.reset()
	for _, c := range t.found {
		s.add(c.X, c.Y, t.values[c.I], c.I)
	}
	front := 0
	for i, px := range s.x {
		dx, dy := px-x, s.y[i]-y
		if dx*dx+dy*dy <= nearest {
			s.swap(i, front)
			front++
		}
	}
}

// single computes a node by itself.
func (t *tiler) single(col, row int) {
	g := t.grid
	x, y := g.X(col), g.Y(row)
	t.search(x, y)
	t.hits = append(t.hits[:0], t.last...)
	t.out[row*g.Cols+col], t.hits = t.settled(t.ix, t.values, x, y, t.hits)
}

func (t *tiler) set(level int) *wellSet {
	for len(t.sets) <= level {
		t.sets = append(t.sets, &wellSet{})
	}
	return t.sets[level]
}

// quarters halves a tile both ways; some of the four may be empty.
func (a tile) quarters() [4]tile {
	c, r := (a.col0+a.col1+1)/2, (a.row0+a.row1+1)/2
	return [4]tile{{a.col0, a.row0, c, r}, {c, a.row0, a.col1, r}, {a.col0, r, c, a.row1}, {c, r, a.col1, a.row1}}
}

// refine computes a tile from the wells of a level.
func (t *tiler) refine(a tile, level int) {
	s := t.set(level)
	if len(s.x) <= t.Neighbours || a.col1-a.col0 <= smallTile && a.row1-a.row0 <= smallTile {
		t.nodes(a, s)
		return
	}
	for _, q := range a.quarters() {
		if q.col0 < q.col1 && q.row0 < q.row1 {
			t.sift(q, s, t.set(level+1))
			t.refine(q, level+1)
		}
	}
}
