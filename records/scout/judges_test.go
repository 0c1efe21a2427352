//go:build judges

// The outside judge of going on or stopping: R's package survival (Debian
// package r-cran-survival). It must be present: a missing program fails the
// test.

package scout_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/scout"
)

// TestGoOnAgainstR: the same spells, with weights and late entry, through
// survfit(Surv(start, stop, event)). Depths are whole feet, so that holes tie;
// half of the holes are cased below the bit.
func TestGoOnAgainstR(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 11))
	var worst float64
	for trial := range 3 {
		var holes []scout.Neighbour
		for i := range 60 {
			bedrock := 20 + float64(r.IntN(60))
			if r.IntN(4) == 0 {
				bedrock += 120
			}
			depth := bedrock + 40 + float64(r.IntN(300))
			var strikes [][2]float64
			for range r.IntN(4) {
				strikes = append(strikes, [2]float64{bedrock + 12 + float64(r.IntN(int(depth-bedrock-12))), 0.5 + 0.5*float64(r.IntN(5))})
			}
			n := hole(int64(i+1), bedrock, depth, strikes...)
			n.Weight = 0.25 + r.Float64()
			holes = append(holes, n)
		}
		b := scout.Bit{Depth: feet(120), Yield: gallons(float64(trial % 3)), Need: gallons(3)}
		lengths := []records.Length{25 * ft, 50 * ft, 100 * ft, 150 * ft, 200 * ft}
		p := scout.GoOn(holes, b, lengths, 0, nil)
		want := reachByR(t, scout.SpellsOf(holes, b), b.Depth, lengths)
		late := 0
		for _, s := range scout.SpellsOf(holes, b) {
			if s.Enter > float64(b.Depth) {
				late++
			}
		}
		if late == 0 {
			t.Error("no hole enters late: the test is weaker than it says")
		}
		for i, a := range p.Ahead {
			worst = max(worst, math.Abs(a.Reach.Value-want[i]))
			if math.Abs(a.Reach.Value-want[i]) > 1e-9 {
				t.Errorf("trial %d, %g m: %.9f, R %.9f", trial, a.Length, a.Reach.Value, want[i])
			}
		}
	}
	t.Logf("worst difference %.2g", worst)
}

func reachByR(t *testing.T, spells []scout.Watched, from records.Depth, lengths []records.Length) []float64 {
	t.Helper()
	number := func(v float64) string { return strconv.FormatFloat(v, 'g', 17, 64) }
	var start, stop, event, weight, at []string
	for _, s := range spells {
		e := "0"
		if s.Event {
			e = "1"
		}
		start, stop, event, weight = append(start, number(s.Enter)), append(stop, number(s.Leave)), append(event, e), append(weight, number(s.Weight))
	}
	for _, l := range lengths {
		at = append(at, number(float64(from+records.Depth(l))))
	}
	script := fmt.Sprintf(`suppressMessages(library(survival))
start <- c(%s); stop <- c(%s); event <- c(%s); w <- c(%s)
f <- survfit(Surv(start, stop, event) ~ 1, weights = w, timefix = FALSE)
s <- stepfun(f$time, c(1, f$surv))
cat(sprintf("%%.15f\n", 1 - s(c(%s))))
`, strings.Join(start, ","), strings.Join(stop, ","), strings.Join(event, ","), strings.Join(weight, ","), strings.Join(at, ","))
	cmd := exec.Command("Rscript", "--vanilla", "-")
	cmd.Stdin = strings.NewReader(script)
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("R with survival (Debian packages r-base-core, r-cran-survival) is needed here: %v\n%s", err, out)
	}
	fields := strings.Fields(string(out))
	if len(fields) != len(lengths) {
		t.Fatalf("R answered %q", out)
	}
	shares := make([]float64, len(fields))
	for i, f := range fields {
		if shares[i], err = strconv.ParseFloat(f, 64); err != nil {
			t.Fatalf("R answered %q", out)
		}
	}
	return shares
}
