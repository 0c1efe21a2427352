package draw

// fontFamily is the system's own sans: nothing is downloaded for a drawing.
const mapFont = `system-ui, "Segoe UI", Roboto, "DejaVu Sans", sans-serif`

// mapSheet is a map while it is drawn.
type mapSheet struct {
	*SVG
	d      *MapData
	t      Theme
	c      Colours
	frame  rect
	legend *mapLegend // nil without a title
	taken  *occupied  // what labels must stay clear of
	ground *mapGround // nil without a surface
}

// Map draws a map. The same data give the same bytes.
func Map(d *MapData, t Theme, prefix string) []byte {
	m := &mapSheet{
		SVG: NewSVG(prefix), d: d, t: t, c: t.Colours(),
		frame: rect{0, 0, d.View.W, d.View.H}, taken: newOccupied(),
	}
	if d.Surface != nil {
		m.ground = groundOf(d.Surface)
	}
	m.Start("svg").A("xmlns", "http://www.w3.org/2000/svg").
		A("viewBox", "0 0 "+trim(d.View.W)+" "+trim(d.View.H)).
		N("width", d.View.W).N("height", d.View.H).
		A("role", "img").A("aria-labelledby", m.ID("title")).
		A("font-family", mapFont).A("font-size", "12").A("fill", m.c.Ink).
		A("data-lon", degrees(d.View.Lon)).A("data-lat", degrees(d.View.Lat)).
		A("data-mpp", degrees(d.View.MPerPixel)).Open()
	m.Start("title").IDAttr("title").Text(d.Title)
	m.defs()
	m.Start("rect").N("width", d.View.W).N("height", d.View.H).A("fill", m.c.Paper).End()
	m.Line()
	m.reserveFrame()
	m.reserveWells()
	m.reserveSeen()
	m.reserveTrack()
	m.Start("g").A("clip-path", m.URL("frame")).Open()
	m.surface()
	m.graticule()
	m.layers()
	m.hexes()
	m.seen()
	m.site()
	m.track()
	m.area()
	m.wells()
	m.surfaceLabels()
	m.layerNames()
	m.wellLabels()
	m.Close()
	m.Line()
	m.key()
	m.scaleBar()
	m.north()
	return m.Bytes()
}

// defs holds the clip of the frame and the hatching of unsupported ground.
func (m *mapSheet) defs() {
	m.Start("defs").Open()
	m.Start("clipPath").IDAttr("frame").Open()
	m.Start("rect").N("width", m.d.View.W).N("height", m.d.View.H).End()
	m.Close()
	m.Start("pattern").IDAttr("bare").N("width", 7).N("height", 7).
		A("patternUnits", "userSpaceOnUse").A("patternTransform", "rotate(45)").Open()
	m.Start("rect").N("width", 7).N("height", 7).A("fill", m.c.Paper).End()
	m.Start("line").N("x1", 0).N("y1", 0).N("x2", 0).N("y2", 7).
		A("stroke", m.c.Line).N("stroke-width", 0.7).A("stroke-opacity", "0.55").End()
	m.Close()
	m.Close()
	m.Line()
}

// halo writes text that stays legible over anything: the paper's colour
// behind the letters.
func (m *mapSheet) halo(x, y float64, size float64, fill, anchor, weight, text string) {
	m.Start("text").N("x", x).N("y", y).N("font-size", size).A("fill", fill)
	if anchor != "" {
		m.A("text-anchor", anchor)
	}
	if weight != "" {
		m.A("font-weight", weight)
	}
	m.A("stroke", m.c.Paper).N("stroke-width", 3).A("stroke-linejoin", "round").
		A("paint-order", "stroke").Text(text)
}

// centredBox is the box of a text of one line whose middle is at x, y.
func centredBox(x, y, size float64, bold bool, text string) rect {
	w := TextWidth(text, size, bold)
	return rect{x - w/2 - 2, y - size*0.62, x + w/2 + 2, y + size*0.62}
}
