package draw

import (
	"fmt"
	"math"
)

// GridChart is a chart of shares: a row for each thing, a column for each
// stretch of time, in each cell a bar as high as the share.
type GridChart struct {
	Title, Desc string
	W           float64
	Columns     []string // what stands over the cells
	Counts      []string // and under it: how many that is of
	Rows        []GridRow
	TotalHead   string
}

// GridRow is a thing and its shares, 0 to 1; NaN: nothing to be a share of.
type GridRow struct {
	Name   string
	Shares []float64
	Total  float64
	Marked bool // the one that the reader asks about
}

const gridHigh = 27.0

// DrawGrid draws a chart of shares.
func DrawGrid(c *GridChart, t Theme, prefix string) []byte {
	s := NewSVG(prefix)
	col := t.Colours()
	w := max(c.W, 260)
	names := rowsNameMin
	for i := range c.Rows {
		names = max(names, TextWidth(c.Rows[i].Name, chartText, c.Rows[i].Marked)+12)
	}
	names = min(names, w*0.42)
	const totals, top = 50.0, 40.0
	h := top + gridHigh*float64(len(c.Rows)) + 8
	s.Start("svg").A("xmlns", "http://www.w3.org/2000/svg").A("viewBox", "0 0 "+trim(w)+" "+trim(h)).
		N("width", w).N("height", h).A("role", "img").A("aria-labelledby", s.ID("title")).
		A("font-family", mapFont).A("font-size", trim(chartText)).A("fill", col.Ink).Open()
	s.Start("title").IDAttr("title").Text(c.Title)
	s.Start("desc").IDAttr("desc").Text(c.Desc)
	cell := (w - names - totals) / float64(max(len(c.Columns), 1))
	cell = min(cell, 64)
	text := func(x, y, size float64, anchor, t, colour, class string, bold bool) {
		s.Start("text").N("x", x).N("y", y).N("font-size", size).A("text-anchor", anchor).A("fill", colour).A("class", "fill-"+class)
		if bold {
			s.A("font-weight", "600")
		}
		s.Text(t)
	}
	every := 1 // over how many columns a head stands, so that heads do not touch
	for float64(every)*cell < 40 {
		every++
	}
	for k := range c.Columns {
		x := names + cell*(float64(k)+0.5)
		if (len(c.Columns)-1-k)%every == 0 {
			text(x, 14, chartText, "middle", c.Columns[k], col.Muted, "muted", false)
			if k < len(c.Counts) {
				text(x, 28, 10.5, "middle", c.Counts[k], col.Muted, "muted", false)
			}
		}
	}
	end := names + cell*float64(len(c.Columns)) + totals
	text(end-2, 14, chartText, "end", c.TotalHead, col.Muted, "muted", false)
	for i := range c.Rows {
		r := &c.Rows[i]
		y := top + gridHigh*float64(i)
		foot := y + gridHigh - 5
		text(2, foot-4, chartText, "start", fitText(r.Name, names-8), col.Ink, "ink", r.Marked)
		s.Start("line").N("x1", names).N("y1", foot).N("x2", names+cell*float64(len(c.Columns))).N("y2", foot).A("stroke", col.Line).A("class", "line-muted").N("stroke-width", 0.8).End()
		for k, v := range r.Shares {
			if math.IsNaN(v) {
				continue
			}
			x := names + cell*float64(k) + 2
			full := gridHigh - 8
			s.Start("rect").N("x", x).N("y", foot-full).N("width", cell-4).N("height", full).A("fill", col.Hair).A("class", "fill-muted").N("fill-opacity", 0.14).End()
			if v > 0 {
				high := max(full*v, 1)
				colour, class := col.Muted, "muted"
				if r.Marked {
					colour, class = col.Signal, "signal"
				}
				s.Start("rect").N("x", x).N("y", foot-high).N("width", cell-4).N("height", high).A("fill", colour).A("class", "fill-"+class).N("fill-opacity", 0.75).End()
			}
		}
		text(end-2, foot-4, chartText, "end", Percent(r.Total), col.Ink, "ink", r.Marked)
	}
	return s.Bytes()
}

// Percent writes a share; one that is not quite nought or all is not written
// as if it were.
func Percent(v float64) string {
	switch {
	case !isFinite(v):
		return "–"
	case v > 0 && v < 0.005:
		return "<1\u00a0%"
	case v < 1 && v > 0.995:
		return ">99\u00a0%"
	}
	return fmt.Sprintf("%.0f\u00a0%%", v*100)
}
