package server

import (
	"fmt"
	"html/template"
	"math"
	"strconv"

	"tallybook/records/review"
	"tallybook/records/snapshot"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// partLinks is a row of choices of a part.
type partLinks struct {
	Said  string
	Links []choice
}

// setting is a link that sets one setting of a part; "" takes it away.
func (v *reviewReading) setting(part, name, value, label string, on bool) choice {
	return choice{v.href(func(c *review.Settings) {
		if value == "" {
			delete(c.Parts, part+"."+name)
			return
		}
		c.Parts[part+"."+name] = value
	}) + "#" + part, label, on}
}

// choices is a row of links of which one is on.
func (v *reviewReading) choices(part, name, said string, values ...[2]string) partLinks {
	now := v.set.Part(part, name, "")
	row := partLinks{Said: said}
	for _, c := range values {
		row.Links = append(row.Links, v.setting(part, name, c[0], c[1], c[0] == now))
	}
	return row
}

// farScale writes distances of a reach in one unit.
type farScale struct {
	unit   string
	perM   float64
	places int
}

func farScaleOf(u say.System, reachM float64) farScale {
	switch {
	case u == say.SI && reachM >= 2000:
		return farScale{"kilometres", 1e-3, 2}
	case u == say.SI:
		return farScale{"metres", 1, 1}
	case reachM >= 800:
		return farScale{"miles", 1 / 1609.344, 2}
	}
	return farScale{"feet", 1 / 0.3048, 0}
}

func (f farScale) axis(u say.System, highM float64, label string) draw.ChartAxis {
	return draw.ChartAxis{Label: joinComma(label, f.unit), Low: 0, High: highM * f.perM, Figure: func(x float64) string { return u.Figure(x, f.places) }}
}

// variance is how semivariances are shown: in the square of the shown unit, or as
// they are on the scale of logarithms.
type variance struct {
	log    bool
	column string // ends the columns' names
	per    float64
	unit   string
}

func (v *reviewReading) variance(a *review.Answer) variance {
	if a.Word("scale") == "log" {
		return variance{log: true, column: "_ln2", per: 1, unit: "of the logarithm"}
	}
	per := v.kind.shown(1)
	unit := v.units.LengthUnit()
	out := variance{column: "_m2", per: per * per}
	if v.field == snapshot.Yield {
		unit, out.column = v.units.FlowUnit(), "_lps2"
	}
	out.unit = unit.Symbol() + "²"
	return out
}

// differ says by how much two wells of a semivariance differ: the root of twice
// that.
func (v *reviewReading) differ(s variance, gamma float64) string {
	d := math.Sqrt(2 * gamma)
	if s.log {
		return "a factor of about " + v.units.Figure(math.Exp(d), 1)
	}
	return "about " + v.kind.figure(d)
}

// figure writes a semivariance to three digits.
func (s variance) figure(u say.System, gamma float64) string {
	x := gamma * s.per
	places := 0
	if x != 0 && math.Abs(x) < 100 {
		places = min(4, 2-int(math.Floor(math.Log10(math.Abs(x)))))
	}
	return u.Figure(x, max(0, places))
}

func showStructure(a *review.Answer, v *reviewReading, out *reviewPartView) {
	s := v.variance(a)
	lags, model := a.Table("lags"), a.Table("model")
	v.sayStructure(a, s, model, out)
	v.structureNotes(a, s, model, out)
	out.Choices = append(out.Choices,
		v.choices("structure", "scale", "Compared:", [2]string{"", v.scaleByField()}, [2]string{"plain", "values"}, [2]string{"log", "logarithms"}),
		v.choices("structure", "shape", "Shape:", [2]string{"", "as fits best"}, [2]string{"spherical", "spherical"}, [2]string{"exponential", "exponential"}, [2]string{"gaussian", "gaussian"}),
		v.choices("structure", "fit", "Fitted to:", [2]string{"", "classical"}, [2]string{"robust", "robust"}),
		v.lagChoices("structure", a))
	x, robust := lags.Numbers("mean_m"), lags.Numbers("robust"+s.column)
	gamma, pairs := lags.Numbers("semivariance"+s.column), lags.Numbers("pairs")
	far := farScaleOf(v.units, a.Figure("reach_m"))
	shown := func(vs []float64) []float64 { return shownColumn(vs, func(g float64) float64 { return g * s.per }) }
	at := shownColumn(x, func(m float64) float64 { return m * far.perM })
	thin := func(vs []float64) []float64 { // lags of few pairs say nothing
		kept := append([]float64(nil), vs...)
		for i := range kept {
			if pairs[i] < 30 {
				kept[i] = math.NaN()
			}
		}
		return kept
	}
	upper := &draw.Chart{Title: out.Title, Desc: out.Say, W: v.w, H: 270, X: far.axis(v.units, a.Figure("reach_m"), ""),
		Y: draw.ChartAxis{Label: joinComma("semivariance", s.unit), Figure: func(g float64) string { return v.units.Figure(g, 2) }}}
	low, high := shown(lags.Numbers("without_structure_low"+s.column)), shown(lags.Numbers("without_structure_high"+s.column))
	upper.Marks = append(upper.Marks,
		draw.ChartMark{Kind: draw.BandMark, Tone: draw.MutedTone, X: at, Low: low, High: high},
		draw.ChartMark{Kind: draw.PointsMark, Tone: draw.MutedTone, Hollow: true, X: at, Y: thin(shown(robust))})
	if len(model.Rows) > 0 {
		upper.Marks = append(upper.Marks, v.modelCurve(a, s, model, far))
	}
	upper.Marks = append(upper.Marks, draw.ChartMark{Kind: draw.PointsMark, X: at, Y: thin(shown(gamma))})
	upper.Y.Low, upper.Y.High = 0, niceTop(upper)
	lower := &draw.Chart{W: v.w, H: 130, X: far.axis(v.units, a.Figure("reach_m"), "apart"),
		Y: draw.ChartAxis{Label: "pairs of wells", Figure: func(n float64) string { return grouped(int(n)) }}}
	edges := append(shownColumn(lags.Numbers("from_m"), func(m float64) float64 { return m * far.perM }), a.Figure("reach_m")*far.perM)
	lower.Marks = []draw.ChartMark{{Kind: draw.ColumnsMark, Tone: draw.MutedTone, X: edges, Y: pairs}}
	out.Wide = template.HTML(draw.DrawCharts([]*draw.Chart{upper, lower}, v.theme, v.id)) //nolint:gosec // escaped by package draw
	out.Terms = "Variogram: full points half the mean squared difference (Matheron 1963), hollow ones the estimate that wild values do not spoil (Cressie and Hawkins 1980), both where 30 pairs or more stand behind them; the curve is the model, fitted by least squares weighted with pairs / distance². Grey band: where points lie 19 times in 20 when the values are dealt out at random to the same wells."
	if a.Word("lags_by") == "the data" {
		out.Terms += " The lags reach half as far again as a first look finds the rise to end, but over six spacings of wells at least and a third of the way across them at most."
	}
}

// niceTop is where an axis of semivariances ends.
func niceTop(c *draw.Chart) float64 {
	top := 0.0
	for _, m := range c.Marks {
		for _, vs := range [][]float64{m.Y, m.High} {
			for _, y := range vs {
				if finite(y) {
					top = max(top, y)
				}
			}
		}
	}
	if top <= 0 {
		return 1
	}
	p := math.Pow(10, math.Floor(math.Log10(top)))
	for _, f := range []float64{1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10} {
		if f*p >= top {
			return f * p
		}
	}
	return top
}

// modelCurve is the model over the reach, through its shape's own formula.
func (v *reviewReading) modelCurve(a *review.Answer, s variance, model *review.Table, far farScale) draw.ChartMark {
	curve := draw.ChartMark{Kind: draw.CurveMark, Tone: draw.WaterTone, Label: "model"}
	m, ok := modelOf(model, s.column)
	if !ok {
		return curve
	}
	reach := a.Figure("reach_m")
	for i := range 121 {
		h := max(reach*float64(i)/120, reach*1e-6)
		curve.X, curve.Y = append(curve.X, h*far.perM), append(curve.Y, m.Gamma(h, 0)*s.per)
	}
	return curve
}

func (v *reviewReading) scaleByField() string {
	if v.field == snapshot.Yield {
		return "as usual for yield"
	}
	return "as usual for depths"
}

// lagChoices are other lags than those in use.
func (v *reviewReading) lagChoices(part string, a *review.Answer) partLinks {
	lag, reach := a.Figure("lag_m"), a.Figure("reach_m")
	row := partLinks{Said: "Lags of " + v.units.Distance(lag) + " up to " + v.units.Distance(reach) + ":"}
	row.Links = append(row.Links, choice{v.href(func(c *review.Settings) {
		delete(c.Parts, part+".lag_m")
		delete(c.Parts, part+".reach_m")
	}) + "#" + part, "as the data have it", a.Word("lags_by") == "the data"})
	for _, o := range []struct {
		label      string
		lag, reach float64
	}{{"finer", 0.5, 1}, {"wider", 2, 1}, {"nearer", 0.5, 0.5}, {"farther", 2, 2}} {
		if n := reach * o.reach / (lag * o.lag); n < 4 || n > 60 {
			continue
		}
		row.Links = append(row.Links, choice{v.href(func(c *review.Settings) {
			c.Parts[part+".lag_m"] = strconv.FormatFloat(lag*o.lag, 'g', 5, 64)
			c.Parts[part+".reach_m"] = strconv.FormatFloat(reach*o.reach, 'g', 5, 64)
		}) + "#" + part, o.label, false})
	}
	return row
}

// sayStructure says in a sentence or two what the structure is.
func (v *reviewReading) sayStructure(a *review.Answer, s variance, model *review.Table, out *reviewPartView) {
	m, ok := modelOf(model, s.column)
	switch {
	case !ok:
		out.Say = "No model can be fitted: " + a.Word("no_model") + "."
	case m.Nugget >= 0.999*m.Sill():
		out.Say = fmt.Sprintf("Wells next to each other differ as much as wells far apart: by %s. All of the difference is already there at zero distance.", v.differ(s, m.Sill()))
	default:
		where, far := v.units.Distance(m.Structures[0].RangeM)+" apart or more", m.Sill()
		if model.Texts("range_is_found")[0] == "no" {
			// The sill lies beyond what was looked at: only what was is told.
			where, far = v.units.Distance(a.Figure("reach_m"))+" apart", m.Gamma(a.Figure("reach_m"), 0)
		}
		out.Say = fmt.Sprintf("Wells %s differ by %s, and by the model nothing of that is there at zero distance.", where, v.differ(s, far))
		if m.Nugget > 0 {
			out.Say = fmt.Sprintf("Wells next to each other differ by %s, wells %s by %s: %s of the difference (as its square) is already there at zero distance.", v.differ(s, m.Nugget), where, v.differ(s, far), percentFigure(100*min(1, m.Nugget/far)))
		}
		if model.Texts("range_is_found")[0] == "no" {
			out.Say += " It still grows with distance there."
		}
	}
	if runs := a.Count("dealt_out_anew"); runs > 0 {
		switch alike := a.Count("of_those_as_alike"); {
		case alike == 0:
			out.Say += fmt.Sprintf(" Dealt out at random to the same wells, the values were never as alike nearby in %d tries: distance tells.", runs)
		case float64(alike+1)/float64(runs+1) <= 0.05:
			out.Say += fmt.Sprintf(" Dealt out at random to the same wells, the values were as alike nearby in %d of %d tries: distance likely tells.", alike, runs)
		default:
			out.Say += fmt.Sprintf(" Dealt out at random to the same wells, the values were as alike nearby in %d of %d tries: that is no clear sign that distance tells.", alike, runs)
		}
	}
}

// structureNotes say what it stands on.
func (v *reviewReading) structureNotes(a *review.Answer, s variance, model *review.Table, out *reviewPartView) {
	if m, ok := modelOf(model, s.column); ok {
		words := fmt.Sprintf("Model: %s; nugget %s, sill %s", m.Structures[0].Shape, s.figure(v.units, m.Nugget), s.figure(v.units, m.Sill()))
		if !s.log {
			words += " " + s.unit
		}
		words += ", range " + v.units.Distance(m.Structures[0].RangeM)
		if model.Texts("range_is_found")[0] == "no" {
			words += " (not found: within these lags the rise does not end)"
		}
		out.Notes = append(out.Notes, words+".")
	}
	words := fmt.Sprintf("From %s on %s, one of each compared", count(a.Count("values"), "value", "values"), count(a.Count("sites"), "spot", "spots"))
	if n := a.Count("wells_drawn"); n > 0 {
		words += fmt.Sprintf(": %s pairs, of %s wells drawn with a fixed seed and others around them", grouped(a.Count("pairs")), grouped(n))
	} else {
		words += fmt.Sprintf(": all %s pairs within reach", grouped(a.Count("pairs")))
	}
	if s.log {
		unit := v.units.FlowUnit().Symbol()
		if v.field != snapshot.Yield {
			unit = "m"
		}
		if v.field == snapshot.Yield && v.units == say.SI {
			unit = "US gallon a minute"
		}
		words += "; of the logarithm of 1 + value / (1 " + unit + ")"
	}
	out.Notes = append(out.Notes, words+".")
	if n := a.Count("bounds_left_out"); n > 0 {
		out.Notes = append(out.Notes, count(n, "well says only a bound and is left out: a bound has no difference.", "wells say only a bound and are left out: a bound has no difference."))
	}
	if n := a.Count("spots_of_several"); n > 0 {
		out.Notes = append(out.Notes, fmt.Sprintf("On %s with several wells, those differ by %s.", count(n, "spot", "spots"), v.differ(s, a.Figure("semivariance_on_a_spot"+s.column))))
	}
}

func showCrowding(a *review.Answer, v *reviewReading, out *reviewPartView) {
	u := v.suffix()
	plain, mean, side := a.Figure("plain_mean"+u), a.Figure("mean"+u), a.Figure("cell_m")
	out.Say = fmt.Sprintf("Every well counted alike, the mean is %s and the middle %s; where wells that crowd in one square of %s share its say, they are %s and %s.",
		v.kind.figure(plain), v.kind.figure(a.Figure("plain_median"+u)), v.units.Distance(side), v.kind.figure(mean), v.kind.figure(a.Figure("median"+u)))
	if plain > 0 {
		switch d := mean/plain - 1; {
		case math.Abs(d) < 0.03:
			out.Say += " Crowds mislead hardly here."
		case d < 0:
			out.Say += " Crowds stand on higher values than the ground at large."
		default:
			out.Say += " Crowds stand on lower values than the ground at large."
		}
	}
	t := a.Table("cells")
	far := farScaleOf(v.units, t.Numbers("cell_m")[len(t.Rows)-1])
	c := &draw.Chart{Title: out.Title, Desc: out.Say, X: draw.ChartAxis{Label: joinComma("side of the squares", far.unit), Figure: func(x float64) string { return v.units.Figure(x, far.places) }, Log: true}, Y: v.axis("mean")}
	x := shownColumn(t.Numbers("cell_m"), func(m float64) float64 { return m * far.perM })
	c.Marks = []draw.ChartMark{
		{Kind: draw.AcrossMark, Tone: draw.MutedTone, Dashed: true, Y: []float64{v.kind.shown(plain)}, Label: "every well alike"},
		{Kind: draw.UprightMark, Tone: draw.SignalTone, Dashed: true, X: []float64{side * far.perM}},
		{Kind: draw.CurveMark, X: x, Y: shownColumn(t.Numbers("mean"+u), v.kind.shown)},
		{Kind: draw.PointsMark, Tone: draw.SignalTone, X: []float64{side * far.perM}, Y: []float64{v.kind.shown(mean)}},
	}
	if v.narrow() {
		c.Marks[0].Label = ""
	}
	lowest, highest := math.Inf(1), math.Inf(-1)
	for _, m := range append(t.Numbers("mean"+u), plain) {
		lowest, highest = min(lowest, v.kind.shown(m)), max(highest, v.kind.shown(m))
	}
	pad := max((highest-lowest)*0.15, highest*0.02, 0.1)
	c.Y.Low, c.Y.High = max(0, lowest-pad), highest+pad
	out.Choices = append(out.Choices, v.choices("crowding", "seek", "Of all squares take:", [2]string{"", "the side the curve leans to"}, [2]string{"lowest", "the lowest mean"}, [2]string{"highest", "the highest mean"}))
	out.Wide = v.chart(c, 260)
	if n := a.Count("bounds_left_out"); n > 0 {
		out.Notes = append(out.Notes, count(n, "well says only a bound and is left out of these means.", "wells say only a bound and are left out of these means."))
	}
	out.Caution = "Which squares are right the records cannot say: where the curve only wavers, the difference is none."
	out.Terms = "Cell declustering: each square with wells counts alike, over 8 origins of the squares; the side whose mean is " + a.Word("sought") + " of those tried is taken (Journel 1983, Deutsch 1989)."
}
