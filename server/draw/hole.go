package draw

import (
	"math"
	"sort"

	"tallybook/records"
)

// holeFrame draws the ground and the hole of one well: strata on both sides,
// and in the hole what was built and found there.
type holeFrame struct {
	*SVG
	c    Colours
	d    *ColumnData
	sc   Scale
	x0   float64 // left edge of the ground
	x1   float64 // right edge of the ground
	half float64 // half the width of the innermost casing
	ann  float64 // width of an annulus
	over float64 // how far marks reach past the ground's edges
	left bool    // strikes point in from the left
	// paint draws a material over a box, with a title.
	paint func(code string, box rect, title string)
}

func (f *holeFrame) cx() float64         { return (f.x0 + f.x1) / 2 }
func (f *holeFrame) y(m float64) float64 { return f.sc.Y(m) }

// holeDefs writes the hatchings that every log needs, and the water that
// stands in a hole: on paper with strokes, for copiers that lose a pale tint.
func holeDefs(s *SVG, t Theme) {
	c := t.Colours()
	s.Start("pattern").IDAttr("water").N("width", 12).N("height", 8).A("patternUnits", "userSpaceOnUse").Open()
	s.Start("rect").N("width", 12).N("height", 8).A("fill", c.WaterFill).End()
	if t == Print {
		var p Path
		p.M(1, 2).H(7).M(7, 6).H(13).M(-5, 6).H(1)
		s.Start("path").D(&p).A("stroke", c.Water).N("stroke-width", 0.6).End()
	}
	s.Close()
	hatch := func(id, ground, ink string, size, width float64, rising bool) {
		s.Start("pattern").IDAttr(id).N("width", size).N("height", size).A("patternUnits", "userSpaceOnUse").Open()
		s.Start("rect").N("width", size).N("height", size).A("fill", ground).End()
		var p Path
		// Three strokes, so that the corners of the tile are covered.
		for _, k := range [...]float64{-1, 0, 1} {
			if rising {
				p.M(k*size-1, size+1).L(k*size+size+1, -1)
			} else {
				p.M(k*size-1, -1).L(k*size+size+1, size+1)
			}
		}
		s.Start("path").D(&p).A("stroke", ink).N("stroke-width", width).A("fill", "none").End()
		s.Close()
	}
	hatch("grout", c.Grout, c.GroutMark, 5, 0.8, true)
	hatch("gap", c.Paper, c.Gap, 9, 0.7, false)
}

// draw draws everything, from the ground outside to the marks on top.
func (f *holeFrame) draw() {
	f.ground()
	f.contacts()
	f.picks()
	f.hole()
	f.surface()
	f.strikes()
	f.level()
	f.own()
}

// thinPx is the least thickness at which a stratum is still seen.
const thinPx = 3

func (f *holeFrame) ground() {
	w := f.x1 - f.x0
	for _, g := range f.d.Gaps {
		f.Start("rect").N("x", f.x0).N("y", f.y(g.TopM)).N("width", w).N("height", max(f.y(g.BottomM)-f.y(g.TopM), thinPx)).
			A("fill", f.URL("gap")).Open()
		f.Title("not logged")
		f.Close()
	}
	// Thick ones first: a thin seam is then never painted over.
	for _, thin := range [...]bool{false, true} {
		for i := range f.d.Strata {
			s := &f.d.Strata[i]
			top, h := f.y(s.TopM), f.y(s.BottomM)-f.y(s.TopM)
			if h < thinPx != thin {
				continue
			}
			if thin {
				top, h = top+h/2-thinPx/2.0, thinPx
			}
			f.paint(s.Code, rect{f.x0, top, f.x0 + w, top + h}, stratumTitle(s))
		}
	}
}

// titleRunes bounds what one title holds.
const titleRunes = 2000

// stratumTitle is the whole of what was written of a stratum.
func stratumTitle(s *StratumView) string {
	t := s.Words
	if s.More != "" {
		t += " (" + s.More + ")"
	}
	return clip(s.Label+", as written: "+t, titleRunes)
}

// contacts draws the lines between strata: firm where the depth was given, in
// dashes where it is about.
func (f *holeFrame) contacts() {
	var firm, about Path
	last := math.Inf(-1)
	line := func(m float64, isAbout bool) {
		y := f.y(m)
		if y-last < 1.6 { // two would run into one, and many into a black band
			return
		}
		last = y
		p := &firm
		if isAbout {
			p = &about
		}
		p.M(f.x0, y).H(f.x1)
	}
	for i := range f.d.Strata {
		s := &f.d.Strata[i]
		if f.seam(i) {
			// Its two contacts would fall on one line: drawn at the edges of
			// what is painted, so that a seam in thick rock is not missed.
			mid := (f.y(s.TopM) + f.y(s.BottomM)) / 2
			firm.M(f.x0, mid-thinPx/2.0).H(f.x1).M(f.x0, mid+thinPx/2.0).H(f.x1)
			last = mid + thinPx/2.0
			continue
		}
		if s.TopM > 0 {
			line(s.TopM, s.TopAbout || i > 0 && f.d.Strata[i-1].BottomAbout)
		}
		line(s.BottomM, s.BottomAbout || i+1 < len(f.d.Strata) && f.d.Strata[i+1].TopAbout)
	}
	if len(f.d.Gaps) > 0 {
		last = math.Inf(-1)
		line(f.d.HoleM, f.d.TotalDepth.Qualifier != records.Exact)
	}
	var sides Path
	if f.d.BottomM > 0 {
		sides.M(f.x0, f.y(0)).V(f.y(f.d.BottomM)).M(f.x1, f.y(0)).V(f.y(f.d.BottomM))
	}
	f.stroke(&sides, f.c.Line, 0.6, "")
	f.stroke(&firm, f.c.Ink, 0.8, "")
	f.stroke(&about, f.c.Ink, 1.1, "3 3.5")
}

// seam says whether a stratum is too thin to see between two that are not.
func (f *holeFrame) seam(i int) bool {
	px := func(k int) float64 { return f.y(f.d.Strata[k].BottomM) - f.y(f.d.Strata[k].TopM) }
	return px(i) < thinPx && f.d.Strata[i].TopM > 0 && (i == 0 || px(i-1) > 8) && (i+1 == len(f.d.Strata) || px(i+1) > 8)
}

// stroke draws a path as a line; an empty path is left out.
func (f *holeFrame) stroke(p *Path, colour string, width float64, dash string) {
	if p.Empty() {
		return
	}
	f.Start("path").D(p).A("stroke", colour).N("stroke-width", width).A("fill", "none")
	if dash != "" {
		f.A("stroke-dasharray", dash)
	}
	f.End()
}

// picks marks the top of sound bedrock, and quietly the first rock where that
// is another depth.
func (f *holeFrame) picks() {
	quiet := func(m float64) {
		y := f.y(m)
		var p Path
		p.M(f.x0-f.over, y).H(f.x0+5).M(f.x1-5, y).H(f.x1 + f.over)
		f.stroke(&p, f.c.Ink, 1.6, "")
	}
	if m, ok := f.d.firstRockApart(); ok {
		quiet(m)
	}
	for _, p := range f.d.Others {
		if m, ok := depthOf(p.Depth); ok && m >= 0 {
			quiet(m)
		}
	}
	b := f.d.Bedrock.Depth
	m, ok := depthOf(b)
	if !ok {
		return
	}
	y := f.y(m)
	a, z := f.x0-f.over, f.x1+f.over
	var line Path
	switch b.Qualifier {
	case records.Between:
		within := func(m records.Depth) float64 { return f.y(min(max(float64(m), 0), f.d.BottomM)) }
		top, bottom := within(b.Value), within(b.High)
		var side Path
		side.M(a, top).V(bottom).M(z, top).V(bottom)
		line.M(a, top).H(z).M(a, bottom).H(z)
		f.stroke(&side, f.c.Signal, 1.2, "")
		f.stroke(&line, f.c.Signal, 2, "6 3")
	case records.GreaterThan, records.LessThan:
		dir := 1.0
		if b.Qualifier == records.LessThan {
			dir = -1
		}
		var arrows Path // apart from the line, so that its dashes do not break them
		for _, x := range [...]float64{a + 3, z - 3} {
			arrows.M(x, y).V(y+8*dir).M(x-3, y+5*dir).L(x, y+8*dir).L(x+3, y+5*dir)
		}
		line.M(a, y).H(z)
		f.stroke(&line, f.c.Signal, 2.2, "6 3")
		f.stroke(&arrows, f.c.Signal, 1.6, "")
	case records.About:
		line.M(a, y).H(z)
		f.stroke(&line, f.c.Paper, 4.5, "")
		f.stroke(&line, f.c.Signal, 2.4, "9 3")
	default:
		line.M(a, y).H(z)
		f.stroke(&line, f.c.Paper, 4.5, "")
		f.stroke(&line, f.c.Signal, 2.4, "")
	}
}

// firstRockApart is the depth of the first rock where it is worth a mark of
// its own.
func (d *ColumnData) firstRockApart() (float64, bool) {
	m, ok := depthOf(d.FirstRock.Depth)
	if !ok || m < 0 || m > d.BottomM {
		return 0, false
	}
	if b, known := d.Bedrock.Depth.Number(); known && abs(float64(b)-m) <= sameM {
		return 0, false
	}
	return m, true
}

func abs(v float64) float64 {
	if v < 0 {
		return -v
	}
	return v
}

// surface draws the ground line on both sides of the hole, hatched below
// where it runs past the strata.
func (f *holeFrame) surface() {
	y, reach := f.y(0), f.over+4
	gap := f.outerHalf(0)
	var line, hatch Path
	line.M(f.x0-reach, y).H(f.cx()-gap).M(f.cx()+gap, y).H(f.x1 + reach)
	for x := f.x0 - reach + 5; x <= f.x0; x += 4 {
		hatch.M(x, y).L(x-4, y+5)
	}
	for x := f.x1 + 4; x <= f.x1+reach; x += 4 {
		hatch.M(x, y).L(x-4, y+5)
	}
	f.stroke(&hatch, f.c.Ink, 0.7, "")
	f.stroke(&line, f.c.Ink, 1.7, "")
}

// ranks gives each casing's rank: 0 for the innermost diameter.
func (f *holeFrame) ranks() []int {
	var diameters []float64
	for _, c := range f.d.Casing {
		if v, ok := c.Diameter.Number(); ok {
			diameters = append(diameters, float64(v))
		}
	}
	sort.Float64s(diameters)
	ranks := make([]int, len(f.d.Casing))
	for i, c := range f.d.Casing {
		v, ok := c.Diameter.Number()
		if !ok {
			continue
		}
		last := -1.0
		for _, x := range diameters {
			if x >= float64(v) {
				break
			}
			if x-last > 6 { // a wall's thickness apart is the same string
				ranks[i]++
				last = x
			}
		}
		ranks[i] = min(ranks[i], 3)
	}
	return ranks
}

func (f *holeFrame) casingHalf(rank int) float64 { return f.half + float64(rank)*(f.ann+1) }

// outerHalf is half the width of the hole and what was built in it at a depth.
func (f *holeFrame) outerHalf(m float64) float64 {
	half := f.half
	ranks := f.ranks()
	for i, c := range f.d.Casing {
		if c.TopM <= m && m < c.BottomM {
			half = max(half, f.casingHalf(ranks[i]))
		}
	}
	for _, g := range f.d.Grout {
		if g.TopM <= m && m < g.BottomM {
			return half + f.ann
		}
	}
	return half
}

// level marks the water standing in the hole.
func (f *holeFrame) level() {
	m, ok := f.d.standingM()
	if !ok {
		return
	}
	y := f.y(m)
	if m < 0 {
		y = max(y, f.y(0)-f.stickPx())
	}
	var line Path
	line.M(f.cx()-f.half, y).H(f.cx() + f.half)
	f.stroke(&line, f.c.Water, 1.5, "")
	var mark Path
	w := max(min(f.half-2, 5.5), 2.6)
	mark.M(f.cx()-w, y-w*1.5).H(f.cx()+w).L(f.cx(), y-0.5).Z()
	f.Start("path").D(&mark).A("fill", f.c.Water).End()
}

// standingM is the depth to which water stands, negative above ground.
func (d *ColumnData) standingM() (float64, bool) {
	v, ok := d.Static.Number()
	if !ok || !finite(float64(v)) || float64(v) > d.HoleM {
		return 0, false
	}
	return float64(v), true
}

// stickPx is how far the casing is drawn above ground, pixels.
func (f *holeFrame) stickPx() float64 {
	px := 0.0
	for _, c := range f.d.Casing {
		if c.TopM < 0 {
			px = max(px, min(max(f.y(0)-f.y(c.TopM), 8), 16))
		}
	}
	return px
}

// strikes draws an arrow into the hole where water came.
func (f *holeFrame) strikes() {
	for _, s := range f.d.Strikes {
		y := f.y(s.DepthM)
		tip, back, edge := f.cx()+f.half, 1.0, f.x1
		if f.left {
			tip, back, edge = f.cx()-f.half, -1, f.x0
		}
		var line, head Path
		line.M(tip+8*back, y).H(edge)
		head.M(tip, y).L(tip+9*back, y-4.5).V(y + 4.5).Z()
		f.stroke(&line, f.c.Paper, 3.5, "")
		f.stroke(&line, f.c.Water, 1.2, "")
		f.Start("path").D(&head).A("fill", f.c.Water).A("stroke", f.c.Paper).N("stroke-width", 0.8).End()
	}
}
