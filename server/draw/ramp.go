package draw

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Ramp is a scale of colours whose lightness runs evenly from one end to the
// other, so that it can be read by those who do not tell hues apart and when
// printed in black. Its colours are interpolated in OKLab, a space in which
// equal steps look equal (Björn Ottosson, 2020, 'A perceptual color space for
// image processing'; its matrices from memory, held by the test to published colours).
type Ramp struct{ stops []lab }

type lab struct{ l, a, b float64 }

// The ramps of the surfaces. Depth runs from slate to straw; water from
// paper to deep blue, since blue is for water alone; doubt is grey.
var (
	depthStops = [themeCount][]string{
		Light: {"#506796", "#95a2b2", "#d2c8a3", "#f3df80"},
		Dark:  {"#1f2b45", "#4a515c", "#7c7560", "#c9b35a"},
		Print: {"#5a7099", "#9ca8b6", "#d6cdab", "#f5e493"},
	}
	waterStops = [themeCount][]string{
		Light: {"#f1ead6", "#bfd3d3", "#6fa3b8", "#1f5f86"},
		Dark:  {"#2b2a22", "#2d4a54", "#3f7f9c", "#8fd0ee"},
		Print: {"#f7f2e4", "#c8d8d8", "#7aa9bc", "#2a6a8f"},
	}
)

// DepthRamp is the ramp for depths in a theme.
func DepthRamp(t Theme) Ramp { return rampOf(depthStops[min(t, Print)]) }

// WaterRamp is the ramp for yields in a theme.
func WaterRamp(t Theme) Ramp { return rampOf(waterStops[min(t, Print)]) }

func rampOf(hex []string) Ramp {
	var r Ramp
	for _, h := range hex {
		r.stops = append(r.stops, labOf(h))
	}
	return r
}

// At is the colour at a share of the way, from 0 to 1, as #rrggbb; what is
// beyond an end has the end's colour.
func (r Ramp) At(share float64) string { return r.at(share).hex() }

// Towards is the colour at a share of the way, drawn by part, from 0 to 1,
// towards another colour, #rrggbb.
func (r Ramp) Towards(share float64, colour string, part float64) string {
	return r.at(share).mixed(labOf(colour), part).hex()
}

func (c lab) mixed(o lab, part float64) lab {
	return lab{c.l + (o.l-c.l)*part, c.a + (o.a-c.a)*part, c.b + (o.b-c.b)*part}
}

func (r Ramp) at(share float64) lab {
	if len(r.stops) < 2 {
		return lab{l: 0.5} // the zero Ramp is grey
	}
	if math.IsNaN(share) {
		share = 0
	}
	share = min(max(share, 0), 1) * float64(len(r.stops)-1)
	i := min(int(share), len(r.stops)-2)
	return r.stops[i].mixed(r.stops[i+1], share-float64(i))
}

// rgbOf reads a colour of the program's own, #rrggbb.
func rgbOf(hex string) (r, g, b int) {
	v, err := strconv.ParseUint(strings.TrimPrefix(hex, "#"), 16, 24)
	if err != nil || len(hex) != 7 {
		panic("draw: " + hex + " is no colour")
	}
	return int(v >> 16), int(v >> 8 & 255), int(v & 255)
}

func labOf(hex string) lab {
	r8, g8, b8 := rgbOf(hex)
	r, g, b := linear(r8), linear(g8), linear(b8)
	l := math.Cbrt(0.4122214708*r + 0.5363325363*g + 0.0514459929*b)
	m := math.Cbrt(0.2119034982*r + 0.6806995451*g + 0.1073969566*b)
	s := math.Cbrt(0.0883024619*r + 0.2817188376*g + 0.6299787005*b)
	return lab{
		0.2104542553*l + 0.7936177850*m - 0.0040720468*s,
		1.9779984951*l - 2.4285922050*m + 0.4505937099*s,
		0.0259040371*l + 0.7827717662*m - 0.8086757660*s,
	}
}

func (c lab) hex() string {
	cube := func(v float64) float64 { return v * v * v }
	l := cube(c.l + 0.3963377774*c.a + 0.2158037573*c.b)
	m := cube(c.l - 0.1055613458*c.a - 0.0638541728*c.b)
	s := cube(c.l - 0.0894841775*c.a - 1.2914855480*c.b)
	return fmt.Sprintf("#%02x%02x%02x",
		gamma(4.0767416621*l-3.3077115913*m+0.2309699292*s),
		gamma(-1.2684380046*l+2.6097574011*m-0.3413193965*s),
		gamma(-0.0041960863*l-0.7034186147*m+1.7076147010*s))
}

func linear(v int) float64 {
	c := float64(v) / 255
	if c <= 0.04045 {
		return c / 12.92
	}
	return math.Pow((c+0.055)/1.055, 2.4)
}

func gamma(c float64) int {
	if c <= 0.0031308 {
		c *= 12.92
	} else {
		c = 1.055*math.Pow(c, 1/2.4) - 0.055
	}
	return int(math.Round(min(max(c, 0), 1) * 255))
}
