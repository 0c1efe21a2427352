package ogc

import (
	"fmt"
	"html/template"
	"math"

	"tallybook/records"
	"tallybook/server/draw"
)

// drawPoints draws where the features of a page lie: longitude across and
// latitude up, a degree of one as long as one of the other in the middle of
// the drawing.
func drawPoints(rows []records.Feature, c *records.FeatureCollection, theme draw.Theme) (template.HTML, string) {
	var lons, lats []float64
	for i := range rows {
		if rows[i].Located {
			lons, lats = append(lons, rows[i].Lon), append(lats, rows[i].Lat)
		}
	}
	if len(lons) == 0 {
		return "", ""
	}
	const w, h = 560, 380
	x, y := spread(lons), spread(lats)
	if narrow := math.Cos((y[0] + y[1]) / 2 * math.Pi / 180); narrow > 0.02 { // within a degree or so of a pole a plain drawing shows nothing anyway
		if wide := (x[1] - x[0]) * narrow * h / w; wide > y[1]-y[0] {
			y = around(y, wide)
		} else {
			x = around(x, (y[1]-y[0])*w/h/narrow)
		}
	}
	figure := func(span float64) func(float64) string {
		digits := max(0, min(6, int(2-math.Floor(math.Log10(span)))))
		return func(v float64) string { return fmt.Sprintf("%.*f°", digits, v) }
	}
	said := fmt.Sprintf("Where they lie: %d on this page.", len(lons))
	if len(lons) < len(rows) {
		said = fmt.Sprintf("Where they lie: %d of the %d on this page; the others have no position.", len(lons), len(rows))
	}
	svg := draw.DrawChart(&draw.Chart{Title: c.Title + ": where they lie", Desc: said, W: w, H: h,
		X:     draw.ChartAxis{Label: "longitude", Low: x[0], High: x[1], Figure: figure(x[1] - x[0])},
		Y:     draw.ChartAxis{Label: "latitude", Low: y[0], High: y[1], Figure: figure(y[1] - y[0])},
		Marks: []draw.ChartMark{{Kind: draw.PointsMark, X: lons, Y: lats}}}, theme, "where")
	return template.HTML(svg), said // an SVG of ours: what is in it is escaped
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
