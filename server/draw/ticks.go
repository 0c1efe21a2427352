package draw

import (
	"math"

	"tallybook/server/say"
)

// Scale maps a depth or an elevation, in the reader's unit, to pixels.
type Scale struct {
	PerUnit float64 // reader's units in one metre
	Zero    float64 // pixel of 0 m
	PxPerM  float64 // pixels per metre downward; negative for elevations
}

// Y is the pixel of a depth in metres.
func (s Scale) Y(m float64) float64 { return s.Zero + m*s.PxPerM }

// Tick is a mark on an axis.
type Tick struct {
	Value float64 // in the reader's unit
	M     float64 // in metres
	Major bool    // bears a number
}

// Ticks gives the marks between two depths (metres, from below to): numbered
// ones a round number apart (1, 2 or 5 times a power of ten of the reader's
// unit) and at least minPx pixels from each other, and plain ones between
// them. There are never more than a few hundred.
func (s Scale) Ticks(from, to, minPx float64) []Tick {
	px := math.Abs(s.PxPerM) / s.PerUnit // pixels of one of the reader's units
	if !(px > 0) || math.IsInf(px, 0) || !(to > from) {
		return nil
	}
	step, parts := niceStep(minPx / px)
	lo, hi := from*s.PerUnit, to*s.PerUnit
	minor := step / float64(parts)
	if minor*px < 5 {
		minor, parts = step, 1
	}
	first, last := math.Ceil(lo/minor-1e-9), math.Floor(hi/minor+1e-9)
	if !(last-first < 2000) {
		return nil
	}
	ticks := make([]Tick, 0, int(last-first)+1)
	for k := first; k <= last; k++ {
		v := k * minor
		ticks = append(ticks, Tick{Value: v, M: v / s.PerUnit, Major: math.Mod(k, float64(parts)) == 0})
	}
	return ticks
}

// niceStep is the smallest of 1, 2, 5 times a power of ten that is not under
// least, and into how many parts its minor marks divide it.
func niceStep(least float64) (float64, int) {
	p := math.Pow(10, math.Floor(math.Log10(least)))
	for _, c := range [...]struct {
		f     float64
		parts int
	}{{1, 5}, {2, 2}, {5, 5}, {10, 5}} {
		if c.f*p >= least*(1-1e-9) {
			return c.f * p, c.parts
		}
	}
	return 10 * p, 5
}

// hairTicks draws a hairline across for each numbered mark, from the axis at
// x0 to x1, and the numbers left of it in the reader's unit.
func (s *SVG) hairTicks(ticks []Tick, sc Scale, c Colours, u say.System, x0, x1 float64) {
	var hair Path
	for _, t := range ticks {
		if t.Major {
			hair.M(x0, sc.Y(t.M)).H(x1)
		}
	}
	s.Start("path").D(&hair).A("stroke", c.Hair).N("stroke-width", 0.8).End()
	for _, t := range ticks {
		if t.Major {
			s.line1(x0-6, sc.Y(t.M), sizeSmall, u.Figure(t.Value, 2), c.Muted, false, true)
		}
	}
}
