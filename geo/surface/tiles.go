package surface

import (
	"math"

	"tallybook/geo/near"
)

// tiler computes the nodes of tiles with the neighbours shared between them.
//
// One search at the middle of a tile tells how near the k-th well is there,
// and so, adding the way to the corners, a distance within which every node
// has its k nearest. If the tile is small beside that distance, all wells so
// near to it are fetched at once, and the tile is halved both ways again and
// again, each quarter keeping of its parent's wells those that can still
// matter to it. From node to node the set of nearest is carried over and only
// mended, since it rarely changes. If the tile is large beside the distance,
// it is cut up and the pieces are tried in turn, down to single nodes.
//
// Every step keeps a superset of the true neighbours, judged by the same
// computed distances, so the answer is exactly that of a search at each node,
// ties by key included; only the order of summing differs, and with it the
// last digits.
type tiler struct {
	IDW
	ix     *near.Index
	values []float64
	grid   Grid
	out    []float64
	root   root

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

// wellSet is the wells that matter to a tile; id is the position in the index.
type wellSet struct {
	x, y, v []float64
	id      []int32
}

func (s *wellSet) reset() {
	s.x, s.y, s.v, s.id = s.x[:0], s.y[:0], s.v[:0], s.id[:0]
}

func (s *wellSet) add(x, y, v float64, id int32) {
	s.x, s.y, s.v, s.id = append(s.x, x), append(s.y, y), append(s.v, v), append(s.id, id)
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

func newTiler(w IDW, ix *near.Index, values []float64, grid Grid, out []float64) *tiler {
	return &tiler{IDW: w, ix: ix, values: values, grid: grid, out: out, root: rootOf(w.Power)}
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
	stepC, stepR := int(step/g.CellW)+1, int(step/g.CellH)+1
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
	t.last = t.ix.NearestWithin(x, y, t.Neighbours, bound, t.last)
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

// sift keeps the wells that can be among the nearest of some node of a tile:
// those no farther from it than the k-th smallest of the greatest distances.
// Like the distances themselves, the bounds are made of monotone steps and so
// hold for the computed numbers.
func (t *tiler) sift(a tile, from, to *wellSet) {
	g := t.grid
	minX, minY, maxX, maxY := g.X(a.col0), g.Y(a.row0), g.X(a.col1-1), g.Y(a.row1-1)
	n := len(from.x)
	if cap(t.spare) < 2*n {
		t.spare = make([]float64, 4*n)
	}
	least, far := t.spare[:n], t.spare[n:2*n]
	xs, ys := from.x, from.y[:n]
	for i, x := range xs {
		y := ys[i]
		left, right, below, above := x-minX, maxX-x, y-minY, maxY-y
		fx, fy := max(left, right), max(below, above)
		far[i] = float64(fx*fx) + float64(fy*fy)
		nx, ny := max(0, -min(left, right)), max(0, -min(below, above))
		least[i] = float64(nx*nx) + float64(ny*ny)
	}
	order := append(t.order[:0], far...)
	t.order = order
	bound := kthSmallest(order, t.Neighbours)
	// First those that are surely near, so that the first node finds its set
	// almost in order.
	to.reset()
	for i, d2 := range far {
		if d2 <= bound {
			to.add(xs[i], ys[i], from.v[i], from.id[i])
		}
	}
	for i, d2 := range least {
		if d2 <= bound && far[i] > bound {
			to.add(xs[i], ys[i], from.v[i], from.id[i])
		}
	}
}

// kthSmallest returns the k-th smallest of at least k numbers, reordering them.
func kthSmallest(a []float64, k int) float64 {
	lo, hi := 0, len(a)-1
	k--
	for lo < hi {
		pivot := a[(lo+hi)/2]
		i, j := lo, hi
		for i <= j {
			for a[i] < pivot {
				i++
			}
			for a[j] > pivot {
				j--
			}
			if i <= j {
				a[i], a[j] = a[j], a[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			hi = j
		case k >= i:
			lo = i
		default:
			return a[k]
		}
	}
	return a[k]
}

// nodes computes each node of a small tile, to and fro so that each lies
// beside the last. The first k wells of the set are the nearest so far.
func (t *tiler) nodes(a tile, s *wellSet) {
	g := t.grid
	if len(t.d2) < len(s.x) {
		t.d2 = make([]float64, 2*len(s.x))
	}
	col, step := a.col0, 1
	for row := a.row0; row < a.row1; row++ {
		y := g.Y(row)
		for n := a.col1 - a.col0; n > 0; n-- {
			v, ok := t.node(g.X(col), y, s)
			if !ok {
				v, t.hits = t.at(t.ix, t.values, g.X(col), y, t.hits)
			}
			t.out[row*g.Cols+col] = v
			col += step
		}
		step = -step
		col += step
	}
}

// node mends the set of nearest for one node and weighs it. It is not ok where
// the quick arithmetic does not hold: on a sample, or next to nothing from it.
func (t *tiler) node(x, y float64, s *wellSet) (v float64, ok bool) {
	k := t.Neighbours
	n := len(s.x)
	xs, ys, d2 := s.x, s.y[:n], t.d2[:n]
	for i, px := range xs {
		dx, dy := px-x, ys[i]-y
		d2[i] = float64(dx*dx) + float64(dy*dy)
	}
	if k < n {
		t.mend(s, d2)
	}
	return t.weigh(d2[:k], s.v[:k])
}

// indexBits is the low bits of a distance that make room for an index.
const indexBits = 1<<10 - 1

// mend swaps the last of the nearest k with the first of the others until none
// of the others comes before any of them. Squares are not negative, so their
// bits are in the order of their values, and whole numbers are compared
// without branches; the lowest bits carry the index along. What differs in the
// lowest bits alone, or not at all, is left to mendTies.
func (t *tiler) mend(s *wellSet, d2 []float64) {
	k := t.Neighbours
	if len(d2) > indexBits {
		t.mendTies(s, d2)
		return
	}
	for {
		last, next := uint64(0), uint64(math.MaxUint64)
		for i, d := range d2[:k] {
			last = max(last, math.Float64bits(d)&^indexBits|uint64(i))
		}
		for i, d := range d2[k:] {
			next = min(next, math.Float64bits(d)&^indexBits|uint64(i))
		}
		switch l, n := last&^indexBits, next&^indexBits; {
		case l < n:
			return
		case l == n:
			t.mendTies(s, d2)
			return
		}
		i, j := int(last&indexBits), k+int(next&indexBits)
		d2[i], d2[j] = d2[j], d2[i]
		s.swap(i, j)
	}
}

// mendTies is mend by the full distance, then by key.
func (t *tiler) mendTies(s *wellSet, d2 []float64) {
	k := t.Neighbours
	for {
		last, next := 0, k
		for i := 1; i < k; i++ {
			if d2[i] > d2[last] || d2[i] == d2[last] && t.ix.Before(s.id[last], s.id[i]) {
				last = i
			}
		}
		for i := k + 1; i < len(d2); i++ {
			if d2[i] < d2[next] || d2[i] == d2[next] && t.ix.Before(s.id[i], s.id[next]) {
				next = i
			}
		}
		if d2[next] > d2[last] || d2[next] == d2[last] && t.ix.Before(s.id[last], s.id[next]) {
			return
		}
		d2[last], d2[next] = d2[next], d2[last]
		s.swap(last, next)
	}
}

func (s *wellSet) swap(i, j int) {
	s.x[i], s.x[j] = s.x[j], s.x[i]
	s.y[i], s.y[j] = s.y[j], s.y[i]
	s.v[i], s.v[j] = s.v[j], s.v[i]
	s.id[i], s.id[j] = s.id[j], s.id[i]
}

// weigh is the mean of a set of neighbours in any order, relative to its first
// as in IDW.mean. The sum of weights is not finite when a distance is zero, or
// nearly, beside the first one; then it is not ok.
func (t *tiler) weigh(d2, v []float64) (mean float64, ok bool) {
	if t.RadiusM > 0 || t.Smoothing > 0 {
		d2, v = t.adjust(d2, v)
		if len(d2) == 0 {
			return math.NaN(), true
		}
	}
	v = v[:len(d2)]
	var sum, weights float64
	first, unit := v[0], d2[0]
	switch r := t.root; {
	case r.whole == 1 && r.rest == 0:
		for i, d := range d2 {
			wt := unit / d
			sum += wt * (v[i] - first)
			weights += wt
		}
	default:
		for i, d := range d2 {
			if d == 0 {
				return 0, false // at power 0 the weight would not tell
			}
			wt := r.of(unit / d)
			sum += wt * (v[i] - first)
			weights += wt
		}
	}
	mean = first + sum/weights
	return mean, finite(mean) && finite(weights) && unit > 0
}

// adjust drops what lies beyond the radius and adds the smoothing.
func (t *tiler) adjust(d2, v []float64) (kept, values []float64) {
	kept, values = t.spare[:0], t.order[:0]
	r2, s2 := t.RadiusM*t.RadiusM, t.Smoothing*t.Smoothing
	for i, d := range d2 {
		if r2 == 0 || d <= r2 {
			kept, values = append(kept, d+s2), append(values, v[i])
		}
	}
	t.spare, t.order = kept, values
	return kept, values
}
