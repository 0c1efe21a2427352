package draw

import (
	"strconv"
)

// legendItem is a swatch or a mark with its words.
type legendItem struct {
	text string
	mark func(s *SVG, x, y float64) // about 26 px wide, its middle at y
	w    float64
}

const (
	legendMark = 34.0
	legendLine = 24.0
	legendGap  = 22.0
)

// legend is the common key: the materials used first, then the marks used.
type legend struct {
	items  []legendItem
	rows   [][]legendItem
	notes  []string
	height float64
	c      Colours
}

func (k *sideSheet) legend() *legend {
	g := &legend{c: k.c}
	p := k.o.patterns()
	for _, code := range k.o.groundCodes(k.cols) {
		m, _ := p.v.Material(code)
		g.add(m.Label, func(s *SVG, x, y float64) { p.Swatch(s, code, x, y-8, 26, 16, k.o.Theme) })
	}
	materials := len(g.items)
	k.marks(g)
	g.flow(k.w-k.axisX-14, materials)
	if k.left > 0 {
		g.notes = append(g.notes, strconv.Itoa(k.left)+" more chosen, not drawn: no more than "+strconv.Itoa(MostColumns)+" logs stand side by side.")
	}
	g.height = float64(len(g.rows))*legendLine + float64(len(g.notes))*lineSmall + 6
	return g
}

func (g *legend) add(t string, mark func(s *SVG, x, y float64)) {
	g.items = append(g.items, legendItem{t, mark, legendMark + TextWidth(t, sizeSmall, false) + legendGap})
}

// marks adds the marks that at least one column bears.
func (k *sideSheet) marks(g *legend) {
	joined := false
	var drawn []*ColumnData
	for i := range k.columns {
		joined = joined || k.joinable(i)
		if k.columns[i].drawn {
			drawn = append(drawn, k.columns[i].d)
		}
	}
	g.columnMarks(drawn, joined)
}

// keyLine draws a line in the picture of a legend's item.
func keyLine(s *SVG, x, y float64, colour string, width float64, dash string) {
	var p Path
	p.M(x, y).H(x + 26)
	s.Start("path").D(&p).A("stroke", colour).N("stroke-width", width)
	if dash != "" {
		s.A("stroke-dasharray", dash)
	}
	s.End()
}

// columnMarks adds the marks that at least one of the columns bears; joined
// says whether picks of bedrock are joined from one to the next.
func (g *legend) columnMarks(columns []*ColumnData, joined bool) {
	var own, ownWater, rock, first, level, strike, grout, casing, gap bool
	for _, d := range columns {
		_, ok := depthOf(d.Bedrock.Depth)
		rock = rock || ok
		_, ok = d.firstRockApart()
		first = first || ok || len(d.Others) > 0
		_, ok = d.standingM()
		level = level || ok
		strike = strike || len(d.Strikes) > 0
		grout = grout || len(d.Grout) > 0
		casing = casing || len(d.Casing) > 0
		gap = gap || len(d.Gaps) > 0
		for j := range d.Own {
			own, ownWater = own || !d.Own[j].Water, ownWater || d.Own[j].Water
		}
	}
	c := g.c
	if rock {
		t := "top of sound bedrock"
		g.add(t, func(s *SVG, x, y float64) { keyLine(s, x, y, c.Signal, 2.4, "") })
		if joined {
			g.add("joined along the line, a guess", func(s *SVG, x, y float64) { keyLine(s, x, y, c.Signal, 1.2, "5 4") })
		}
	}
	if first {
		g.add("first rock, or another pick", func(s *SVG, x, y float64) {
			var p Path
			p.M(x, y).H(x+9).M(x+17, y).H(x + 26)
			s.Start("path").D(&p).A("stroke", c.Ink).N("stroke-width", 1.6).End()
		})
	}
	if own {
		g.add("bedrock as picked by the reviewer", func(s *SVG, x, y float64) { ownMark(s, c, x+13, y, false, "") })
	}
	if ownWater {
		g.add("water as picked by the reviewer", func(s *SVG, x, y float64) { ownMark(s, c, x+13, y, true, "") })
	}
	if level {
		g.add("static water level", func(s *SVG, x, y float64) {
			var p Path
			p.M(x+7, y-5).H(x+19).L(x+13, y+3).Z()
			s.Start("path").D(&p).A("fill", c.Water).End()
			keyLine(s, x, y+4, c.Water, 1.5, "")
		})
	}
	if strike {
		g.add("water met", func(s *SVG, x, y float64) {
			var p Path
			p.M(x, y).L(x+9, y-4.5).V(y + 4.5).Z()
			s.Start("path").D(&p).A("fill", c.Water).End()
			var l Path
			l.M(x+8, y).H(x + 26)
			s.Start("path").D(&l).A("stroke", c.Water).N("stroke-width", 1.2).End()
		})
	}
	box := func(fill string) func(s *SVG, x, y float64) {
		return func(s *SVG, x, y float64) {
			s.Start("rect").N("x", x).N("y", y-8).N("width", 26).N("height", 16).A("fill", s.URL(fill)).End()
		}
	}
	if casing {
		g.add("casing to its seat", func(s *SVG, x, y float64) {
			var p Path
			p.M(x+8, y-8).V(y+8).M(x+18, y-8).V(y + 8)
			s.Start("path").D(&p).A("stroke", c.Steel).N("stroke-width", 2.4).End()
		})
	}
	if grout {
		g.add("grout", box("grout"))
	}
	if gap {
		g.add("not logged", box("gap"))
	}
}

// flow parts the items into rows; the marks begin a row of their own.
func (g *legend) flow(width float64, materials int) {
	var row []legendItem
	x := 0.0
	for i, it := range g.items {
		if most := width - legendMark; it.w-legendMark-legendGap > most {
			it.text = Shorten(it.text, sizeSmall, false, most)
		}
		if len(row) > 0 && (x+it.w-legendGap > width || i == materials) {
			g.rows = append(g.rows, row)
			row, x = nil, 0
		}
		row = append(row, it)
		x += it.w
	}
	if len(row) > 0 {
		g.rows = append(g.rows, row)
	}
}

func (g *legend) draw(s *SVG, x0, y float64) {
	for _, row := range g.rows {
		x := x0
		for _, it := range row {
			it.mark(s, x, y)
			s.line1(x+legendMark, y, sizeSmall, it.text, g.c.Muted, false, false)
			x += it.w
		}
		y += legendLine
	}
	for _, t := range g.notes {
		s.line1(x0, y, sizeSmall, t, g.c.Muted, false, false)
		y += lineSmall
	}
}
