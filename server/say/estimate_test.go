package say_test

import (
	"testing"

	"tallybook/server/say"
)

// Worked by hand: 1 ft = 0.3048 m.
func TestEstimate(t *testing.T) {
	for _, c := range []struct {
		system say.System
		metres float64
		want   string
	}{
		{say.US, 22.7 * 0.3048, "23 ft"},
		{say.US, 353.5 * 0.3048, "355 ft"},
		{say.US, 99.4 * 0.3048, "99 ft"},
		{say.SI, 16.6, "17 m"},
		{say.SI, 1.4, "1.5 m"},
		{say.SI, 0, "0 m"},
	} {
		if got := c.system.Estimate(c.metres); got != c.want {
			t.Errorf("%v m: %s, want %s", c.metres, got, c.want)
		}
	}
}
