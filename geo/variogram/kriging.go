package variogram

import (
	"errors"
	"fmt"
	"math"

	"tallybook/geo/near"
)

// NuggetAs says what the nugget is, which the samples alone cannot tell.
type NuggetAs uint8

const (
	// Microscale: the ground itself differs over distances shorter than any
	// between samples. The estimate is of the value at the very place; at a
	// sample it is that sample's value with no error, and it jumps to it.
	// Samples at one place are taken at their mean, as if that were the value.
	Microscale NuggetAs = iota
	// Measurement: the samples are wrong by that much. The estimate is of the
	// value without that error; it is smooth and passes beside the samples.
	// Samples at one place are that many measurements of one value.
	Measurement
)

// MostSites is the most sites that one system may hold: its time grows with
// their cube, its memory (8 bytes) with their square.
const MostSites = 3000

var (
	// ErrSingular says that the system of kriging has no answer worth its
	// digits: some samples say nothing that others do not, as when they stand
	// very close under a gaussian model without a nugget.
	ErrSingular = errors.New("variogram: the kriging system is singular; add a nugget, join close samples to one site, or choose another shape")
	// ErrTooMany says that more than MostSites would enter one system.
	ErrTooMany = fmt.Errorf("variogram: more than %d sites in one kriging system; choose a number of neighbours", MostSites)
	// ErrNoSamples says that no sample lies within reach of the place.
	ErrNoSamples = errors.New("variogram: no sample within reach")
)

// Options are the choices of kriging besides the model.
type Options struct {
	Neighbours int      // the nearest sites used, ties by the order given; 0 means all
	RadiusM    float64  // no site farther than this, metres, is used; 0 means no limit
	SiteM      float64  // samples joined by steps of at most this, metres, are one site; 0: the same place only
	Nugget     NuggetAs // what the nugget is
}

// Kriging estimates by ordinary kriging: the weights that sum to one and make
// the expected squared error least under the model, the mean being unknown
// (G. Matheron, 'Principles of geostatistics', Economic Geology 58, 1963;
// Isaaks and Srivastava 1989, chapter 12). It never changes once made, so any
// number of goroutines may use it, each with a Scratch of its own.
type Kriging struct {
	model   Model
	options Options
	sites   sites
	index   *near.Index

	// When all sites are used, the system is factored once.
	whole   factor
	ones    []float64
	onesSum float64
}

// NewKriging takes samples, whose coordinates are metres, and a model.
// Errors: slices of different length or with a value that is not finite, a
// parameter out of its range, ErrNoSamples, ErrTooMany, ErrSingular.
func NewKriging(x, y, values []float64, m Model, o Options) (*Kriging, error) {
	if err := checkSamples(x, y, values); err != nil {
		return nil, err
	}
	if err := m.Validate(); err != nil {
		return nil, err
	}
	switch {
	case o.Neighbours < 0:
		return nil, fmt.Errorf("variogram: %d neighbours", o.Neighbours)
	case !(o.RadiusM >= 0) || math.IsInf(o.RadiusM, 0):
		return nil, fmt.Errorf("variogram: radius %g m must be finite and not negative", o.RadiusM)
	case o.Nugget > Measurement:
		return nil, errors.New("variogram: the nugget is either microscale or measurement")
	case len(x) == 0:
		return nil, ErrNoSamples
	case o.Neighbours > MostSites:
		return nil, ErrTooMany
	}
	s, err := gather(x, y, values, o.SiteM)
	if err != nil {
		return nil, err
	}
	k := &Kriging{model: m, options: o, sites: s}
	if k.index, err = near.New(s.x, s.y, nil); err != nil {
		return nil, err
	}
	if k.all() {
		return k, k.factorWhole()
	}
	return k, nil
}

// all says whether every estimate uses every site.
func (k *Kriging) all() bool {
	return k.options.RadiusM == 0 && (k.options.Neighbours == 0 || k.options.Neighbours >= len(k.sites.x))
}

func (k *Kriging) factorWhole() error {
	n := len(k.sites.x)
	if n > MostSites {
		return ErrTooMany
	}
	chosen := make([]int32, n)
	for i := range chosen {
		chosen[i] = int32(i)
	}
	k.whole = factor{n: n, l: make([]float64, n*n)}
	k.fill(&k.whole, chosen)
	if err := k.decompose(&k.whole, make([]float64, 2*n)); err != nil {
		return err
	}
	k.ones, k.onesSum = k.whole.ones(make([]float64, n))
	return nil
}

// fill writes the covariances between the chosen sites.
func (k *Kriging) fill(f *factor, chosen []int32) {
	s := &k.sites
	for i, a := range chosen {
		row := f.l[i*f.n:]
		for j, b := range chosen[:i] {
			row[j] = k.model.covariance(s.x[a]-s.x[b], s.y[a]-s.y[b])
		}
		row[i] = k.model.structured() + k.nuggetOf(a)
	}
}

// decompose factors a filled system. Where the nugget alone keeps it far from
// singular it spares the look at its condition.
func (k *Kriging) decompose(f *factor, work []float64) error {
	least := k.model.Nugget
	if k.options.Nugget == Measurement {
		least = 0 // a site of very many samples has next to none
	}
	return f.decompose(work, least)
}

// nuggetOf is what the nugget adds to the variance of a site's mean.
func (k *Kriging) nuggetOf(site int32) float64 {
	if k.options.Nugget == Measurement {
		return k.model.Nugget / k.sites.count[site]
	}
	return k.model.Nugget
}

// target is the covariance of a site with the place asked for.
func (k *Kriging) target(site int32, x, y float64) float64 {
	dx, dy := k.sites.x[site]-x, k.sites.y[site]-y
	c := k.model.covariance(dx, dy)
	if dx == 0 && dy == 0 && k.options.Nugget == Microscale {
		c += k.model.Nugget
	}
	return c
}

// own is the variance of what is estimated, before any sample is known.
func (k *Kriging) own() float64 {
	if k.options.Nugget == Measurement {
		return k.model.structured()
	}
	return k.model.Sill()
}
