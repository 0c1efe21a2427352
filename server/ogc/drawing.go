package ogc

import (
	"fmt"
	"html/template"
	"math"

	"tallybook/records"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// Sizes of the drawing, pixels.
const (
	drawnW, drawnH = 560.0, 380.0
	drawnEdge      = 22.0 // above and below the frame, for what is written there
)

// drawPoints draws where the features of a page lie: a frame with a dot each,
// the frame's corners and a scale that is true in its middle. A degree of
// longitude is as long, beside one of latitude, as it is there.
func drawPoints(rows []records.Feature, c *records.FeatureCollection, theme draw.Theme, units say.System) (template.HTML, string) {
	var lons, lats []float64
	for i := range rows {
		if rows[i].Located {
			lons, lats = append(lons, rows[i].Lon), append(lats, rows[i].Lat)
		}
	}
	if len(lons) == 0 {
		return "", ""
	}
	said := fmt.Sprintf("Where the %d on this page lie.", len(lons))
	if len(lons) < len(rows) {
		said = fmt.Sprintf("Where %d of the %d on this page lie; the others have no position.", len(lons), len(rows))
	}
	x, y := spread(lons), spread(lats)
	// The same ground length a pixel both ways; within a degree or so of a pole
	// a plain drawing shows nothing anyway.
	narrow := max(math.Cos((y[0]+y[1])/2*math.Pi/180), 0.02)
	frameH := drawnH - 2*drawnEdge
	if wide := (x[1] - x[0]) * narrow * frameH / drawnW; wide > y[1]-y[0] {
		y = around(y, wide)
	} else {
		x = around(x, (y[1]-y[0])*drawnW/frameH/narrow)
	}
	s, col := draw.NewSVG("where"), theme.Colours()
	s.Start("svg").A("xmlns", "http://www.w3.org/2000/svg").A("viewBox", fmt.Sprintf("0 0 %g %g", drawnW, drawnH)).N("width", drawnW).N("height", drawnH).
		A("role", "img").A("aria-labelledby", s.ID("title")).A("font-family", "system-ui, sans-serif").N("font-size", 12).A("fill", col.Muted).A("class", "fill-muted").Open()
	s.Start("title").IDAttr("title").Text(c.Title + ": where they lie")
	s.Start("desc").Text(said)
	s.Start("rect").N("x", 0.5).N("y", drawnEdge).N("width", drawnW-1).N("height", frameH).A("fill", "none").A("stroke", col.Muted).A("class", "line-muted").End()
	s.Start("text").N("x", 0).N("y", drawnEdge-7).Text(corner(x[0], y[1], y[1]-y[0]))
	s.Start("text").N("x", drawnW).N("y", drawnH-6).A("text-anchor", "end").Text(corner(x[1], y[0], y[1]-y[0]))
	drawScale(s, col, (y[1]-y[0])*metresPerDegree/frameH, units)
	s.Start("g").A("fill", col.Ink).A("class", "fill-ink").Open()
	for i := range lons {
		s.Start("circle").N("cx", (lons[i]-x[0])/(x[1]-x[0])*drawnW).N("cy", drawnEdge+(y[1]-lats[i])/(y[1]-y[0])*frameH).N("r", 3).End()
	}
	return template.HTML(s.Bytes()), said // an SVG of ours: what is in it is escaped
}

// metresPerDegree of latitude, on a sphere of 6,371 km: for a scale bar alone.
const metresPerDegree = 111_195.0

// corner writes a position to a hundredth of the drawing's height.
func corner(lon, lat, height float64) string {
	digits := min(max(int(math.Ceil(2-math.Log10(height))), 1), 6)
	return fmt.Sprintf("%.*f°, %.*f°", digits, lat, digits, lon)
}

// drawScale draws a bar of round length at the foot, true in the middle.
func drawScale(s *draw.SVG, col draw.Colours, metresPerPixel float64, units say.System) {
	unit := map[bool]float64{true: 0.3048, false: 1}[units == say.US]
	most := drawnW / 4 * metresPerPixel
	if units == say.US && most >= 1609.344 {
		unit = 1609.344
	}
	step := math.Pow(10, math.Floor(math.Log10(most/unit)))
	for _, f := range []float64{5, 2} {
		if f*step*unit <= most {
			step *= f
			break
		}
	}
	length := step * unit
	px := length / metresPerPixel
	var p draw.Path
	p.M(1, drawnH-14).V(drawnH - 8).H(1 + px).V(drawnH - 14)
	s.Start("path").D(&p).A("fill", "none").A("stroke", col.Muted).A("class", "line-muted").End()
	s.Start("text").N("x", px+9).N("y", drawnH-6).Text(units.Distance(length))
}

// spread is the range of values with a little room around it.
func spread(v []float64) [2]float64 {
	lo, hi := v[0], v[0]
	for _, x := range v {
		lo, hi = min(lo, x), max(hi, x)
	}
	room := max((hi-lo)*0.06, 0.002)
	return [2]float64{lo - room, hi + room}
}

func around(v [2]float64, length float64) [2]float64 {
	middle := (v[0] + v[1]) / 2
	return [2]float64{middle - length/2, middle + length/2}
}
