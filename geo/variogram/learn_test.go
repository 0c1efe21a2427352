package variogram_test

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"tallybook/geo/variogram"
)

// TestFitBest: of lags that lie on a model the shape itself comes back, with the
// same fit as when it is asked for alone.
func TestFitBest(t *testing.T) {
	shapes := []variogram.Shape{variogram.Spherical, variogram.Exponential, variogram.Gaussian}
	for _, s := range shapes {
		e := exact(variogram.Model{Nugget: 2, Structures: []variogram.Structure{{Shape: s, Sill: 9, RangeM: 700}}})
		f, err := variogram.FitBest(e, shapes, variogram.PairsOverSquare, variogram.Classical)
		alone, err2 := variogram.Fit(e, []variogram.Shape{s}, variogram.PairsOverSquare, variogram.Classical)
		if err != nil || err2 != nil || f.Structures[0].Shape != s || f.Residual != alone.Residual {
			t.Errorf("%v: %+v, %v %v", s, f, err, err2)
		}
	}
	if _, err := variogram.FitBest(variogram.Empirical{}, shapes, variogram.Equal, variogram.Classical); !errors.Is(err, variogram.ErrTooFewLags) {
		t.Errorf("without lags: %v", err)
	}
	if _, err := variogram.FitBest(variogram.Empirical{}, nil, variogram.Equal, variogram.Classical); err == nil {
		t.Error("without shapes")
	}
}

// TestLearnFindsStructure: samples of a field with a known spread: noise of one,
// and twelve waves of 120 to 400 m and height 3 in all directions, each of which
// has a variance of 9/2. The sill, 55, is found within a third, the nugget small.
func TestLearnFindsStructure(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 21))
	x, y, v := make([]float64, 2000), make([]float64, 2000), make([]float64, 2000)
	for i := range x {
		x[i], y[i], v[i] = 2000*r.Float64(), 2000*r.Float64(), r.NormFloat64()
	}
	for w := range 12 {
		k := 2 * math.Pi / (120 + 280*r.Float64())
		sin, cos := math.Sincos(math.Pi * float64(w) / 12)
		phase := 2 * math.Pi * r.Float64()
		for i := range x {
			v[i] += 3 * math.Sin(k*(x[i]*sin+y[i]*cos)+phase)
		}
	}
	l, err := variogram.Learn(context.Background(), x, y, v, variogram.Sampling{})
	if err != nil {
		t.Fatal(err)
	}
	if m := l.Fitted; math.Abs(m.Sill()-55) > 18 || m.NuggetShare() > 0.15 || m.AtLimit {
		t.Errorf("%+v", m)
	}
	// The unit of length changes nothing but the lengths, that of value scales.
	times := func(f float64, s []float64) []float64 {
		out := make([]float64, len(s))
		for i := range s {
			out[i] = f * s[i]
		}
		return out
	}
	other, err := variogram.Learn(context.Background(), times(8, x), times(8, y), times(2, v), variogram.Sampling{})
	if err != nil {
		t.Fatal(err)
	}
	if r := other.CutoffM / l.CutoffM; r < 5.5 || r > 11 { // lags are round numbers
		t.Errorf("eight times as far: reach %g, %g", other.CutoffM, l.CutoffM)
	}
	t.Logf("%+v; lags of %g m up to %g m", l.Fitted.Model, l.WidthM, l.CutoffM)
	if r := other.Fitted.Sill() / l.Fitted.Sill(); r < 3.2 || r > 4.8 {
		t.Errorf("twice the value: sill %g times", r)
	}
}

// TestSmallestCell: cells of that side are taken, whatever the extent.
func TestSmallestCell(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		wide := rapid.Float64Range(0, 1e6).Draw(t, "wide")
		high := rapid.Float64Range(0.001, 1e6).Draw(t, "high")
		x, y := []float64{0, wide}, []float64{0, high}
		side := variogram.SmallestCell(x, y)
		if !(side > 0) || (wide/side+3)*(high/side+3) > 16<<20 {
			t.Fatalf("%g m for %g by %g", side, wide, high)
		}
	})
}
