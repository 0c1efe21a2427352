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

func near(t interface{ Errorf(string, ...any) }, what string, got, want, tolerance float64) {
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %.12g, want %.12g within %.3g", what, got, want, tolerance)
	}
}

// Spot values worked outside this program from the formulas of Isaaks and
// Srivastava (1989) and Deutsch and Journel (1998), sill 1, range 10.
func TestShapes(t *testing.T) {
	for _, c := range []struct {
		shape   variogram.Shape
		h, want float64
	}{
		{variogram.Spherical, 2.5, 0.3672}, {variogram.Spherical, 5, 0.6875},
		{variogram.Spherical, 7.5, 0.9141}, {variogram.Spherical, 10, 1}, {variogram.Spherical, 25, 1},
		{variogram.Exponential, 5, 0.7769}, {variogram.Exponential, 10, 0.9502},
		{variogram.Gaussian, 5, 0.5276}, {variogram.Gaussian, 10, 0.9502},
	} {
		m := variogram.Model{Nugget: 2, Structures: []variogram.Structure{{Shape: c.shape, Sill: 1, RangeM: 10}}}
		near(t, c.shape.String(), m.Gamma(0, c.h)-2, c.want, 0.00005)
		near(t, c.shape.String()+" at zero", m.Gamma(0, 0), 0, 0)
		near(t, "nugget share", m.NuggetShare(), 2.0/3, 1e-15)
	}
}

// Along azimuth 90, to the east, the range is the long one; worked by hand.
func TestRangesByDirection(t *testing.T) {
	m := variogram.Model{Structures: []variogram.Structure{{Sill: 1, RangeM: 20, AcrossM: 5, AzimuthDeg: 90}}}
	near(t, "east", m.Gamma(10, 0), 0.6875, 1e-12)
	near(t, "north", m.Gamma(0, 2.5), 0.6875, 1e-12)
	m.Structures[0].AzimuthDeg = 30
	sin, cos := 0.5, math.Sqrt(3)/2
	near(t, "along 30", m.Gamma(10*sin, 10*cos), 0.6875, 1e-12)
	near(t, "across 30", m.Gamma(2.5*cos, -2.5*sin), 0.6875, 1e-12)
}

// Four samples on a line at 0, 1, 3 and 6 m, values 1, 3, 2, 7, and a second
// sample at 6 m of 5; worked by hand.
func TestMeasureByHand(t *testing.T) {
	x, v := []float64{6, 0, 3, 1, 6}, []float64{7, 1, 2, 3, 5}
	y := make([]float64, 5)
	e, err := variogram.Measure(context.Background(), x, y, v, variogram.Binning{WidthM: 2, CutoffM: 5})
	if err != nil {
		t.Fatal(err)
	}
	if len(e.Lags) != 3 {
		t.Fatalf("%d lags, want 3", len(e.Lags))
	}
	// To 2 m: 0-1 (2) and 1-3 (1), the latter at the very end of its lag.
	// To 4: 0-3 (1), 3-6 (5) and 3-6 (3). To 5: 1-6 (4) and 1-6 (2).
	for i, want := range []variogram.Lag{
		{FromM: 0, ToM: 2, Pairs: 2, MeanM: 1.5, Matheron: (4 + 1) / 4.0},
		{FromM: 2, ToM: 4, Pairs: 3, MeanM: 3, Matheron: (1 + 25 + 9) / 6.0},
		{FromM: 4, ToM: 5, Pairs: 2, MeanM: 5, Matheron: (16 + 4) / 4.0},
	} {
		got := e.Lags[i]
		if got.FromM != want.FromM || got.ToM != want.ToM || got.Pairs != want.Pairs {
			t.Errorf("lag %d: %+v, want %+v", i, got, want)
		}
		near(t, "mean distance", got.MeanM, want.MeanM, 1e-15)
		near(t, "semivariance", got.Matheron, want.Matheron, 1e-14)
	}
	near(t, "robust", e.Lags[0].CressieHawkins, math.Pow((math.Sqrt2+1)/2, 4)/(0.457+0.494/2)/2, 1e-14)
	if e.CoLocated.Pairs != 1 || e.CoLocated.Matheron != 2 {
		t.Errorf("at one place: %+v, want one pair of 2", e.CoLocated)
	}
}

func TestMeasureAlongADirection(t *testing.T) {
	// A value that changes to the north alone; worked by hand.
	var x, y, v []float64
	for i := range 5 {
		for j := range 5 {
			x, y, v = append(x, float64(i)*10), append(y, float64(j)*10), append(v, float64(j))
		}
	}
	for _, c := range []struct{ azimuth, want float64 }{{0, 0.5}, {180, 0.5}, {90, 0}, {-90, 0}} {
		e, err := variogram.Measure(context.Background(), x, y, v, variogram.Binning{WidthM: 10, CutoffM: 10, AzimuthDeg: c.azimuth, ToleranceDeg: 20})
		if err != nil {
			t.Fatal(err)
		}
		if e.Lags[0].Pairs != 20 {
			t.Errorf("azimuth %g: %d pairs, want 20", c.azimuth, e.Lags[0].Pairs)
		}
		near(t, "semivariance", e.Lags[0].Matheron, c.want, 1e-15)
	}
}

// The four quarters of the compass hold all pairs between them.
func TestQuartersMakeTheWhole(t *testing.T) {
	x, y, v := scattered(3, 200)
	count := func(b variogram.Binning) (n int, sum float64) {
		e, err := variogram.Measure(context.Background(), x, y, v, b)
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range e.Lags {
			if l.Pairs > 0 {
				n, sum = n+l.Pairs, sum+float64(l.Pairs)*l.Matheron
			}
		}
		return n, sum
	}
	b := variogram.Binning{WidthM: 50, CutoffM: 400}
	n, sum := count(b)
	pairs, total := 0, 0.0
	b.ToleranceDeg = 22.5
	for _, b.AzimuthDeg = range []float64{0, 45, 90, 135} {
		p, s := count(b)
		pairs, total = pairs+p, total+s
	}
	if pairs != n || n == 0 {
		t.Errorf("quarters hold %d pairs of %d", pairs, n)
	}
	near(t, "sum", total, sum, 1e-9*sum)
}

// scattered is n samples over a square kilometre with some smoothness.
func scattered(seed uint64, n int) (x, y, v []float64) {
	r := rand.New(rand.NewPCG(seed, 7))
	for range n {
		a, b := r.Float64()*1000, r.Float64()*1000
		x, y = append(x, a), append(y, b)
		v = append(v, 40+10*math.Sin(a/170)+8*math.Cos(b/230)+r.NormFloat64())
	}
	return x, y, v
}

// Lags that lie on a model exactly give the model back.
func TestFitGivesTheModelBack(t *testing.T) {
	shape := rapid.SampledFrom([]variogram.Shape{variogram.Spherical, variogram.Exponential, variogram.Gaussian})
	rapid.Check(t, func(t *rapid.T) {
		m := variogram.Model{
			Nugget: rapid.SampledFrom([]float64{0, 0.2, 3}).Draw(t, "nugget"),
			Structures: []variogram.Structure{{
				Shape: shape.Draw(t, "shape"), Sill: rapid.Float64Range(0.5, 50).Draw(t, "sill"),
				RangeM: rapid.Float64Range(200, 2000).Draw(t, "range"),
			}},
		}
		w := rapid.SampledFrom([]variogram.Weighting{variogram.PairsOverSquare, variogram.PairsOnly, variogram.Equal}).Draw(t, "weights")
		f, err := variogram.Fit(exact(m), []variogram.Shape{m.Structures[0].Shape}, w, variogram.Classical)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "nugget", f.Nugget, m.Nugget, 1e-5*m.Sill())
		near(t, "sill", f.Structures[0].Sill, m.Structures[0].Sill, 1e-5*m.Sill())
		near(t, "range", f.Structures[0].RangeM, m.Structures[0].RangeM, 1e-5*m.Structures[0].RangeM)
		if f.AtLimit {
			t.Errorf("at a limit")
		}
	})
}

func exact(m variogram.Model) (e variogram.Empirical) {
	for i := range 20 {
		h := 50 + 100*float64(i)
		e.Lags = append(e.Lags, variogram.Lag{FromM: h - 50, ToM: h + 50, Pairs: 10 + 7*i, MeanM: h, Matheron: m.Gamma(h, 0), CressieHawkins: m.Gamma(0, h)})
	}
	return e
}

// Lags on no model: the residual is what the weights say it is, and no part is
// below zero though a spherical line through a gaussian one would start there.
func TestFitWeighsAndStaysAboveZero(t *testing.T) {
	e := exact(variogram.Model{Structures: []variogram.Structure{{Shape: variogram.Gaussian, Sill: 3, RangeM: 1500}}})
	weights := map[variogram.Weighting]func(variogram.Lag) float64{
		variogram.PairsOverSquare: func(l variogram.Lag) float64 { return float64(l.Pairs) / l.MeanM / l.MeanM },
		variogram.PairsOnly:       func(l variogram.Lag) float64 { return float64(l.Pairs) },
		variogram.Equal:           func(variogram.Lag) float64 { return 1 },
	}
	for w, weight := range weights {
		f, err := variogram.Fit(e, []variogram.Shape{variogram.Spherical}, w, variogram.Classical)
		if err != nil {
			t.Fatal(err)
		}
		sum := 0.0
		for _, l := range e.Lags {
			d := l.Matheron - f.Gamma(l.MeanM, 0)
			sum += weight(l) * d * d
		}
		near(t, "residual", f.Residual, sum, 1e-9*sum)
		if f.Nugget != 0 || f.Structures[0].Sill <= 0 || f.Validate() != nil {
			t.Errorf("weights %d: %+v, want a nugget of zero and a sill above", w, f.Model)
		}
	}
}

func TestFitTwoStructures(t *testing.T) {
	m := variogram.Model{Nugget: 1, Structures: []variogram.Structure{
		{Shape: variogram.Spherical, Sill: 4, RangeM: 300}, {Shape: variogram.Spherical, Sill: 7, RangeM: 1500},
	}}
	f, err := variogram.Fit(exact(m), []variogram.Shape{variogram.Spherical, variogram.Spherical}, variogram.PairsOnly, variogram.Robust)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "nugget", f.Nugget, 1, 1e-4)
	for i, s := range m.Structures {
		near(t, "sill", f.Structures[i].Sill, s.Sill, 1e-4)
		near(t, "range", f.Structures[i].RangeM, s.RangeM, 0.02)
	}
}

func TestFitSaysWhenNothingIsThere(t *testing.T) {
	one := []variogram.Shape{variogram.Spherical}
	if _, err := variogram.Fit(variogram.Empirical{Lags: exact(variogram.Model{Nugget: 1}).Lags[:2]}, one, 0, 0); !errors.Is(err, variogram.ErrTooFewLags) {
		t.Errorf("two lags: %v", err)
	}
	if _, err := variogram.Fit(exact(variogram.Model{}), one, 0, 0); !errors.Is(err, variogram.ErrNoVariation) {
		t.Errorf("all alike: %v", err)
	}
	// A pure nugget has no range to find; a trend has no end.
	f, err := variogram.Fit(exact(variogram.Model{Nugget: 3}), one, 0, 0)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "sill of pure nugget", f.Sill(), 3, 1e-6)
	trend := exact(variogram.Model{Nugget: 1})
	for i := range trend.Lags {
		trend.Lags[i].Matheron = trend.Lags[i].MeanM
	}
	if f, err = variogram.Fit(trend, one, 0, 0); err != nil || !f.AtLimit {
		t.Errorf("a straight line: %+v, %v; its range is no finding", f, err)
	}
	trend.Lags[3].Matheron = math.Inf(1)
	if _, err := variogram.Fit(trend, one, 0, 0); err == nil {
		t.Error("a lag without end was fitted")
	}
	if _, err := variogram.Fit(trend, nil, 0, 0); err == nil {
		t.Error("no structure was fitted")
	}
}

func TestLongWorkStops(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	x, y, v := scattered(1, 50)
	if _, err := variogram.Measure(ctx, x, y, v, variogram.Binning{WidthM: 10, CutoffM: 100}); !errors.Is(err, context.Canceled) {
		t.Errorf("measuring: %v", err)
	}
	for _, o := range []variogram.Options{{}, {Neighbours: 5}} {
		k, err := variogram.NewKriging(x, y, v, benchModel, o)
		if err != nil {
			t.Fatal(err)
		}
		if _, _, err := k.LeaveOneSiteOut(ctx); !errors.Is(err, context.Canceled) {
			t.Errorf("leaving out: %v", err)
		}
	}
}

func TestBadBinning(t *testing.T) {
	for _, b := range []variogram.Binning{
		{}, {WidthM: 1}, {WidthM: -1, CutoffM: 3}, {WidthM: math.NaN(), CutoffM: 3}, {WidthM: 1e-9, CutoffM: 1},
		{WidthM: 1, CutoffM: 3, ToleranceDeg: -1}, {WidthM: 1, CutoffM: 3, AzimuthDeg: math.Inf(1)},
	} {
		if _, err := variogram.Measure(context.Background(), nil, nil, nil, b); err == nil {
			t.Errorf("%+v was taken", b)
		}
	}
	if _, err := variogram.Measure(context.Background(), []float64{1}, []float64{2}, []float64{math.NaN()}, variogram.Binning{WidthM: 1, CutoffM: 2}); err == nil {
		t.Error("NaN was taken for a value")
	}
}
