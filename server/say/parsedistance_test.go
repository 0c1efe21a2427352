package say_test

import (
	"math"
	"testing"

	"tallybook/server/say"
)

// A mile is 1609.344 m and a foot 0.3048 m, exactly (international yard and
// pound agreement, 1959); the rest worked by hand.
func TestParseDistance(t *testing.T) {
	for _, c := range []struct {
		text string
		u    say.System
		want float64
	}{
		{"0.5 mi", say.US, 804.672}, {"1/2 mile", say.SI, 804.672}, {"½ mi", say.US, 804.672}, {"2640ft", say.SI, 804.672}, {"800 m", say.US, 800}, {"1 km", say.US, 1000},
		{"1", say.US, 1609.344}, {"1", say.SI, 1000}, {"500", say.US, 152.4}, {"500", say.SI, 500}, {" 2 Miles ", say.US, 3218.688},
	} {
		got, err := c.u.ParseDistance(c.text)
		if err != nil || math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%q in %v: %g, %v, want %g", c.text, c.u, got, err, c.want)
		}
	}
	for _, bad := range []string{"", "far", "-1 km", "0 m", "1 league", "<5 mi", "1 km 2", "mi", "1e400 m"} {
		if got, err := say.US.ParseDistance(bad); err == nil {
			t.Errorf("%q is read as %g m", bad, got)
		}
	}
}

func FuzzParseDistance(f *testing.F) {
	for _, s := range []string{"0.5 mi", "1/2 km", "2640'", "é m"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if v, err := say.SI.ParseDistance(s); err == nil && !(v > 0 && !math.IsInf(v, 0)) {
			t.Errorf("%q is %g m", s, v)
		}
	})
}
