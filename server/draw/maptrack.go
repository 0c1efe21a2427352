package draw

// track draws the line of a section with the names of its ends; a line of one
// place is its beginning.
func (m *mapSheet) track() {
	if len(m.d.Track) == 0 {
		return
	}
	p := Path{tenths: true}
	for i, at := range m.d.Track {
		x, y := m.d.View.Pixel(at[0], at[1])
		if i == 0 {
			p.M(x, y)
		} else {
			p.L(x, y)
		}
	}
	m.Start("g").A("data-part", "track").Open()
	if len(m.d.Track) > 1 {
		m.Start("path").D(&p).A("stroke", m.c.Paper).N("stroke-width", 5.5).A("stroke-linejoin", "round").A("fill", "none").End()
		m.Start("path").D(&p).A("stroke", m.c.Signal).N("stroke-width", 2.4).A("stroke-linejoin", "round").A("fill", "none").End()
	}
	for i := range m.d.Track {
		x, y := m.d.View.Pixel(m.d.Track[i][0], m.d.Track[i][1])
		r := 3.0
		if i == 0 || i == len(m.d.Track)-1 {
			r = 4.5
		}
		m.Start("circle").N("cx", tenths(x)).N("cy", tenths(y)).N("r", r).A("fill", m.c.Signal).A("stroke", m.c.Paper).N("stroke-width", 1.5).End()
	}
	for i, name := range m.d.TrackEnds {
		if x, y, ok := m.trackEnd(i); ok {
			m.halo(x, y+6, 17, m.c.Signal, "middle", "600", name)
		}
	}
	m.Close()
	m.Line()
}

// trackEnd is where the name of an end stands: beyond it, as the line runs.
func (m *mapSheet) trackEnd(i int) (x, y float64, ok bool) {
	n := len(m.d.Track)
	if n == 0 || n == 1 && i == 1 {
		return 0, 0, false
	}
	at, from := m.d.Track[0], m.d.Track[min(1, n-1)]
	if i == 1 {
		at, from = m.d.Track[n-1], m.d.Track[n-2]
	}
	x, y = m.d.View.Pixel(at[0], at[1])
	fx, fy := m.d.View.Pixel(from[0], from[1])
	dx, dy := x-fx, y-fy
	if l := abs(dx) + abs(dy); l > 0 {
		dx, dy = dx/l, dy/l
	} else {
		dx, dy = 0, -1
	}
	return tenths(x + 17*dx), tenths(y + 17*dy), true
}

// reserveTrack keeps labels off the names of the ends.
func (m *mapSheet) reserveTrack() {
	for i, name := range m.d.TrackEnds {
		if x, y, ok := m.trackEnd(i); ok {
			m.taken.add(centredBox(x, y, 17, true, name))
		}
	}
}
