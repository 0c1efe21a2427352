package draw

import (
	"math"
	"strings"

	"tallybook/records"
	"tallybook/server/say"
)

// Options are how a drawing is to be made.
type Options struct {
	Prefix string     // of the ids, so that several drawings can share a page
	Units  say.System // of everything that is written
	Theme  Theme
	Width  float64 // pixels; 0 means 820
	Title  string  // for screen readers; "" means one made from the data

	// Heading writes number, year and purpose above a Column: for a drawing
	// that leaves the page that names it.
	Heading bool

	// Patterns are those of the office's own vocabulary; nil means those of
	// the default one.
	Patterns *Patterns

	// For SideBySide alone.
	Hang Hang
	Join bool // join the picks of bedrock: only for wells along a line
}

const (
	wideFrom     = 700.0 // from this width on the labels stand on both sides
	defaultWidth = 820.0
	leastWidth   = 300.0
)

func (o Options) width() float64 {
	if !(o.Width > 0) || o.Width > 6000 {
		return defaultWidth
	}
	return max(math.Round(o.Width), leastWidth)
}

// Column draws one well's log as the hole stands in the ground, with the
// driller's words beside it, as a whole SVG document. It is a pure function of
// its arguments: the same log and options give the same bytes. The height
// follows from the log: what is written is never squeezed.
func Column(d ColumnData, o Options) []byte {
	return newColumnSheet(d, o).render().Bytes()
}

// columnSheet is one Column being laid out.
type columnSheet struct {
	d    *ColumnData
	o    Options
	u    say.System
	c    Colours
	w    float64
	wide bool

	axisX            float64 // where the axis stands
	laneX0, laneX1   float64 // penetration rate; equal when there is none
	holeX0, holeX1   float64 // labels of what is in the hole; equal when narrow
	ground0, ground1 float64
	depthX           float64 // depths of strata
	wordsX, wordsW   float64
	tagX, tagW       float64 // what the words were read as
	half, ann        float64

	left, right []label
	y0, h       float64
	footY       float64 // where the notes begin
}

func newColumnSheet(d ColumnData, o Options) *columnSheet {
	k := &columnSheet{d: &d, o: o, u: o.Units, c: o.Theme.Colours(), w: o.width()}
	k.wide = k.w >= wideFrom
	k.across()
	k.rightLabels()
	k.leftLabels()
	return k
}

// across lays out what stands beside what.
func (k *columnSheet) across() {
	margin := 10.0
	if k.wide {
		margin = 18
	}
	figures := TextWidth(k.u.Figure(math.Ceil(k.u.LengthUnit().FromBase(k.d.BottomM)), 0), sizeSmall, false)
	k.axisX = margin + max(figures, 28) + 6
	x := k.axisX + 6
	k.laneX0, k.laneX1 = x, x
	if len(k.d.Rates) > 0 {
		k.laneX0 = x + 4
		k.laneX1 = k.laneX0 + 54
		if !k.wide {
			k.laneX1 = k.laneX0 + 30
		}
		x = k.laneX1
	}
	if k.wide {
		k.holeX0, k.holeX1 = x+12, x+12+122
		k.ground0 = k.holeX1 + 26
		k.ground1 = k.ground0 + 118
		k.half, k.ann = 12, 6
		// Many strata need a wider fan of leaders.
		k.depthX = k.ground1 + 34 + min(max(float64(len(k.d.Strata)-12)*1.5, 0), 40)
	} else {
		k.holeX0, k.holeX1 = x, x
		k.ground0 = x + 12
		k.ground1 = k.ground0 + 72
		k.half, k.ann = 8.5, 4.5
		k.depthX = k.ground1 + 22
	}
	end := k.w - margin
	depthW := 0.0
	for i := range k.d.Strata {
		depthW = max(depthW, TextWidth(k.d.Strata[i].interval(k.u), sizeSmall, false))
		k.tagW = max(k.tagW, TextWidth(k.d.Strata[i].Label, sizeSmall, false))
	}
	for _, g := range k.d.Gaps {
		depthW = max(depthW, TextWidth(k.gapInterval(g), sizeSmall, false))
	}
	if !k.wide {
		k.wordsX, k.wordsW = k.depthX, end-k.depthX
		k.tagX, k.tagW = k.depthX, k.wordsW
		return
	}
	k.tagW = min(max(k.tagW, 40), 124)
	k.tagX = end - k.tagW
	k.wordsX = k.depthX + max(depthW, 34) + 14
	k.wordsW = k.tagX - 16 - k.wordsX
	if k.wordsW < 120 { // a middling width: what it was read as goes below
		k.tagX, k.tagW = k.wordsX, 0
		k.wordsW = end - k.wordsX
	}
}

func (k *columnSheet) gapInterval(g Span) string {
	return k.u.LengthFigure(g.TopM) + "–" + k.u.LengthFigure(g.BottomM)
}

// mostLines is how many lines one stratum's words may take: fewer where there
// are many strata, so that a log of forty stays on a page.
func (k *columnSheet) mostLines() int {
	n := len(k.d.Strata)
	switch {
	case n <= 8:
		return 4
	case n <= 16:
		return 3
	case n <= 60:
		return 2
	}
	return 1
}

func (k *columnSheet) rightLabels() {
	d := k.d
	for i := range d.Strata {
		k.right = append(k.right, k.stratumLabel(&d.Strata[i]))
	}
	for _, g := range d.Gaps {
		t := "not logged"
		if len(d.Strata) == 0 && len(d.Unplaced) == 0 {
			t = "no strata were logged"
		}
		l := label{m: (g.TopM + g.BottomM) / 2, span: g, srcX: k.ground1, colour: k.c.Line}
		lines, _ := Wrap(t, sizeWords, false, k.wordsW, 3)
		k.addRow(&l, k.gapInterval(g), lines, k.c.Muted, nil)
		k.right = append(k.right, l)
	}
	over := k.over()
	if m, ok := depthOf(d.Bedrock.Depth); ok {
		l := k.wordsLabel(m, d.bedrockPhrase(k.u), k.c.Signal, true, k.w-k.depthX-10)
		l.srcX, l.colour, l.rank, l.title = k.ground1+over, k.c.Signal, -1, d.Bedrock.Why
		k.right = append(k.right, l)
	}
	for _, p := range d.Others {
		if m, ok := depthOf(p.Depth); ok && m >= 0 {
			l := k.wordsLabel(m, otherPhrase(p, k.u), k.c.Ink, false, k.w-k.depthX-10)
			l.srcX, l.colour, l.rank, l.title = k.ground1+over, k.c.Line, -2, p.Why
			k.right = append(k.right, l)
		}
	}
	if m, ok := d.firstRockApart(); ok {
		l := k.wordsLabel(m, "first rock "+held(k.u.Depth(d.FirstRock.Depth)), k.c.Ink, false, k.w-k.depthX-10)
		l.srcX, l.colour, l.rank, l.title = k.ground1+over, k.c.Line, -2, d.FirstRock.Why
		k.right = append(k.right, l)
	}
}

// stratumLabel sets out one stratum: its depths, the driller's words, what
// they were read as.
func (k *columnSheet) stratumLabel(s *StratumView) label {
	words, fill := s.Words, k.c.Ink
	if s.More != "" {
		if plainText(words) != "" {
			words += " · "
		}
		words += s.More
	}
	if plainText(words) == "" {
		words, fill = "no words", k.c.Muted
	}
	lines, _ := Wrap(words, sizeWords, false, k.wordsW, k.mostLines())
	l := label{m: (s.TopM + s.BottomM) / 2, span: s.Span, srcX: k.ground1, colour: k.c.Line, title: stratumTitle(s)}
	var tag []string
	if k.wide && k.tagW > 0 {
		tag, _ = Wrap(s.Label, sizeSmall, false, k.tagW, 2)
	} else {
		tag, _ = Wrap(s.Label, sizeSmall, false, k.w-k.tagX-12, 1)
	}
	k.addRow(&l, s.interval(k.u), lines, fill, tag)
	return l
}

// addRow fills a label with a row of depths, words and tag.
func (k *columnSheet) addRow(l *label, depths string, lines []string, fill string, tag []string) {
	if !k.wide {
		// Depths and tag above, words below.
		l.first = lineSmall / 2
		rows, _ := Wrap(depths, sizeSmall, false, k.wordsW, 2)
		for i, t := range rows {
			l.height = (float64(i) + 1) * lineSmall
			l.pieces = append(l.pieces, piece{0, l.height - lineSmall/2, sizeSmall, t, k.c.Muted, false, false})
		}
		if len(tag) > 0 {
			x := TextWidth(rows[len(rows)-1], sizeSmall, false) + 8
			if room := k.wordsW - x; room > 40 {
				t := Shorten(tag[0], sizeSmall, false, room)
				l.pieces = append(l.pieces, piece{x, l.height - lineSmall/2, sizeSmall, t, k.c.Muted, false, false})
			}
		}
		for i, t := range lines {
			l.pieces = append(l.pieces, piece{0, l.height + (float64(i)+0.5)*lineWords, sizeWords, t, fill, false, false})
		}
		l.height += float64(len(lines)) * lineWords
		return
	}
	l.first = lineWords / 2
	l.pieces = append(l.pieces, piece{0, l.first, sizeSmall, depths, k.c.Muted, false, false})
	for i, t := range lines {
		l.pieces = append(l.pieces, piece{k.wordsX - k.depthX, (float64(i) + 0.5) * lineWords, sizeWords, t, fill, false, false})
	}
	l.height = float64(len(lines)) * lineWords
	y := l.first
	if k.tagW == 0 {
		y = l.height + lineSmall/2
	}
	for i, t := range tag {
		l.pieces = append(l.pieces, piece{k.tagX - k.depthX, y + float64(i)*lineSmall, sizeSmall, t, k.c.Muted, false, false})
		l.height = max(l.height, y+float64(i)*lineSmall+lineSmall/2)
	}
}

// wordsLabel is a label of one text.
func (k *columnSheet) wordsLabel(m float64, t, fill string, bold bool, width float64) label {
	size, line := sizeWords, lineWords
	if !bold {
		size, line = sizeSmall+0.5, lineSmall
	}
	lines, _ := Wrap(t, size, bold, width, 3)
	l := label{m: m, first: line / 2, height: float64(len(lines)) * line}
	for i, s := range lines {
		l.pieces = append(l.pieces, piece{0, (float64(i) + 0.5) * line, size, s, fill, bold, false})
	}
	return l
}

// leftLabels sets out what is in the hole: on its left where there is room,
// else among the words.
func (k *columnSheet) leftLabels() {
	d := k.d
	width := k.w - k.depthX - 10
	if k.wide {
		width = k.holeX1 - k.holeX0
	}
	add := func(m float64, t, fill string, bold bool, leader string, span Span) {
		l := k.wordsLabel(m, t, fill, bold, width)
		l.colour, l.rank, l.title, l.span = leader, 1, t, span
		if k.wide {
			for i := range l.pieces {
				l.pieces[i].end = true
			}
			if l.srcX = k.ground0; m < 0 {
				l.srcX = (k.ground0+k.ground1)/2 - k.half
			}
			k.left = append(k.left, l)
			return
		}
		if l.srcX = k.ground1; m < 0 {
			l.srcX = (k.ground0+k.ground1)/2 + k.half
		}
		k.right = append(k.right, l)
	}
	if m, ok := d.standingM(); ok {
		add(m, d.levelPhrase(k.u), k.c.Water, false, k.c.Water, Span{})
	} else if d.HoleM > 0 && !d.Dry {
		m := 0.0
		if v, ok := depthOf(d.Static); ok {
			m = min(max(v, 0), d.HoleM)
		}
		add(m, d.levelPhrase(k.u), k.c.Muted, false, "", Span{})
	}
	for i := range d.Strikes {
		s := &d.Strikes[i]
		add(s.DepthM, s.phrase(k.u), k.c.Water, true, k.c.Water, Span{})
	}
	for i := range d.Casing {
		c := &d.Casing[i]
		if c.BottomM > 0 {
			add(c.BottomM, c.phrase(k.u), k.c.Ink, false, k.c.Line, Span{})
		}
	}
	for i := range d.Grout {
		g := &d.Grout[i]
		add((max(g.TopM, 0)+g.BottomM)/2, g.phrase(k.u), k.c.Muted, false, k.c.Line, Span{max(g.TopM, 0), g.BottomM})
	}
	for i := range d.Screens {
		s := &d.Screens[i]
		add((s.TopM+s.BottomM)/2, s.phrase(k.u), k.c.Ink, false, k.c.Line, s.Span)
	}
	if m, ok := depthOf(d.PumpM); ok && m > 0 {
		add(m, "pump at "+held(k.u.Depth(d.PumpM)), k.c.Ink, false, k.c.Line, Span{})
	}
}

func (k *columnSheet) over() float64 {
	if k.wide {
		return 9
	}
	return 6
}

// naturalHeight is how tall a log of this depth is drawn when its words do not
// ask for more, pixels.
func naturalHeight(depthM float64) float64 { return min(400+1.4*depthM, 1000) }

// mostHeight is how far a drawing is stretched to keep leaders short, pixels;
// labels that need more room than this get it.
const mostHeight, mostNarrow = 1100.0, 900.0

// place sets the labels beside the scale.
func (k *columnSheet) place() (Scale, []float64, []float64) {
	sc := Scale{PerUnit: k.u.LengthUnit().FromBase(1), Zero: k.y0, PxPerM: k.h / max(k.d.BottomM, 1)}
	return sc, stackLabels(k.right, sc, k.y0-10, k.y0+k.h+12), stackLabels(k.left, sc, k.y0-14, k.y0+k.h+12)
}

func (k *columnSheet) render() *SVG {
	d := k.d
	k.y0 = k.headsY() + 44
	h := max(naturalHeight(d.BottomM), labelRoom(k.right)-4, labelRoom(k.left)-4)
	if d.BottomM <= 0 {
		h = 90
	}
	k.h = math.Ceil(h)
	sc, rtops, ltops := k.place()
	most := mostHeight
	if !k.wide {
		most = mostNarrow
	}
	// A crowd of labels at one depth pulls leaders long; a taller drawing
	// spreads what they speak of.
	for range 8 {
		if k.h >= most || max(farthest(k.right, rtops, sc), farthest(k.left, ltops, sc)) < 44 || d.BottomM <= 0 {
			break
		}
		k.h = math.Ceil(min(k.h*1.15, most))
		sc, rtops, ltops = k.place()
	}
	notes := k.notes()
	k.footY = k.y0 + k.h + 19 + 2*lineWords + 8
	height := k.footY + float64(len(notes))*lineSmall + 10

	title := k.o.Title
	if title == "" {
		title = "Log of a well"
		if d.Number != "" {
			title = "Log of " + clip(d.Number, 80)
		}
	}
	s := newSheet(k.o.Prefix, k.w, math.Ceil(height), k.c, title, d.prose(k.u))
	s.Start("defs").Open()
	holeDefs(s, k.c)
	k.o.patterns().Defs(s, k.o.groundCodes([]ColumnData{*d}), k.o.Theme)
	s.Close()
	s.Line()

	k.axis(s, sc)
	k.heads(s)
	k.rates(s, sc)
	f := &holeFrame{SVG: s, c: k.c, d: d, sc: sc, x0: k.ground0, x1: k.ground1, half: k.half, ann: k.ann,
		over: k.over(), left: k.wide, fill: k.o.fill(s)}
	f.draw()
	s.Line()
	s.drawLabels(k.right, rtops, sc, k.depthX, 5, "")
	if k.wide {
		s.drawLabels(k.left, ltops, sc, k.holeX1, -5, k.c.Paper)
	}
	k.foot(s, notes)
	return s
}

// newSheet starts a document: paper, fonts, title and description.
func newSheet(prefix string, w, h float64, c Colours, title, desc string) *SVG {
	s := NewSVG(prefix)
	s.Start("svg").A("xmlns", "http://www.w3.org/2000/svg").N("width", w).N("height", h)
	s.A("viewBox", "0 0 "+string(s.number(nil, w))+" "+string(s.number(nil, h)))
	s.A("role", "img").A("aria-labelledby", s.ID("title")+" "+s.ID("desc"))
	s.A("font-family", fontFamily).A("font-variant", "tabular-nums").A("fill", c.Ink).Open()
	s.Start("title").IDAttr("title").Text(title)
	s.Start("desc").IDAttr("desc").Text(desc)
	s.Start("rect").N("width", w).N("height", h).A("fill", c.Paper).End()
	s.Line()
	return s
}

// axis draws the depth axis with hairlines to the ground.
func (k *columnSheet) axis(s *SVG, sc Scale) {
	if k.d.BottomM <= 0 {
		return
	}
	end := k.ground0
	var hair, marks Path
	ticks := sc.Ticks(0, k.d.BottomM, 46)
	for _, t := range ticks {
		y := sc.Y(t.M)
		if t.Major {
			hair.M(k.axisX, y).H(end)
			marks.M(k.axisX-4, y).H(k.axisX)
		} else {
			marks.M(k.axisX-2, y).H(k.axisX)
		}
	}
	s.Start("path").D(&hair).A("stroke", k.c.Hair).N("stroke-width", 0.8).End()
	marks.M(k.axisX, k.y0).V(k.y0 + k.h)
	s.Start("path").D(&marks).A("stroke", k.c.Line).N("stroke-width", 0.8).A("fill", "none").End()
	for _, t := range ticks {
		if t.Major {
			s.line1(k.axisX-7, sc.Y(t.M), sizeSmall, k.u.Figure(t.Value, 2), k.c.Muted, false, true)
		}
	}
	s.Line()
}

// headsY is the middle of the line that names the columns.
func (k *columnSheet) headsY() float64 {
	if k.o.Heading {
		return 78
	}
	return 20
}

// heads names the well where asked, and the columns.
func (k *columnSheet) heads(s *SVG) {
	y := k.headsY()
	if k.o.Heading {
		x, room := 10.0, k.w-20
		if k.wide {
			x, room = 18, k.w-36
		}
		name := k.d.Number
		if name == "" {
			name = "A well without a number"
		}
		s.line1(x, 24, 18, Shorten(name, 18, true, room), k.c.Ink, true, false)
		s.line1(x, 45, sizeSmall+0.5, Shorten(joined(year(k.d.Year), k.d.Purpose), sizeSmall+0.5, false, room), k.c.Muted, false, false)
	}
	s.line1(k.axisX-7, y, sizeSmall, k.u.LengthUnit().Symbol(), k.c.Muted, false, true)
	if k.laneX1 > k.laneX0 && k.wide {
		s.line1(k.laneX0-2, y, sizeSmall, say.RateUnit(k.u), k.c.Muted, false, false)
	}
	if !k.wide {
		s.line1(k.depthX, y, sizeSmall, Shorten("as the driller wrote it", sizeSmall, false, k.wordsW), k.c.Muted, false, false)
		return
	}
	if len(k.left) > 0 {
		s.line1(k.holeX1, y, sizeSmall, "in the hole", k.c.Muted, false, true)
	}
	s.line1(k.wordsX, y, sizeSmall, Shorten("as the driller wrote it", sizeSmall, false, k.wordsW), k.c.Muted, false, false)
	if k.tagW > 0 && len(k.d.Strata) > 0 {
		s.line1(k.tagX, y, sizeSmall, "read as", k.c.Muted, false, false)
	}
}

// rates draws the penetration rate rod by rod as steps, faster to the right.
func (k *columnSheet) rates(s *SVG, sc Scale) {
	if k.laneX1 <= k.laneX0 {
		return
	}
	most := 0.0
	for _, r := range k.d.Rates {
		most = max(most, say.Rate(k.u, r.MPerMin))
	}
	top, _ := niceStep(most)
	x := func(r RateView) float64 {
		return k.laneX0 + (k.laneX1-k.laneX0)*min(say.Rate(k.u, r.MPerMin)/top, 1)
	}
	var axis, steps Path
	axis.M(k.laneX0, k.y0-8).H(k.laneX1).M(k.laneX0, k.y0-8).V(k.y0-4).M(k.laneX1, k.y0-8).V(k.y0 - 4)
	s.Start("path").D(&axis).A("stroke", k.c.Line).N("stroke-width", 0.8).A("fill", "none").End()
	label := k.u.Figure(top, 2)
	if !k.wide {
		label += " " + say.RateUnit(k.u)
	} else {
		s.line1(k.laneX0-2, k.y0-18, sizeSmall, "0", k.c.Muted, false, false)
	}
	s.line1(k.laneX1+2, k.y0-18, sizeSmall, label, k.c.Muted, false, true)
	end := math.Inf(-1)
	for _, r := range k.d.Rates {
		if r.TopM-end > 0.1 || r.TopM < end-0.1 {
			steps.M(x(r), sc.Y(max(r.TopM, 0)))
		}
		steps.H(x(r)).V(sc.Y(r.BottomM))
		end = r.BottomM
	}
	s.Start("path").D(&steps).A("stroke", k.c.Muted).N("stroke-width", 0.9).A("fill", "none").A("stroke-linejoin", "round").Open()
	s.Title("penetration rate from the rods, " + say.RateUnit(k.u))
	s.Close()
	s.Line()
}

// foot writes total depth and what came of it under the hole, and the notes.
func (k *columnSheet) foot(s *SVG, notes []string) {
	d := k.d
	cx, y := (k.ground0+k.ground1)/2, k.y0+k.h+19
	mid := func(size float64, t, fill string, bold bool) {
		s.Start("text").N("x", cx).N("y", y+size*0.36).N("font-size", size).A("fill", fill).A("text-anchor", "middle")
		if bold {
			s.A("font-weight", "600")
		}
		s.Text(t)
		y += lineWords
	}
	if t := k.u.Depth(d.TotalDepth); t != "" {
		mid(sizeWords+1, t, k.c.Ink, true)
	} else {
		mid(sizeSmall, "depth not recorded", k.c.Muted, false)
	}
	switch yield := k.u.Yield(d.Yield); {
	case d.Dry:
		mid(sizeSmall+0.5, "dry hole", k.c.Ink, true)
	case yield != "":
		mid(sizeSmall+0.5, "yields "+held(yield), k.c.Water, true)
	}
	y = k.footY
	x := 10.0
	if k.wide {
		x = 18
	}
	for _, t := range notes {
		s.line1(x, y, sizeSmall, t, k.c.Muted, false, false)
		y += lineSmall
	}
}

// undrawn counts what could not be drawn: 'casing, grout (2)'.
func undrawn(kinds []string, u say.System) string {
	var order []string
	count := map[string]int{}
	for _, kind := range kinds {
		if count[kind]++; count[kind] == 1 {
			order = append(order, kind)
		}
	}
	for i, kind := range order {
		if n := count[kind]; n > 1 {
			order[i] += " (" + u.Figure(float64(n), 0) + ")"
		}
	}
	return strings.Join(order, ", ")
}

// notes is what must be said in words, wrapped to the width.
func (k *columnSheet) notes() []string {
	d := k.d
	var all []string
	if d.BottomM <= 0 {
		all = append(all, "The record gives no depths, so there is nothing to draw.")
	}
	if d.Bedrock.Depth.Qualifier == records.Missing && len(d.Strata) > 0 {
		t := "Depth to sound bedrock cannot be told from this log."
		if d.Bedrock.Why != "" {
			t += " " + d.Bedrock.Why
		}
		all = append(all, t)
	}
	if d.Disagree && d.Bedrock.Why != "" {
		all = append(all, d.Bedrock.Why)
	}
	if t := undrawn(d.Undrawn, k.u); t != "" {
		all = append(all, "Recorded without usable depths, so not drawn: "+t+".")
	}
	if n := len(d.Unplaced); n > 0 {
		t := "Logged without usable depths, so not drawn: "
		for i, w := range d.Unplaced {
			if i > 0 {
				t += "; "
			}
			if w == "" {
				w = "a stratum without words"
			}
			t += "“" + clip(w, 200) + "”"
			if i == 7 && n > 8 {
				t += " and " + k.u.Figure(float64(n-8), 0) + " more"
				break
			}
		}
		all = append(all, t+".")
	}
	margin := 20.0
	if k.wide {
		margin = 36
	}
	var out []string
	for _, t := range all {
		lines, _ := Wrap(t, sizeSmall, false, k.w-margin, 6)
		out = append(out, lines...)
	}
	return out
}
