package draw

import (
	"math"
	"strconv"

	"tallybook/server/say"
)

func wellName(d *SectionWell) string {
	if d.Number == "" {
		return "no number"
	}
	return d.Number
}

// off says how far from the line a well stands, and on which side.
func (k *sectionSheet) off(d *SectionWell) string {
	t := "on the line"
	if d.OffM >= 0.5 {
		t = k.u.Distance(d.OffM) + " " + say.Bearing(d.OffDeg)
	}
	if d.Beyond != "" {
		t += ", beyond " + clip(d.Beyond, 8)
	}
	return t
}

// heads sets out what stands over the columns: side by side where that fits,
// else upright.
func (k *sectionSheet) heads() {
	widths, want := make([]float64, len(k.cols)), make([]float64, len(k.cols))
	lo, hi := 14.0, k.w-10
	for i := range k.cols {
		c := &k.cols[i]
		add := func(t, fill string, size float64, bold bool) {
			if t == "" {
				return
			}
			t = Shorten(t, size, bold, 150)
			c.head = append(c.head, headLine{t, fill, size, bold})
			widths[i] = max(widths[i], TextWidth(t, size, bold))
		}
		add(wellName(c.d), k.c.Ink, 13.5, true)
		add(held(k.off(c.d)), k.c.Muted, sizeSmall, false)
		if c.d.Dry {
			add("dry hole", k.c.Ink, sizeSmall, false)
		} else {
			add(held(k.u.Yield(c.d.Yield)), k.c.Water, sizeSmall, false)
		}
		if len(c.d.Marked) > 0 {
			add("marked unreliable", k.c.Signal, sizeSmall, false)
		}
		want[i] = c.cx
	}
	const gap = 14
	lefts := Push(want, widths, gap, lo, hi)
	far := 0.0
	for i := range lefts {
		far = max(far, abs(lefts[i]+widths[i]/2-want[i]))
	}
	if StackHeight(widths, gap) <= hi-lo && far <= 110 {
		lines := 3
		for i := range k.cols {
			lines = max(lines, len(k.cols[i].head))
		}
		k.labelsH = float64(lines)*(lineSmall+1) + 8
		for i := range k.cols {
			k.cols[i].headX = lefts[i] + widths[i]/2
		}
		return
	}
	k.upright = true
	for i := range widths {
		c := &k.cols[i]
		widths[i] = lineSmall
		w := 0.0
		c.head = uprightHead(c.head, k.c.Signal)
		for _, l := range c.head {
			w += TextWidth(l.text, l.size, l.bold) + 8
		}
		k.labelsH = max(k.labelsH, w+6)
	}
	lefts = Push(want, widths, 1, lo, hi)
	for i := range k.cols {
		k.cols[i].headX = lefts[i] + lineSmall/2
	}
}

// uprightHead keeps of what stands over a column what there is room for where
// names stand upright: the name, how far off the line, and a warning.
func uprightHead(head []headLine, warning string) []headLine {
	out := head[:min(len(head), 2)]
	for _, l := range head[len(out):] {
		if l.fill == warning {
			out = append(out, l)
		}
	}
	return out
}

// wells draws the columns with their names, and as many figures beside them as
// keep clear of everything.
func (k *sectionSheet) wells() {
	k.taken = newOccupied()
	for i := range k.cols {
		c := &k.cols[i]
		k.taken.add(rect{c.cx - c.w/2 - 5, c.sc.Zero - 18, c.cx + c.w/2 + 5, c.sc.Y(max(c.d.BottomM, 0)) + 2})
	}
	for i := range k.cols {
		k.head(&k.cols[i])
	}
	k.Line()
	for i := range k.cols {
		k.column(&k.cols[i])
	}
	for i := range k.cols {
		k.beside(&k.cols[i])
	}
	k.Line()
}

// head writes a well's name over its column and leads down to it.
func (k *sectionSheet) head(c *sectionColumn) {
	foot := k.y0 - 30 + 4
	var p Path
	tip := c.sc.Zero - 20
	p.M(c.headX, foot).L(c.cx, min(foot+16, tip)).V(tip)
	k.Start("path").D(&p).A("stroke", k.c.Line).N("stroke-width", 0.8).A("fill", "none").End()
	if k.upright {
		y := foot - 4
		for _, l := range c.head {
			x := c.headX + l.size*0.36
			k.Start("text").N("x", x).N("y", y).N("font-size", l.size).A("fill", l.fill)
			if l.bold {
				k.A("font-weight", "600")
			}
			k.A("transform", "rotate(-90 "+trim(x)+" "+trim(y)+")").Text(l.text)
			y -= TextWidth(l.text, l.size, l.bold) + 8
		}
		return
	}
	y := foot - k.labelsH + 6
	for _, l := range c.head {
		k.Start("text").N("x", c.headX).N("y", y+lineSmall/2+l.size*0.36).N("font-size", l.size).A("fill", l.fill).A("text-anchor", "middle")
		if l.bold {
			k.A("font-weight", "600")
		}
		k.Text(l.text)
		y += lineSmall + 1
	}
}

// column draws the ground and the hole of one well.
func (k *sectionSheet) column(c *sectionColumn) {
	k.Start("g")
	if c.d.UID != "" {
		k.A("data-well", c.d.UID)
	}
	k.Open()
	k.Title(joined(wellName(c.d), held(k.u.Distance(c.d.AlongM))+" along the line", k.off(c.d)))
	if c.d.BottomM <= 0 {
		var p Path
		y := c.sc.Zero
		p.M(c.cx-c.w/2, y).H(c.cx + c.w/2)
		k.Start("path").D(&p).A("stroke", k.c.Ink).N("stroke-width", 1.7).End()
		k.Close()
		return
	}
	half := min(max(c.w*0.14, 1.6), 6)
	f := &holeFrame{SVG: k.SVG, c: k.c, d: &c.d.ColumnData, sc: c.sc, x0: c.cx - c.w/2, x1: c.cx + c.w/2,
		half: half, ann: min(half*0.55, 3), over: min(c.w*0.12, 4), paint: k.o.paint(k.SVG)}
	pale := len(c.d.Marked) > 0 && !k.d.TrustMarked
	if pale {
		k.Start("g").N("opacity", 0.4).Open()
	}
	box := rect{f.x0, f.y(0), f.x1, f.y(c.d.BottomM)}
	f.ground()
	f.contacts()
	f.picks()
	k.clipped("h"+strconv.Itoa(c.nr), rect{box.x0, box.y0 - 20, box.x1, box.y1 + 2}, f.hole)
	f.slimStrikes()
	f.level()
	if pale {
		k.Close()
		k.Start("rect").N("x", f.x0-1.5).N("y", f.y(0)).N("width", c.w+3).N("height", f.y(c.d.BottomM)-f.y(0)).A("fill", "none").
			A("stroke", k.c.Signal).N("stroke-width", 1).A("stroke-dasharray", "2 2").Open()
		k.Title(c.d.markedPhrase())
		k.Close()
	}
	f.own()
	k.columnGround(f, c.d.GroundRead && !k.d.ByDepth)
	k.Close()
	k.Line()
}

// clipped draws within a box that holds all of it, which changes nothing that
// is seen: without it printers' drivers make of every pattern a picture of the
// whole page, and of a page fifty megabytes.
func (s *SVG) clipped(id string, box rect, draw func()) {
	s.Start("clipPath").IDAttr(id).Open()
	s.Start("rect").N("x", box.x0).N("y", box.y0).N("width", box.x1-box.x0).N("height", box.y1-box.y0).End()
	s.Close()
	s.Start("g").A("clip-path", s.URL(id)).Open()
	draw()
	s.Close()
}

// columnGround draws the ground line of a column, broken where its elevation
// is read and not recorded.
func (k *sectionSheet) columnGround(f *holeFrame, read bool) {
	if !read {
		f.surface()
		return
	}
	var p Path
	p.M(f.x0-f.over, f.y(0)).H(f.x1 + f.over)
	f.stroke(&p, k.c.Paper, 3.5, "")
	f.stroke(&p, k.c.Ink, 1.7, "3 2.5")
}

// slimStrikes marks where water came by a sign at the right edge of the
// ground: a slender column has no room for an arrow.
func (f *holeFrame) slimStrikes() {
	for _, s := range f.d.Strikes {
		y := f.y(s.DepthM)
		var head Path
		head.M(f.x1-2, y).L(f.x1+6, y-4.2).V(y + 4.2).Z()
		f.Start("path").D(&head).A("fill", f.c.Water).A("stroke", f.c.Paper).N("stroke-width", 0.8).End()
	}
}

// beside writes figures beside a column where they keep clear of all others:
// its depth below it, the depth of bedrock, what came where water was met.
func (k *sectionSheet) beside(c *sectionColumn) {
	d := c.d
	try := func(x, y, size float64, t, fill string, bold, end bool) bool {
		w := TextWidth(t, size, bold)
		r := rect{x, y - size*0.62, x + w, y + size*0.62}
		if end {
			r.x0, r.x1 = x-w, x
		}
		if t == "" || r.x0 < k.axisX+2 || r.x1 > k.w-6 || r.y0 < k.y0 || r.y1 > k.y0+k.h-8 || !k.taken.free(r) {
			return false
		}
		k.taken.add(r)
		k.Start("g").A("stroke", k.c.Paper).N("stroke-width", 3).A("stroke-linejoin", "round").A("paint-order", "stroke").Open()
		k.line1(x, y, size, t, fill, bold, end)
		k.Close()
		return true
	}
	if t := held(k.u.Depth(d.TotalDepth)); t != "" && d.BottomM > 0 {
		w := TextWidth(t, sizeSmall, true)
		try(c.cx-w/2, c.sc.Y(d.BottomM)+10, sizeSmall, t, k.c.Ink, true, false)
	}
	side := c.w/2 + 7
	if m, ok := depthOf(d.Bedrock.Depth); ok && m > 0 && m <= d.BottomM {
		t := held(k.u.Depth(d.Bedrock.Depth))
		y := c.sc.Y(m)
		_ = try(c.cx+side, y, sizeSmall, t, k.c.Signal, false, false) || try(c.cx-side, y, sizeSmall, t, k.c.Signal, false, true)
	}
	for i := range d.Strikes {
		s := &d.Strikes[i]
		if v, ok := s.Flow.Number(); ok && v == 0 {
			continue
		}
		t := held(k.u.Flow(s.Flow))
		y := c.sc.Y(s.DepthM)
		_ = try(c.cx+side+2, y, sizeSmall, t, k.c.Water, true, false) || try(c.cx-side, y, sizeSmall, t, k.c.Water, true, true)
	}
}

// gone says whether a number is not told.
func (k *sectionSheet) gone(m float64) bool { return math.IsNaN(m) || math.IsInf(m, 0) }
