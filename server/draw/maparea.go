package draw

import "strings"

// MapArea is the area of an inventory with the wells in it, numbered as in its
// table.
type MapArea struct {
	Rings [][][2]float64 // borders, degrees, closed
	Wells []MapAreaWell
}

// MapAreaWell is one well of an inventory: a filled dot where it lies within, a
// ring where it only may.
type MapAreaWell struct {
	Lon, Lat    float64
	Label       string
	Title, Href string
	May         bool
	AccuracyM   float64 // 0: nobody says
}

const areaDot = 3.6

// area draws the border and the wells.
func (m *mapSheet) area() {
	if m.d.Area == nil {
		return
	}
	p := Path{tenths: true}
	for _, ring := range m.d.Area.Rings {
		l := MapLine{Points: ring, Area: true}
		m.linePath(&p, &l)
	}
	m.Start("g").A("data-part", "area").Open()
	if !p.Empty() {
		m.Start("path").D(&p).A("stroke", m.c.Paper).N("stroke-width", 5).A("stroke-linejoin", "round").A("fill", "none").End()
		m.Start("path").D(&p).A("stroke", m.c.Signal).N("stroke-width", 2).A("stroke-dasharray", "7 4").A("stroke-linejoin", "round").A("fill", "none").End()
	}
	for i := range m.d.Area.Wells {
		m.areaCircle(&m.d.Area.Wells[i])
	}
	for i := range m.d.Area.Wells {
		m.areaWell(&m.d.Area.Wells[i])
	}
	m.areaLabels()
	m.Close()
	m.Line()
}

// areaCircle shows how well a position is known, where that decides nothing
// but whether the well lies within.
func (m *mapSheet) areaCircle(w *MapAreaWell) {
	r := w.AccuracyM / m.d.View.MPerPixel
	if !w.May || r < areaDot || r > 4000 {
		return
	}
	x, y := m.d.View.Pixel(w.Lon, w.Lat)
	m.Start("circle").N("cx", tenths(x)).N("cy", tenths(y)).N("r", tenths(r)).A("fill", "none").A("stroke", m.c.Muted).N("stroke-width", 0.9).A("stroke-dasharray", "2 3").End()
}

func (m *mapSheet) areaWell(w *MapAreaWell) {
	x, y := m.d.View.Pixel(w.Lon, w.Lat)
	fill := m.c.Ink
	if w.May {
		fill = m.c.Paper
	}
	m.link(w.Href, w.Title)
	m.Start("circle").N("cx", tenths(x)).N("cy", tenths(y)).N("r", areaDot).A("fill", fill).A("stroke", m.c.Ink).N("stroke-width", 1.4).End()
	m.Close()
}

// areaLabels writes the numbers where there is room: the nearest wells first.
func (m *mapSheet) areaLabels() {
	const size = 11.0
	for i := range m.d.Area.Wells {
		w := &m.d.Area.Wells[i]
		x, y := m.d.View.Pixel(w.Lon, w.Lat)
		m.taken.add(rect{x - areaDot, y - areaDot, x + areaDot, y + areaDot})
	}
	for i := range m.d.Area.Wells {
		w := &m.d.Area.Wells[i]
		if strings.TrimSpace(w.Label) == "" {
			continue
		}
		x, y := m.d.View.Pixel(w.Lon, w.Lat)
		half := TextWidth(w.Label, size, false)/2 + areaDot + 3
		for _, at := range [...][2]float64{{x + half, y}, {x - half, y}, {x, y - 11}, {x, y + 11}} {
			box := centredBox(at[0], at[1], size, false, w.Label)
			if !box.within(m.frame) || !m.taken.free(box) {
				continue
			}
			m.taken.add(box)
			m.halo(tenths(at[0]), tenths(at[1]+size*0.35), size, m.c.Ink, "middle", "", w.Label)
			break
		}
	}
}
