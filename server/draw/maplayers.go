package draw

import (
	"math"
	"strconv"
)

// layers draws the office's own reference lines. Those of a layer are one
// path: roads are cased all at once, so that they run into each other where
// they meet.
func (m *mapSheet) layers() {
	for i := range m.d.Layers {
		l := &m.d.Layers[i]
		var p Path
		for j := range l.Lines {
			if len(l.Lines[j].Points) == 1 && l.Kind != "place" {
				m.layerPoint(l.Kind, &l.Lines[j])
				continue
			}
			m.linePath(&p, &l.Lines[j])
		}
		if !p.Empty() {
			m.layerLines(i, l.Kind, &p)
		}
	}
	m.Line()
}

// layerPoint marks a single point of a layer, such as a septic tank, by a small
// open square, which no well is.
func (m *mapSheet) layerPoint(kind string, l *MapLine) {
	const half = 4.0
	x, y := m.d.View.Pixel(l.Points[0][0], l.Points[0][1])
	if !(rect{x - half, y - half, x + half, y + half}).within(rect{0, 0, m.d.View.W, m.d.View.H}) {
		return
	}
	colour := m.c.Muted
	if kind == overheadLine {
		colour = m.c.Signal
	}
	m.Start("rect").N("x", x-half).N("y", y-half).N("width", 2*half).N("height", 2*half).
		A("fill", m.c.Paper).A("stroke", colour).N("stroke-width", 1.3).Open()
	if l.Name != "" {
		m.Title(l.Name)
	}
	m.Close()
}

// overheadLine is the kind of layer that can kill: it is drawn to be noticed.
const overheadLine = "overhead_line"

// linePath adds what of a line is in the window.
func (m *mapSheet) linePath(p *Path, l *MapLine) {
	halfTurn := math.Pi * m.d.View.scale()
	pixels := make([][2]float64, 0, len(l.Points))
	for i, at := range l.Points {
		x, y := m.d.View.Pixel(at[0], at[1])
		// Where a line leaves the map on the far side of the world and comes
		// in again on the other, it is drawn as two.
		if i > 0 && math.Abs(x-pixels[len(pixels)-1][0]) > halfTurn {
			p.polyline(pixels, m.beyond())
			pixels = pixels[:0]
		}
		pixels = append(pixels, [2]float64{x, y})
	}
	p.polyline(pixels, m.beyond())
}

// beyond is the window with a margin, beyond which nothing is drawn.
func (m *mapSheet) beyond() rect { return rect{-40, -40, m.d.View.W + 40, m.d.View.H + 40} }

func (m *mapSheet) layerLines(i int, kind string, p *Path) {
	line := func(colour string, width float64, dash string) *SVG {
		m.A("fill", "none").A("stroke", colour).N("stroke-width", width).
			A("stroke-linejoin", "round").A("stroke-linecap", "round")
		if dash != "" {
			m.A("stroke-dasharray", dash)
		}
		return m.SVG
	}
	plain := func(colour string, width float64, dash string) {
		m.Start("path").D(p)
		line(colour, width, dash).End()
	}
	switch kind {
	case "road":
		edge, middle := m.c.Muted, m.c.Paper
		if m.t == Dark {
			edge, middle = m.c.Paper, m.c.Line
		}
		id := "road" + strconv.Itoa(i)
		m.Start("g")
		line(edge, 3.6, "").Open()
		m.Start("path").IDAttr(id).D(p).End()
		m.Close()
		m.Start("use").Link("#" + m.ID(id))
		line(middle, 2, "").End()
	case "stream":
		plain(m.c.Water, 1.5, "")
	case "boundary":
		plain(m.c.Muted, 1.4, "9 3 2 3")
	case "parcel":
		plain(m.c.Line, 0.8, "")
	case overheadLine:
		plain(m.c.Signal, 1.4, "2 4")
	default:
		plain(m.c.Line, 1, "5 3")
	}
}

// layerNames writes the names of roads and streams along them, each once,
// where there is room.
func (m *mapSheet) layerNames() {
	const size = 11.0
	for i := range m.d.Layers {
		l := &m.d.Layers[i]
		colour := m.c.Muted
		if l.Kind == "stream" {
			colour = m.c.Water
		}
		if l.Kind == "parcel" && m.d.View.MPerPixel > 3 {
			continue
		}
		for j := range l.Lines {
			if l.Lines[j].Name != "" && !l.Lines[j].Area {
				m.nameAlong(&l.Lines[j], size, colour)
			}
		}
	}
	m.Line()
}

// nameAlong finds a straight enough stretch of a line, long enough for its
// name, away from everything else, and writes the name there.
func (m *mapSheet) nameAlong(l *MapLine, size float64, colour string) {
	need := TextWidth(l.Name, size, false) + 12
	pts := make([][2]float64, len(l.Points))
	for i, at := range l.Points {
		pts[i][0], pts[i][1] = m.d.View.Pixel(at[0], at[1])
	}
	inner := rect{8, 8, m.frame.x1 - 8, m.frame.y1 - 8}
	for start := range pts {
		if x, y := pts[start][0], pts[start][1]; !(rect{x, y, x, y}).within(inner) {
			continue
		}
		length := 0.0
		for end := start + 1; end < len(pts); end++ {
			length += math.Hypot(pts[end][0]-pts[end-1][0], pts[end][1]-pts[end-1][1])
			if length < need {
				continue
			}
			a, b := pts[start], pts[end]
			chord := math.Hypot(b[0]-a[0], b[1]-a[1])
			if chord < need*0.92 || chord < 0.97*length {
				break
			}
			if m.writeAlong(l.Name, a, b, size, colour, inner) {
				return
			}
			break
		}
	}
}

func (m *mapSheet) writeAlong(name string, a, b [2]float64, size float64, colour string, inner rect) bool {
	if b[0] < a[0] {
		a, b = b, a
	}
	angle := math.Atan2(b[1]-a[1], b[0]-a[0])
	x, y := (a[0]+b[0])/2, (a[1]+b[1])/2
	// Beside the line, not on it.
	x, y = x+math.Sin(angle)*8, y-math.Cos(angle)*8
	half := TextWidth(name, size, false)/2 + 2
	boxes := make([]rect, 0, 5)
	for _, t := range []float64{-0.8, -0.4, 0, 0.4, 0.8} {
		cx, cy := x+math.Cos(angle)*half*t, y+math.Sin(angle)*half*t
		e := math.Abs(math.Cos(angle))*half*0.25 + size*0.62
		box := rect{cx - e, cy - size*0.62 - math.Abs(math.Sin(angle))*half*0.25, cx + e, cy + size*0.62 + math.Abs(math.Sin(angle))*half*0.25}
		if !box.within(inner) || !m.taken.free(box) {
			return false
		}
		boxes = append(boxes, box)
	}
	for _, box := range boxes {
		m.taken.add(box)
	}
	m.Start("g").A("transform", "translate("+trim(x)+" "+trim(y)+") rotate("+trim(angle*180/math.Pi)+")").Open()
	m.halo(0, size*0.35, size, colour, "middle", "", name)
	m.Close()
	return true
}
