package draw

import (
	"math"
	"strconv"
)

// Sizes of the signs, pixels.
const (
	dotR      = 4.5
	coreW     = 9.0
	coreMaxH  = 62.0
	coreMinH  = 10.0
	wellLabel = 11.0
)

// coreBox is where a core stands: hung from its place on the ground.
func (m *mapSheet) coreBox(w *MapWell) rect {
	x, y := m.d.View.Pixel(w.Lon, w.Lat)
	h := coreMinH
	if w.DepthM > 0 && m.d.CoreM > 0 {
		h = max(coreMinH, min(coreMaxH, w.DepthM/m.d.CoreM*coreMaxH))
	}
	return rect{x - coreW/2, y, x + coreW/2, y + h}
}

func (m *mapSheet) wellBox(w *MapWell) rect {
	if m.d.Cores {
		b := m.coreBox(w)
		return rect{b.x0 - 2, b.y0 - 3, b.x1 + 8, b.y1 + 3}
	}
	x, y := m.d.View.Pixel(w.Lon, w.Lat)
	return rect{x - dotR - 1, y - dotR - 1, x + dotR + 1, y + dotR + 1}
}

// reserveWells keeps labels off the wells' signs.
func (m *mapSheet) reserveWells() {
	for i := range m.d.Wells {
		m.taken.add(m.wellBox(&m.d.Wells[i]))
	}
	if s := m.d.Site; s != nil {
		x, y := m.d.View.Pixel(s.Lon, s.Lat)
		m.taken.add(rect{x - 18, y - 18, x + 18, y + 18})
	}
}

// link opens what leads to href and is called by its title.
func (m *mapSheet) link(href, title string) {
	if href == "" {
		m.Start("g").Open()
	} else {
		m.Start("a").Link(href).Open()
	}
	m.Title(title)
}

// hexes draws the cells of many wells: the colour of the median, the count as
// the size of the cell's core.
func (m *mapSheet) hexes() {
	if len(m.d.Hexes) == 0 {
		return
	}
	most := 1
	for i := range m.d.Hexes {
		most = max(most, m.d.Hexes[i].Count)
	}
	for i := range m.d.Hexes {
		h := &m.d.Hexes[i]
		m.link(h.Href, h.Title)
		fill, ink := m.c.Paper, m.c.Muted
		if h.Known {
			fill, ink = m.d.Key.Ramp.At(h.Share), m.c.Ink
		}
		// Area grows with the logarithm of the count, so that one busy town
		// does not make all the rest vanish.
		r := h.R * (0.55 + 0.41*math.Log1p(float64(h.Count))/math.Log1p(float64(most)))
		var p Path
		for k := range 6 {
			a := math.Pi/6 + float64(k)*math.Pi/3
			x, y := h.X+r*math.Cos(a), h.Y+r*math.Sin(a)
			if k == 0 {
				p.M(x, y)
			} else {
				p.L(x, y)
			}
		}
		m.Start("path").D(p.Z()).A("fill", fill).A("stroke", ink).N("stroke-width", 0.8).A("stroke-opacity", "0.6").End()
		text := strconv.Itoa(h.Count)
		if h.Count >= 10000 {
			text = strconv.Itoa(h.Count/1000) + "k"
		}
		size := 11.0
		if TextWidth(text, size, false) < 1.6*r && r > 9 {
			m.halo(h.X, h.Y+4, size, m.c.Ink, "middle", "", text)
		}
		m.Close()
	}
	m.Line()
}

// wells draws each well as a dot or as a small core.
func (m *mapSheet) wells() {
	m.Start("g").A("data-part", "wells").A("stroke", m.c.Ink).N("stroke-width", 0.8).Open()
	for i := range m.d.Wells {
		w := &m.d.Wells[i]
		m.link(w.Href, w.Title)
		if m.d.Cores {
			m.core(w)
		} else {
			m.dot(w)
		}
		m.Close()
	}
	m.Close()
	m.Line()
}

// dot is a well from the middle distance: the colour of the chosen quantity,
// hollow when the value is only a bound, a small cross when there is none.
func (m *mapSheet) dot(w *MapWell) {
	x, y := m.d.View.Pixel(w.Lon, w.Lat)
	colour := m.d.Key.Ramp.At(w.Share)
	switch {
	case !w.Known:
		var p Path
		p.M(x-3, y-3).L(x+3, y+3).M(x-3, y+3).L(x+3, y-3)
		m.Start("path").D(&p).A("stroke", m.c.Muted).N("stroke-width", 1.2).End()
	case w.Bound:
		m.Start("circle").N("cx", x).N("cy", y).N("r", dotR-1).A("fill", m.c.Paper).
			A("stroke", m.c.Ink).N("stroke-width", 3.4).End()
		m.Start("circle").N("cx", x).N("cy", y).N("r", dotR-1).A("fill", "none").
			A("stroke", colour).N("stroke-width", 1.8).End()
	default:
		m.Start("circle").N("cx", math.Round(x*10)/10).N("cy", math.Round(y*10)/10).N("r", dotR).A("fill", colour).End()
	}
	if w.Chosen {
		m.Start("circle").N("cx", x).N("cy", y).N("r", dotR+3.5).A("fill", "none").
			A("stroke", m.c.Signal).N("stroke-width", 2).End()
	}
}

// core is a well close by, as it stands in the ground: overburden over rock
// to a common scale, a tick where water came.
func (m *mapSheet) core(w *MapWell) {
	b := m.coreBox(w)
	overburden, rock := coreTints[min(m.t, Print)][0], coreTints[min(m.t, Print)][1]
	h := b.y1 - b.y0
	m.Start("rect").N("x", b.x0).N("y", b.y0).N("width", coreW).N("height", h).A("fill", m.c.Air).A("stroke", "none").End()
	px := func(depthM float64) float64 {
		if w.DepthM <= 0 {
			return 0
		}
		return min(max(depthM/w.DepthM, 0), 1) * h
	}
	if w.BedrockM >= 0 && w.DepthM > 0 {
		top := px(w.BedrockM)
		m.Start("rect").N("x", b.x0).N("y", b.y0).N("width", coreW).N("height", top).A("fill", overburden).A("stroke", "none").End()
		if !w.Deeper {
			m.Start("rect").N("x", b.x0).N("y", b.y0+top).N("width", coreW).N("height", h-top).A("fill", rock).A("stroke", "none").End()
		}
	}
	stroke := m.Start("rect").N("x", b.x0).N("y", b.y0).N("width", coreW).N("height", h).A("fill", "none").
		A("stroke", m.c.Ink).N("stroke-width", 1)
	if w.Deeper || w.DepthM <= 0 {
		stroke.A("stroke-dasharray", "2 1.6")
	}
	stroke.End()
	if w.DepthM > 0 {
		for _, s := range w.StrikesM {
			y := b.y0 + px(s)
			var p Path
			p.M(b.x1, y).L(b.x1+5, y-2.6).L(b.x1+5, y+2.6).Z()
			m.Start("path").D(&p).A("fill", m.c.Water).A("stroke", "none").End()
		}
	}
	if w.Dry {
		var p Path
		p.M(b.x1+2, b.y1-5).L(b.x1+7, b.y1).M(b.x1+2, b.y1).L(b.x1+7, b.y1-5)
		m.Start("path").D(&p).A("stroke", m.c.Muted).N("stroke-width", 1.3).End()
	}
	// The ground, and the place itself.
	m.Start("line").N("x1", b.x0-3).N("y1", b.y0).N("x2", b.x1+3).N("y2", b.y0).A("stroke", m.c.Ink).N("stroke-width", 1.4).End()
	if w.Chosen {
		m.Start("rect").N("x", b.x0-4).N("y", b.y0-4).N("width", coreW+8).N("height", h+8).N("rx", 3).
			A("fill", "none").A("stroke", m.c.Signal).N("stroke-width", 2).End()
	}
}

// coreTints are overburden and rock, in the tones of till and schist.
var coreTints = [themeCount][2]string{
	Light: {"#ecdfb4", "#6e6b66"},
	Dark:  {"#8d7f52", "#a9a69e"},
	Print: {"#f0e6c4", "#7a7772"},
}

// wellLabels writes the number of each well where there is room for it.
func (m *mapSheet) wellLabels() {
	for i := range m.d.Wells {
		w := &m.d.Wells[i]
		if w.Label == "" || !m.d.Cores && !w.Chosen {
			continue
		}
		x, _ := m.d.View.Pixel(w.Lon, w.Lat)
		b := m.wellBox(w)
		for _, at := range [][2]float64{
			{x, b.y0 - wellLabel*0.62}, {x, b.y1 + wellLabel*0.62},
		} {
			box := centredBox(at[0], at[1], wellLabel, false, w.Label)
			if box.within(m.frame) && m.taken.free(box) {
				m.taken.add(box)
				m.halo(at[0], at[1]+wellLabel*0.35, wellLabel, m.c.Muted, "middle", "", w.Label)
				break
			}
		}
	}
	m.Line()
}

// site draws the place that was asked about, with rings of distance.
func (m *mapSheet) site() {
	s := m.d.Site
	if s == nil {
		return
	}
	x, y := m.d.View.Pixel(s.Lon, s.Lat)
	for i, r := range s.RingsM {
		px := r / m.d.View.MPerPixel
		if px < 24 || px > 4*max(m.d.View.W, m.d.View.H) {
			continue
		}
		m.Start("circle").N("cx", x).N("cy", y).N("r", px).A("fill", "none").A("stroke", m.c.Signal).
			N("stroke-width", 1).A("stroke-dasharray", "4 4").A("stroke-opacity", "0.8").End()
		tx, ty := x+px*math.Sin(0.75*math.Pi), y-px*math.Cos(0.75*math.Pi)
		box := centredBox(tx, ty, 11, false, s.RingText[i])
		if box.within(m.frame) && m.taken.free(box) {
			m.taken.add(box)
			m.halo(tx, ty+4, 11, m.c.Signal, "middle", "", s.RingText[i])
		}
	}
	var p Path
	for _, a := range []float64{0, 0.5, 1, 1.5} {
		c, sn := math.Cos(a*math.Pi), math.Sin(a*math.Pi)
		p.M(x+8*c, y+8*sn).L(x+17*c, y+17*sn)
	}
	m.Start("circle").N("cx", x).N("cy", y).N("r", 7).A("fill", m.c.Paper).A("stroke", m.c.Signal).N("stroke-width", 3).End()
	m.Start("path").D(&p).A("stroke", m.c.Signal).N("stroke-width", 3).End()
	m.Line()
}
