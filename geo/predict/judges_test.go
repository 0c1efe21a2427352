//go:build judges

// The outside judge of censored distributions: R's package survival (Debian
// package r-cran-survival), the reference implementation of both estimates. It
// must be present: a missing program fails the test.

package predict_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"tallybook/geo/predict"
)

// survivalByR asks R for the share of outcomes beyond each time. Values and
// limits go in as intervals, which survfit answers by Turnbull's algorithm, or by
// Kaplan and Meier's when only lower limits occur.
func survivalByR(t *testing.T, samples []predict.Sample, times []float64) []float64 {
	t.Helper()
	var low, high, weight, at []string
	number := func(v float64) string { return strconv.FormatFloat(v, 'g', 17, 64) }
	onlyLower := true
	for _, s := range samples {
		lo, hi := number(s.Value), number(s.Value)
		switch s.Bound {
		case predict.GreaterThan:
			hi = "NA"
		case predict.LessThan:
			lo, onlyLower = "NA", false
		case predict.Between:
			hi, onlyLower = number(s.High), false
		}
		low, high, weight = append(low, lo), append(high, hi), append(weight, number(s.Weight))
	}
	for _, v := range times {
		at = append(at, number(v))
	}
	surv := `Surv(low, high, type = "interval2")`
	if onlyLower {
		surv = `Surv(low, !is.na(high))`
	}
	script := fmt.Sprintf(`suppressMessages(library(survival))
low <- c(%s); high <- c(%s); w <- c(%s)
f <- survfit(%s ~ 1, weights = w)
s <- stepfun(f$time, c(1, f$surv))
cat(sprintf("%%.12f\n", s(c(%s))))
`, strings.Join(low, ","), strings.Join(high, ","), strings.Join(weight, ","), surv, strings.Join(at, ","))
	cmd := exec.Command("Rscript", "--vanilla", "-")
	cmd.Stdin = strings.NewReader(script)
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("R with survival (Debian packages r-base-core, r-cran-survival) is needed here: %v\n%s", err, out)
	}
	fields := strings.Fields(string(out))
	if len(fields) != len(times) {
		t.Fatalf("R answered %d numbers to %d:\n%s", len(fields), len(times), out)
	}
	shares := make([]float64, len(fields))
	for i, f := range fields {
		if shares[i], err = strconv.ParseFloat(f, 64); err != nil {
			t.Fatalf("R answered %q", out)
		}
	}
	return shares
}

// TestAgainstR: weighted Kaplan-Meier to rounding, Turnbull to the tolerance at
// which R stops. Values lie on whole numbers and limits on halves, so that no tie
// hangs on a convention, and shares are asked for between them. The least and the
// greatest are values, so that no share is left between limits alone.
func TestAgainstR(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 6))
	draw := func(n int, lower, upper, between float64) []predict.Sample {
		samples := []predict.Sample{{Value: 0, Weight: 1}, {Value: 60, Weight: 1}}
		for range n {
			s := predict.Sample{Value: float64(1 + r.IntN(50)), Weight: 0.25 + r.Float64()}
			switch u := r.Float64(); {
			case u < lower:
				s.Bound, s.Value = predict.GreaterThan, s.Value-0.5
			case u < lower+upper:
				s.Bound, s.Value = predict.LessThan, s.Value+0.5
			case u < lower+upper+between:
				s.Bound, s.Value, s.High = predict.Between, max(s.Value-1.5, 0.5), s.Value+1.5
			}
			samples = append(samples, s)
		}
		return samples
	}
	for _, c := range []struct {
		name      string
		samples   []predict.Sample
		tolerance float64
	}{
		{"remission, 6-MP arm", remission(), 1e-9},
		{"values", draw(100, 0, 0, 0), 1e-9},
		{"lower limits", draw(300, 0.4, 0, 0), 1e-9},
		{"lower and upper limits", draw(300, 0.3, 0.2, 0), 2e-3},
		{"upper limits", draw(300, 0, 0.4, 0), 2e-3},
		{"all kinds", draw(300, 0.2, 0.2, 0.2), 2e-3},
	} {
		t.Run(c.name, func(t *testing.T) {
			d, err := predict.NewDistribution(c.samples)
			if err != nil {
				t.Fatal(err)
			}
			var times []float64
			last := 60.0
			if _, from, ok := d.UpperUnknown(); ok {
				last = from // beyond it nothing is known, and R draws the line on
			}
			for v := 0.75; v < last; v++ {
				times = append(times, v)
			}
			want := survivalByR(t, c.samples, times)
			var worst float64
			for i, v := range times {
				got := survival(&d, v)
				worst = max(worst, math.Abs(got-want[i]))
				if math.Abs(got-want[i]) > c.tolerance {
					t.Errorf("share beyond %g: %.6f, R %.6f", v, got, want[i])
				}
			}
			t.Logf("worst difference %.2g", worst)
		})
	}
}
