package predict

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// To lose what lies above a limit is to put it on the limit.
func TestAboveIsWhatClippingSaves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 40).Draw(t, "n")
		limit := rapid.Float64Range(0, 50).Draw(t, "limit")
		y := Sample{Value: rapid.Float64Range(0, limit).Draw(t, "y")}
		var plain, clipped []Sample
		for range n {
			s := Sample{Value: rapid.Float64Range(0, 60).Draw(t, "v"), Weight: rapid.Float64Range(0.1, 2).Draw(t, "w")}
			plain = append(plain, s)
			s.Value = min(s.Value, limit)
			clipped = append(clipped, s)
		}
		a, err := NewDistribution(plain)
		if err != nil {
			t.Fatal(err)
		}
		b, err := NewDistribution(clipped)
		if err != nil {
			t.Fatal(err)
		}
		if got, want := a.CRPSOf(y)-a.above(limit), b.CRPSOf(y); math.Abs(got-want) > 1e-9 {
			t.Fatalf("%g, want %g", got, want)
		}
	})
}
