package variogram

import (
	"cmp"
	"context"
	"errors"
	"math"
	"slices"

	"tallybook/geo/near"
)

// leastPairs is how many pairs a lag needs before it is worth a look: A. G.
// Journel and C. J. Huijbregts, Mining Geostatistics (Academic Press, 1978), ask
// for 30 to 50 (from memory).
const leastPairs = 30

// Enough says whether a lag has enough pairs to be worth a look.
func (l Lag) Enough() bool { return l.Pairs >= leastPairs }

// Lags is which lags were chosen for some samples, and why.
type Lags struct {
	Binning
	SpacingM float64 // the middle distance from a sample to the nearest other
	AcrossM  float64 // the diagonal of the box that holds nine in ten samples each way
	// RangeM is where the first look found the rise to end; 0 where it found no
	// end, and the lags then reach over a third of AcrossM.
	RangeM float64
}

// ErrOneSpot says that all samples stand on one spot, or nearly.
var ErrOneSpot = errors.New("variogram: the samples stand on one spot: nothing can be said of distance")

// ChooseLags finds lags that show where the rise ends. A first look in classes
// whose width grows with distance says about where that is; fifteen or so equal
// lags then reach half as far again, but over six spacings at least and over a
// third of the way across the samples at most (common practice). Errors: as for
// Draw, and ErrOneSpot, ErrNoVariation.
func ChooseLags(ctx context.Context, x, y, values []float64, s Sampling) (Lags, error) {
	if err := checkSamples(x, y, values); err != nil {
		return Lags{}, err
	}
	if len(x) < 2 {
		return Lags{}, ErrNoSamples
	}
	if slices.Min(values) == slices.Max(values) {
		return Lags{}, ErrNoVariation
	}
	l := Lags{AcrossM: across(x, y)}
	var err error
	if l.SpacingM, err = spacing(x, y, s); err != nil {
		return Lags{}, err
	}
	if !(l.SpacingM > 0) || !(l.AcrossM > 0) {
		return Lags{}, ErrOneSpot
	}
	far := l.AcrossM / 3
	low := min(max(l.SpacingM/2, far*1e-3), far/20)
	edges := []float64{0}
	const classes = 17
	for i := range classes {
		edges = append(edges, low*math.Pow(far*1.5/low, float64(i)/(classes-1)))
	}
	s.Most = 400_000
	p, err := Draw(ctx, x, y, values, edges, s)
	if err != nil {
		return Lags{}, err
	}
	reach := far
	if f, ok := firstLook(p.Empirical(nil)); ok && f.Structures[0].RangeM < far {
		l.RangeM = f.Structures[0].RangeM
		reach = min(max(1.5*l.RangeM, 6*l.SpacingM), far)
	}
	l.WidthM = round(reach / 15)
	l.CutoffM = l.WidthM * max(4, math.Ceil(reach/l.WidthM-1e-9))
	return l, nil
}

// firstLook fits where every class counts alike.
func firstLook(e Empirical) (Fitted, bool) {
	var good Empirical
	for _, l := range e.Lags {
		if l.Enough() {
			good.Lags = append(good.Lags, l)
		}
	}
	f, err := Fit(good, []Shape{Exponential}, Equal, Classical)
	return f, err == nil && !f.AtLimit && f.Structures[0].Sill > 0.05*f.Sill()
}

// FitBest fits each of the shapes alone and gives the one that leaves the least
// weighted sum of squares; the first of equals.
func FitBest(e Empirical, shapes []Shape, w Weighting, by Estimator) (Fitted, error) {
	var best Fitted
	err := errors.New("variogram: no shape to fit")
	for i, shape := range shapes {
		f, e := Fit(e, []Shape{shape}, w, by)
		if e != nil {
			return Fitted{}, e
		}
		if err = nil; i == 0 || f.Residual < best.Residual {
			best = f
		}
	}
	return best, err
}

// Extent is the middle distance from a sample to the nearest other place with one,
// and the diagonal of the box that holds the middle nine tenths each way; both
// metres, and zero where all stand on one spot.
func Extent(x, y []float64, s Sampling) (spacingM, acrossM float64, err error) {
	if len(x) != len(y) || len(x) == 0 {
		return 0, 0, ErrNoSamples
	}
	spacingM, err = spacing(x, y, s)
	return spacingM, across(x, y), err
}

// across is the diagonal of the box that holds the middle nine tenths of the
// samples each way.
func across(x, y []float64) float64 {
	span := func(v []float64) float64 {
		v = slices.Clone(v)
		slices.Sort(v)
		n := float64(len(v) - 1)
		return v[int(math.Round(0.95*n))] - v[int(math.Round(0.05*n))]
	}
	return math.Hypot(span(x), span(y))
}

// spacing is the middle distance to the nearest other sample, over some drawn
// by lot.
func spacing(x, y []float64, s Sampling) (float64, error) {
	ix, err := near.New(x, y, nil)
	if err != nil {
		return 0, err
	}
	p := Pairs{x: x, y: y}
	var d []float64
	var buf []near.Hit
	for _, i := range p.centres(s) {
		buf = ix.NearestFunc(x[i], y[i], 1, func(j int32) bool { return j == i || x[j] == x[i] && y[j] == y[i] }, buf)
		if len(buf) > 0 {
			d = append(d, math.Sqrt(buf[0].D2))
		}
	}
	if len(d) == 0 {
		return 0, nil
	}
	slices.Sort(d)
	return d[len(d)/2], nil
}

// round is a round number near v.
func round(v float64) float64 {
	ten := math.Pow(10, math.Floor(math.Log10(v)))
	best := ten
	for _, m := range []float64{1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10} {
		if math.Abs(m*ten-v) < math.Abs(best-v) {
			best = m * ten
		}
	}
	return best
}

// OnePerSite draws one sample of each site by lot, so that what samples on one
// spot share does not pass for structure: positions in the slices, ascending.
// Samples joined by steps of at most siteM metres are one site.
func OnePerSite(x, y []float64, siteM float64, s Sampling) ([]int32, error) {
	of, err := near.Sites(x, y, siteM)
	if err != nil {
		return nil, err
	}
	var kept []int32
	for i, site := range of {
		if int(site) == len(kept) {
			kept = append(kept, int32(i))
			continue
		}
		if k := kept[site]; cmp.Or(cmp.Compare(s.lot(i, othersSalt), s.lot(int(k), othersSalt)), cmp.Compare(i, int(k))) < 0 {
			kept[site] = int32(i)
		}
	}
	slices.Sort(kept)
	return kept, nil
}

// OnTheSpot is how much samples on one site differ from each other: half the
// mean squared difference, as the sums of squares around each site's mean over
// the samples less one, so that a site with very many counts no more than they
// do. Sites is how many hold two samples or more, and Gamma NaN without any.
type OnTheSpot struct {
	Sites, Samples int
	Gamma          float64
}

// SameSite measures what samples on one site differ by.
func SameSite(x, y, values []float64, siteM float64) (OnTheSpot, error) {
	if err := checkSamples(x, y, values); err != nil {
		return OnTheSpot{}, err
	}
	s, err := gather(x, y, values, siteM)
	if err != nil {
		return OnTheSpot{}, err
	}
	var o OnTheSpot
	var squares float64
	free := 0
	for i, members := range s.members {
		if len(members) < 2 {
			continue
		}
		o.Sites++
		o.Samples += len(members)
		free += len(members) - 1
		for _, m := range members {
			d := values[m] - s.mean[i]
			squares += d * d
		}
	}
	o.Gamma = squares / float64(free)
	return o, nil
}
