package server

import (
	"fmt"
	"html/template"
	"math"
	"strconv"
	"strings"

	"tallybook/geo/variogram"
	"tallybook/records/desk"
	"tallybook/records/review"
	"tallybook/records/snapshot"
	"tallybook/server/draw"
)

// modelOf reads a fitted model from its table; ok is false where there is none.
func modelOf(t *review.Table, column string) (variogram.Model, bool) {
	if len(t.Rows) == 0 {
		return variogram.Model{}, false
	}
	nugget, sill := t.Numbers("nugget" + column)[0], t.Numbers("sill" + column)[0]
	for _, s := range []variogram.Shape{variogram.Spherical, variogram.Exponential, variogram.Gaussian} {
		if s.String() == t.Texts("shape")[0] {
			m := variogram.Model{Nugget: nugget, Structures: []variogram.Structure{{Shape: s, Sill: max(0, sill-nugget), RangeM: t.Numbers("range_m")[0]}}}
			return m, m.Validate() == nil
		}
	}
	return variogram.Model{}, false
}

// lineWords names a line by where it runs.
func lineWords(azimuthDeg float64) string {
	switch azimuthDeg {
	case 0:
		return "north–south"
	case 45:
		return "north-east–south-west"
	case 90:
		return "east–west"
	}
	return "north-west–south-east"
}

func showDirections(a *review.Answer, v *reviewReading, out *reviewPartView) {
	s := v.variance(a)
	sums := a.Table("directions")
	azimuth, ratio, enough := sums.Numbers("azimuth_deg"), sums.Numbers("ratio_to_all"), sums.Numbers("lags_with_enough")
	least, most, tell := -1, -1, 0
	var few []string
	for i := range azimuth {
		if enough[i] < 3 || !finite(ratio[i]) {
			few = append(few, lineWords(azimuth[i]))
			continue
		}
		tell++
		if least < 0 || ratio[i] < ratio[least] {
			least = i
		}
		if most < 0 || ratio[i] > ratio[most] {
			most = i
		}
	}
	switch {
	case tell < 2:
		out.Say = "Too few pairs lie along any one line to compare directions."
	case ratio[most]/ratio[least] < 1.25:
		out.Say = fmt.Sprintf("About the same: along no line do wells differ much more than along another (least %s, most %s).", lineWords(azimuth[least]), lineWords(azimuth[most]))
	default:
		out.Say = fmt.Sprintf("Wells differ least along %s and most along %s: there the squared difference is %s times as large.", lineWords(azimuth[least]), lineWords(azimuth[most]), v.units.Figure(ratio[most]/ratio[least], 1))
	}
	if len(few) > 0 && tell >= 2 {
		out.Notes = append(out.Notes, "Too few pairs to say along "+strings.Join(few, " and ")+".")
	}
	out.Caution = "Four lines share the same wells, and one of them always comes out lowest: no test says here that a difference is more than luck."
	out.Wide = v.directionCharts(a, s, out)
	out.Choices = append(out.Choices,
		v.choices("directions", "scale", "Compared:", [2]string{"", v.scaleByField()}, [2]string{"plain", "values"}, [2]string{"log", "logarithms"}), v.lagChoices("directions", a))
	out.Table = listing{Heads: heads("along", "#pairs", "#distances with 30 pairs or more", "#squared difference, to all directions")}
	for i, az := range azimuth {
		word := cell{Text: "too few to say", Class: "quiet"}
		if enough[i] >= 3 && finite(ratio[i]) {
			word = cell{Text: v.units.Figure(ratio[i], 2)}
		}
		out.Table.add("", cell{Text: lineWords(az)}, cell{Text: grouped(int(sums.Numbers("pairs")[i]))}, cell{Text: grouped(int(enough[i]))}, word)
	}
	out.Terms = "Directional variograms, classical estimate, each of pairs within 22.5° of its line; lags twice as wide as without directions. The last column is the mean ratio of semivariances to those of all directions, over lags with 30 pairs or more."
}

// directionCharts are four charts of one scale, one for each line, each with the
// lags of all directions behind it.
func (v *reviewReading) directionCharts(a *review.Answer, s variance, out *reviewPartView) template.HTML {
	t := a.Table("lags")
	azimuth, mean, gamma, told := t.Numbers("azimuth_deg"), t.Numbers("mean_m"), t.Numbers("semivariance"+s.column), t.Texts("enough")
	pairs, from := t.Numbers("pairs"), t.Numbers("from_m")
	far := farScaleOf(v.units, a.Figure("reach_m"))
	// All directions together, lag by lag.
	type sum struct{ pairs, gamma, mean float64 }
	sums := map[float64]sum{}
	var order []float64
	for i, f := range from {
		if _, seen := sums[f]; !seen {
			order = append(order, f)
		}
		o := sums[f]
		if w := pairs[i]; w > 0 {
			o = sum{o.pairs + w, o.gamma + w*gamma[i], o.mean + w*mean[i]}
		}
		sums[f] = o
	}
	all := draw.ChartMark{Kind: draw.CurveMark, Tone: draw.MutedTone, Dashed: true}
	for _, f := range order {
		o := sums[f]
		all.X, all.Y = append(all.X, o.mean/o.pairs*far.perM), append(all.Y, o.gamma/o.pairs*s.per)
	}
	var charts []*draw.Chart
	top := &draw.Chart{}
	for k, az := range a.Table("directions").Numbers("azimuth_deg") {
		c := &draw.Chart{W: v.w, H: 140, X: far.axis(v.units, a.Figure("reach_m"), ""), Y: draw.ChartAxis{Label: lineWords(az), Figure: func(g float64) string { return v.units.Figure(g, 2) }}}
		if k == 0 {
			c.Title, c.Desc = out.Title, out.Say
			c.Y.Label = joinComma(lineWords(az)+": semivariance", s.unit)
		}
		c.X.Label = ""
		if k == 3 {
			c.X.Label = joinComma("apart", far.unit)
		}
		line, points := draw.ChartMark{Kind: draw.CurveMark}, draw.ChartMark{Kind: draw.PointsMark, Radius: 3.5}
		for i := range azimuth {
			if azimuth[i] != az {
				continue
			}
			y := math.NaN()
			if told[i] == "yes" {
				y = gamma[i] * s.per
			}
			line.X, line.Y = append(line.X, mean[i]*far.perM), append(line.Y, y)
		}
		points.X, points.Y = line.X, line.Y
		behind := all
		if k == 0 {
			behind.Label = "all directions"
		}
		c.Marks = []draw.ChartMark{behind, line, points}
		top.Marks = append(top.Marks, c.Marks...)
		charts = append(charts, c)
	}
	for _, c := range charts {
		c.Y.Low, c.Y.High = 0, niceTop(top)
	}
	return template.HTML(draw.DrawCharts(charts, v.theme, v.id)) //nolint:gosec // escaped by package draw
}

// methodWords is what a method is called.
func methodWords(name string, withArticle bool) string {
	switch name {
	case "neighbours":
		if withArticle {
			return "the estimate from neighbours"
		}
		return "estimate from neighbours"
	case "kriging":
		return "ordinary kriging"
	case "log-kriging":
		return "kriging of logarithms"
	case "idw":
		return "inverse distance"
	}
	the := ""
	if withArticle {
		the = "the "
	}
	switch name {
	case "nearest":
		return the + "nearest well"
	case "area":
		return the + "middle of the area"
	}
	return the + "middle of all wells"
}

// methodShort is the same for a narrow drawing.
func methodShort(name string) string {
	switch name {
	case "neighbours":
		return "neighbours"
	case "kriging":
		return "kriging"
	case "log-kriging":
		return "kriging, logs"
	case "nearest":
		return "nearest well"
	case "area":
		return "area's middle"
	case "all":
		return "all wells"
	}
	return methodWords(name, false)
}

// fine writes an error to a digit more than amounts have.
func (v *reviewReading) fine(base float64) string {
	x := v.kind.shown(base)
	places := 1
	if math.Abs(x) < 9.95 {
		places = 2
	}
	unit := v.units.LengthUnit()
	if v.field == snapshot.Yield {
		unit = v.units.FlowUnit()
	}
	return strconv.FormatFloat(x, 'f', places, 64) + "\u00a0" + unit.Symbol()
}

func showMethods(a *review.Answer, v *reviewReading, out *reviewPartView) {
	u := v.suffix()
	scores, differences := a.Table("scores"), a.Table("differences")
	names, tested := scores.Texts("method"), scores.Numbers("tested")
	mae := scores.Numbers("mae" + u)
	mean, low, high := differences.Numbers("mae"+u), differences.Numbers("mae_low"+u), differences.Numbers("mae_high"+u)
	against, at := a.Word("against"), 0
	best := -1
	for i, n := range names {
		if n == against {
			at = i
		}
		if finite(mae[i]) && (best < 0 || mae[i] < mae[best]) {
			best = i
		}
	}
	if best < 0 || !finite(mae[at]) {
		out.TooFew = "Too few to say: no well could be told from others."
		return
	}
	hidden := "each hidden with all on its spot"
	if a.Word("hidden_by") == "block" {
		hidden = "hidden by squares of " + v.units.Distance(a.Figure("block_m"))
	}
	out.Say = fmt.Sprintf("Of %s tried, %s, %s comes nearest: off by %s on average", count(int(tested[best]), "well", "wells"), hidden, methodWords(names[best], true), v.fine(mae[best]))
	switch {
	case best == at && len(names) > 1:
		out.Say += ". " + v.notFar(names, mean, low, high, at)
	case low[best] > 0 || high[best] < 0:
		out.Say += fmt.Sprintf(", against %s by %s; that is more than the luck of these wells explains.", v.fine(mae[at]), methodWords(against, true))
	default:
		out.Say += fmt.Sprintf(", against %s by %s; but the difference may be the luck of these wells.", v.fine(mae[at]), methodWords(against, true))
	}
	c := methodsChart(names, mae, mean, low, high, against, v, out)
	out.Wide = template.HTML(draw.DrawRows(c, v.theme, v.id)) //nolint:gosec // escaped by package draw
	out.Choices = append(out.Choices, v.choices("methods", "by", "Hidden with each well:", [2]string{"", "all on its spot"}, [2]string{"block", "a whole square of ground"}))
	row := partLinks{Said: "Held against:"}
	for _, n := range desk.MethodNames() {
		value := n
		if n == desk.MethodNames()[0] {
			value = ""
		}
		row.Links = append(row.Links, v.setting("methods", "against", value, methodShort(n), n == against))
	}
	out.Choices = append(out.Choices, row)
	out.Table = methodsTable(scores, v)
	methodsNotes(a, v, out)
}

// methodsChart draws how much farther off each method is than the one that it is
// held against.
func methodsChart(names []string, mae, mean, low, high []float64, against string, v *reviewReading, out *reviewPartView) *draw.RowsChart {
	c := &draw.RowsChart{Title: out.Title, Desc: out.Say, W: v.w, X: v.axis("more error than " + methodShort(against)), Head: "method", NoteHead: "off by"}
	c.X.Figure = func(x float64) string {
		if x > 0 {
			return "+" + v.units.Figure(x, 2)
		}
		return v.units.Figure(x, 2)
	}
	for i, n := range names {
		row := draw.ChartRow{Name: methodWords(n, false), Low: v.kind.shown(low[i]), Mid: v.kind.shown(mean[i]), High: v.kind.shown(high[i]), ThinLow: math.NaN(), ThinHigh: math.NaN(), Instead: "nothing to fit to"}
		if v.narrow() {
			row.Name = methodShort(n)
		}
		if finite(mae[i]) {
			row.Note = v.fine(mae[i])
		}
		c.Rows = append(c.Rows, row)
	}
	return c
}

// methodsTable is the scores of each method.
func methodsTable(scores *review.Table, v *reviewReading) listing {
	u := v.suffix()
	names, mae, rmse, crps := scores.Texts("method"), scores.Numbers("mae"+u), scores.Numbers("rmse"+u), scores.Numbers("crps"+u)
	held, adjusted, width := scores.Numbers("range_held"), scores.Numbers("adjusted_range_held"), scores.Numbers("adjusted_range_width"+u)
	t := listing{Heads: heads("method", "#mean error", "#root mean square", "#CRPS", "#its 8 in 10 held", "#adjusted", "#width")}
	dash := func(x float64, f func(float64) string) cell {
		if !finite(x) {
			return cell{Text: "–", Class: "quiet"}
		}
		return cell{Text: f(x)}
	}
	percent := func(x float64) string { return percentFigure(100 * x) }
	for i, n := range names {
		t.add("", cell{Text: methodWords(n, false)}, dash(mae[i], v.fine), dash(rmse[i], v.fine), dash(crps[i], v.fine), dash(held[i], percent), dash(adjusted[i], percent), dash(width[i], v.fine))
	}
	t.Entries = true
	return t
}

// methodsNotes says how the methods were tried.
func methodsNotes(a *review.Answer, v *reviewReading, out *reviewPartView) {
	if n := a.Count("bounds"); n > 0 {
		out.Notes = append(out.Notes, count(n, "well says only a bound; only the estimate from neighbours and the middle of the area can use it.", "wells say only a bound; only the estimate from neighbours and the middle of the area can use them."))
	}
	fit := "The variogram of kriging is fitted once, with all wells, and not anew for each hidden spot."
	if a.Word("hidden_by") == "block" {
		fit = "The variogram of kriging is fitted anew without each tenth of the squares."
	}
	out.Notes = append(out.Notes, fit+" What the estimate from neighbours learns from tried wells it learns from the half that the well is not in.")
	out.Caution = "Best on these wells is not best everywhere, nor for every question: the mean error weighs all errors alike, the root mean square the large ones, and only a range says how sure an answer is."
	out.Terms = fmt.Sprintf("Cross-validation; the same wells for every method, drawn with a fixed seed. Bars: nine in ten of %s bootstrap draws of whole squares of %s (%s of them) with their wells. CRPS: continuous ranked probability score. Inverse distance: power 2, 12 wells; kriging: 24 sites.", grouped(a.Count("drawn_anew")), v.units.Distance(a.Figure("square_m")), grouped(a.Count("squares")))
}

// notFar names the methods that luck alone may have set behind.
func (v *reviewReading) notFar(names []string, mean, low, high []float64, at int) string {
	var close, equal []string
	for i := range names {
		if i != at && finite(mean[i]) && mean[i] == 0 && low[i] == 0 && high[i] == 0 {
			equal = append(equal, methodWords(names[i], true))
			continue
		}
		if i != at && finite(mean[i]) && low[i] <= 0 && high[i] >= 0 {
			close = append(close, methodWords(names[i], true))
		}
	}
	if len(equal) > 0 {
		said := "No nearer and no farther: " + strings.Join(equal, ", ") + "."
		if len(close) > 0 {
			said += " It may be luck that it is ahead of " + strings.Join(close, " and ") + "."
		}
		return said
	}
	if len(close) == 0 {
		return "It leads each of the others by more than the luck of these wells explains."
	}
	return "It may be luck that it is ahead of " + strings.Join(close, " and ") + "."
}
