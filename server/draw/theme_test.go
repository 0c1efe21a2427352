package draw_test

import (
	"math"
	"strconv"
	"testing"

	"tallybook/server/draw"
)

// contrast is the contrast ratio of WCAG 2.1 (definitions of relative
// luminance and contrast ratio).
func contrast(a, b string) float64 {
	l := func(c string) float64 {
		sum := 0.0
		for i, k := range []float64{0.2126, 0.7152, 0.0722} {
			n, _ := strconv.ParseUint(c[1+2*i:3+2*i], 16, 8)
			v := float64(n) / 255
			if v <= 0.03928 {
				v /= 12.92
			} else {
				v = math.Pow((v+0.055)/1.055, 2.4)
			}
			sum += k * v
		}
		return sum
	}
	x, y := l(a), l(b)
	return (math.Max(x, y) + 0.05) / (math.Min(x, y) + 0.05)
}

func TestContrast(t *testing.T) {
	// WCAG 2.1: 1.4.6 asks 7:1 (AAA), 1.4.3 asks 4.5:1 for text (AA),
	// 1.4.11 asks 3:1 for what is needed to understand a graphic.
	for _, theme := range []draw.Theme{draw.Light, draw.Dark, draw.Print} {
		c := theme.Colours()
		for _, p := range []struct {
			name, ink, ground string
			least             float64
		}{
			{"ink", c.Ink, c.Paper, 7}, {"muted", c.Muted, c.Paper, 4.5}, {"signal", c.Signal, c.Paper, 4.5}, {"water", c.Water, c.Paper, 4.5},
			{"water line in water", c.Water, c.WaterFill, 3}, {"steel beside grout", c.Steel, c.Grout, 3}, {"steel in water", c.Steel, c.WaterFill, 3},
			{"pattern", c.Pattern, c.Paper, 4.5},
		} {
			if got := contrast(p.ink, p.ground); got < p.least {
				t.Errorf("%s: %s on %s is %.2f, under %v", theme, p.name, p.ground, got, p.least)
			}
		}
	}
	if got := contrast("#000000", "#ffffff"); math.Abs(got-21) > 1e-9 {
		t.Errorf("black on white is %v, not 21", got)
	}
}

func TestThemeWords(t *testing.T) {
	for _, theme := range []draw.Theme{draw.Light, draw.Dark, draw.Print} {
		if got, ok := draw.ParseTheme(theme.String()); !ok || got != theme {
			t.Errorf("%v does not come back", theme)
		}
	}
	if _, ok := draw.ParseTheme("neon"); ok {
		t.Error("neon is no theme")
	}
}
