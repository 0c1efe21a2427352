package predict_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"tallybook/geo/predict"
)

func at(value, weight float64) predict.Sample { return predict.Sample{Value: value, Weight: weight} }

// TestMidpointRule is worked by hand: weights 1, 2, 1 of 4 put 10, 20, 40 at ranks
// 1/8, 1/2, 7/8, with straight lines between.
func TestMidpointRule(t *testing.T) {
	d := build(t, at(20, 2), at(40, 1), at(10, 1))
	for _, c := range []struct{ p, want float64 }{
		{0, 10}, {0.125, 10}, {0.3125, 15}, {0.5, 20}, {0.6875, 30}, {0.875, 40}, {1, 40}, {-1, 10}, {2, 40},
	} {
		if got := d.Quantile(c.p); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("quantile %g = %g, want %g", c.p, got, c.want)
		}
	}
	for _, c := range []struct{ t, rank, least float64 }{
		{5, 0, 1}, {10, 0.0625, 1}, {15, 0.3125, 0.75}, {20, 0.5, 0.75}, {20.5, 0.509375, 0.25}, {41, 1, 0},
	} {
		if got := d.CDF(c.t); math.Abs(got-c.rank) > 1e-12 {
			t.Errorf("rank of %g = %g, want %g", c.t, got, c.rank)
		}
		if got := d.AtLeast(c.t); math.Abs(got-c.least) > 1e-12 {
			t.Errorf("P(>= %g) = %g, want %g", c.t, got, c.least)
		}
		if got := d.Below(c.t); math.Abs(got-1+c.least) > 1e-12 {
			t.Errorf("P(< %g) = %g, want %g", c.t, got, 1-c.least)
		}
	}
	if got := d.Dots(4); !cmp.Equal(got, []float64{10, 50.0 / 3, 80.0 / 3, 40}, cmpopts.EquateApprox(0, 1e-12)) {
		t.Errorf("dots = %v", got)
	}
	if got := d.Range80(); got.Low != 10 || got.High != 40 || got.Width() != 30 {
		t.Errorf("range = %+v", got)
	}
	other := d.WithRanks(0.3125, 0.6875)
	if got := other.Range80(); math.Abs(got.Low-15) > 1e-12 || math.Abs(got.High-30) > 1e-12 {
		t.Errorf("range by other ranks = %+v", got)
	}
}

// TestZerosStayABlock: with 6 dry holes in 10 the median is dry, and stays so.
func TestZerosStayABlock(t *testing.T) {
	samples := []predict.Sample{at(5, 1), at(6, 1), at(7, 1), at(8, 1)}
	for range 6 {
		samples = append(samples, at(0, 1))
	}
	d := build(t, samples...)
	if d.Median() != 0 || math.Abs(d.ZeroShare()-0.6) > 1e-12 || math.Abs(d.AtLeast(1)-0.4) > 1e-12 {
		t.Errorf("median %g, zeros %g, P(>= 1) %g", d.Median(), d.ZeroShare(), d.AtLeast(1))
	}
	if q := d.Quantile(0.549); q != 0 {
		t.Errorf("quantile 0.549 = %g, want 0", q)
	}
	if q := d.Quantile(0.6); math.Abs(q-2.5) > 1e-9 {
		t.Errorf("quantile 0.6 = %g, want 2.5: half the way from the last zero at 0.55 to the first value at 0.65", q)
	}
}

func TestEmptyDistribution(t *testing.T) {
	var d predict.Distribution
	if !d.Empty() || d.Len() != 0 {
		t.Error("zero distribution is not empty")
	}
	for name, v := range map[string]float64{
		"quantile": d.Median(), "rank": d.CDF(1), "probability": d.AtLeast(1), "score": d.CRPS(1),
	} {
		if !math.IsNaN(v) {
			t.Errorf("%s of nothing = %g, want NaN", name, v)
		}
	}
	if d.Dots(0) != nil {
		t.Error("no dots wanted, some given")
	}
}

func drawSamples(t *rapid.T, bounds bool) []predict.Sample {
	n := rapid.IntRange(1, 60).Draw(t, "n")
	samples := make([]predict.Sample, n)
	for i := range samples {
		s := predict.Sample{
			Value:  float64(rapid.IntRange(0, 40).Draw(t, "v")) / 2,
			Weight: rapid.Float64Range(0.01, 3).Draw(t, "w"),
		}
		if bounds {
			switch rapid.IntRange(0, 5).Draw(t, "b") {
			case 0:
				s.Bound = predict.GreaterThan
			case 1:
				s.Bound, s.Value = predict.LessThan, s.Value+0.5
			case 2:
				s.Bound, s.High = predict.Between, s.Value+float64(rapid.IntRange(0, 9).Draw(t, "h"))
			}
		}
		samples[i] = s
	}
	return samples
}

// TestDistributionProperties: quantiles rise, ranks undo them, probabilities
// fall, and neither the order of samples nor the scale of weights matters.
func TestDistributionProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		samples := drawSamples(t, true)
		d, err := predict.NewDistribution(samples)
		if err != nil {
			t.Fatal(err)
		}
		unknown, _, _ := d.UpperUnknown()
		last, lastP := -1.0, 1.0
		for p := 0.0; p <= 1; p += 0.02 {
			q := d.Quantile(p)
			if q < last || math.IsNaN(q) {
				t.Fatalf("quantile %g = %g after %g", p, q, last)
			}
			if math.IsInf(q, 1) != (unknown == 1 || (unknown > 0 && p > 1-unknown)) {
				t.Fatalf("quantile %g = %g with %g unknown", p, q, unknown)
			}
			last = q
		}
		for v := 0.0; v < 30; v += 0.25 {
			p := d.AtLeast(v)
			if p > lastP+1e-12 || p < 0 || p > 1 {
				t.Fatalf("P(>= %g) = %g after %g", v, p, lastP)
			}
			lastP = p
			if r := d.CDF(v); r > 1e-9 && r < 1-unknown-1e-9 {
				// By ranks, since a share that is nearly nothing hides its values.
				if q := d.Quantile(r); math.Abs(d.CDF(q)-r) > 1e-9 {
					t.Fatalf("the rank of %g is %.12g, of its quantile %g %.12g", v, r, q, d.CDF(q))
				}
			}
		}
		r := rand.New(rand.NewPCG(1, rapid.Uint64().Draw(t, "shuffle")))
		turned := append([]predict.Sample(nil), samples...)
		r.Shuffle(len(turned), func(i, j int) { turned[i], turned[j] = turned[j], turned[i] })
		again, err := predict.NewDistribution(turned)
		if err != nil {
			t.Fatal(err)
		}
		for i := range turned {
			turned[i].Weight *= 8 // a power of two, exact
		}
		scaled, err := predict.NewDistribution(turned)
		if err != nil {
			t.Fatal(err)
		}
		for p := 0.0; p <= 1; p += 0.1 {
			if a, b, c := d.Quantile(p), again.Quantile(p), scaled.Quantile(p); a != b || a != c {
				t.Fatalf("quantile %g depends on order or scale: %g, %g, %g", p, a, b, c)
			}
		}
	})
}

// TestCRPSIsTheIntegral holds the one-pass score against the integral that
// defines it, over every threshold between any two values.
func TestCRPSIsTheIntegral(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		samples := drawSamples(t, false)
		d, err := predict.NewDistribution(samples)
		if err != nil {
			t.Fatal(err)
		}
		y := float64(rapid.IntRange(0, 60).Draw(t, "y")) / 2
		// All steps lie on halves, so a sum over quarters at their middles is exact.
		integral := func(counts func(v float64) bool) float64 {
			var s float64
			for v := 0.125; v < 60; v += 0.25 {
				if !counts(v) {
					continue
				}
				h := 0.0
				if y <= v {
					h = 1
				}
				f := d.Below(v)
				s += (f - h) * (f - h) * 0.25
			}
			return s
		}
		if got, want := d.CRPS(y), integral(func(float64) bool { return true }); math.Abs(got-want) > 1e-9 {
			t.Fatalf("CRPS(%g) = %.12g, integral %.12g", y, got, want)
		}
		// And against its other definition, E|X - y| - E|X - X'| / 2.
		var e1, e2, total float64
		for _, a := range samples {
			total += a.Weight
		}
		for _, a := range samples {
			e1 += a.Weight / total * math.Abs(a.Value-y)
			for _, b := range samples {
				e2 += a.Weight * b.Weight / total / total * math.Abs(a.Value-b.Value) / 2
			}
		}
		if got := d.CRPS(y); math.Abs(got-(e1-e2)) > 1e-9 {
			t.Fatalf("CRPS(%g) = %.12g, by absolute differences %.12g", y, got, e1-e2)
		}
		limit := predict.Sample{Value: y, Bound: predict.GreaterThan}
		if got, want := d.CRPSOf(limit), integral(func(v float64) bool { return v < y }); math.Abs(got-want) > 1e-9 {
			t.Fatalf("score of 'over %g' = %.12g, integral %.12g", y, got, want)
		}
		if y > 0 {
			limit.Bound = predict.LessThan
			if got, want := d.CRPSOf(limit), integral(func(v float64) bool { return v >= y }); math.Abs(got-want) > 1e-9 {
				t.Fatalf("score of 'under %g' = %.12g, integral %.12g", y, got, want)
			}
		}
		between := predict.Sample{Value: y, High: y + 4, Bound: predict.Between}
		if got, want := d.CRPSOf(between), integral(func(v float64) bool { return v < y || v >= y+4 }); math.Abs(got-want) > 1e-9 {
			t.Fatalf("score of 'between %g and %g' = %.12g, integral %.12g", y, y+4, got, want)
		}
	})
}

// TestCRPSOfOneValue is the absolute error, as the score's definition has it.
func TestCRPSOfOneValue(t *testing.T) {
	d := build(t, at(7, 3))
	for _, y := range []float64{0, 7, 7.5, 100} {
		if got := d.CRPS(y); math.Abs(got-math.Abs(y-7)) > 1e-12 {
			t.Errorf("CRPS(%g) = %g, want %g", y, got, math.Abs(y-7))
		}
	}
}
