package draw

import "math"

// tone is the colour of a tone, and the class that names it.
func (t ChartTone) tone(c Colours) (colour, class string) {
	switch t {
	case MutedTone:
		return c.Muted, "muted"
	case WaterTone:
		return c.Water, "water"
	case SignalTone:
		return c.Signal, "signal"
	}
	return c.Ink, "ink"
}

func isFinite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// at is a value of a list, NaN past its end.
func at(vs []float64, i int) float64 {
	if i < len(vs) {
		return vs[i]
	}
	return math.NaN()
}

func (f *chartFrame) mark(s *SVG, m *ChartMark, c Colours) {
	colour, class := m.Tone.tone(c)
	stroke := func(width float64) {
		s.A("stroke", colour).A("class", "line-"+class).N("stroke-width", width)
		if m.Dashed {
			s.A("stroke-dasharray", "5 4")
		}
	}
	switch m.Kind {
	case CurveMark, StepsMark:
		p := f.path(m)
		if p.Empty() {
			return
		}
		s.Start("path").D(p).A("fill", "none").A("stroke-linejoin", "round")
		stroke(1.8)
		s.End()
	case BandMark:
		f.band(s, m, colour, class)
	case PointsMark:
		for i, x := range m.X {
			if !isFinite(x) || !isFinite(at(m.Y, i)) {
				continue
			}
			if lo, hi := at(m.Low, i), at(m.High, i); isFinite(lo) && isFinite(hi) {
				s.Start("line").N("x1", f.x(x)).N("y1", f.y(lo)).N("x2", f.x(x)).N("y2", f.y(hi))
				stroke(1.2)
				s.End()
			}
			f.point(s, m, f.x(x), f.y(m.Y[i]), colour, class)
		}
	case ColumnsMark:
		for i := 0; i+1 < len(m.X); i++ {
			y := at(m.Y, i)
			if !isFinite(y) || !isFinite(m.X[i]) || !isFinite(m.X[i+1]) {
				continue
			}
			stands := 0.0
			if m.Base != nil {
				if stands = at(m.Base, i); !isFinite(stands) {
					stands = 0
				}
			}
			left, right := f.x(m.X[i])+1, f.x(m.X[i+1])-1
			top, foot := f.y(max(y, 0)+stands), f.y(max(y, 0)+stands)+math.Abs(f.y(y)-f.y(0))
			f.column(s, m, left, right, top, foot, colour, class)
		}
	case NoughtMark:
		if y := at(m.Y, 0); isFinite(y) && y > 0 && isFinite(f.noughtX) {
			f.column(s, m, f.noughtX-noughtWide/2+6, f.noughtX+noughtWide/2-6, f.y(y), f.base, colour, class)
		}
	case AcrossMark:
		if isFinite(at(m.Y, 0)) {
			s.Start("line").N("x1", f.left).N("y1", f.y(m.Y[0])).N("x2", f.right).N("y2", f.y(m.Y[0]))
			stroke(1.5)
			s.End()
		}
	case UprightMark:
		if isFinite(at(m.X, 0)) {
			s.Start("line").N("x1", f.x(m.X[0])).N("y1", f.top).N("x2", f.x(m.X[0])).N("y2", f.base)
			stroke(1.5)
			s.End()
		}
	}
}

// point draws one point: filled for a value, an outline for a bound.
func (f *chartFrame) point(s *SVG, m *ChartMark, x, y float64, colour, class string) {
	r := 4.0
	if m.Radius > 0 {
		r = m.Radius
	}
	s.Start("circle").N("cx", x).N("cy", y)
	if m.Hollow {
		s.N("r", r-0.4).A("fill", "none").A("stroke", colour).A("class", "line-"+class).N("stroke-width", 1).End()
		return
	}
	s.N("r", r).A("fill", colour).A("class", "fill-"+class)
	if m.Radius > 0 { // many, over each other
		s.N("fill-opacity", 0.55)
	}
	s.End()
}

// column draws one column: filled for values, an outline for bounds.
func (f *chartFrame) column(s *SVG, m *ChartMark, left, right, top, foot float64, colour, class string) {
	if m.Hollow {
		if foot-top > 0.2 {
			s.Start("rect").N("x", left+0.5).N("y", top+0.5).N("width", max(right-left-1, 1)).N("height", max(foot-top-0.5, 0.5)).
				A("fill", "none").A("stroke", colour).A("class", "line-"+class).N("stroke-width", 1).End()
		}
		return
	}
	s.Start("rect").N("x", left).N("y", top).N("width", max(right-left, 1)).N("height", foot-top).
		A("fill", colour).A("class", "fill-"+class).N("fill-opacity", 0.75).End()
}

func (f *chartFrame) path(m *ChartMark) *Path {
	p := &Path{}
	open, last := false, 0.0
	for i, x := range m.X {
		y := at(m.Y, i)
		if !isFinite(x) || !isFinite(y) {
			open = false
			continue
		}
		switch {
		case !open:
			p.M(f.x(x), f.y(y))
		case m.Kind == StepsMark:
			p.L(f.x(x), last)
			p.L(f.x(x), f.y(y))
		default:
			p.L(f.x(x), f.y(y))
		}
		open, last = true, f.y(y)
	}
	return p
}

func (f *chartFrame) band(s *SVG, m *ChartMark, colour, class string) {
	p := &Path{}
	var back [][2]float64
	flush := func() {
		for i := len(back) - 1; i >= 0; i-- {
			p.L(back[i][0], back[i][1])
		}
		if len(back) > 0 {
			p.Z()
		}
		back = back[:0]
	}
	for i, x := range m.X {
		lo, hi := at(m.Low, i), at(m.High, i)
		if !isFinite(x) || !isFinite(lo) || !isFinite(hi) {
			flush()
			continue
		}
		if len(back) == 0 {
			p.M(f.x(x), f.y(hi))
		} else {
			p.L(f.x(x), f.y(hi))
		}
		back = append(back, [2]float64{f.x(x), f.y(lo)})
	}
	flush()
	if !p.Empty() {
		s.Start("path").D(p).A("fill", colour).A("class", "fill-"+class).N("fill-opacity", 0.2).End()
	}
}

// labels writes the marks' own words at their ends, on a ground of paper,
// each moved clear of those before it.
func (f *chartFrame) labels(s *SVG, c *Chart, col Colours) {
	var taken []float64
	for i := range c.Marks {
		m := &c.Marks[i]
		if m.Label == "" {
			continue
		}
		colour, class := m.Tone.tone(col)
		w := TextWidth(m.Label, chartText, false)
		x, y := f.right-w-4, 0.0
		switch m.Kind {
		case UprightMark:
			x = min(max(f.x(at(m.X, 0))+5, f.left), f.right-w)
			y = f.top + 10
		case AcrossMark:
			y = f.y(at(m.Y, 0)) - 5
		default:
			y = f.y(lastFinite(m)) - 6
			if v, ok := m.value(m.LabelX); ok {
				x, y = min(f.x(m.LabelX)+8, f.right-w), f.y(v)+chartText+4
			}
		}
		y = min(max(y, f.top+10), f.base-3)
		for again := true; again; {
			again = false
			for _, other := range taken {
				if math.Abs(other-y) < chartText+3 && y+chartText+4 < f.base {
					y, again = other+chartText+4, true
				}
			}
		}
		taken = append(taken, y)
		s.Start("rect").N("x", x-3).N("y", y-chartText+1).N("width", w+6).N("height", chartText+3).A("fill", col.Paper).A("class", "fill-paper").N("fill-opacity", 0.85).End()
		s.Start("text").N("x", x).N("y", y).A("fill", colour).A("class", "fill-"+class).Text(m.Label)
	}
}

// value is Y at the first X from x on; ok is false where x is nought or past all.
func (m *ChartMark) value(x float64) (v float64, ok bool) {
	for i := range m.X {
		if x > 0 && m.X[i] >= x && isFinite(at(m.Y, i)) {
			return m.Y[i], true
		}
	}
	return 0, false
}

func lastFinite(m *ChartMark) float64 {
	vs := m.Y
	if len(vs) == 0 {
		vs = m.High
	}
	for i := len(vs) - 1; i >= 0; i-- {
		if isFinite(vs[i]) {
			return vs[i]
		}
	}
	return math.NaN()
}
