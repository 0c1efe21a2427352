package surface_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"tallybook/geo/surface"
)

func TestLevels(t *testing.T) {
	inf := math.Inf(1)
	for name, c := range map[string]struct {
		lo, hi float64
		n      int
		want   []float64
	}{
		"tens":                {0, 100, 9, []float64{10, 20, 30, 40, 50, 60, 70, 80, 90}},
		"twenties":            {3, 117, 6, []float64{20, 40, 60, 80, 100}},
		"fifties":             {-120, 130, 5, []float64{-100, -50, 0, 50, 100}},
		"tenths are decimals": {0, 1, 9, []float64{0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9}},
		"ends are left out":   {10, 30, 1, []float64{20}},
		"one":                 {1, 999, 1, []float64{500}},
		"none asked":          {0, 10, 0, nil},
		"empty range":         {5, 5, 4, nil},
		"inverted":            {5, 4, 4, nil},
		"NaN":                 {math.NaN(), 4, 4, nil},
		"infinite":            {0, inf, 4, nil},
		"large":               {2e6, 7e6, 4, []float64{3e6, 4e6, 5e6, 6e6}},
	} {
		t.Run(name, func(t *testing.T) {
			if diff := cmp.Diff(c.want, surface.Levels(c.lo, c.hi, c.n), cmpopts.EquateEmpty()); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

func TestLevelsProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lo := rapid.Float64Range(-1e6, 1e6).Draw(t, "lo")
		hi := lo + math.Pow(10, rapid.Float64Range(-6, 6).Draw(t, "span"))
		n := rapid.IntRange(2, 60).Draw(t, "n")
		got := surface.Levels(lo, hi, n)
		// The steps are 2 or 2.5 apart, so at least (n-1)/2.5 fit, less the ends.
		if len(got) > n || float64(len(got)) < float64(n+1)/2.5-2 {
			t.Fatalf("%d levels of %d between %g and %g", len(got), n, lo, hi)
		}
		for i, v := range got {
			if v <= lo || v >= hi || i > 0 && v <= got[i-1] {
				t.Fatalf("levels %v between %g and %g", got, lo, hi)
			}
		}
	})
}

func TestLevelsAlwaysReturn(t *testing.T) {
	for _, r := range [][2]float64{
		{0, 5e-324}, {1, math.Nextafter(1, 2)}, {1e300, math.Nextafter(1e300, 2e300)},
		{-math.MaxFloat64 / 2, math.MaxFloat64 / 2}, {1e-320, 1e-310}, {1e16, 1e16 + 2},
	} {
		for _, n := range []int{1, 7, 100000} {
			if got := surface.Levels(r[0], r[1], n); len(got) > n {
				t.Errorf("%d levels of %d in %v", len(got), n, r)
			}
		}
	}
}
