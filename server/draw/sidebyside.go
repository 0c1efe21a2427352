package draw

import (
	"math"
	"strconv"

	"tallybook/server/say"
)

// Hang is what the columns of SideBySide are hung on.
type Hang uint8

// Columns hang on the ground, each from its own, or on sea level, each from
// its ground's elevation.
const (
	HangGround Hang = iota
	HangSeaLevel
)

// MostColumns is the most columns that SideBySide draws; it says how many it
// left out.
const MostColumns = 8

// leastColumn is the least width of one column, pixels. Narrower pages scroll.
const leastColumn = 208.0

// SideBySideWidth is the width that SideBySide draws n columns on a page of
// width px: the page's own where they fit, else as much as they need, for the
// page to scroll.
func SideBySideWidth(width float64, n int) float64 {
	o := Options{Width: width}
	n = min(max(n, 1), MostColumns)
	return max(o.width(), 60+leastColumn*float64(n)+10)
}

// SideBySide draws up to eight logs on one scale of depth, or of elevation, in
// the order given, with a common legend, as a whole SVG document. It is a pure
// function of its arguments. Hung on sea level, a column whose elevation is
// not known is not drawn, and says so.
func SideBySide(columns []ColumnData, o Options) []byte {
	k := &sideSheet{o: o, u: o.Units, c: o.Theme.Colours()}
	if k.cols = columns; len(columns) > MostColumns {
		k.cols = columns[:MostColumns]
		k.left = len(columns) - MostColumns
	}
	return k.render().Bytes()
}

// sideSheet is one SideBySide being laid out.
type sideSheet struct {
	cols []ColumnData
	left int // columns left out
	o    Options
	u    say.System
	c    Colours

	w, axisX, colW, ground float64
	y0, h                  float64
	topM                   float64 // of the scale: elevation of the highest ground, or 0
	spanM                  float64 // from the top of the scale to its bottom
	columns                []sideColumn
}

type sideColumn struct {
	d      *ColumnData
	x      float64
	drawn  bool
	drop   float64 // of the ground below the top of the scale, metres
	head   []headLine
	labels []label
	tops   []float64
	sc     Scale
}

type headLine struct {
	text, fill string
	size       float64
	bold       bool
}

func (k *sideSheet) render() *SVG {
	n := max(len(k.cols), 1)
	k.w = SideBySideWidth(k.o.width(), n)
	k.scale()
	k.axisX = max(50, k.axisWidth()+16)
	k.colW = (k.w - k.axisX - 10) / float64(n)
	k.ground = min(max(k.colW*0.32, 64), 104)
	headH := k.heads()
	k.y0 = 40 + headH + 34
	for i := range k.columns {
		if c := &k.columns[i]; c.drawn {
			k.labels(c, k.mostLines(c))
		}
	}
	k.h = math.Ceil(max(naturalHeight(k.spanM), 260))
	for range 8 {
		if k.h >= mostHeight || !k.crowded() {
			break
		}
		k.h = math.Ceil(min(k.h*1.15, mostHeight))
	}
	for i := range k.columns {
		k.thin(&k.columns[i])
	}
	legendY := k.y0 + k.h + 66
	for i := range k.columns {
		c := &k.columns[i]
		c.sc = Scale{PerUnit: k.u.LengthUnit().FromBase(1), PxPerM: k.h / k.spanM}
		c.sc.Zero = k.y0 + c.drop*c.sc.PxPerM
		c.tops = stackLabels(c.labels, c.sc, c.sc.Zero-8, max(c.sc.Y(c.d.BottomM)+spare, c.sc.Zero+labelRoom(c.labels)))
		if n := len(c.tops); n > 0 {
			legendY = max(legendY, c.tops[n-1]+c.labels[n-1].height+34)
		}
	}

	legend := k.legend()
	height := legendY + legend.height + 12
	s := newSheet(k.o.Prefix, k.w, math.Ceil(height), k.c, k.title(), k.prose())
	s.Start("defs").Open()
	holeDefs(s, k.o.Theme)
	k.o.patterns().Defs(s, k.o.groundCodes(k.cols), k.o.Theme)
	s.Close()
	s.Line()
	k.axis(s)
	k.join(s)
	for i := range k.columns {
		k.column(s, &k.columns[i])
	}
	if len(k.cols) == 0 {
		s.line1(k.axisX, k.y0+40, sizeWords, "No wells were chosen.", k.c.Muted, false, false)
	}
	legend.draw(s, k.axisX, legendY)
	return s
}

// axisWidth is the width of the axis's longest figure.
func (k *sideSheet) axisWidth() float64 {
	decimals := 0
	if k.u.LengthUnit().FromBase(k.spanM) < 30 {
		decimals = 1
	}
	w := 0.0
	for _, m := range [...]float64{k.spanM, k.topM, k.topM - k.spanM} {
		v := k.u.LengthUnit().FromBase(m)
		t := k.u.Figure(v, 0)
		if decimals > 0 {
			t += ".5"
		}
		w = max(w, TextWidth(t, sizeSmall, false))
	}
	return w
}

// scale finds the scale: from ground down, or from the highest ground.
func (k *sideSheet) scale() {
	for i := range k.cols {
		c := sideColumn{d: &k.cols[i], drawn: k.cols[i].BottomM > 0}
		if k.o.Hang == HangSeaLevel && !c.d.HasElevation {
			c.drawn = false
		}
		k.columns = append(k.columns, c)
	}
	first := true
	for _, c := range k.columns {
		if k.o.Hang == HangSeaLevel && c.drawn && (first || c.d.ElevationM > k.topM) {
			k.topM, first = c.d.ElevationM, false
		}
	}
	for i := range k.columns {
		c := &k.columns[i]
		if !c.drawn {
			continue
		}
		if k.o.Hang == HangSeaLevel {
			c.drop = k.topM - c.d.ElevationM
		}
		k.spanM = max(k.spanM, c.drop+c.d.BottomM)
	}
	if !(k.spanM > 0) {
		k.spanM = 1
	}
}

// column draws one well.
func (k *sideSheet) column(s *SVG, c *sideColumn) {
	s.Start("g")
	if c.d.UID != "" {
		s.A("data-well", c.d.UID)
	}
	s.Open()
	y := 34.0
	for _, l := range c.head {
		y += (l.size + 5) / 2
		s.line1(c.x, y, l.size, l.text, l.fill, l.bold, false)
		y += (l.size + 5) / 2
	}
	if !c.drawn {
		t := "This record gives no depths."
		if k.o.Hang == HangSeaLevel && !c.d.HasElevation {
			t = "The elevation of the ground here is not known, so this log cannot be hung on sea level."
		}
		lines, _ := Wrap(t, sizeSmall+0.5, false, k.colW-30, 8)
		for i, l := range lines {
			s.line1(c.x, k.y0+20+float64(i)*lineSmall, sizeSmall+0.5, l, k.c.Muted, false, false)
		}
		s.Close()
		return
	}
	f := &holeFrame{SVG: s, c: k.c, d: c.d, sc: c.sc, x0: c.x, x1: c.x + k.ground, half: 9.5, ann: 5, over: 6, paint: k.o.paint(s)}
	f.draw()
	s.Line()
	s.drawLabels(c.labels, c.tops, c.sc, c.x+k.ground+22, 5, k.c.Paper)
	foot := c.sc.Y(c.d.BottomM) + 17
	s.Start("text").N("x", f.cx()).N("y", foot).N("font-size", 13).A("font-weight", "600").A("text-anchor", "middle").
		Text(Shorten(k.u.Depth(c.d.TotalDepth), 13, true, k.ground+26))
	s.Close()
	s.Line()
}

// axis draws the common scale with hairlines across.
func (k *sideSheet) axis(s *SVG) {
	sc := Scale{PerUnit: k.u.LengthUnit().FromBase(1), PxPerM: k.h / k.spanM, Zero: k.y0}
	unit := k.u.LengthUnit().Symbol()
	from, to, head := 0.0, k.spanM, "depth, "+unit
	if k.o.Hang == HangSeaLevel {
		sc.Zero, sc.PxPerM = k.y0+k.topM*sc.PxPerM, -sc.PxPerM
		from, to = k.topM-k.spanM, k.topM
		head = "elevation, " + unit
		if d := k.datum(); d != "" {
			head += " above " + d
		}
	}
	s.line1(16, k.y0-24, sizeSmall, Shorten(head, sizeSmall, false, k.w-26), k.c.Muted, false, false)
	s.hairTicks(sc.Ticks(from, to, 44), sc, k.c, k.u, k.axisX, k.w-10)
	s.Line()
}

// datum names the vertical datum where all columns share one.
func (k *sideSheet) datum() string {
	name, first := "", true
	for _, c := range k.columns {
		if !c.drawn {
			continue
		}
		if !first && c.d.VertDatum != name {
			return ""
		}
		name, first = c.d.VertDatum, false
	}
	return clip(name, 24)
}

// joinable says whether a column's pick can be joined to the next one's: only
// picks that are numbers are; a bound breaks the line.
func (k *sideSheet) joinable(i int) bool {
	number := func(c *sideColumn) bool {
		m, ok := c.d.Bedrock.Depth.Number()
		return ok && c.drawn && finite(float64(m))
	}
	return k.o.Join && i+1 < len(k.columns) && number(&k.columns[i]) && number(&k.columns[i+1])
}

// join draws the picks of bedrock joined from column to column.
func (k *sideSheet) join(s *SVG) {
	var p Path
	for i := range k.columns {
		if !k.joinable(i) {
			continue
		}
		a, b := &k.columns[i], &k.columns[i+1]
		xa, ya := a.x+k.ground+6, a.sc.Y(float64(a.d.Bedrock.Depth.Value))
		xb, yb := b.x-6, b.sc.Y(float64(b.d.Bedrock.Depth.Value))
		mid := (xa + xb) / 2
		p.M(xa, ya).C(mid, ya, mid, yb, xb, yb)
	}
	if p.Empty() {
		return
	}
	s.Start("path").D(&p).A("stroke", k.c.Signal).N("stroke-width", 1.2).A("stroke-dasharray", "5 4").A("fill", "none").End()
}

func (k *sideSheet) title() string {
	if k.o.Title != "" {
		return k.o.Title
	}
	return strconv.Itoa(len(k.cols)) + " logs side by side"
}

func (k *sideSheet) prose() string {
	t := ""
	for i := range k.columns {
		d := k.columns[i].d
		name := clip(d.Number, 60)
		if name == "" {
			name = "A well without a number"
		}
		t += joined(name, k.where(d)) + ": " + clip(d.prose(k.u), 700) + " "
	}
	return clip(t, proseRunes)
}
