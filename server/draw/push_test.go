package draw_test

import (
	"math"
	"sort"
	"testing"

	"pgregory.net/rapid"

	"tallybook/server/draw"
)

// naivePush is the min-max formula for isotonic regression (Robertson, Wright,
// Dykstra, Order Restricted Statistical Inference, 1988, theorem 1.4.4; from
// memory), cubic in the number of labels.
func naivePush(want, heights []float64, gap, lo, hi float64) []float64 {
	n := len(want)
	z, off := make([]float64, n), make([]float64, n)
	stacked := 0.0
	for i := range want {
		off[i] = stacked
		z[i] = want[i] - heights[i]/2 - stacked
		stacked += heights[i] + gap
	}
	out := make([]float64, n)
	for i := range want {
		best := math.Inf(-1)
		for a := 0; a <= i; a++ {
			least := math.Inf(1)
			for b := i; b < n; b++ {
				sum := 0.0
				for k := a; k <= b; k++ {
					sum += z[k]
				}
				least = math.Min(least, sum/float64(b-a+1))
			}
			best = math.Max(best, least)
		}
		out[i] = math.Max(math.Min(best, hi-(stacked-gap)), lo) + off[i]
	}
	return out
}

func TestPush(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 12).Draw(t, "n")
		want, heights := make([]float64, n), make([]float64, n)
		for i := range n {
			want[i] = rapid.Float64Range(0, 300).Draw(t, "want")
			heights[i] = rapid.Float64Range(5, 60).Draw(t, "height")
		}
		sort.Float64s(want)
		gap := rapid.Float64Range(0, 6).Draw(t, "gap")
		hi := rapid.Float64Range(100, 900).Draw(t, "hi")
		got := draw.Push(want, heights, gap, 0, hi)
		for i, v := range naivePush(want, heights, gap, 0, hi) {
			if math.Abs(got[i]-v) > 1e-6 {
				t.Fatalf("label %d at %v, by the formula %v", i, got[i], v)
			}
		}
		for i := 1; i < n; i++ {
			if got[i] < got[i-1]+heights[i-1]+gap-1e-9 {
				t.Fatalf("labels %d and %d overlap: %v", i-1, i, got)
			}
		}
		room := draw.StackHeight(heights, gap)
		if n > 0 && (got[0] < -1e-9 || room <= hi && got[n-1]+heights[n-1] > hi+1e-9) {
			t.Fatalf("outside 0 to %v: %v", hi, got)
		}
	})
}

// Labels that do not touch stay where they want to be.
func TestPushLeavesFreeLabelsAlone(t *testing.T) {
	got := draw.Push([]float64{10, 50, 90}, []float64{10, 10, 10}, 4, 0, 200)
	for i, want := range []float64{5, 45, 85} {
		if got[i] != want {
			t.Errorf("label %d moved to %v", i, got[i])
		}
	}
}
