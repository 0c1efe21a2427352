package draw

import (
	"fmt"
	"strconv"

	"tallybook/records/lithology"
)

// ground is the colours of one pattern in one theme.
type ground struct {
	ground string // under everything
	stone  string // inside open stones, a little paler
	ink    string // strokes
}

// groundColours gives a material's colours. On paper the ground is the
// material's tint. On a dark screen it is TintDark, or the tint brought down
// to a quarter of its lightness with its hue strengthened, so that materials
// stay apart there. In print the ground stays white, so that the strokes alone
// carry the meaning and survive a copier.
func groundColours(m lithology.Material, theme Theme, dark bool) ground {
	c := theme.Colours()
	if dark {
		switch theme {
		case Dark:
			return ground{"#0d0c0b", "#0d0c0b", "#6f685b"}
		case Print:
			return ground{"#000000", "#000000", "#ffffff"}
		default:
			return ground{"#38342f", "#38342f", "#b9ae9a"}
		}
	}
	switch theme {
	case Dark:
		tint := m.TintDark
		if tint == "" {
			tint = nightTint(m.Tint)
		}
		// A pale stroke on dark looks heavier than a dark one on pale.
		return ground{tint, mix(tint, c.Pattern, .1), mix(c.Pattern, tint, .24)}
	case Print:
		return ground{"#ffffff", "#ffffff", c.Ink}
	default:
		return ground{m.Tint, mix(m.Tint, c.Paper, .6), c.Pattern}
	}
}

// nightTint brings a tint of the light theme down for a dark screen.
func nightTint(tint string) string {
	const lightness, strength = .25, 1.7
	r, g, b := channels(tint)
	grey := .3*r + .59*g + .11*b
	down := func(v float64) float64 { return 14 + lightness*(grey+strength*(v-grey)) }
	return hex(down(r), down(g), down(b))
}

// mix gives a colour the part k of the way from a to b.
func mix(a, b string, k float64) string {
	r, g, bl := channels(a)
	r2, g2, b2 := channels(b)
	return hex(r+k*(r2-r), g+k*(g2-g), bl+k*(b2-bl))
}

// channels reads #rrggbb; anything else is black.
func channels(c string) (r, g, b float64) {
	if len(c) != 7 {
		return 0, 0, 0
	}
	n, err := strconv.ParseUint(c[1:], 16, 32)
	if err != nil {
		return 0, 0, 0
	}
	return float64(n >> 16 & 255), float64(n >> 8 & 255), float64(n & 255)
}

func hex(r, g, b float64) string {
	clip := func(v float64) uint8 { return uint8(min(max(v+.5, 0), 255)) }
	return fmt.Sprintf("#%02x%02x%02x", clip(r), clip(g), clip(b))
}
