//go:build judges

package spread_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"tallybook/geo/judge"
	"tallybook/geo/predict"
	"tallybook/geo/spread"
)

func joined(vs []float64) string {
	var out []string
	for _, v := range vs {
		out = append(out, strconv.FormatFloat(v, 'g', 17, 64))
	}
	return strings.Join(out, ",")
}

func agree(t *testing.T, what string, got, want []float64, tolerance float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%s: %d numbers, R %d", what, len(got), len(want))
	}
	worst := 0.0
	for i := range got {
		worst = max(worst, math.Abs(got[i]-want[i])/max(1, math.Abs(want[i])))
	}
	t.Logf("%s: %d numbers, worst difference %.2g", what, len(got), worst)
	if !(worst <= tolerance) {
		t.Errorf("%s: %v\nR: %v", what, got, want)
	}
}

// TestSharesAgainstR holds the shares of values against ecdf(), quantiles
// against quantile(type = 5), and with lower limits against survfit()'s
// Kaplan-Meier, on values as drillers write them: whole, with many ties.
func TestSharesAgainstR(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 8))
	for _, n := range []int{10, 300, 4000} {
		var list []predict.Sample
		var values, status, distinct []float64
		for i := range n {
			s := predict.Sample{Value: math.Floor(math.Exp(2.5 + r.NormFloat64())), Weight: 1}
			st := 1.0
			if i%4 == 3 {
				s.Bound, st = predict.GreaterThan, 0
			}
			list, values, status = append(list, s), append(values, s.Value), append(status, st)
		}
		for v := 0.0; v <= 200; v++ {
			distinct = append(distinct, v)
		}
		s, err := spread.Of(list)
		if err != nil {
			t.Fatal(err)
		}
		last := 0.0
		for i, v := range values {
			if status[i] == 1 {
				last = max(last, v)
			}
		}
		var got []float64
		for _, v := range distinct {
			got = append(got, s.AtMost(v))
		}
		want := judge.R(t, fmt.Sprintf(`suppressMessages(library(survival))
f <- survfit(Surv(c(%s), c(%s)) ~ 1)
cat(sprintf("%%.17g\n", 1 - stepfun(f$time, c(1, f$surv))(c(%s))))`, joined(values), joined(status), joined(distinct)))
		agree(t, fmt.Sprintf("Kaplan-Meier of %d", n), got, want, 1e-9)

		plain := make([]predict.Sample, n)
		for i, v := range values {
			plain[i] = predict.Sample{Value: v, Weight: 1}
		}
		p, err := spread.Of(plain)
		if err != nil {
			t.Fatal(err)
		}
		ranks := []float64{0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95}
		var ecdf, quantiles []float64
		for _, v := range distinct {
			ecdf = append(ecdf, p.AtMost(v))
		}
		for _, q := range ranks {
			quantiles = append(quantiles, p.Quantile(q).Value)
		}
		low, high := p.QuantileRange(0.5)
		want = judge.R(t, fmt.Sprintf(`v <- c(%s)
h <- qnorm(0.975) * sqrt(0.25 / length(v))
cat(sprintf("%%.17g\n", c(ecdf(v)(c(%s)), quantile(v, c(%s), type = 5, names = FALSE), quantile(v, pmin(pmax(0.5 + c(-h, h), 0), 1), type = 5, names = FALSE))))`, joined(values), joined(distinct), joined(ranks)))
		agree(t, fmt.Sprintf("ecdf of %d", n), ecdf, want[:len(distinct)], 1e-9)
		agree(t, fmt.Sprintf("quantiles of %d", n), quantiles, want[len(distinct):len(distinct)+len(ranks)], 1e-9)
		// 1.959964 is qnorm(0.975) to seven digits.
		agree(t, fmt.Sprintf("range of the median of %d", n), []float64{low.Value, high.Value}, want[len(distinct)+len(ranks):], 1e-6)
	}
}

// TestTurnbullAgainstR: lower and upper limits together. R's survfit stops its
// rounds at a rougher tolerance than ours, so a loop of a few lines in R, which
// knows nothing of ours, goes on to 1e-12; the shares are asked for between
// values, where no convention decides.
func TestTurnbullAgainstR(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	var list []predict.Sample
	var low, high, at, got []float64
	for i := range 250 {
		v := float64(1 + r.IntN(30))
		s := predict.Sample{Value: v, Weight: 1}
		lo, hi := v, v
		switch {
		case i < 2:
			s.Value = []float64{0, 40}[i]
			lo, hi = s.Value, s.Value
		case i%5 == 0:
			s.Bound, s.Value = predict.GreaterThan, v-0.5
			lo, hi = v-0.5, 1e9
		case i%5 == 1:
			s.Bound, s.Value = predict.LessThan, v+0.5
			lo, hi = -1, v+0.5
		}
		list, low, high = append(list, s), append(low, lo), append(high, hi)
	}
	s, err := spread.Of(list)
	if err != nil {
		t.Fatal(err)
	}
	for v := 0.75; v < 40; v++ {
		at, got = append(at, v), append(got, s.AtMost(v))
	}
	want := judge.R(t, fmt.Sprintf(`lo <- c(%s); hi <- c(%s)
v <- sort(unique(lo[lo == hi]))
A <- outer(seq_along(lo), seq_along(v), function(i, j) as.numeric(v[j] >= lo[i] & v[j] <= hi[i]))
p <- rep(1 / length(v), length(v))
for (k in 1:200000) { q <- colMeans(A * rep(p, each = length(lo)) / as.vector(A %%*%% p)); if (max(abs(q - p)) < 1e-14) break; p <- q }
cat(sprintf("%%.17g\n", sapply(c(%s), function(t) sum(p[v <= t]))))`, joined(low), joined(high), joined(at)))
	agree(t, "Turnbull", got, want, 1e-5)
}

// TestCountRangeAgainstR holds the range of a count against poisson.test().
func TestCountRangeAgainstR(t *testing.T) {
	counts := []float64{0, 1, 2, 5, 10, 57, 300, 4000, 60000}
	var got []float64
	for _, n := range counts {
		low, high := spread.CountRange(int(n))
		got = append(got, low, high)
	}
	agree(t, "poisson.test", got, judge.R(t, fmt.Sprintf(`for (n in c(%s)) cat(sprintf("%%.17g\n", poisson.test(n)$conf.int))`, joined(counts))), 1e-9)
}
