package draw

// MapSeen is something that was seen and is no hole: a ledge, a pit, a dry
// hole by hearsay. It is drawn small and quiet, as no well is.
type MapSeen struct {
	Lon, Lat float64
	Kind     SeenKind
	Title    string
	Href     string
}

// SeenKind is what was seen, as far as the map tells it apart.
type SeenKind uint8

// What may have been seen.
const (
	SeenElse   SeenKind = iota // something else
	SeenRock                   // bedrock, at the surface or in a pit
	SeenNoRock                 // none down to some depth
	SeenDry                    // a hole without water
)

// seenR is half the height of the sign, pixels.
const seenR = 4.4

// seen draws what was seen: a lozenge, full where it was rock, open where
// there was none, struck through where a hole was dry.
func (m *mapSheet) seen() {
	if len(m.d.Seen) == 0 {
		return
	}
	m.Start("g").A("data-part", "seen").Open()
	for i := range m.d.Seen {
		s := &m.d.Seen[i]
		x, y := m.d.View.Pixel(s.Lon, s.Lat)
		if m.legend != nil && (rect{x, y, x, y}).within(m.legend.box) {
			continue
		}
		m.link(s.Href, s.Title)
		m.lozenge(tenths(x), tenths(y), s.Kind)
		m.Close()
	}
	m.Close()
	m.Line()
}

// reserveSeen keeps labels off the signs.
func (m *mapSheet) reserveSeen() {
	for i := range m.d.Seen {
		x, y := m.d.View.Pixel(m.d.Seen[i].Lon, m.d.Seen[i].Lat)
		m.taken.add(rect{x - seenR - 1, y - seenR - 1, x + seenR + 1, y + seenR + 1})
	}
}

func (m *mapSheet) lozenge(x, y float64, kind SeenKind) {
	p := Path{tenths: true}
	p.M(x, y-seenR).L(x+seenR, y).L(x, y+seenR).L(x-seenR, y).Z()
	fill := m.c.Paper
	if kind == SeenRock {
		fill = m.c.Muted
	}
	m.Start("path").D(&p).A("fill", fill).A("stroke", m.c.Paper).N("stroke-width", 3).A("stroke-linejoin", "round").End()
	m.Start("path").D(&p).A("fill", fill).A("stroke", m.c.Muted).N("stroke-width", 1.3).A("stroke-linejoin", "round").End()
	if kind == SeenDry {
		var l Path
		l.M(x-seenR, y-seenR).L(x+seenR, y+seenR)
		m.Start("path").D(&l).A("stroke", m.c.Muted).N("stroke-width", 1.3).End()
	}
}

// seenSign is the legend's entry, where anything was seen.
func (m *mapSheet) seenSign(signs []keySign) []keySign {
	if len(m.d.Seen) == 0 {
		return signs
	}
	return append(signs, keySign{func(m *mapSheet, x, y float64) { m.lozenge(x+5, y-4, m.d.Seen[0].Kind) }, "seen there; no well"})
}
