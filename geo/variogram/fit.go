package variogram

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// Weighting is how much each lag counts in a fit.
type Weighting uint8

const (
	PairsOverSquare Weighting = iota // N/h^2: near pairs count most, as kriging asks
	PairsOnly                        // N
	Equal                            // every lag alike
	weightings
)

// Estimator is which of a lag's two estimates is fitted.
type Estimator uint8

const (
	Classical Estimator = iota // Lag.Matheron
	Robust                     // Lag.CressieHawkins
	estimators
)

// ErrTooFewLags says that the lags with pairs are fewer than the parameters.
var ErrTooFewLags = errors.New("variogram: too few lags with pairs to fit a model")

// ErrNoVariation says that no two values differ, so that nothing can be fitted.
var ErrNoVariation = errors.New("variogram: the values do not differ")

// Fitted is the model that comes nearest to an empirical variogram.
type Fitted struct {
	Model
	Residual float64 // the weighted sum of squares that remains
	Lags     int     // how many lags were used
	// AtLimit says that a range came to rest at a limit of the search: the lags
	// do not show where the structure ends (a trend, or lags too coarse), and
	// its range and sill are no findings.
	AtLimit bool
}

// Fit is the weighted least squares fit of a nugget and one or two isotropic
// structures. Nugget and sills are never negative. For given ranges they follow
// exactly, so that only the ranges are searched: first over a net from the
// shortest mean distance of a lag to ten times the longest, which keeps the
// search from a poor local answer, then finely. Nothing is guessed by the
// caller, and the same lags give the same fit. Pairs at one place take no part.
//
// Errors: ErrTooFewLags, ErrNoVariation, or a parameter out of its range.
func Fit(e Empirical, structures []Shape, w Weighting, by Estimator) (Fitted, error) {
	if len(structures) < 1 || len(structures) > 2 {
		return Fitted{}, fmt.Errorf("variogram: one or two structures can be fitted, not %d", len(structures))
	}
	if w >= weightings || by >= estimators || slices.ContainsFunc(structures, func(s Shape) bool { return s >= shapes }) {
		return Fitted{}, errors.New("variogram: no such shape, weighting or estimator")
	}
	f := fitting{shapes: structures}
	for _, l := range e.Lags {
		if l.Pairs > 0 {
			f.add(l, w, by)
		}
	}
	if len(f.h) < 1+2*len(structures) {
		return Fitted{}, ErrTooFewLags
	}
	if sum := dot(f.gamma, f.gamma) + dot(f.root, f.root); sum-sum != 0 {
		return Fitted{}, errors.New("variogram: a lag's semivariance or weight is not finite")
	}
	if slices.Max(f.gamma) == 0 {
		return Fitted{}, ErrNoVariation
	}
	f.low, f.high = math.Log(slices.Min(f.h)), math.Log(10*slices.Max(f.h))
	return f.best(), nil
}

// fitting is one problem of least squares.
type fitting struct {
	shapes         []Shape
	h, gamma, root []float64 // mean distance, semivariance and root of the weight of each lag
	low, high      float64   // limits of the logarithm of a range
}

func (f *fitting) add(l Lag, w Weighting, by Estimator) {
	weight := 1.0
	switch w {
	case PairsOverSquare:
		weight = float64(l.Pairs) / (l.MeanM * l.MeanM)
	case PairsOnly:
		weight = float64(l.Pairs)
	}
	gamma := l.Matheron
	if by == Robust {
		gamma = l.CressieHawkins
	}
	f.h, f.gamma, f.root = append(f.h, l.MeanM), append(f.gamma, gamma), append(f.root, math.Sqrt(weight))
}

// best searches the ranges and gathers the answer.
func (f *fitting) best() Fitted {
	at := f.search()
	residual, part := f.at(at)
	out := Fitted{Residual: residual, Lags: len(f.h)}
	out.Nugget = part[0]
	for i, s := range f.shapes {
		st := Structure{Shape: s, Sill: part[i+1], RangeM: math.Exp(at[i])}
		out.Structures = append(out.Structures, st)
		// A structure without a sill has no range to speak of.
		if st.Sill > 0 && (at[i] < f.low+1e-6 || at[i] > f.high-1e-6) {
			out.AtLimit = true
		}
	}
	return out
}

// at gives the least residual with these logarithms of the ranges, and the
// nugget and sills that reach it.
func (f *fitting) at(logs []float64) (float64, []float64) {
	n := len(f.h)
	columns := make([][]float64, 1+len(f.shapes))
	columns[0] = f.root
	for i, s := range f.shapes {
		a := math.Exp(min(max(logs[i], f.low), f.high))
		columns[i+1] = make([]float64, n)
		for j, h := range f.h {
			columns[i+1][j] = f.root[j] * s.rise(h/a)
		}
	}
	target := make([]float64, n)
	for j := range target {
		target[j] = f.root[j] * f.gamma[j]
	}
	return notNegative(columns, target)
}
