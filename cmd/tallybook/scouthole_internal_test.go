package main

import "testing"

// TestPercentIsNeverCertainByRounding: all and none are said of all and none
// alone.
func TestPercentIsNeverCertainByRounding(t *testing.T) {
	for _, c := range []struct {
		low, high float64
		want      string
	}{
		{0, 0, "0 %"}, {1, 1, "100 %"}, {1 - 1e-15, 1 + 1e-15, "100 %"}, {0.997, 0.997, "99 %"}, {0.003, 0.003, "1 %"},
		{0.003, 0.42, "1 to 42 %"}, {0, 0.42, "0 to 42 %"}, {0.5, 0.5, "50 %"},
	} {
		if got := percent(c.low, c.high); got != c.want {
			t.Errorf("%g to %g is %q, want %q", c.low, c.high, got, c.want)
		}
	}
}
