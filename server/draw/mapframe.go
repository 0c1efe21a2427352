package draw

import (
	"fmt"
	"math"
	"strconv"
)

// moves is where a page puts its buttons to move the map.
var moves = rect{-72, 0, 0, 186} // from the right border

// reserveFrame keeps labels off the legend, the scale bar, the arrow and the
// page's buttons.
func (m *mapSheet) reserveFrame() {
	if m.d.Key.Title != "" {
		m.legend = m.legendOf()
		m.taken.add(m.legend.box)
	}
	m.taken.add(rect{0, m.frame.y1 - 52, 200, m.frame.y1})
	m.taken.add(rect{m.frame.x1 - 44, m.frame.y1 - 64, m.frame.x1, m.frame.y1})
	m.taken.add(rect{m.frame.x1 + moves.x0, moves.y0, m.frame.x1, moves.y1})
}

// scaleBar draws a bar of round length, true at the middle of the map.
func (m *mapSheet) scaleBar() {
	unitM, name := 0.3048, "ft"
	most := min(150, m.d.View.W/3) * m.d.View.MPerPixel
	switch {
	case m.d.Metric && most >= 1000:
		unitM, name = 1000, "km"
	case m.d.Metric:
		unitM, name = 1, "m"
	case most >= 0.25*1609.344:
		unitM, name = 1609.344, "mile"
	}
	length := roundDown(most / unitM)
	px := length * unitM / m.d.View.MPerPixel
	x, y := 16.0, m.frame.y1-18
	m.Start("g").A("data-part", "scale").Open()
	end := measure(length, name)
	m.Start("rect").N("x", x-8).N("y", y-26).N("width", px+16+TextWidth(end, 11, false)/2).N("height", 36).
		A("fill", m.c.Paper).A("fill-opacity", "0.85").End()
	var p Path
	p.M(x, y-5).V(y).H(x+px/2).V(y-5).M(x+px/2, y).H(x + px).V(y - 5)
	m.Start("path").D(&p).A("fill", "none").A("stroke", m.c.Ink).N("stroke-width", 1.4).End()
	m.Start("text").N("x", x).N("y", y-9).N("font-size", 11).A("text-anchor", "middle").Text("0")
	m.Start("text").N("x", x+px).N("y", y-9).N("font-size", 11).A("text-anchor", "middle").Text(end)
	if half := measure(length/2, ""); px > 84 {
		m.Start("text").N("x", x+px/2).N("y", y-9).N("font-size", 11).A("text-anchor", "middle").Text(half)
	}
	m.Close()
}

func measure(v float64, unit string) string {
	text := strconv.FormatFloat(v, 'f', -1, 64)
	switch {
	case unit != "ft" && unit != "m" && v == 0.25:
		text = "¼"
	case unit != "ft" && unit != "m" && v == 0.5:
		text = "½"
	case unit != "ft" && unit != "m" && v == 0.125:
		text = "⅛"
	}
	switch {
	case unit == "":
		return text
	case unit == "mile" && v > 1:
		return text + " miles"
	}
	return text + " " + unit
}

// roundDown is the largest of 1, 2, 5 times a power of ten, or ½ or ¼, that
// is not above v.
func roundDown(v float64) float64 {
	if v < 1 {
		for _, f := range []float64{0.5, 0.25} {
			if v >= f {
				return f
			}
		}
	}
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, f := range []float64{5, 2, 1} {
		if v >= f*p*(1-1e-9) {
			return f * p
		}
	}
	return p
}

// north draws the arrow.
func (m *mapSheet) north() {
	x, y := m.frame.x1-24, m.frame.y1-20
	m.Start("g").A("data-part", "north").Open()
	m.Title("north is up")
	m.Start("rect").N("x", x-12).N("y", y-40).N("width", 24).N("height", 50).
		A("fill", m.c.Paper).A("fill-opacity", "0.85").End()
	var p Path
	p.M(x, y-12).V(y-36).M(x-5, y-28).L(x, y-37).L(x+5, y-28)
	m.Start("path").D(&p).A("fill", "none").A("stroke", m.c.Ink).N("stroke-width", 1.5).End()
	m.Start("text").N("x", x).N("y", y+4).N("font-size", 12).A("font-weight", "600").A("text-anchor", "middle").Text("N")
	m.Close()
	m.Line()
}

// graticuleSteps are the spacings of meridians and parallels, degrees: round
// in degrees, minutes or seconds.
var graticuleSteps = []float64{30, 20, 10, 5, 2, 1, 0.5, 1.0 / 3, 1.0 / 6, 1.0 / 12, 1.0 / 30, 1.0 / 60, 1.0 / 120, 1.0 / 180, 1.0 / 360, 1.0 / 720, 1.0 / 1800, 1.0 / 3600}

// graticule draws meridians and parallels a round number of degrees, minutes
// or seconds apart, named at the border.
func (m *mapSheet) graticule() {
	b := m.d.View.Bounds(0)
	spanLat := b.North - b.South
	spanLon := b.East - b.West
	if spanLon <= 0 {
		spanLon += 360
	}
	pick := func(span, px float64) float64 {
		for i := len(graticuleSteps) - 1; i >= 0; i-- {
			if graticuleSteps[i]/span*px >= 150 {
				return graticuleSteps[i]
			}
		}
		return graticuleSteps[0]
	}
	stepLon, stepLat := pick(spanLon, m.d.View.W), pick(spanLat, m.d.View.H)
	line := func(x0, y0, x1, y1 float64) {
		m.Start("line").N("x1", x0).N("y1", y0).N("x2", x1).N("y2", y1).
			A("stroke", m.c.Ink).N("stroke-width", 0.5).A("stroke-opacity", "0.16").End()
	}
	m.Start("g").A("data-part", "graticule").Open()
	for i := math.Ceil(b.West / stepLon); i*stepLon <= b.West+spanLon; i++ {
		lon := i * stepLon
		x, _ := m.d.View.Pixel(wrapLon(lon), m.d.View.Lat)
		line(x, 0, x, m.d.View.H)
		m.graticuleName(x, m.frame.y1-5, dms(wrapLon(lon), stepLon, "E", "W"), "middle")
	}
	for i := math.Ceil(b.South / stepLat); i*stepLat <= b.North; i++ {
		lat := i * stepLat
		_, y := m.d.View.Pixel(m.d.View.Lon, lat)
		line(0, y, m.d.View.W, y)
		m.graticuleName(m.frame.x1-4, y-4, dms(lat, stepLat, "N", "S"), "end")
	}
	m.Close()
	m.Line()
}

func (m *mapSheet) graticuleName(x, y float64, text, anchor string) {
	w := TextWidth(text, 10, false)
	box := rect{x - w/2 - 3, y - 9, x + w/2 + 3, y + 3}
	if anchor == "end" {
		box = rect{x - w - 3, y - 9, x, y + 3}
	}
	if box.within(m.frame) && m.taken.free(box) {
		m.taken.add(box)
		m.halo(x, y, 10, m.c.Muted, anchor, "", text)
	}
}

// wrapLon brings a longitude within half a turn of Greenwich.
func wrapLon(lon float64) float64 {
	for lon > 180 {
		lon -= 360
	}
	for lon < -180 {
		lon += 360
	}
	return lon
}

// dms writes degrees as finely as the step needs.
func dms(v, step float64, positive, negative string) string {
	sign := positive
	if v < 0 {
		sign = negative
		v = -v
	}
	s := int(math.Round(v * 3600))
	d, min, sec := s/3600, s/60%60, s%60
	switch {
	case step >= 1:
		return fmt.Sprintf("%d° %s", d, sign)
	case step >= 1.0/60:
		return fmt.Sprintf("%d°%02d′ %s", d, min, sign)
	}
	return fmt.Sprintf("%d°%02d′%02d″ %s", d, min, sec, sign)
}
