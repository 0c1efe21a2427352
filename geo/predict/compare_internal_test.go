package predict

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestNormalSteps: the CRPS of a normal distribution has a closed form (T.
// Gneiting and A. E. Raftery, 'Strictly proper scoring rules, prediction, and
// estimation', JASA 102, 2007, equation 21): s [z (2 Phi(z) - 1) + 2 phi(z) -
// 1/sqrt(pi)].
func TestNormalSteps(t *testing.T) {
	n := normal{mean: 500, sd: 20}
	var d Distribution
	n.into(&d, 0)
	for _, y := range []float64{430, 470, 495, 500, 510, 533, 580} {
		z := (y - n.mean) / n.sd
		phi, cdf := math.Exp(-z*z/2)/math.Sqrt(2*math.Pi), math.Erfc(-z/math.Sqrt2)/2
		want := n.sd * (z*(2*cdf-1) + 2*phi - 1/math.Sqrt(math.Pi))
		if got := d.CRPS(y); math.Abs(got-want) > 0.004*n.sd {
			t.Errorf("CRPS of %g is %g, want %g", y, got, want)
		}
	}
	// 10 % and 90 % of a normal lie 1.2816 standard deviations out.
	if r := d.RangeAt(0.1, 0.9); math.Abs(r.Low-(500-20*1.2816)) > 0.05 || math.Abs(r.High-(500+20*1.2816)) > 0.05 {
		t.Errorf("%+v", r)
	}
	low := normal{mean: 0, sd: 1}
	low.into(&d, 0.5)
	if d.Quantile(0.3) != 0 || math.Abs(d.Quantile(0.9)-0.5*math.Expm1(1.2816)) > 0.005 {
		t.Errorf("through the logarithm, floored: %g %g", d.Quantile(0.3), d.Quantile(0.9))
	}
	exact := normal{mean: 3}
	exact.into(&d, 0)
	if d.Len() != 1 || d.CRPS(5) != 2 {
		t.Errorf("without an error: %d values, CRPS %g", d.Len(), d.CRPS(5))
	}
}

// TestBootstrapCovers: errors of two methods with a known difference, whose luck
// is shared within groups of differing size. The range of nine in ten must hold
// the difference about so often; drawn well by well it would not.
func TestBootstrapCovers(t *testing.T) {
	const trials, groups = 250, 60
	const truth = 0.7
	held, alone := 0, 0
	for trial := range trials {
		r := rand.New(rand.NewPCG(uint64(trial), 12))
		var a, b []float64
		var group, single []int32
		for g := range groups {
			luck := r.NormFloat64()
			for range 1 + r.IntN(20) {
				common := r.ExpFloat64()
				a = append(a, common+truth+luck+r.NormFloat64())
				b = append(b, common)
				group, single = append(group, int32(g)), append(single, int32(len(single)))
			}
		}
		for _, c := range []struct {
			r    resampling
			held *int
		}{{resampling{group, groups, 1}, &held}, {resampling{single, len(single), 1}, &alone}} {
			if d, n := c.r.difference(a, b, identity, identity); n == len(a) && d.Low <= truth && truth <= d.High {
				*c.held++
			}
		}
	}
	// 90 % of 250 with a standard error of 1.9 %.
	if share := float64(held) / trials; share < 0.85 || share > 0.95 {
		t.Errorf("the range held the difference in %.1f %% of sets", 100*share)
	}
	if share := float64(alone) / trials; share > 0.7 {
		t.Errorf("drawn well by well it held in %.1f %%: the groups shared nothing", 100*share)
	}
	t.Logf("held in %d of %d; drawn well by well in %d", held, trials, alone)
}

// TestPercentilesByHand: 19 runs that each draw one group; the fifth of a
// hundredth: the ends are the first and the last but none, 20/20 = 1.
func TestPercentilesByHand(t *testing.T) {
	sums := make([]pairedSums, 19)
	for g := range sums {
		sums[g] = pairedSums{a: float64(2 * (g + 1)), b: 2, n: 2} // g + 1 less 1
	}
	d := percentiles(sums, 19, identity, func(run int, each func(g int)) { each((run * 7) % 19) })
	if d.Low != 0 || d.High != 18 || d.Mean != 9 {
		t.Errorf("%+v, want 9 from 0 to 18", d)
	}
}
