package variogram

import (
	"context"
	"errors"
	"fmt"
	"math"
)

// LeftOut is one site estimated from all others.
type LeftOut struct {
	Samples   []int32 // positions in the caller's slices; all were left out
	Observed  float64 // the mean of its samples
	Estimated float64 // NaN where no other site was within reach
	Variance  float64 // of what is estimated, as Estimate gives it
	// ErrorVariance is what the square of Observed - Estimated should be on
	// average under the model: Variance, and the error of the measurements
	// where the nugget is that.
	ErrorVariance float64
}

// Scores sums up a cross-validation.
type Scores struct {
	Sites  int // estimated
	Missed int // with no other site within reach
	// The mean, and the root of the mean square, of observed less estimated,
	// in the values' unit.
	MeanError, RootMeanSquare float64
	// The mean square of the errors over their expected variances: 1 when the
	// model says how wrong it is, above when it is too sure of itself.
	StandardisedSquare float64
}

// LeaveOneSiteOut estimates every site from the others, all samples of one
// site being left out together. Where all sites are used it takes one inverse
// for all (O. Dubrule, 'Cross validation of kriging in a unique neighborhood',
// Mathematical Geology 15, 1983). The model stays as it was fitted, with the
// site in it. Errors: ErrNoSamples with fewer than two sites, ErrSingular,
// that of ctx.
func (k *Kriging) LeaveOneSiteOut(ctx context.Context) ([]LeftOut, Scores, error) {
	if len(k.sites.x) < 2 {
		return nil, Scores{}, fmt.Errorf("leaving one site out of %d: %w", len(k.sites.x), ErrNoSamples)
	}
	out := make([]LeftOut, len(k.sites.x))
	for i := range out {
		out[i] = LeftOut{Samples: k.sites.members[i], Observed: k.sites.mean[i], Estimated: math.NaN()}
	}
	fill := k.leaveEach
	if k.all() {
		fill = k.leaveByInverse
	}
	if err := fill(ctx, out); err != nil {
		return nil, Scores{}, err
	}
	return out, score(out), nil
}

func (k *Kriging) leaveEach(ctx context.Context, out []LeftOut) error {
	var s Scratch
	for i := range out {
		if i%256 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		e, err := k.at(k.sites.x[i], k.sites.y[i], int32(i), &s)
		if errors.Is(err, ErrNoSamples) {
			continue
		}
		if err != nil {
			return err
		}
		o := &out[i]
		o.Estimated, o.Variance = e.Value, e.Variance
		o.ErrorVariance = e.Variance
		if k.options.Nugget == Measurement {
			o.ErrorVariance += k.nuggetOf(int32(i))
		}
	}
	return nil
}

// leaveByInverse reads the errors off B = C^-1 - a a'/sum, a = C^-1 1: the
// error at site i is (B z)_i/B_ii and its variance 1/B_ii.
func (k *Kriging) leaveByInverse(ctx context.Context, out []LeftOut) error {
	n := len(out)
	row := make([]float64, n)
	for i := range out {
		if i%16 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		clear(row)
		row[i] = 1
		k.whole.solve(row)
		axpy(-k.ones[i]/k.onesSum, k.ones, row)
		wrong := 0.0
		for j, b := range row {
			// The rows of B sum to zero, so any value may be taken off.
			wrong += b * (k.sites.mean[j] - out[i].Observed)
		}
		if !(row[i] > 0) {
			return ErrSingular
		}
		o := &out[i]
		o.Estimated = o.Observed - wrong/row[i]
		o.ErrorVariance = 1 / row[i]
		o.Variance = o.ErrorVariance
		if k.options.Nugget == Measurement {
			o.Variance = max(0, o.Variance-k.nuggetOf(int32(i)))
		}
	}
	return nil
}

func score(out []LeftOut) Scores {
	var s Scores
	for _, o := range out {
		if math.IsNaN(o.Estimated) {
			s.Missed++
			continue
		}
		e := o.Observed - o.Estimated
		s.Sites++
		s.MeanError += e
		s.RootMeanSquare += e * e
		s.StandardisedSquare += e * e / o.ErrorVariance
	}
	n := float64(s.Sites)
	s.MeanError, s.RootMeanSquare, s.StandardisedSquare = s.MeanError/n, math.Sqrt(s.RootMeanSquare/n), s.StandardisedSquare/n
	return s
}
