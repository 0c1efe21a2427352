package draw

import "math"

// Places of the legend, pixels.
const (
	keyX, keyY = 12.0, 12.0
	keyPad     = 12.0
	keyRow     = 16.0 // from line to line
	keyMostW   = 320.0
	smallMapW  = 560.0 // maps less wide have a small legend
)

// mapLegend is the legend laid out.
type mapLegend struct {
	box    rect
	small  bool
	size   float64 // of its words
	title  []string
	lines  []string
	signs  []keySign
	signsY float64
}

// keySign is a sign and what it means.
type keySign struct {
	draw func(m *mapSheet, x, y float64)
	text string
}

// legendOf lays out the legend: as wide as its longest line, within the map.
func (m *mapSheet) legendOf() *mapLegend {
	k := &m.d.Key
	l := &mapLegend{small: m.frame.x1 < smallMapW, size: 12}
	most := min(keyMostW, m.frame.x1-2*keyX-2*keyPad)
	words := k.Words
	if l.small {
		l.size, most = 11, min(210, most)
		words = nil
		if k.Short != "" {
			words = []string{k.Short}
		}
	} else {
		l.signs = m.keySigns()
	}
	l.signs = m.seenSign(l.signs)
	w := min(max(TextWidth(k.Title, 13, true), 190), most)
	for _, t := range words {
		w = max(w, min(TextWidth(t, l.size, false), most))
	}
	for _, s := range l.signs {
		w = max(w, min(TextWidth(s.text, l.size, false)+signW, most))
	}
	l.title, _ = Wrap(k.Title, 13, true, w, 2)
	h := keyPad - 2 + keyRow*float64(len(l.title))
	if k.Colours > 0 {
		h += 30
	}
	for _, t := range words {
		ls, _ := Wrap(t, l.size, false, w, 3)
		l.lines = append(l.lines, ls...)
	}
	h += float64(len(l.lines)) * keyRow
	if len(l.signs) > 0 {
		h += 5
	}
	l.signsY = keyY + h
	h += float64(len(l.signs))*(keyRow+2) + keyPad - 4
	l.box = rect{keyX, keyY, keyX + w + 2*keyPad, keyY + h}
	return l
}

// signW is how much of a line a sign takes.
const signW = 24.0

// keySigns are the signs that stand on the map and need a word.
func (m *mapSheet) keySigns() []keySign {
	if m.d.Cores {
		return []keySign{{func(m *mapSheet, x, y float64) {
			m.core(&MapWell{DepthM: 4, BedrockM: 1.4, StrikesM: []float64{3}}, rect{x, y - 11, x + coreW, y + 4})
		}, "overburden over rock; a mark where water came"}}
	}
	bound, unknown := false, false
	for i := range m.d.Wells {
		bound = bound || m.d.Wells[i].Known && m.d.Wells[i].Bound
		unknown = unknown || !m.d.Wells[i].Known
	}
	var out []keySign
	if bound {
		out = append(out, keySign{func(m *mapSheet, x, y float64) { m.ring(x+5, y-4, m.d.Key.Ramp.At(0.5)) }, "only a bound is known"})
	}
	if unknown {
		out = append(out, keySign{func(m *mapSheet, x, y float64) { m.cross(x+5, y-4) }, "nothing is said of it"})
	}
	return out
}

// key draws the legend: what is shown, its colours with numbers and unit, and
// in words how much it is worth.
func (m *mapSheet) key() {
	k, l := &m.d.Key, m.legend
	if l == nil {
		return
	}
	b := l.box
	m.Start("g").A("data-part", "key").Open()
	m.Start("rect").N("x", b.x0).N("y", b.y0).N("width", b.x1-b.x0).N("height", b.y1-b.y0).N("rx", 3).
		A("fill", m.c.Paper).A("stroke", m.c.Hair).N("stroke-width", 1).End()
	x, y, w := b.x0+keyPad, b.y0+keyPad+9, b.x1-b.x0-2*keyPad
	for i, t := range l.title {
		m.Start("text").N("x", x).N("y", y+float64(i)*keyRow).N("font-size", 13).A("font-weight", "600").Text(t)
	}
	y += float64(len(l.title)-1)*keyRow + 9
	if k.Colours > 0 {
		m.keyScale(x, y, w)
		y += 30
	}
	for _, t := range l.lines {
		y += keyRow
		m.Start("text").N("x", x).N("y", y-4).N("font-size", l.size).A("fill", m.c.Muted).Text(t)
	}
	for i, s := range l.signs {
		sy := l.signsY + float64(i)*(keyRow+2) + 12
		m.Start("g").A("stroke", m.c.Ink).N("stroke-width", 0.8).Open()
		s.draw(m, x, sy)
		m.Close()
		m.Start("text").N("x", x+signW).N("y", sy).N("font-size", l.size).A("fill", m.c.Muted).
			Text(Shorten(s.text, l.size, false, w-signW))
	}
	m.Close()
	m.Line()
}

// keyScale draws the colours: the ground's, and on them those of the wells.
func (m *mapSheet) keyScale(x, y, w float64) {
	k := &m.d.Key
	const h = 11.0
	n := float64(k.Colours)
	dots := (len(m.d.Wells) > 0 || len(m.d.Hexes) > 0) && !m.d.Cores
	for i := range k.Colours {
		share := (float64(i) + 0.5) / n
		fill := k.Ramp.At(share)
		if m.d.Surface != nil {
			fill = m.bandColour(k.Ramp, i, k.Colours)
		}
		m.Start("rect").N("x", x+w*float64(i)/n).N("y", y).N("width", w/n+0.3).N("height", h).A("fill", fill).End()
		if dots && m.d.Surface != nil && !m.d.Other {
			m.Start("circle").N("cx", x+w*(float64(i)+0.5)/n).N("cy", y+h/2).N("r", 3.5).A("fill", k.Ramp.At(share)).
				A("stroke", m.c.Ink).N("stroke-width", 0.7).End()
		}
	}
	m.Start("rect").N("x", x).N("y", y).N("width", w).N("height", h).A("fill", "none").
		A("stroke", m.c.Line).N("stroke-width", 0.7).End()
	for i, anchor := range []string{"start", "middle", "end"} {
		m.Start("text").N("x", math.Round(x+w*float64(i)/2)).N("y", y+h+12).N("font-size", 11).
			A("fill", m.c.Muted).A("text-anchor", anchor).Text(k.Ends[i])
	}
}
