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
	most := m.mostInHex()
	for i := range m.d.Hexes {
		h := &m.d.Hexes[i]
		r := hexR(h, most)
		m.taken.add(rect{h.X - r, h.Y - r, h.X + r, h.Y + r})
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

// hexPath is a hexagon with a corner up.
func hexPath(x, y, r float64) *Path {
	p := Path{tenths: true}
	for k := range 6 {
		a := math.Pi/6 + float64(k)*math.Pi/3
		cx, cy := x+r*math.Cos(a), y+r*math.Sin(a)
		if k == 0 {
			p.M(cx, cy)
		} else {
			p.L(cx, cy)
		}
	}
	return p.Z()
}

// hexR is how large a cell of many wells is drawn. It grows with the
// logarithm of the count, so that one busy town does not make all the rest
// vanish.
func hexR(h *MapHex, most int) float64 {
	return h.R * (0.42 + 0.54*math.Log1p(float64(h.Count))/math.Log1p(float64(max(most, 9))))
}

func (m *mapSheet) mostInHex() int {
	most := 1
	for i := range m.d.Hexes {
		most = max(most, m.d.Hexes[i].Count)
	}
	return most
}

// hexes draws the cells of many wells: the colour of the median, the count in
// figures and as the size.
func (m *mapSheet) hexes() {
	if len(m.d.Hexes) == 0 {
		return
	}
	most := m.mostInHex()
	m.Start("g").A("data-part", "hexes").A("stroke", m.c.Paper).N("stroke-width", 1.2).A("stroke-linejoin", "round").Open()
	for i := range m.d.Hexes {
		h := &m.d.Hexes[i]
		m.link(h.Href, h.Title)
		fill := m.c.Paper
		if h.Known {
			fill = m.d.Key.Ramp.At(h.Share)
		}
		r := hexR(h, most)
		m.Start("path").D(hexPath(h.X, h.Y, r)).A("fill", fill)
		if !h.Known {
			m.A("stroke", m.c.Muted)
		}
		m.End()
		text := countText(h.Count)
		const size = 11.0
		if TextWidth(text, size, false) < 1.7*r && r > 8 {
			ink := m.c.Ink
			if h.Known {
				ink = inkOn(fill)
			}
			m.Start("text").N("x", h.X).N("y", h.Y+4).N("font-size", size).A("fill", ink).A("stroke", "none").
				A("text-anchor", "middle").Text(text)
		}
		m.Close()
	}
	m.Close()
	m.Line()
}

// countText writes a count in few letters.
func countText(n int) string {
	switch {
	case n >= 1e6:
		return strconv.FormatFloat(float64(n)/1e6, 'f', 1, 64) + "M"
	case n >= 10000:
		return strconv.Itoa(n/1000) + "k"
	}
	return strconv.Itoa(n)
}

// inkOn is black or white, whichever is the more legible on a colour: one of
// the two always keeps 4.5:1.
func inkOn(fill string) string {
	const black, white = "#000000", "#ffffff"
	if contrastOf(fill, black) >= contrastOf(fill, white) {
		return black
	}
	return white
}

// contrastOf is the ratio of the luminances of two colours (WCAG 2.2, 'contrast
// ratio').
func contrastOf(a, b string) float64 {
	la, lb := luminance(a), luminance(b)
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

func luminance(hex string) float64 {
	r, g, b := rgbOf(hex)
	return 0.2126*linear(r) + 0.7152*linear(g) + 0.0722*linear(b)
}

// hidden says whether a well lies under the legend, where half a sign would
// tell a lie.
func (m *mapSheet) hidden(w *MapWell) bool {
	if m.legend == nil {
		return false
	}
	if m.d.Cores {
		return m.coreBox(w).touches(m.legend.box)
	}
	x, y := m.d.View.Pixel(w.Lon, w.Lat)
	return rect{x, y, x, y}.within(m.legend.box)
}

// wells draws each well as a dot or as a small core.
func (m *mapSheet) wells() {
	m.Start("g").A("data-part", "wells").A("stroke", m.c.Ink).N("stroke-width", 0.8).Open()
	for i := range m.d.Wells {
		w := &m.d.Wells[i]
		if m.hidden(w) {
			continue
		}
		m.link(w.Href, w.Title)
		if m.d.Cores {
			m.core(w, m.coreBox(w))
		} else {
			m.dot(w)
		}
		m.Close()
	}
	m.Close()
	m.Line()
}

func tenths(v float64) float64 { return math.Round(v*10) / 10 }

// dot is a well from the middle distance: the colour of the chosen quantity,
// hollow when the value is only a bound, a small cross when there is none.
func (m *mapSheet) dot(w *MapWell) {
	x, y := m.d.View.Pixel(w.Lon, w.Lat)
	x, y = tenths(x), tenths(y)
	colour := m.c.Paper
	if !m.d.Other {
		colour = m.d.Key.Ramp.At(w.Share)
	}
	switch {
	case !w.Known:
		m.cross(x, y)
	case w.Bound:
		m.ring(x, y, colour)
	default:
		m.Start("circle").N("cx", x).N("cy", y).N("r", dotR).A("fill", colour).End()
	}
	if w.Chosen {
		m.Start("circle").N("cx", x).N("cy", y).N("r", dotR+3.5).A("fill", "none").
			A("stroke", m.c.Signal).N("stroke-width", 2).End()
	}
}

// ring is the sign of a bound.
func (m *mapSheet) ring(x, y float64, colour string) {
	m.Start("circle").N("cx", x).N("cy", y).N("r", dotR-1).A("fill", m.c.Paper).N("stroke-width", 3.2).End()
	m.Start("circle").N("cx", x).N("cy", y).N("r", dotR-1).A("fill", "none").
		A("stroke", colour).N("stroke-width", 1.6).End()
}

// cross is the sign of a well that says nothing of what is shown.
func (m *mapSheet) cross(x, y float64) {
	p := Path{tenths: true}
	p.M(x-3, y-3).L(x+3, y+3).M(x-3, y+3).L(x+3, y-3)
	m.Start("path").D(&p).A("stroke", m.c.Muted).N("stroke-width", 1.2).End()
}

// core is a well close by, as it stands in the ground: overburden over rock
// to a common scale, a tick where water came.
func (m *mapSheet) core(w *MapWell, b rect) {
	b = rect{tenths(b.x0), tenths(b.y0), tenths(b.x1), tenths(b.y1)}
	overburden, rock := coreTints[min(m.t, Print)][0], coreTints[min(m.t, Print)][1]
	h := b.y1 - b.y0
	px := func(depthM float64) float64 {
		if w.DepthM <= 0 {
			return 0
		}
		return tenths(min(max(depthM/w.DepthM, 0), 1) * h)
	}
	bar := func(y, h float64, fill string) {
		if h > 0 {
			m.Start("rect").N("x", b.x0).N("y", y).N("width", coreW).N("height", h).A("fill", fill).A("stroke", "none").End()
		}
	}
	switch top := px(w.BedrockM); {
	case w.BedrockM < 0 || w.DepthM <= 0:
		bar(b.y0, h, m.c.Air)
	case w.Deeper:
		bar(b.y0, h, m.c.Air)
		bar(b.y0, top, overburden)
	default:
		bar(b.y0, top, overburden)
		bar(b.y0+top, h-top, rock)
	}
	stroke := m.Start("rect").N("x", b.x0).N("y", b.y0).N("width", coreW).N("height", h).A("fill", "none").
		N("stroke-width", 1)
	if w.Deeper || w.DepthM <= 0 {
		stroke.A("stroke-dasharray", "2 1.6")
	}
	stroke.End()
	if w.DepthM > 0 && len(w.StrikesM) > 0 {
		p := Path{tenths: true}
		for _, s := range w.StrikesM {
			y := b.y0 + px(s)
			p.M(b.x1+1, y).L(b.x1+7, y-3).L(b.x1+7, y+3).Z()
		}
		m.Start("path").D(&p).A("fill", m.c.Water).A("stroke", m.c.Paper).N("stroke-width", 0.8).End()
	}
	if w.Dry {
		p := Path{tenths: true}
		p.M(b.x1+2, b.y1-5).L(b.x1+7, b.y1).M(b.x1+2, b.y1).L(b.x1+7, b.y1-5)
		m.Start("path").D(&p).A("stroke", m.c.Muted).N("stroke-width", 1.3).End()
	}
	// The ground, and the place itself.
	m.Start("line").N("x1", b.x0-3).N("y1", b.y0).N("x2", b.x1+3).N("y2", b.y0).N("stroke-width", 1.6).End()
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
		if w.Label == "" || !m.d.Cores && !w.Chosen || m.hidden(w) {
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
