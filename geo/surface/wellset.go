package surface

import "math"

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
