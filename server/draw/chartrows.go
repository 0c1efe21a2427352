package draw

import "math"

// RowsChart is a chart of named rows: in each a middle with its range, or a bar
// with its range, and words behind it.
type RowsChart struct {
	Title, Desc string
	W           float64
	X           ChartAxis
	Head        string // over the names
	NoteHead    string // over the words behind
	Rows        []ChartRow
	Tone        ChartTone
}

// ChartRow is one row. Values are in the shown units; one that is not finite is
// not drawn, and Instead is written in its place.
type ChartRow struct {
	Name, Note     string
	Low, Mid, High float64
	Bar            bool    // Mid is a bar from nought, Low and High its range
	Beyond         bool    // Mid is known only to be more
	ThinLow        float64 // a second, thinner range, drawn where it is finite and ThinHigh above it
	ThinHigh       float64
	Instead        string
}

const (
	rowHigh     = 26.0
	rowsNameMin = 70.0
)

// DrawRows draws a chart of rows.
func DrawRows(c *RowsChart, t Theme, prefix string) []byte {
	s := NewSVG(prefix)
	col := t.Colours()
	w := max(c.W, 260)
	names, notes := rowsNameMin, TextWidth(c.NoteHead, chartText, false)
	for i := range c.Rows {
		names = max(names, TextWidth(c.Rows[i].Name, chartText, false)+14)
		notes = max(notes, TextWidth(c.Rows[i].Note, chartText, false))
	}
	names, notes = min(names, w*0.42), min(notes+14, w*0.36)
	const top = 24.0
	foot := top + rowHigh*float64(len(c.Rows)) + 4
	h := foot + 42
	s.Start("svg").A("xmlns", "http://www.w3.org/2000/svg").A("viewBox", "0 0 "+trim(w)+" "+trim(h)).
		N("width", w).N("height", h).A("role", "img").A("aria-labelledby", s.ID("title")).
		A("font-family", mapFont).A("font-size", trim(chartText)).A("fill", col.Ink).Open()
	s.Start("title").IDAttr("title").Text(c.Title)
	s.Start("desc").IDAttr("desc").Text(c.Desc)
	var values []float64
	for i := range c.Rows {
		r := &c.Rows[i]
		for _, v := range []float64{r.Low, r.Mid, r.High, r.ThinLow, r.ThinHigh} {
			if isFinite(v) && (!c.X.Log || v > 0) {
				values = append(values, v)
			}
		}
		if r.Bar {
			values = append(values, 0)
		}
	}
	x0, x1, ticks := c.X.span(values, (w-names-notes)/45)
	f := &chartFrame{x0: x0, x1: x1, y1: 1, left: names, right: w - notes, top: top, base: foot, xLog: c.X.Log, noughtX: math.NaN(), noughtY: math.NaN()}
	muted := func(x, y float64, text string, end bool) {
		s.Start("text").N("x", x).N("y", y)
		if end {
			s.A("text-anchor", "end")
		}
		s.A("fill", col.Muted).A("class", "fill-muted").Text(text)
	}
	muted(2, 13, c.Head, false)
	muted(w-2, 13, c.NoteHead, true)
	for _, v := range ticks {
		x := f.x(v)
		s.Start("line").N("x1", x).N("y1", top).N("x2", x).N("y2", foot+4).A("stroke", col.Hair).A("class", "line-hair").N("stroke-width", 1).End()
	}
	f.tickWords(s, col, c.X, ticks, foot+17)
	muted(f.right, foot+34, c.X.Label, true)
	for i := range c.Rows {
		f.row(s, &c.Rows[i], c.Tone, col, top+rowHigh*(float64(i)+0.5), names, w)
	}
	return s.Bytes()
}

// tickWords writes the figures of an axis, those that fit.
func (f *chartFrame) tickWords(s *SVG, col Colours, a ChartAxis, ticks []float64, y float64) {
	end := -math.MaxFloat64
	for _, v := range ticks {
		x := f.x(v)
		text := a.Figure(v)
		tw := TextWidth(text, chartText, false)
		if left := x - tw/2; left > end+8 {
			s.Start("text").N("x", left).N("y", y).A("fill", col.Muted).A("class", "fill-muted").Text(text)
			end = left + tw
		}
	}
}

func (f *chartFrame) row(s *SVG, r *ChartRow, tone ChartTone, col Colours, y, names, w float64) {
	colour, class := tone.tone(col)
	s.Start("line").N("x1", 0).N("y1", y+rowHigh/2).N("x2", w).N("y2", y+rowHigh/2).A("stroke", col.Hair).A("class", "line-hair").N("stroke-width", 0.6).End()
	s.Start("text").N("x", 2).N("y", y+4).A("fill", col.Ink).A("class", "fill-ink").Text(fitText(r.Name, names-10))
	s.Start("text").N("x", w-2).N("y", y+4).A("text-anchor", "end").A("fill", col.Muted).A("class", "fill-muted").Text(r.Note)
	line := func(from, to, width float64) {
		s.Start("line").N("x1", f.x(from)).N("y1", y).N("x2", f.x(to)).N("y2", y).A("stroke", colour).A("class", "line-"+class).N("stroke-width", width).End()
	}
	if !isFinite(r.Mid) {
		s.Start("text").N("x", f.left+4).N("y", y+4).A("fill", col.Muted).A("class", "fill-muted").A("font-style", "italic").Text(r.Instead)
		return
	}
	if r.Bar {
		s.Start("rect").N("x", f.x(max(0, f.x0))).N("y", y-7).N("width", max(f.x(r.Mid)-f.x(max(0, f.x0)), 0.5)).N("height", 14).
			A("fill", colour).A("class", "fill-"+class).N("fill-opacity", 0.45).End()
		if isFinite(r.Low) && isFinite(r.High) {
			line(r.Low, r.High, 1.2)
		}
		return
	}
	if isFinite(r.ThinLow) && isFinite(r.ThinHigh) {
		line(r.ThinLow, r.ThinHigh, 1)
	}
	if isFinite(r.Low) && isFinite(r.High) {
		line(r.Low, r.High, 4)
	}
	if r.Beyond {
		s.Start("circle").N("cx", f.x(r.Mid)).N("cy", y).N("r", 4.5).A("fill", col.Paper).A("class", "fill-paper").A("stroke", colour).N("stroke-width", 1.2).End()
		return
	}
	s.Start("circle").N("cx", f.x(r.Mid)).N("cy", y).N("r", 5).A("fill", col.Paper).A("class", "fill-paper").End()
	s.Start("circle").N("cx", f.x(r.Mid)).N("cy", y).N("r", 3.8).A("fill", colour).A("class", "fill-"+class).End()
}

// fitText shortens a text to a width.
func fitText(t string, w float64) string {
	if TextWidth(t, chartText, false) <= w {
		return t
	}
	rs := []rune(t)
	for len(rs) > 1 && TextWidth(string(rs)+"…", chartText, false) > w {
		rs = rs[:len(rs)-1]
	}
	return string(rs) + "…"
}
