package draw

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// TestOKLab checks the conversion against the examples published with the
// space (B. Ottosson, 2020): white is 1, 0, 0; sRGB red, green and blue as
// tabulated in CSS Color Module Level 4 test values (from memory, to three
// digits).
func TestOKLab(t *testing.T) {
	for hex, want := range map[string]lab{
		"#ffffff": {1, 0, 0}, "#000000": {0, 0, 0},
		"#ff0000": {0.628, 0.225, 0.126}, "#00ff00": {0.866, -0.234, 0.180}, "#0000ff": {0.452, -0.032, -0.312},
	} {
		got := labOf(hex)
		if math.Abs(got.l-want.l) > 6e-4 || math.Abs(got.a-want.a) > 6e-4 || math.Abs(got.b-want.b) > 6e-4 {
			t.Errorf("%s is %+v, want %+v", hex, got, want)
		}
	}
	r := rand.New(rand.NewPCG(1, 1))
	for range 5000 {
		hex := fmt.Sprintf("#%06x", r.IntN(1<<24))
		if got := labOf(hex).hex(); got != hex {
			t.Fatalf("%s came back as %s", hex, got)
		}
	}
}

// TestRamps: the ends are exact and lightness runs one way, evenly enough that
// no step of a tenth is lost.
func TestRamps(t *testing.T) {
	for theme := Light; theme <= Print; theme++ {
		for name, c := range map[string]struct {
			ramp  Ramp
			stops []string
		}{"depth": {DepthRamp(theme), depthStops[theme]}, "water": {WaterRamp(theme), waterStops[theme]}} {
			if c.ramp.At(0) != c.stops[0] || c.ramp.At(1) != c.stops[len(c.stops)-1] || c.ramp.At(-3) != c.stops[0] || c.ramp.At(math.NaN()) != c.stops[0] {
				t.Errorf("%s %s: the ends are not exact", theme, name)
			}
			up := labOf(c.stops[len(c.stops)-1]).l > labOf(c.stops[0]).l
			for i := range 10 {
				d := c.ramp.at(float64(i+1)/10).l - c.ramp.at(float64(i)/10).l
				if !up {
					d = -d
				}
				if d < 0.018 {
					t.Errorf("%s %s: lightness changes by %.4f from %d to %d tenths", theme, name, d, i, i+1)
				}
			}
			for i := range 101 {
				if got := c.ramp.Towards(float64(i)/100, "#123456", 1); got != "#123456" {
					t.Fatalf("all the way towards a colour is %s", got)
				}
			}
			if c.ramp.Towards(0.3, "#ffffff", 0) != c.ramp.At(0.3) {
				t.Error("no way towards a colour changes it")
			}
		}
	}
	if got := (Ramp{}).At(0.5); labOf(got).l == 0 {
		t.Errorf("the zero Ramp is %s", got)
	}
}

// TestCountsAreLegible: the figure on each cell keeps 4.5:1 (WCAG 2.2, AA).
func TestCountsAreLegible(t *testing.T) {
	for theme := Light; theme <= Print; theme++ {
		for name, ramp := range map[string]Ramp{"depth": DepthRamp(theme), "water": WaterRamp(theme)} {
			for i := range 101 {
				fill := ramp.At(float64(i) / 100)
				if got := contrastOf(fill, inkOn(fill)); got < 4.5 {
					t.Errorf("%s %s at %d: %.2f", theme, name, i, got)
				}
			}
		}
	}
}
