package draw

import (
	"math"

	"tallybook/geo/surface"
)

// surface draws the bands of colour and the contour lines, then covers with a
// flat tint the ground where the wells say no more than the area, and with
// hatching what no well supports.
func (m *mapSheet) surface() {
	s := m.d.Surface
	if s == nil {
		return
	}
	g := m.ground
	m.Start("g").A("data-part", "surface").Open()
	if g.anyLively {
		m.bands(s, g)
		m.contours(s, g)
	}
	if g.anyFlat {
		m.cover(g, g.life, flatTints[min(m.t, Print)])
	}
	if g.anyBare {
		m.cover(g, g.support, m.URL("bare"))
	}
	m.Close()
	m.Line()
}

func (m *mapSheet) bands(s *MapSurface, g *mapGround) {
	bands, err := surface.Bands(g.field, s.Levels, nil)
	if err != nil {
		return
	}
	for i := range bands {
		p := rings(bands[i].Area)
		if p.Empty() {
			continue
		}
		fill := m.bandColour(s.Ramp, i, len(bands))
		// The stroke hides the seams between bands.
		m.Start("path").D(p).A("fill", fill).A("fill-rule", "evenodd").A("stroke", fill).N("stroke-width", 1).End()
	}
}

// bandColour is the colour of the ground in a band: paler than that of a well
// of the same value, so that the wells stand out from it.
func (m *mapSheet) bandColour(r Ramp, band, bands int) string {
	share := 0.5
	if bands > 1 {
		share = (float64(band) + 0.5) / float64(bands)
	}
	return r.Towards(share, m.c.Paper, paleness[min(m.t, Print)])
}

// paleness is how far the ground's colours are drawn towards the paper's.
var paleness = [themeCount]float64{Light: 0.3, Dark: 0.3, Print: 0.25}

// cover fills where a blurred field is under its edge.
func (m *mapSheet) cover(g *mapGround, of []float64, fill string) {
	bands, err := surface.Bands(surface.Field{Grid: g.field.Grid, Values: of}, []float64{edgeAt}, nil)
	if err != nil {
		return
	}
	if p := rings(bands[0].Area); !p.Empty() {
		m.Start("path").D(p).A("fill", fill).A("fill-rule", "evenodd").End()
	}
}

var flatTints = [themeCount]string{Light: "#ebe5d8", Dark: "#2b2923", Print: "#ececec"}

// contours draws the lines; their labels come later, above the wells.
func (m *mapSheet) contours(s *MapSurface, g *mapGround) {
	if !s.Contours {
		return
	}
	m.Start("g").A("fill", "none").A("stroke", m.c.Ink).N("stroke-width", 0.9).
		A("stroke-opacity", "0.5").A("stroke-linejoin", "round").Open()
	for from := 0; from < len(g.lines); {
		to := from
		for to < len(g.lines) && g.lines[to].Level == g.lines[from].Level {
			to++
		}
		if p := contourPath(g.lines[from:to]); !p.Empty() {
			m.Start("path").D(p).End()
		}
		from = to
	}
	m.Close()
}

// surfaceLabels writes the contours' values on the lines, well apart and clear
// of everything else, and the words on flat and on bare ground.
func (m *mapSheet) surfaceLabels() {
	s := m.d.Surface
	if s == nil {
		return
	}
	g := m.ground
	if s.Label != nil {
		written := map[string][][2]float64{}
		for _, l := range g.lines {
			text := s.Label(l.Level)
			written[text] = m.contourLabels(l, text, written[text])
		}
	}
	bare := make([]bool, len(g.supported))
	for i, yes := range g.supported {
		bare[i] = !yes
	}
	if s.Flat != nil && g.anyFlat {
		m.groundWords(s, s.Flat, s.FlatWords)
	}
	m.groundWords(s, bare, s.BareWords)
	m.Line()
}

// contourLabels puts a label on a line about every so many pixels, none near
// another of the same value.
func (m *mapSheet) contourLabels(l surface.Line, text string, written [][2]float64) [][2]float64 {
	const size, apart, alike, least = 11.0, 420.0, 120.0, 90.0
	inner := rect{6, 6, m.frame.x1 - 6, m.frame.y1 - 6}
	length := 0.0
	for i := 1; i < len(l.Points); i++ {
		length += math.Hypot(l.Points[i][0]-l.Points[i-1][0], l.Points[i][1]-l.Points[i-1][1])
	}
	if length < least {
		return written
	}
	since := apart - min(length/2, apart*0.3)
	for i := 1; i < len(l.Points); i++ {
		a, b := l.Points[i-1], l.Points[i]
		since += math.Hypot(b[0]-a[0], b[1]-a[1])
		if since < apart {
			continue
		}
		x, up := (a[0]+b[0])/2, (a[1]+b[1])/2
		if m.ground.shown(x, up) < 0.7 {
			continue
		}
		y := -up
		box := centredBox(x, y, size, false, text)
		if !box.within(inner) || !m.taken.free(box) || nearAny(written, x, y, alike) {
			continue
		}
		m.taken.add(rect{box.x0 - 6, box.y0 - 6, box.x1 + 6, box.y1 + 6})
		m.halo(x, y+size*0.36, size, m.c.Ink, "middle", "", text)
		written = append(written, [2]float64{x, y})
		since = 0
	}
	return written
}

func nearAny(points [][2]float64, x, y, within float64) bool {
	for _, p := range points {
		if math.Hypot(p[0]-x, p[1]-y) < within {
			return true
		}
	}
	return false
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
	best, at, found := math.Inf(-1), [2]float64{}, false
	for row := range g.Rows {
		for col := range g.Cols {
			d := depth[g.Index(col, row)]
			x, y := g.X(col), -g.Y(row)
			// Wide ground first; where it is wide enough, near the middle.
			score := min(float64(d)*g.CellW, 130) - 0.04*math.Hypot(x-m.d.View.W/2, y-m.d.View.H/2)
			if d == 0 || score <= best {
				continue
			}
			box := rect{x - w/2 - 6, y - h/2 - 4, x + w/2 + 6, y + h/2 + 4}
			// The ground must be wide enough for the words to lie on it.
			if float64(d)*g.CellW < w/2+8 && float64(d)*g.CellW < 60 || !box.within(m.frame) || !m.taken.free(box) {
				continue
			}
			best, at, found = score, [2]float64{x, y}, true
		}
	}
	if !found {
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
