package variogram

import (
	"context"
	"errors"
	"math"
	"slices"
	"sync/atomic"

	"golang.org/x/sync/errgroup"

	"tallybook/geo/near"
)

// Filled is the estimates at many places, in their order. Both are NaN where
// the place was not asked for, where no sample was within reach, or where the
// system had no answer worth its digits.
type Filled struct {
	Value    []float64
	Variance []float64 // in the square of the values' unit
	// Places is how many have a value; Negative of how many of those some weight
	// lies below zero, and Beyond how many of those pass beyond all the samples
	// that entered; Singular how many have no value because of ErrSingular.
	Places, Negative, Beyond, Singular int
}

// Fill estimates at places 0 to n-1, in metres; ok says whether the i-th is
// asked for. Places that follow each other and share all their neighbours cost
// one system together: let them run along a row. The answer does not depend on
// how many goroutines work; 0 means one for each processor. Errors: ErrTooMany,
// that of ctx.
func (k *Kriging) Fill(ctx context.Context, n, goroutines int, place func(i int) (x, y float64, ok bool)) (Filled, error) {
	f := Filled{Value: make([]float64, n), Variance: make([]float64, n)}
	if goroutines < 1 {
		goroutines = workers()
	}
	var places, negative, beyond, singular, next atomic.Int64
	// A piece begins anew, so that its answers depend on nothing before it.
	const piece = 512
	g, inner := errgroup.WithContext(ctx)
	for range min(goroutines, (n+piece-1)/piece) {
		g.Go(func() error {
			var s Scratch
			for {
				lo := int(next.Add(piece)) - piece
				if lo >= n {
					return nil
				}
				if err := inner.Err(); err != nil {
					return err
				}
				s.held = s.held[:0]
				for i := lo; i < min(lo+piece, n); i++ {
					f.Value[i], f.Variance[i] = math.NaN(), math.NaN()
					x, y, ok := place(i)
					if !ok {
						continue
					}
					e, err := k.along(x, y, &s)
					switch {
					case errors.Is(err, ErrNoSamples):
						continue
					case errors.Is(err, ErrSingular):
						singular.Add(1)
						continue
					case err != nil:
						return err
					}
					f.Value[i], f.Variance[i] = e.Value, e.Variance
					places.Add(1)
					if e.Negative < 0 {
						negative.Add(1)
						if k.beyond(&s, e.Value) {
							beyond.Add(1)
						}
					}
				}
			}
		})
	}
	if err := g.Wait(); err != nil {
		return Filled{}, err
	}
	f.Places, f.Negative, f.Beyond, f.Singular = int(places.Load()), int(negative.Load()), int(beyond.Load()), int(singular.Load())
	return f, ctx.Err()
}

// beyond says whether a value lies outside all that entered it.
func (k *Kriging) beyond(s *Scratch, v float64) bool {
	low, high := math.Inf(1), math.Inf(-1)
	for _, site := range s.chosen {
		low, high = min(low, k.sites.mean[site]), max(high, k.sites.mean[site])
	}
	return v < low || v > high
}

// along is at for places that follow each other: the sites stand in the order of
// their numbers, and the system of the place before serves again where the sites
// are the same.
func (k *Kriging) along(x, y float64, s *Scratch) (Estimate, error) {
	if k.all() {
		return k.at(x, y, -1, s)
	}
	k.choose(x, y, -1, s)
	n := len(s.chosen)
	switch {
	case n == 0:
		return Estimate{}, ErrNoSamples
	case n > MostSites:
		return Estimate{}, ErrTooMany
	}
	slices.Sort(s.chosen)
	s.c, s.w = grown(s.c, n), grown(s.w, n)
	if !slices.Equal(s.chosen, s.held) {
		s.held = s.held[:0]
		s.a, s.work = grown(s.a, n), grown(s.work, 2*n)
		s.f = factor{n: n, l: grown(s.f.l, n*n)}
		k.fill(&s.f, s.chosen)
		if err := k.decompose(&s.f, s.work); err != nil {
			return Estimate{}, err
		}
		s.a, s.sum = s.f.ones(s.a)
		s.held = append(s.held, s.chosen...)
	}
	for i, site := range s.chosen {
		s.c[i] = k.target(site, x, y)
	}
	copy(s.w, s.c)
	s.f.solve(s.w)
	return k.weigh(s, s.a, s.sum)
}

// Without is the kriging with only the sites all of whose samples keep takes:
// the model and the options stay. It shares the samples with k. Errors:
// ErrNoSamples, ErrTooMany, ErrSingular.
func (k *Kriging) Without(keep func(i int32) bool, m Model) (*Kriging, error) {
	if err := m.Validate(); err != nil {
		return nil, err
	}
	out := &Kriging{model: m, options: k.options}
	for i, members := range k.sites.members {
		if slices.ContainsFunc(members, func(m int32) bool { return !keep(m) }) {
			continue
		}
		s := &k.sites
		out.sites.x, out.sites.y, out.sites.mean = append(out.sites.x, s.x[i]), append(out.sites.y, s.y[i]), append(out.sites.mean, s.mean[i])
		out.sites.count, out.sites.members = append(out.sites.count, s.count[i]), append(out.sites.members, members)
	}
	if len(out.sites.x) == 0 {
		return nil, ErrNoSamples
	}
	var err error
	if out.index, err = near.New(out.sites.x, out.sites.y, nil); err != nil {
		return nil, err
	}
	if out.all() {
		return out, out.factorWhole()
	}
	return out, nil
}

// Sites is how many sites the samples make.
func (k *Kriging) Sites() int { return len(k.sites.x) }

// AtHidden estimates as if no site stood within so many metres of the place: a
// well held out with all on its spot. s may be nil.
func (k *Kriging) AtHidden(x, y, withinM float64, s *Scratch) (Estimate, error) {
	if s == nil {
		s = new(Scratch)
	}
	k.chooseBut(x, y, func(site int32) bool {
		dx, dy := k.sites.x[site]-x, k.sites.y[site]-y
		return dx*dx+dy*dy <= withinM*withinM
	}, s)
	return k.solved(x, y, false, s)
}
