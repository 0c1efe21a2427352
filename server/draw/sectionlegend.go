package draw

import "strconv"

// legend is the key: the ground's materials, the marks, what is drawn between
// the wells, and what must be said.
func (k *sectionSheet) legend() *legend {
	g := &legend{c: k.c}
	p := k.o.patterns()
	data := k.columnData()
	for _, code := range k.o.groundCodes(data) {
		m, _ := p.v.Material(code)
		g.add(m.Label, func(s *SVG, x, y float64) {
			p.Swatch(s, code, x, y-8, 26, 16, k.o.Theme)
		})
	}
	materials := len(g.items)
	columns := make([]*ColumnData, len(data))
	read := false
	for i := range data {
		columns[i] = &data[i]
		read = read || k.cols[i].d.GroundRead
	}
	g.columnMarks(columns, false)
	k.between(g, read && !k.d.ByDepth)
	g.flow(k.w-k.axisX-14, materials)
	note := func(t string) {
		lines, _ := Wrap(t, sizeSmall, false, k.w-k.axisX-14, 3)
		g.notes = append(g.notes, lines...)
	}
	if n := len(k.d.Wells) - len(k.cols); n > 0 {
		note(strconv.Itoa(n) + " more in the corridor, not drawn: the elevation of the ground there is not known.")
	}
	if k.movedM > 0 {
		note(k.movedWords())
	}
	note("Drawn from records, and no survey: look at the ground itself and keep to the local code before anything is dug, drilled or built by it.")
	g.height = float64(len(g.rows))*legendLine + float64(len(g.notes))*lineSmall + 6
	return g
}

// between adds what is drawn between the wells.
func (k *sectionSheet) between(g *legend, read bool) {
	var range80, open, flat, bare, ground, between bool
	for i := range k.d.Stations {
		t := &k.d.Stations[i]
		told := k.told(t)
		range80 = range80 || told && !t.Flat
		open = open || told && kindOf(t) == rangeOpen
		flat = flat || told && t.Flat
		bare = bare || !told && k.d.Estimated
		if !k.d.ByDepth && !k.gone(t.GroundM) {
			ground, between = ground || !t.GroundRead, between || t.GroundRead
		}
	}
	c := k.c
	band := func(opacity float64, middle bool) func(s *SVG, x, y float64) {
		return func(s *SVG, x, y float64) {
			s.Start("rect").N("x", x).N("y", y-7).N("width", 26).N("height", 14).A("fill", c.Signal).N("fill-opacity", opacity).End()
			keyLine(s, x, y-7, c.Signal, 0.8, "1.5 3")
			keyLine(s, x, y+7, c.Signal, 0.8, "1.5 3")
			if middle {
				keyLine(s, x, y, c.Signal, 1.5, "7 4")
			}
		}
	}
	if range80 {
		g.add("bedrock as wells around tell it: the middle, and 8 in 10", band(0.15, true))
	}
	if open {
		g.add("how deep bedrock may lie is not known", func(s *SVG, x, y float64) {
			s.Start("rect").N("x", x).N("y", y-7).N("width", 26).N("height", 15).A("fill", c.Signal).N("fill-opacity", 0.07).End()
			keyLine(s, x, y-7, c.Signal, 0.8, "1.5 3")
		})
	}
	if flat {
		g.add("8 in 10 of the whole area: near wells tell no more", band(0.07, false))
	}
	if bare {
		g.add("no well near enough to tell", func(s *SVG, x, y float64) {
			s.Start("rect").N("x", x).N("y", y-8).N("width", 26).N("height", 16).A("fill", s.URL("gap")).End()
		})
	}
	if ground {
		g.add("ground along the line", func(s *SVG, x, y float64) { keyLine(s, x, y, c.Ink, 1.2, "") })
	}
	if between {
		g.add("ground, read between wells", func(s *SVG, x, y float64) { keyLine(s, x, y, c.Ink, 1.2, "6 3") })
	}
	marked := false
	for i := range k.cols {
		marked = marked || len(k.cols[i].d.Marked) > 0 && !k.d.TrustMarked
	}
	if marked {
		g.add("pale: marked unreliable, and not gone by", func(s *SVG, x, y float64) {
			s.Start("rect").N("x", x+4).N("y", y-8).N("width", 18).N("height", 16).A("fill", c.Muted).N("fill-opacity", 0.3).A("stroke", c.Signal).N("stroke-width", 1).A("stroke-dasharray", "2 2").End()
		})
	}
	if read {
		g.add("a well whose own elevation is not recorded", func(s *SVG, x, y float64) { keyLine(s, x, y, c.Ink, 1.7, "3 2.5") })
	}
}
