package variogram

import "tallybook/geo/near"

// Weight is one sample's part in an estimate.
type Weight struct {
	I      int32   // position in the caller's slices
	Weight float64 // samples of one site share its weight alike
}

// Estimate is what kriging says of a place. Its variance follows from the
// model and from where the samples stand, not from their values: it is no
// better than the model.
type Estimate struct {
	Value    float64
	Variance float64 // in the square of the values' unit; rounding below zero is given as zero
	Lagrange float64 // the multiplier mu of C w + mu = c, in the square of the values' unit
	Sites    int     // how many entered
	// Negative is the sum of the weights below zero, 0 or less. They come where
	// a sample stands in another's shadow, and let an estimate pass beyond the
	// values around it. They are kept: cutting them off would make the estimate
	// miss the samples and its variance untrue. A caller whose value has a
	// bound, as a depth has, looks here and says so.
	Negative float64
}

// Scratch is the memory of one goroutine's estimates; the zero value is ready.
type Scratch struct {
	hits    []near.Hit
	chosen  []int32
	c, w, a []float64
	work    []float64
	f       factor

	held []int32 // the sites of f, when places follow each other
	sum  float64
}

// At estimates the value at a place, in metres. s may be nil.
func (k *Kriging) At(x, y float64, s *Scratch) (Estimate, error) {
	if s == nil {
		s = new(Scratch)
	}
	return k.at(x, y, -1, s)
}

// Weights gives the samples' weights at a place beside the estimate.
func (k *Kriging) Weights(x, y float64) (Estimate, []Weight, error) {
	var s Scratch
	e, err := k.at(x, y, -1, &s)
	if err != nil {
		return Estimate{}, nil, err
	}
	var out []Weight
	for i, site := range s.chosen {
		for _, m := range k.sites.members[site] {
			out = append(out, Weight{m, s.w[i] / k.sites.count[site]})
		}
	}
	return e, out, nil
}

// at estimates without the site skip, or with all when that is below zero.
func (k *Kriging) at(x, y float64, skip int32, s *Scratch) (Estimate, error) {
	k.choose(x, y, skip, s)
	return k.solved(x, y, k.all() && skip < 0, s)
}

// solved estimates from the sites in s.chosen; whole says that they are all, in
// their order.
func (k *Kriging) solved(x, y float64, whole bool, s *Scratch) (Estimate, error) {
	n := len(s.chosen)
	if n == 0 {
		return Estimate{}, ErrNoSamples
	}
	if n > MostSites {
		return Estimate{}, ErrTooMany
	}
	s.c, s.w, s.a, s.work = grown(s.c, n), grown(s.w, n), grown(s.a, n), grown(s.work, 2*n)
	f, a, sum := &k.whole, k.ones, k.onesSum
	if !whole {
		s.held = s.held[:0]
		s.f = factor{n: n, l: grown(s.f.l, n*n)}
		k.fill(&s.f, s.chosen)
		if err := k.decompose(&s.f, s.work); err != nil {
			return Estimate{}, err
		}
		f = &s.f
		a, sum = f.ones(s.a)
	}
	for i, site := range s.chosen {
		s.c[i] = k.target(site, x, y)
	}
	copy(s.w, s.c)
	f.solve(s.w)
	return k.weigh(s, a, sum)
}

// weigh mends the weights of simple kriging, in s.w, so that they sum to one,
// by their share of a = C^-1 1, and applies them.
func (k *Kriging) weigh(s *Scratch, a []float64, sum float64) (Estimate, error) {
	missing := 1.0
	for _, w := range s.w {
		missing -= w
	}
	lambda := missing / sum
	axpy(lambda, a, s.w)
	e := Estimate{Lagrange: -lambda, Sites: len(s.chosen)}
	// Differences from one of the values, so that large values lose no digits.
	first := k.sites.mean[s.chosen[0]]
	for i, site := range s.chosen {
		e.Value += s.w[i] * (k.sites.mean[site] - first)
		e.Negative += min(0, s.w[i])
	}
	e.Value += first
	e.Variance = k.own() - dot(s.w, s.c) + lambda
	if !(e.Variance >= -1e-6*k.model.Sill()) || e.Value-e.Value != 0 {
		return Estimate{}, ErrSingular
	}
	e.Variance = max(0, e.Variance)
	return e, nil
}

// choose puts the sites that count at a place in s.chosen.
func (k *Kriging) choose(x, y float64, skip int32, s *Scratch) {
	s.chosen = s.chosen[:0]
	if x-x != 0 || y-y != 0 {
		return
	}
	if k.all() && skip < 0 {
		for i := range k.sites.x {
			s.chosen = append(s.chosen, int32(i))
		}
		return
	}
	if skip < 0 {
		k.chooseBut(x, y, nil, s)
		return
	}
	k.chooseBut(x, y, func(i int32) bool { return i == skip }, s)
}

// chooseBut puts the sites that count at a place, but those hidden, in s.chosen;
// hidden may be nil.
func (k *Kriging) chooseBut(x, y float64, hidden func(site int32) bool, s *Scratch) {
	s.chosen = s.chosen[:0]
	if x-x != 0 || y-y != 0 {
		return
	}
	most := k.options.Neighbours
	if most == 0 {
		most = k.index.Len()
	}
	switch {
	case k.options.RadiusM > 0 && k.options.Neighbours == 0:
		s.hits = k.index.Within(x, y, k.options.RadiusM, s.hits)
	case hidden != nil:
		s.hits = k.index.NearestFunc(x, y, most, hidden, s.hits)
	default:
		s.hits = k.index.Nearest(x, y, most, s.hits)
	}
	for _, h := range s.hits {
		if (k.options.RadiusM == 0 || h.D2 <= k.options.RadiusM*k.options.RadiusM) && (hidden == nil || !hidden(h.I)) {
			s.chosen = append(s.chosen, h.I)
		}
	}
}

func grown(buf []float64, n int) []float64 {
	if cap(buf) < n {
		return make([]float64, n)
	}
	return buf[:n]
}
