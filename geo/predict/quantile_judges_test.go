//go:build judges

package predict_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"tallybook/geo/judge"
	"tallybook/geo/predict"
)

// TestQuantilesAndCRPSAgainstR has base R (Debian package r-base-core) work the
// same numbers by other ways: quantiles of equal weights by its own quantile(),
// type 5, which is the midpoint rule (Hazen; Hyndman and Fan, The American
// Statistician 50, 1996, from memory), of unequal ones by interpolating between
// the middles of the shares with approx(); and the CRPS as E|X - y| - E|X - X'|/2
// (Gneiting and Raftery 2007, from memory), which has no integral in it.
func TestQuantilesAndCRPSAgainstR(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 11))
	ranks := []float64{0.01, 0.05, 0.1, 0.25, 0.37, 0.5, 0.63, 0.75, 0.9, 0.95, 0.99}
	founds := []float64{0, 0.4, 3, 7.25, 20, 55, 200}
	for _, c := range []struct {
		name  string
		n     int
		equal bool
	}{{"one", 1, true}, {"two", 2, true}, {"ten, equal weights", 10, true}, {"300, equal weights", 300, true}, {"two, unequal", 2, false}, {"ten, unequal", 10, false}, {"300, unequal", 300, false}} {
		t.Run(c.name, func(t *testing.T) {
			var samples []predict.Sample
			var values, weights []string
			for range c.n {
				s := predict.Sample{Value: math.Exp(2.5 + r.NormFloat64()), Weight: 1}
				if !c.equal {
					s.Weight = 0.01 + r.ExpFloat64()
				}
				samples = append(samples, s)
				values, weights = append(values, digits(s.Value)), append(weights, digits(s.Weight))
			}
			d := build(t, samples...)
			quantiles := `o <- order(v); approx((cumsum(w[o]) - w[o] / 2) / sum(w), v[o], xout = p, rule = 2)$y`
			switch {
			case c.n == 1:
				quantiles = `rep(v, length(p))` // approx() asks for two points
			case c.equal:
				quantiles = `quantile(v, p, type = 5, names = FALSE)`
			}
			want := judge.R(t, fmt.Sprintf(`v <- c(%s); w <- c(%s); p <- c(%s); y <- c(%s)
q <- {%s}
u <- w / sum(w)
crps <- sapply(y, function(y) sum(u * abs(v - y)) - sum(outer(u, u) * abs(outer(v, v, "-"))) / 2)
cat(sprintf("%%.15g\n", c(q, crps)))
`, strings.Join(values, ","), strings.Join(weights, ","), joined(ranks), joined(founds), quantiles))
			if len(want) != len(ranks)+len(founds) {
				t.Fatalf("R answered %d numbers", len(want))
			}
			for i, p := range ranks {
				if got := d.Quantile(p); math.Abs(got-want[i]) > 1e-9*(1+want[i]) {
					t.Errorf("quantile %g: %.12g, R %.12g", p, got, want[i])
				}
			}
			for i, y := range founds {
				if got, w := d.CRPS(y), want[len(ranks)+i]; math.Abs(got-w) > 1e-9*(1+w) {
					t.Errorf("CRPS at %g: %.12g, R %.12g", y, got, w)
				}
			}
		})
	}
}

// TestReliabilityBarAgainstR holds the bar of equal chances against the binomial
// distribution as R has it. The number in a bin is the number of all, so that a
// thousand draws give R's quantiles to about one count.
func TestReliabilityBarAgainstR(t *testing.T) {
	for _, c := range []struct {
		n      int
		chance float64
	}{{50, 0.15}, {200, 0.5}, {1000, 0.85}} {
		want := judge.R(t, fmt.Sprintf(`cat(qbinom(c(0.05, 0.95), %d, %g), "\n")`, c.n, c.chance))
		chances, came := make([]float64, c.n), make([]bool, c.n)
		for k := range chances {
			chances[k] = c.chance
		}
		b := predict.Reliability(chances, came, 10, 5)[int(c.chance*10)]
		slack := 1 + 0.1*math.Sqrt(float64(c.n)*c.chance*(1-c.chance))
		if math.Abs(b.Low*float64(c.n)-want[0]) > slack || math.Abs(b.High*float64(c.n)-want[1]) > slack {
			t.Errorf("%d of %g: %.0f to %.0f, R %g to %g", c.n, c.chance, b.Low*float64(c.n), b.High*float64(c.n), want[0], want[1])
		}
	}
}

func digits(v float64) string { return strconv.FormatFloat(v, 'g', 17, 64) }

func joined(vs []float64) string {
	var out []string
	for _, v := range vs {
		out = append(out, digits(v))
	}
	return strings.Join(out, ",")
}
