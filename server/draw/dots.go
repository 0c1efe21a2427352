package draw

import (
	"math"
	"sort"
	"strconv"
)

// DotPlot shows a distribution as equally likely outcomes, a dot for each: it
// is read by counting.
type DotPlot struct {
	Title  string    // for those who cannot see it
	Values []float64 // shown unit, any order; +Inf is beyond what the records say
	Need   float64   // a value to reach, marked; 0: none
	Needed string    // written at that mark: '5 gpm needed'
	// Came is what was found afterwards, marked where CameSaid says it in
	// words: 'came: 52 ft'.
	Came     float64
	CameSaid string
	// Never is the words for outcomes that are +Inf because they never come:
	// 'not by 500 ft'. They stand hollow, apart from the others, and the words
	// count them. "": +Inf is what the records cannot tell.
	Never  string
	Unit   string  // under the axis: 'feet'
	Water  bool    // drawn in the colour of water
	Log    bool    // spread by ratios: for yields
	Least  float64 // on a log axis, what is not told apart from nothing
	Figure func(v float64) string
}

// Sizes of a dot plot, pixels.
const (
	plotW     = 420.0
	plotDotR  = 6.2
	plotPadX  = 14.0
	plotAxisH = 38.0
	neverHigh = 4    // hollow dots on one another
	plotNeedH = 18.0 // room for the words of what is needed
)

// Dots draws the plot. Besides its colour each part bears a class that names
// the colour, so that a page can recolour it where it is printed.
func Dots(d *DotPlot, t Theme, prefix string) []byte {
	c := t.Colours()
	s := NewSVG(prefix)
	axis := axisFor(d)
	cols := map[int][]float64{}
	per := 2*plotDotR + 0.8
	inner := plotW - 2*plotPadX
	most := 1
	values := append([]float64(nil), d.Values...)
	sort.Float64s(values)
	never, aside := 0, 0.0
	neverWords := ""
	if d.Never != "" {
		for len(values) > 0 && math.IsInf(values[len(values)-1], 1) {
			values = values[:len(values)-1]
			never++
		}
		if never > 0 {
			neverWords = strconv.Itoa(never) + " " + d.Never
			aside = max(math.Ceil(float64(never)/neverHigh)*per, TextWidth(neverWords, 12, false)) + 18
			inner -= aside
			most = max(most, min(never, neverHigh))
		}
	}
	beyond := 0
	for _, v := range values {
		if v > axis.high {
			beyond++
		}
		col := int(axis.share(v) * (inner - per) / per)
		cols[col] = append(cols[col], v)
		most = max(most, len(cols[col]))
	}
	// What lies beyond the axis is told above the dots at its end.
	far, under := "", 0
	if beyond > 0 {
		far = "beyond " + d.Figure(axis.high)
		if last := values[len(values)-1]; !math.IsInf(last, 1) {
			far = "up to " + d.Figure(math.Round(last)) + " →"
		}
		from := plotW - plotPadX - aside - TextWidth(far, 11, false) - plotDotR
		for k, in := range cols {
			if plotPadX+(float64(k)+0.5)*per > from {
				under = max(under, len(in))
			}
		}
		most = max(most, under+1)
	}
	h := float64(most)*per + plotAxisH + 6
	if d.Need > 0 && d.Needed != "" {
		h += plotNeedH
	}
	cameY := h - float64(most)*per - plotAxisH + 6 // of its words, under those of what is needed
	if d.CameSaid != "" {
		h += plotNeedH
	}
	base := h - plotAxisH
	s.Start("svg").A("xmlns", "http://www.w3.org/2000/svg").A("viewBox", "0 0 "+trim(plotW)+" "+trim(h)).
		N("width", plotW).N("height", h).A("role", "img").A("aria-labelledby", s.ID("title")).
		A("font-family", mapFont).A("font-size", "12").A("fill", c.Ink).Open()
	s.Start("title").IDAttr("title").Text(d.Title)
	full, name := c.Muted, "muted"
	if d.Water {
		full, name = c.Water, "water"
	}
	keys := make([]int, 0, len(cols))
	for k := range cols {
		keys = append(keys, k)
	}
	sort.Ints(keys)
	for _, k := range keys {
		x := plotPadX + (float64(k)+0.5)*per
		for i, v := range cols[k] {
			s.Start("circle").N("cx", x).N("cy", base-(float64(i)+0.5)*per).N("r", plotDotR)
			if d.Need > 0 && v < d.Need {
				s.A("fill", "none").A("stroke", full).N("stroke-width", 1.5).A("class", "line-"+name).End()
			} else {
				s.A("fill", full).A("class", "fill-"+name).End()
			}
		}
	}
	for i := range never {
		x := plotPadX + inner + 18 + (float64(i/neverHigh)+0.5)*per
		s.Start("circle").N("cx", x).N("cy", base-(float64(i%neverHigh)+0.5)*per).N("r", plotDotR).
			A("fill", "none").A("stroke", full).N("stroke-width", 1.5).A("class", "line-"+name).End()
	}
	if never > 0 {
		s.Start("text").N("x", plotPadX+inner+18).N("y", base+18).A("fill", c.Muted).A("class", "fill-muted").Text(neverWords)
	}
	right := plotW - plotPadX - aside
	s.Start("line").N("x1", plotPadX).N("y1", base+1).N("x2", right).N("y2", base+1).A("stroke", c.Ink).N("stroke-width", 1).A("class", "line-ink").End()
	if d.Need > 0 {
		x := plotPadX + axis.share(d.Need)*inner
		s.Start("line").N("x1", x).N("y1", 2).N("x2", x).N("y2", base+1).A("stroke", c.Signal).A("class", "line-signal").N("stroke-width", 1.5).A("stroke-dasharray", "4 3").End()
		if d.Needed != "" {
			left := x + 5
			if w := TextWidth(d.Needed, 12, false); left+w > plotW {
				left = x - 5 - w
			}
			s.Start("text").N("x", max(left, 0)).N("y", 12).A("fill", c.Signal).A("class", "fill-signal").Text(d.Needed)
		}
	}
	if d.CameSaid != "" {
		x := plotPadX + axis.share(d.Came)*inner
		s.Start("line").N("x1", x).N("y1", cameY-8).N("x2", x).N("y2", base+1).A("stroke", c.Ink).A("class", "line-ink").N("stroke-width", 2).End()
		left := x + 5
		if w := TextWidth(d.CameSaid, 12, true); left+w > plotW {
			left = x - 5 - w
		}
		s.Start("text").N("x", max(left, 0)).N("y", cameY).A("font-weight", "600").A("fill", c.Ink).A("class", "fill-ink").Text(d.CameSaid)
	}
	end := -math.MaxFloat64
	for _, v := range axis.ticks {
		x := plotPadX + axis.share(v)*inner
		s.Start("line").N("x1", x).N("y1", base+1).N("x2", x).N("y2", base+5).A("stroke", c.Ink).N("stroke-width", 1).A("class", "line-ink").End()
		text := d.Figure(v)
		w := TextWidth(text, 12, false)
		if left := min(max(x-w/2, 0), right+plotPadX-w); left > end+6 {
			s.Start("text").N("x", left).N("y", base+18).A("fill", c.Muted).A("class", "fill-muted").Text(text)
			end = left + w
		}
	}
	s.Start("text").N("x", right).N("y", base+33).A("fill", c.Muted).A("class", "fill-muted").A("text-anchor", "end").Text(d.Unit)
	if far != "" {
		s.Start("text").N("x", right).N("y", base-float64(under)*per-4).N("font-size", 11).A("fill", c.Muted).A("class", "fill-muted").
			A("text-anchor", "end").Text(far)
	}
	return s.Bytes()
}

// plotAxis places values between 0 and 1.
type plotAxis struct {
	low, high float64
	log       bool
	ticks     []float64
}

func (a *plotAxis) share(v float64) float64 {
	if a.log {
		from, to := math.Log(a.low), math.Log(a.high)
		return min(max((math.Log(max(v, a.low))-from)/(to-from), 0), 1)
	}
	return min(max((v-a.low)/(a.high-a.low), 0), 1)
}

// axisFor spans the values with round ends. A few that lie far beyond the
// others do not press those together: they stand at the end of the axis.
func axisFor(d *DotPlot) plotAxis {
	var finite []float64
	for _, v := range d.Values {
		if !math.IsInf(v, 0) && !math.IsNaN(v) {
			finite = append(finite, v)
		}
	}
	sort.Float64s(finite)
	low, high := 0.0, 1.0
	if n := len(finite); n > 0 {
		low, high = finite[0], finite[n-1]
		if most := finite[int(0.89*float64(n-1))]; high > 2.5*most && most > 0 {
			high = 1.3 * most
		}
	}
	if d.Need > 0 {
		low, high = min(low, d.Need), max(high, d.Need)
	}
	if d.CameSaid != "" {
		low, high = min(low, d.Came), max(high, d.Came)
	}
	if d.Log {
		return logAxis(low, high, d.Least)
	}
	if high <= low {
		high = low + 1
	}
	step, _ := niceStep((high - low) / 6)
	a := plotAxis{low: math.Floor(low/step) * step, high: math.Ceil(high/step) * step}
	for v := a.low; v <= a.high+step/2; v += step {
		a.ticks = append(a.ticks, v)
	}
	return a
}

func logAxis(low, high, least float64) plotAxis {
	least = max(least, 1e-3)
	low = max(low, least)
	a := plotAxis{low: low / 1.25, high: max(high, low*4) * 1.15, log: true}
	for p := math.Pow(10, math.Floor(math.Log10(a.low))); p < a.high; p *= 10 {
		for _, f := range []float64{1, 2, 5} {
			if v := p * f; v >= a.low && v <= a.high {
				a.ticks = append(a.ticks, v)
			}
		}
	}
	return a
}
