package predict_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"tallybook/geo/predict"
)

func build(t testing.TB, samples ...predict.Sample) predict.Distribution {
	t.Helper()
	d, err := predict.NewDistribution(samples)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func exact(v float64) predict.Sample { return predict.Sample{Value: v, Weight: 1} }
func over(v float64) predict.Sample {
	return predict.Sample{Value: v, Bound: predict.GreaterThan, Weight: 1}
}
func under(v float64) predict.Sample {
	return predict.Sample{Value: v, Bound: predict.LessThan, Weight: 1}
}
func amid(lo, hi float64) predict.Sample {
	return predict.Sample{Value: lo, High: hi, Bound: predict.Between, Weight: 1}
}

// survival is the share that outlives t.
func survival(d *predict.Distribution, t float64) float64 {
	return d.AtLeast(math.Nextafter(t, math.Inf(1)))
}

// TestKaplanMeierWorkedExample is the example of Kaplan and Meier (1958), JASA
// 53, section 2, cited from memory: deaths at 0.8, 3.1, 5.4, 9.2, losses at 1.0,
// 2.7, 7.0, 12.1. The shares are worked by hand: 7/8; then 4/5 of it, 3/4, 1/2.
func TestKaplanMeierWorkedExample(t *testing.T) {
	d := build(t, exact(0.8), over(1.0), over(2.7), exact(3.1), exact(5.4), over(7.0), exact(9.2), over(12.1))
	for _, c := range []struct{ t, want float64 }{
		{0.5, 1}, {0.8, 7.0 / 8}, {3, 7.0 / 8}, {3.1, 7.0 / 10}, {5.4, 21.0 / 40}, {9, 21.0 / 40}, {9.2, 21.0 / 80}, {12, 21.0 / 80},
	} {
		if got := survival(&d, c.t); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("share beyond %g = %.10f, want %.10f", c.t, got, c.want)
		}
	}
	share, from, ok := d.UpperUnknown()
	if !ok || from != 12.1 || math.Abs(share-21.0/80) > 1e-12 {
		t.Errorf("unknown upper tail = %g from %g (%v), want 21/80 from 12.1", share, from, ok)
	}
	if q := d.Quantile(0.8); !math.IsInf(q, 1) {
		t.Errorf("quantile 0.8 = %g, want +Inf: the tail is unknowable", q)
	}
	if r := d.RangeAt(0.1, 0.9); !r.AtLeastHigh || r.High != 12.1 || !r.Contains(50) {
		t.Errorf("range = %+v, want 'more than 12.1'", r)
	}
	if lo, hi := d.AtLeastBounds(20); lo != 0 || math.Abs(hi-21.0/80) > 1e-12 {
		t.Errorf("P(>= 20) in [%g, %g], want [0, 21/80]", lo, hi)
	}
}

// TestKaplanMeierRemission is the 6-MP arm of Freireich and others (1963), the
// standard example of survival texts, weeks of remission; figures from memory,
// as in Cox and Oakes, 'Analysis of Survival Data' (1984), and checked against R
// by the judges.
func TestKaplanMeierRemission(t *testing.T) {
	d := build(t, remission()...)
	for _, c := range []struct{ t, want float64 }{
		{6, 18.0 / 21}, {7, 18.0 / 21 * 16 / 17}, {10, 0.752941}, {13, 0.690196}, {16, 0.627451}, {22, 0.537815}, {23, 0.448179}, {34, 0.448179},
	} {
		if got := survival(&d, c.t); math.Abs(got-c.want) > 1e-6 {
			t.Errorf("share beyond %g = %.6f, want %.6f", c.t, got, c.want)
		}
	}
}

func remission() []predict.Sample {
	return []predict.Sample{
		exact(6), exact(6), exact(6), over(6), exact(7), over(9), exact(10), over(10), over(11), exact(13), exact(16),
		over(17), over(19), over(20), exact(22), exact(23), over(25), over(32), over(32), over(34), over(35),
	}
}

// TestTurnbullByHand solves small cases on paper. For values 1, 2, 3 with one
// observation over 1.5 and one under 2.5, symmetry gives a, 1 - 2a, a and
// self-consistency 5a = 1 + a / (1 - a), so a = (5 - sqrt 5) / 10.
func TestTurnbullByHand(t *testing.T) {
	a := (5 - math.Sqrt(5)) / 10
	for _, c := range []struct {
		name    string
		samples []predict.Sample
		at      map[float64]float64 // share up to and including
	}{
		{"limits both ways", []predict.Sample{exact(1), exact(2), exact(3), over(1.5), under(2.5)},
			map[float64]float64{0.5: 0, 1: a, 2: 1 - a, 3: 1}},
		{"each limit holds one value", []predict.Sample{exact(1), exact(3), under(2), over(2)},
			map[float64]float64{1: 0.5, 2.9: 0.5, 3: 1}},
		{"between holds one value", []predict.Sample{exact(1), exact(3), exact(5), amid(2, 4)},
			map[float64]float64{1: 0.25, 3: 0.75, 5: 1}},
		{"an upper limit holds an equal value only if it is under it", []predict.Sample{exact(1), exact(2), under(2), over(0.5)},
			map[float64]float64{1: 2.0 / 3, 2: 1}},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := build(t, c.samples...)
			for at, want := range c.at {
				if got := 1 - survival(&d, at); math.Abs(got-want) > 1e-5 {
					t.Errorf("share up to %g = %.8f, want %.8f", at, got, want)
				}
			}
		})
	}
}

// TestLowerTailUnknown: what is under the least upper limit stays a limit.
func TestLowerTailUnknown(t *testing.T) {
	d := build(t, under(1), under(1), exact(2), exact(4))
	share, to, ok := d.LowerUnknown()
	if !ok || to != 1 || math.Abs(share-0.5) > 1e-12 {
		t.Fatalf("unknown lower tail = %g under %g (%v), want 0.5 under 1", share, to, ok)
	}
	if z := d.ZeroShare(); z != 0 {
		t.Errorf("share of zeros = %g; under 1 is not dry", z)
	}
	if p := d.AtLeast(1); math.Abs(p-0.5) > 1e-12 {
		t.Errorf("P(>= 1) = %g, want 0.5", p)
	}
	if r := d.Range80(); !r.AtMostLow || r.Low != 1 || !r.Contains(0.2) {
		t.Errorf("range = %+v, want 'less than 1'", r)
	}
}

func TestOnlyLimits(t *testing.T) {
	d := build(t, over(10), over(30))
	if share, from, _ := d.UpperUnknown(); share != 1 || from != 30 {
		t.Errorf("unknown = %g from %g, want all from 30", share, from)
	}
	if m := d.Median(); !math.IsInf(m, 1) {
		t.Errorf("median = %g, want +Inf", m)
	}
	if p := d.AtLeast(20); p != 1 {
		t.Errorf("P(>= 20) = %g, want 1", p)
	}
	if c := d.CRPS(30); c != 0 {
		t.Errorf("CRPS at the limit = %g, want 0: the least that it can be", c)
	}
}

func TestBadSamples(t *testing.T) {
	for name, s := range map[string]predict.Sample{
		"NaN":             {Value: math.NaN(), Weight: 1},
		"negative":        {Value: -1, Weight: 1},
		"infinite":        {Value: math.Inf(1), Weight: 1},
		"NaN weight":      {Value: 1, Weight: math.NaN()},
		"negative weight": {Value: 1, Weight: -1},
		"infinite weight": {Value: 1, Weight: math.Inf(1)},
		"inverted":        amid(3, 2),
		"under zero":      under(0),
		"unknown bound":   {Value: 1, Weight: 1, Bound: 9},
	} {
		if _, err := predict.NewDistribution([]predict.Sample{exact(1), s}); !errors.Is(err, predict.ErrBadSample) {
			t.Errorf("%s: error %v, want ErrBadSample", name, err)
		}
	}
	if _, err := predict.NewDistribution([]predict.Sample{{Value: 1}}); !errors.Is(err, predict.ErrNoWeight) {
		t.Errorf("no weight: error %v", err)
	}
}

// TestTurnbullIsKaplanMeier: on lower limits alone the two agree. A 'between'
// that holds one value makes the general way be taken.
func TestTurnbullIsKaplanMeier(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 40).Draw(t, "n")
		var samples []predict.Sample
		var top float64
		for range n {
			s := predict.Sample{Value: float64(rapid.IntRange(0, 20).Draw(t, "v")), Weight: float64(rapid.IntRange(1, 5).Draw(t, "w"))}
			if rapid.Bool().Draw(t, "limit") {
				s.Bound = predict.GreaterThan
			}
			top = max(top, s.Value)
			samples = append(samples, s)
		}
		// The last is a value, so that no tail is left unknown and both give a whole distribution.
		samples = append(samples, exact(top+1))
		km, err := predict.NewDistribution(samples)
		if err != nil {
			t.Fatal(err)
		}
		general := append([]predict.Sample(nil), samples...)
		general[n] = amid(top+1, top+1)
		tb, err := predict.NewDistribution(general)
		if err != nil {
			t.Fatal(err)
		}
		for v := 0.0; v <= top+1; v += 0.5 {
			if a, b := km.AtLeast(v), tb.AtLeast(v); math.Abs(a-b) > 1e-4 {
				t.Fatalf("P(>= %g): Kaplan-Meier %.8f, Turnbull %.8f", v, a, b)
			}
		}
	})
}

// TestCensoringIsUndone hides known values behind limits and asks for the
// distribution back: drilling stops at a depth that has nothing to do with the
// rock, so that holes tell 'deeper than'; a meter reads 'under' below its least
// reading. The naive ways, dropping limits and taking them as values, must be
// several times farther off, or the test tests nothing.
func TestCensoringIsUndone(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	const n = 4000
	for _, c := range []struct {
		name   string
		censor func(v float64) predict.Sample
		upTo   float64 // beyond it nothing is known
		from   float64
		within float64
	}{
		{"stopped early, 46 %", func(v float64) predict.Sample {
			if stop := 60 * r.Float64(); stop < v {
				return over(stop)
			}
			return exact(v)
		}, 50, 0, 0.03},
		{"one cut for all", func(v float64) predict.Sample {
			if v > 25 {
				return over(25)
			}
			return exact(v)
		}, 25, 0, 1e-9},
		{"under the least reading", func(v float64) predict.Sample {
			if least := 20 * r.Float64(); v < least {
				return under(least)
			}
			return exact(v)
		}, 200, 4, 0.03},
		{"both", func(v float64) predict.Sample {
			if stop := 80 * r.Float64(); stop < v {
				return over(stop)
			}
			if least := 10 * r.Float64(); v < least {
				return under(least)
			}
			return exact(v)
		}, 60, 3, 0.03},
	} {
		t.Run(c.name, func(t *testing.T) {
			var truth, seen, dropped, taken []predict.Sample
			limits := 0
			for range n {
				v := math.Exp(3+0.8*r.NormFloat64()) - 1
				v = max(v, 0)
				s := c.censor(v)
				truth, seen = append(truth, exact(v)), append(seen, s)
				taken = append(taken, exact(s.Value))
				if s.Bound == predict.Exact {
					dropped = append(dropped, s)
				} else {
					limits++
				}
			}
			want := build(t, truth...)
			worst := func(samples []predict.Sample) float64 {
				d := build(t, samples...)
				var w float64
				for v := max(c.from, 0.5); v < c.upTo; v += 0.5 {
					w = max(w, math.Abs(d.AtLeast(v)-want.AtLeast(v)))
				}
				return w
			}
			got, drop, take := worst(seen), worst(dropped), worst(taken)
			t.Logf("%d of %d are limits; worst error of P(>= t): censored %.4f, limits dropped %.3f, limits as values %.3f", limits, n, got, drop, take)
			if got > c.within {
				t.Errorf("distribution off by %.4f, want within %g", got, c.within)
			}
			if drop < 3*got || (c.name != "one cut for all" && take < 3*got) {
				t.Errorf("the naive ways are no worse: this data cannot tell")
			}
		})
	}
}

// TestTinyWeights: weights that rounding would swallow in a sum from the near end
// neither break shares nor make them fall.
func TestTinyWeights(t *testing.T) {
	for _, bound := range []predict.Bound{predict.GreaterThan, predict.LessThan, predict.Between} {
		var samples []predict.Sample
		for i := range 40 {
			w := math.Pow(10, -float64(i))
			if bound == predict.LessThan {
				w = math.Pow(10, float64(i-40))
			}
			samples = append(samples, predict.Sample{Value: float64(2*i + 1), Weight: w},
				predict.Sample{Value: float64(2*i + 2), High: float64(2*i + 4), Bound: bound, Weight: w})
		}
		d := build(t, samples...)
		last := 1.0
		for v := 0.0; v < 100; v++ {
			p := d.AtLeast(v)
			if !(p >= 0 && p <= last) {
				t.Fatalf("%v: P(>= %g) = %g after %g", bound, v, p, last)
			}
			last = p
		}
		if c := d.CRPS(10); math.IsNaN(c) || math.IsInf(c, 0) {
			t.Errorf("%v: CRPS %g", bound, c)
		}
	}
}
