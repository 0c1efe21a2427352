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
	// Log makes it logarithmic; values must then be above nought.
	Log bool
	// Nought sets what is exactly nought (dry holes) apart, in a strip of its own
	// beside the axis, under this word.
	Nought string
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
	// NoughtMark is a column Y[0] high over the strip of the X axis for noughts.
	NoughtMark
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
	Label  string  // written at its end
	LabelX float64 // along X, where the label stands under the curve; 0: at its end
	Hollow bool    // points and columns as outlines: bounds, not values
	Radius float64
	Base   []float64 // of columns: what they stand on; nil: nought
}

// Room around the plot, pixels.
const (
	chartLeft   = 46.0
	chartRight  = 14.0
	chartTop    = 12.0
	chartBottom = 42.0
	chartText   = 12.0
)

// Width and height of the strips for noughts.
const (
	noughtWide = 46.0
	noughtHigh = 26.0
)

// chartFrame places values in the plot. The strips for noughts lie left of left
// and under base.
type chartFrame struct {
	x0, x1, y0, y1, left, right, top, base float64
	xLog, yLog                             bool
	noughtX, noughtY                       float64 // their middles; NaN: none
}

// along is where a value lies between two ends, 0 to 1.
func along(v, low, high float64, log bool) float64 {
	if log {
		v, low, high = math.Log(max(v, low)), math.Log(low), math.Log(high)
	}
	return min(max((v-low)/(high-low), 0), 1)
}

func (f *chartFrame) x(v float64) float64 {
	if v == 0 && isFinite(f.noughtX) {
		return f.noughtX
	}
	return f.left + along(v, f.x0, f.x1, f.xLog)*(f.right-f.left)
}

func (f *chartFrame) y(v float64) float64 {
	if v == 0 && isFinite(f.noughtY) {
		return f.noughtY
	}
	return f.base - along(v, f.y0, f.y1, f.yLog)*(f.base-f.top)
}

// DrawChart draws a chart. Each part bears a class that names its colour, so
// that a page can recolour it where it is printed.
func DrawChart(c *Chart, t Theme, prefix string) []byte { return DrawCharts([]*Chart{c}, t, prefix) }

// DrawCharts draws charts one under the other as one drawing, which is called
// what the first one is called.
func DrawCharts(charts []*Chart, t Theme, prefix string) []byte {
	s := NewSVG(prefix)
	col := t.Colours()
	w, h := 220.0, 0.0
	for _, c := range charts {
		w, h = max(w, c.W), h+max(c.H, 120)
	}
	s.Start("svg").A("xmlns", "http://www.w3.org/2000/svg").A("viewBox", "0 0 "+trim(w)+" "+trim(h)).
		N("width", w).N("height", h).A("role", "img").A("aria-labelledby", s.ID("title")).
		A("font-family", mapFont).A("font-size", trim(chartText)).A("fill", col.Ink).Open()
	s.Start("title").IDAttr("title").Text(charts[0].Title)
	s.Start("desc").IDAttr("desc").Text(charts[0].Desc)
	top := 0.0
	for _, c := range charts {
		c.drawAt(s, col, w, top)
		top += max(c.H, 120)
	}
	return s.Bytes()
}

// drawAt draws a chart under what was drawn before.
func (c *Chart) drawAt(s *SVG, col Colours, w, top float64) {
	h := max(c.H, 120)
	x0, x1, xTicks := c.X.span(c.values(true), w/70)
	y0, y1, yTicks := c.Y.span(c.values(false), h/42)
	f := &chartFrame{x0: x0, x1: x1, y0: y0, y1: y1, left: chartLeft, right: w - chartRight, top: top + chartTop, base: top + h - chartBottom,
		xLog: c.X.Log, yLog: c.Y.Log, noughtX: math.NaN(), noughtY: math.NaN()}
	if c.Y.Label != "" {
		f.top += 18
	}
	if c.X.Nought != "" {
		f.noughtX = f.left + noughtWide/2
		f.left += noughtWide + 8
	}
	if c.Y.Nought != "" {
		f.noughtY = f.base - noughtHigh/2
		f.base -= noughtHigh
	}
	f.axes(s, c, col, top, xTicks, yTicks)
	for i := range c.Marks {
		f.mark(s, &c.Marks[i], col)
	}
	f.labels(s, c, col)
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
		if m.Kind == ColumnsMark || m.Kind == NoughtMark {
			out = append(out, 0)
		}
	}
	return out
}

// span settles the ends and the ticks of an axis, at most about so many.
func (a *ChartAxis) span(values []float64, most float64) (low, high float64, ticks []float64) {
	low, high = a.Low, a.High
	if a.Log {
		return a.logSpan(values, most)
	}
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

// logSpan is span for a logarithmic axis: ends at 1, 2 or 5 of a power of ten,
// ticks there, or at powers of ten alone where those are many.
func (a *ChartAxis) logSpan(values []float64, most float64) (low, high float64, ticks []float64) {
	low, high = a.Low, a.High
	if !(high > low && low > 0) {
		low, high = math.Inf(1), 0
		for _, v := range values {
			if v > 0 {
				low, high = min(low, v), max(high, v)
			}
		}
		if high == 0 {
			low, high = 1, 10
		}
		low, high = logRound(low, false), logRound(high, true)
	}
	if a.Ticks != nil {
		return low, high, a.Ticks
	}
	steps := []float64{1, 2, 5}
	if math.Log10(high/low)*3 > most*1.6 {
		steps = steps[:1]
	}
	for p := math.Floor(math.Log10(low) + 1e-9); p <= math.Log10(high)+1e-9; p++ {
		for _, f := range steps {
			if v := math.Pow(10, p) * f; v >= low*(1-1e-9) && v <= high*(1+1e-9) {
				ticks = append(ticks, v)
			}
		}
	}
	return low, high, ticks
}

// logRound is the next 1, 2 or 5 of a power of ten below or above v.
func logRound(v float64, up bool) float64 {
	p := math.Pow(10, math.Floor(math.Log10(v)+1e-9))
	best := p
	for _, f := range []float64{1, 2, 5, 10} {
		e := f * p
		if up && e >= v*(1-1e-9) {
			if e == p && v <= p {
				return 2 * p // an axis of some length
			}
			return e
		}
		if !up && e <= v*(1+1e-9) {
			best = e
		}
	}
	return best
}

func (f *chartFrame) axes(s *SVG, c *Chart, col Colours, top float64, xTicks, yTicks []float64) {
	for _, v := range yTicks {
		y := f.y(v)
		if v == 0 && isFinite(f.noughtY) {
			continue
		}
		s.Start("line").N("x1", f.left).N("y1", y).N("x2", f.right).N("y2", y).A("stroke", col.Hair).A("class", "line-hair").N("stroke-width", 1).End()
		text := c.Y.Figure(v)
		s.Start("text").N("x", chartLeft-6).N("y", y+4).A("text-anchor", "end").A("fill", col.Muted).A("class", "fill-muted").Text(text)
	}
	s.Start("line").N("x1", f.left).N("y1", f.base).N("x2", f.right).N("y2", f.base).A("stroke", col.Ink).A("class", "line-ink").N("stroke-width", 1).End()
	foot := f.base
	if isFinite(f.noughtY) {
		foot += noughtHigh
		s.Start("text").N("x", chartLeft-6).N("y", f.noughtY+4).A("text-anchor", "end").A("fill", col.Muted).A("class", "fill-muted").Text(c.Y.Nought)
		s.Start("line").N("x1", f.left).N("y1", foot).N("x2", f.right).N("y2", foot).A("stroke", col.Hair).A("class", "line-hair").N("stroke-width", 1).End()
	}
	if isFinite(f.noughtX) {
		s.Start("line").N("x1", chartLeft).N("y1", f.base).N("x2", chartLeft+noughtWide).N("y2", f.base).A("stroke", col.Ink).A("class", "line-ink").N("stroke-width", 1).End()
		s.Start("text").N("x", f.noughtX).N("y", foot+17).A("text-anchor", "middle").A("fill", col.Muted).A("class", "fill-muted").Text(c.X.Nought)
	}
	end := -math.MaxFloat64
	for _, v := range xTicks {
		if v == 0 && isFinite(f.noughtX) {
			continue
		}
		x := f.x(v)
		s.Start("line").N("x1", x).N("y1", foot).N("x2", x).N("y2", foot+4).A("stroke", col.Ink).A("class", "line-ink").N("stroke-width", 1).End()
		text := c.X.Figure(v)
		w := TextWidth(text, chartText, false)
		if left := min(max(x-w/2, 0), f.right+chartRight-w); left > end+8 {
			s.Start("text").N("x", left).N("y", foot+17).A("fill", col.Muted).A("class", "fill-muted").Text(text)
			end = left + w
		}
	}
	s.Start("text").N("x", f.right).N("y", foot+34).A("text-anchor", "end").A("fill", col.Muted).A("class", "fill-muted").Text(c.X.Label)
	if c.Y.Label != "" {
		s.Start("text").N("x", 2).N("y", top+chartText+1).A("fill", col.Muted).A("class", "fill-muted").Text(c.Y.Label)
	}
}
