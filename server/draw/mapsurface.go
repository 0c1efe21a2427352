package draw

import (
	"math"

	"github.com/paulmach/orb"

	"tallybook/geo/surface"
)

// surface draws the bands of colour, the flat tint, the hatching of ground
// that no well supports, and the contour lines.
func (m *mapSheet) surface() {
	s := m.d.Surface
	if s == nil {
		return
	}
	m.Start("g").A("data-part", "surface").Open()
	m.Start("rect").N("width", m.d.View.W).N("height", m.d.View.H).A("fill", m.URL("bare")).End()
	supported := make([]bool, len(s.Field.Values))
	lively := make([]bool, len(s.Field.Values))
	for i, v := range s.Field.Values {
		supported[i] = !math.IsNaN(v)
		lively[i] = supported[i] && (s.Flat == nil || !s.Flat[i])
	}
	bands, err := surface.Bands(s.Field, s.Levels, supported)
	if err == nil {
		for i := range bands {
			share := 0.5
			if n := len(bands); n > 1 {
				share = (float64(i) + 0.5) / float64(n)
			}
			m.area(bands[i].Area, s.Ramp.At(share), 1)
		}
	}
	m.flat(s, supported)
	if s.Contours && err == nil {
		m.contours(s, lively)
	}
	m.Close()
	m.Line()
}

// area fills polygons given in pixels with y up, their corners rounded.
func (m *mapSheet) area(mp orb.MultiPolygon, fill string, opacity float64) {
	p := Path{tenths: true}
	for _, poly := range mp {
		for _, ring := range poly {
			smoothRing(&p, ring)
		}
	}
	if p.Empty() {
		return
	}
	m.Start("path").D(&p).A("fill", fill).A("fill-rule", "evenodd").
		A("stroke", fill).N("stroke-width", 0.7)
	if opacity < 1 {
		m.N("fill-opacity", opacity).A("stroke-opacity", "0")
	}
	m.End()
}

// smoothRing draws a ring through the middles of its sides, its corners as
// the control points: both bands at an edge make the same curve of it.
func smoothRing(p *Path, ring orb.Ring) {
	n := len(ring) - 1 // the last point repeats the first
	if n < 3 {
		return
	}
	mid := func(i int) (float64, float64) {
		a, b := ring[i%n], ring[(i+1)%n]
		return (a[0] + b[0]) / 2, -(a[1] + b[1]) / 2
	}
	x, y := mid(n - 1)
	p.M(x, y)
	for i := range n {
		x, y = mid(i)
		p.Q(ring[i][0], -ring[i][1], x, y)
	}
	p.Z()
}

// flat covers the ground where the wells say no more than the area.
func (m *mapSheet) flat(s *MapSurface, supported []bool) {
	if s.Flat == nil {
		return
	}
	f := surface.Field{Grid: s.Field.Grid, Values: make([]float64, len(s.Flat))}
	any := false
	for i, flat := range s.Flat {
		if flat {
			f.Values[i] = 1
			any = true
		}
	}
	if !any {
		return
	}
	bands, err := surface.Bands(f, []float64{0.5}, supported)
	if err != nil {
		return
	}
	m.area(bands[1].Area, flatTints[min(m.t, Print)], 1)
}

var flatTints = [themeCount]string{Light: "#e6dfd0", Dark: "#2c2a24", Print: "#ececec"}

// contours draws the lines; their labels come later, above the wells.
func (m *mapSheet) contours(s *MapSurface, lively []bool) {
	lines, err := surface.Contours(s.Field, s.Levels, lively)
	if err != nil {
		return
	}
	for _, l := range lines {
		p := Path{tenths: true}
		smoothLine(&p, l)
		m.Start("path").D(&p).A("fill", "none").A("stroke", m.c.Ink).N("stroke-width", 0.9).
			A("stroke-opacity", "0.55").A("stroke-linejoin", "round").End()
	}
}

func smoothLine(p *Path, l surface.Line) {
	pts := l.Points
	if l.Closed && len(pts) > 3 {
		smoothRing(p, orb.Ring(pts))
		return
	}
	p.M(pts[0][0], -pts[0][1])
	for i := 1; i < len(pts)-1; i++ {
		p.Q(pts[i][0], -pts[i][1], (pts[i][0]+pts[i+1][0])/2, -(pts[i][1]+pts[i+1][1])/2)
	}
	p.L(pts[len(pts)-1][0], -pts[len(pts)-1][1])
}

// surfaceLabels writes the contours' values on the lines, well apart and clear
// of everything else, and the words on flat and on bare ground.
func (m *mapSheet) surfaceLabels() {
	s := m.d.Surface
	if s == nil {
		return
	}
	lively := make([]bool, len(s.Field.Values))
	bare := make([]bool, len(s.Field.Values))
	for i, v := range s.Field.Values {
		bare[i] = math.IsNaN(v)
		lively[i] = !bare[i] && (s.Flat == nil || !s.Flat[i])
	}
	if s.Contours && s.Label != nil {
		if lines, err := surface.Contours(s.Field, s.Levels, lively); err == nil {
			for _, l := range lines {
				m.contourLabels(l, s.Label(l.Level))
			}
		}
	}
	if s.Flat != nil {
		m.groundWords(s, s.Flat, s.FlatWords)
	}
	m.groundWords(s, bare, s.BareWords)
	m.Line()
}

// contourLabels puts a label on a line about every 340 pixels.
func (m *mapSheet) contourLabels(l surface.Line, text string) {
	const size, apart = 11.0, 340.0
	inner := rect{6, 6, m.frame.x1 - 6, m.frame.y1 - 6}
	since := apart * 0.7
	for i := 1; i < len(l.Points); i++ {
		a, b := l.Points[i-1], l.Points[i]
		since += math.Hypot(b[0]-a[0], b[1]-a[1])
		if since < apart {
			continue
		}
		x, y := (a[0]+b[0])/2, -(a[1]+b[1])/2
		box := centredBox(x, y, size, false, text)
		if !box.within(inner) || !m.taken.free(box) {
			continue
		}
		m.taken.add(rect{box.x0 - 6, box.y0 - 6, box.x1 + 6, box.y1 + 6})
		m.halo(x, y+size*0.36, size, m.c.Ink, "middle", "", text)
		since = 0
	}
}

// groundWords writes words once in the widest stretch of some kind of ground.
func (m *mapSheet) groundWords(s *MapSurface, is []bool, text string) {
	if text == "" {
		return
	}
	const size = 12.0
	lines, _ := Wrap(text, size, false, 150, 3)
	w := 0.0
	for _, l := range lines {
		w = max(w, TextWidth(l, size, false))
	}
	h := float64(len(lines)) * 15
	g := s.Field.Grid
	depth := inside(is, g.Cols, g.Rows)
	best, at := int32(0), [2]float64{}
	for row := range g.Rows {
		for col := range g.Cols {
			d := depth[g.Index(col, row)]
			if d <= best {
				continue
			}
			x, y := g.X(col), -g.Y(row)
			box := rect{x - w/2 - 6, y - h/2 - 4, x + w/2 + 6, y + h/2 + 4}
			// The ground must be wide enough for the words to lie on it.
			if float64(d)*g.CellW < w/2+8 && float64(d)*g.CellW < 60 || !box.within(m.frame) || !m.taken.free(box) {
				continue
			}
			best, at = d, [2]float64{x, y}
		}
	}
	if best == 0 {
		return
	}
	m.taken.add(rect{at[0] - w/2 - 6, at[1] - h/2 - 4, at[0] + w/2 + 6, at[1] + h/2 + 4})
	for i, l := range lines {
		m.halo(at[0], at[1]-h/2+12+float64(i)*15, size, m.c.Muted, "middle", "", l)
	}
}

// inside gives for each node how many nodes it is away from the nearest one
// that is not of its kind, in steps along rows, columns and diagonals, the
// border of the grid not counting as an end.
func inside(is []bool, cols, rows int) []int32 {
	const far = 1 << 20
	d := make([]int32, len(is))
	at := func(c, r int) int32 {
		if c < 0 || r < 0 || c >= cols || r >= rows {
			return far
		}
		return d[r*cols+c]
	}
	for r := range rows {
		for c := range cols {
			i := r*cols + c
			if is[i] {
				d[i] = min(far, 1+min(at(c-1, r), at(c, r-1), at(c-1, r-1), at(c+1, r-1)))
			}
		}
	}
	for r := rows - 1; r >= 0; r-- {
		for c := cols - 1; c >= 0; c-- {
			i := r*cols + c
			if is[i] {
				d[i] = min(d[i], 1+min(at(c+1, r), at(c, r+1), at(c+1, r+1), at(c-1, r+1)))
			}
		}
	}
	return d
}
