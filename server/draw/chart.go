package draw

import (
	"math"
	"sort"
)

// Chart is an ordinary chart of two axes: curves, bands, points with bars,
// columns. What it shows is said in its title and, by the page, in a sentence
// beside it; its data stand in a table on the page.
type Chart struct {
	Title string // for those who cannot see it
	Desc  string // what it shows, in a sentence
	W, H  float64
	X, Y  ChartAxis
	Marks []ChartMark // drawn in their order
}

// ChartAxis is one axis. Low and High are its ends; equal ends are spread to
// what the marks need, with round ends.
type ChartAxis struct {
	Label     string // with the unit: 'depth, feet'
	Low, High float64
	Figure    func(v float64) string // how a tick is written
	Ticks     []float64              // nil: chosen by the chart
}

// ChartKind is how a mark is drawn.
type ChartKind uint8

// The kinds of mark. Steps hold a value until the next one; Band fills between
// Low and High; Columns stand on zero, each from its X to the next; Across and
// Upright are rules through the whole plot at Y[0] and X[0].
const (
	CurveMark ChartKind = iota
	StepsMark
	BandMark
	PointsMark
	ColumnsMark
	AcrossMark
	UprightMark
)

// ChartTone is a colour by its meaning.
type ChartTone uint8

// The tones: ink and muted for what is told, water for water, signal for what
// is to be noticed.
const (
	InkTone ChartTone = iota
	MutedTone
	WaterTone
	SignalTone
)

// ChartMark is one thing drawn. Values are in the shown units; one that is not
// finite breaks a curve and leaves out a point.
type ChartMark struct {
	Kind   ChartKind
	Tone   ChartTone
	X, Y   []float64
	Low    []float64 // of bands and of the bars of points
	High   []float64
	Dashed bool
	Label  string // written at its end
}

// Room around the plot, pixels.
const (
	chartLeft   = 46.0
	chartRight  = 14.0
	chartTop    = 12.0
	chartBottom = 42.0
	chartText   = 12.0
)

// chartFrame places values in the plot.
type chartFrame struct{ x0, x1, y0, y1, left, right, top, base float64 }

func (f *chartFrame) x(v float64) float64 {
	return f.left + min(max((v-f.x0)/(f.x1-f.x0), 0), 1)*(f.right-f.left)
}

func (f *chartFrame) y(v float64) float64 {
	return f.base - min(max((v-f.y0)/(f.y1-f.y0), 0), 1)*(f.base-f.top)
}

// DrawChart draws a chart. Each part bears a class that names its colour, so
// that a page can recolour it where it is printed.
func DrawChart(c *Chart, t Theme, prefix string) []byte {
	s := NewSVG(prefix)
	col := t.Colours()
	w, h := max(c.W, 220), max(c.H, 120)
	x0, x1, xTicks := c.X.span(c.values(true), w/70)
	y0, y1, yTicks := c.Y.span(c.values(false), h/42)
	f := &chartFrame{x0: x0, x1: x1, y0: y0, y1: y1, left: chartLeft, right: w - chartRight, top: chartTop, base: h - chartBottom}
	if c.Y.Label != "" {
		f.top += 18
	}
	s.Start("svg").A("xmlns", "http://www.w3.org/2000/svg").A("viewBox", "0 0 "+trim(w)+" "+trim(h)).
		N("width", w).N("height", h).A("role", "img").A("aria-labelledby", s.ID("title")).
		A("font-family", mapFont).A("font-size", trim(chartText)).A("fill", col.Ink).Open()
	s.Start("title").IDAttr("title").Text(c.Title)
	s.Start("desc").IDAttr("desc").Text(c.Desc)
	f.axes(s, c, col, xTicks, yTicks)
	for i := range c.Marks {
		f.mark(s, &c.Marks[i], col)
	}
	f.labels(s, c, col)
	return s.Bytes()
}

// values are the finite values of the marks along one axis.
func (c *Chart) values(alongX bool) []float64 {
	var out []float64
	add := func(vs []float64) {
		for _, v := range vs {
			if !math.IsNaN(v) && !math.IsInf(v, 0) {
				out = append(out, v)
			}
		}
	}
	for i := range c.Marks {
		m := &c.Marks[i]
		if alongX {
			add(m.X)
			continue
		}
		add(m.Y)
		add(m.Low)
		add(m.High)
		if m.Kind == ColumnsMark {
			out = append(out, 0)
		}
	}
	return out
}

// span settles the ends and the ticks of an axis, at most about so many.
func (a *ChartAxis) span(values []float64, most float64) (low, high float64, ticks []float64) {
	low, high = a.Low, a.High
	if !(high > low) {
		sort.Float64s(values)
		if n := len(values); n > 0 {
			low, high = values[0], values[n-1]
		}
		if !(high > low) {
			high = low + 1
		}
		step, _ := niceStep((high - low) / max(most, 2))
		low, high = math.Floor(low/step)*step, math.Ceil(high/step)*step
	}
	if a.Ticks != nil {
		return low, high, a.Ticks
	}
	step, _ := niceStep((high - low) / max(most, 2))
	for k := math.Ceil(low/step - 1e-9); k <= math.Floor(high/step+1e-9); k++ {
		ticks = append(ticks, k*step+0) // no minus zero
	}
	return low, high, ticks
}

func (f *chartFrame) axes(s *SVG, c *Chart, col Colours, xTicks, yTicks []float64) {
	for _, v := range yTicks {
		y := f.y(v)
		s.Start("line").N("x1", f.left).N("y1", y).N("x2", f.right).N("y2", y).A("stroke", col.Hair).A("class", "line-hair").N("stroke-width", 1).End()
		text := c.Y.Figure(v)
		s.Start("text").N("x", f.left-6).N("y", y+4).A("text-anchor", "end").A("fill", col.Muted).A("class", "fill-muted").Text(text)
	}
	s.Start("line").N("x1", f.left).N("y1", f.base).N("x2", f.right).N("y2", f.base).A("stroke", col.Ink).A("class", "line-ink").N("stroke-width", 1).End()
	end := -math.MaxFloat64
	for _, v := range xTicks {
		x := f.x(v)
		s.Start("line").N("x1", x).N("y1", f.base).N("x2", x).N("y2", f.base+4).A("stroke", col.Ink).A("class", "line-ink").N("stroke-width", 1).End()
		text := c.X.Figure(v)
		w := TextWidth(text, chartText, false)
		if left := min(max(x-w/2, 0), f.right+chartRight-w); left > end+8 {
			s.Start("text").N("x", left).N("y", f.base+17).A("fill", col.Muted).A("class", "fill-muted").Text(text)
			end = left + w
		}
	}
	s.Start("text").N("x", f.right).N("y", f.base+34).A("text-anchor", "end").A("fill", col.Muted).A("class", "fill-muted").Text(c.X.Label)
	if c.Y.Label != "" {
		s.Start("text").N("x", 2).N("y", chartText+1).A("fill", col.Muted).A("class", "fill-muted").Text(c.Y.Label)
	}
}
