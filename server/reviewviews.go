package server

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"html/template"
	"math"
	"strings"

	"tallybook/geo/spread"
	"tallybook/records/desk"
	"tallybook/records/review"
	"tallybook/records/snapshot"
	"tallybook/server/draw"
)

// reviewView shows an answer: it makes the drawing, in the width and theme of
// v, and the sentence that says what it shows.
type reviewView func(a *review.Answer, v *reviewReading, out *reviewPartView)

// reviewViews is how each part is shown, by its name. Each has a line of its
// own.
func reviewViews() map[string]reviewView {
	return map[string]reviewView{
		"completeness": showCompleteness,
		"distribution": showDistribution,
		"depth":        showDepth,
		"years":        showYears,
		"neighbours":   showNeighbours,
		"materials":    showMaterials,
		"intervals":    showIntervals,
		// Spatial structure and methods.
		"structure":  showStructure,
		"directions": showDirections,
		"crowding":   showCrowding,
		"methods":    showMethods,
	}
}

func etagOfBytes(data []byte) string {
	sum := sha256.Sum256(data)
	return `"` + hex.EncodeToString(sum[:12]) + `"`
}

// narrow says whether the drawing is one for a phone.
func (v *reviewReading) narrow() bool { return v.w < 500 }

// chart draws a chart in the reading's width.
func (v *reviewReading) chart(c *draw.Chart, high float64) template.HTML {
	c.W, c.H = v.w, high
	return template.HTML(draw.DrawChart(c, v.theme, v.id)) //nolint:gosec // escaped by package draw
}

// suffix ends the names of the quantity's numbers with its base unit.
func (v *reviewReading) suffix() string { return unitSuffix(v.field) }

// axis is an axis of the quantity.
func (v *reviewReading) axis(what string) draw.ChartAxis {
	return draw.ChartAxis{Label: joinComma(what, v.kind.unit), Figure: func(x float64) string { return v.units.Figure(x, 2) }}
}

func joinComma(a, b string) string {
	if a == "" {
		return b
	}
	return a + ", " + b
}

// limitWords writes a quantile: '34 ft', 'more than 400 ft'.
func limitWords(k partKind, l spread.Limit) string {
	switch {
	case !finite(l.Value):
		return "unknown"
	case l.More:
		return "more than " + k.figure(l.Value)
	}
	return k.figure(l.Value)
}

// betweenWords writes two quantiles: '8 to 96 ft'.
func betweenWords(k partKind, low, high spread.Limit) string {
	a, b := limitWords(k, low), limitWords(k, high)
	if a == b {
		return a
	}
	if i := strings.LastIndex(a, " "); !low.More && i > 0 && strings.HasSuffix(b, a[i:]) {
		a = a[:i]
	}
	return a + " to " + b
}

// shownColumn converts a column to the units of an axis.
func shownColumn(values []float64, to func(float64) float64) []float64 {
	out := make([]float64, len(values))
	for i, x := range values {
		out[i] = to(x)
	}
	return out
}

// thingWords is what a thing of a record is called.
func thingWords(name string) string {
	switch name {
	case "position_accuracy":
		return "how well it is located"
	case "date":
		return "date drilled"
	case "log_of_strata":
		return "log of the ground"
	case "purpose":
		return "use"
	case "static_level":
		return "static water level"
	case "setting":
		return "lie of the land"
	}
	return strings.ReplaceAll(name, "_", " ")
}

func showCompleteness(a *review.Answer, v *reviewReading, out *reviewPartView) {
	t, all := a.Table("by_decade"), a.Table("all")
	names, decades := t.Texts("thing"), t.Texts("decade")
	with, records := t.Numbers("share"), t.Numbers("records")
	g := &draw.GridChart{W: v.w, TotalHead: "of all"}
	seen := map[string]int{}
	for i, d := range decades {
		if _, ok := seen[d]; !ok {
			seen[d] = len(g.Columns)
			head := d
			if d == "undated" {
				head = "no date"
			}
			g.Columns, g.Counts = append(g.Columns, head), append(g.Counts, grouped(int(records[i])))
		}
	}
	shares := map[string][]float64{}
	for i, name := range names {
		if shares[name] == nil {
			shares[name] = make([]float64, len(g.Columns))
		}
		shares[name][seen[decades[i]]] = with[i]
	}
	asked, least, plates := math.NaN(), []string{}, math.NaN()
	for i, name := range all.Texts("thing") {
		total := all.Numbers("share")[i]
		mark := name == v.field.String()
		if mark {
			asked = total
		}
		if name == "plate" { // made by the office, and no part of a driller's record
			plates = total
		} else if total < 0.5 {
			least = append(least, thingWords(name))
		}
		g.Rows = append(g.Rows, draw.GridRow{Name: thingWords(name), Shares: shares[name], Total: total, Marked: mark})
	}
	out.Say = fmt.Sprintf("Of %s, %s say something of %s.", count(a.Count("wells"), "well", "wells"), percentFigure(asked*100), desk.FieldWords(v.field))
	switch {
	case len(least) > 0:
		out.Say += " Fewer than half hold: " + strings.Join(least, ", ") + "."
	case plates < 0.5:
		out.Say += " Each thing but the plate stands in half of them or more."
	default:
		out.Say += " Each thing stands in half of them or more."
	}
	g.Title, g.Desc = out.Title, out.Say
	out.Terms = "Completeness by decade: the height of a bar is the share of that decade's records, and the figure over it how many those are. A bound counts as known."
	out.Wide = template.HTML(draw.DrawGrid(g, v.theme, v.id)) //nolint:gosec // escaped by package draw
}

func showDistribution(a *review.Answer, v *reviewReading, out *reviewPartView) {
	u := v.suffix()
	n, zero := a.Count("known"), a.Count("noughts")
	bounds := a.Count("less_than") + a.Count("greater_than") + a.Count("between")
	what := map[snapshot.Field]string{snapshot.Bedrock: "have bedrock at", snapshot.Yield: "give", snapshot.TotalDepth: "were drilled to"}[v.field]
	under := a.Figure("unknown_below" + u)
	words := func(low, high string) string {
		l, h := a.Limit(low+u), a.Limit(high+u)
		switch {
		case !(l.Value < under): // nothing is known only to be less, or this is above it
			return betweenWords(v.kind, l, h)
		case h.Value < under:
			return "less than " + v.kind.figure(under)
		}
		return "less than " + v.kind.figure(under) + " to " + limitWords(v.kind, h)
	}
	out.Say = fmt.Sprintf("Of %s, half %s %s or less", count(n, "well", "wells"), what, limitWords(v.kind, a.Limit("q50"+u)))
	if a.Figure("q50"+u) < under {
		out.Say = fmt.Sprintf("Of %s, more than half %s less than %s", count(n, "well", "wells"), what, v.kind.figure(under))
	}
	if a.Limit("q50" + u).More {
		out.Say = fmt.Sprintf("Of %s, more than half %s %s", count(n, "well", "wells"), what, limitWords(v.kind, a.Limit("q50"+u)))
	}
	out.Say += fmt.Sprintf(" (the middle is sure to about %s), eight in ten %s.", words("median_low", "median_high"), words("q10", "q90"))
	if zero > 0 {
		word := "at none: bedrock at the surface"
		if v.field == snapshot.Yield {
			word = "dry"
		}
		out.Say += fmt.Sprintf(" %s are %s (%s).", count(zero, "of them", "of them"), word, percentFigure(100*float64(zero)/float64(n)))
	}
	if bounds > 0 {
		out.Notes = append(out.Notes, fmt.Sprintf("%s only a bound: %d less than, %d more than, %d between. They are drawn hollow, below or above their limit, and the shares below count them as what they are; ‘less than’ may be none.", count(bounds, "well says", "wells say"), a.Count("less_than"), a.Count("greater_than"), a.Count("between")))
	}
	if s := a.Figure("unknown_share"); s > 0 {
		out.Notes = append(out.Notes, fmt.Sprintf("%s are known only to be more than %s: the curve ends there.", draw.Percent(s), v.kind.figure(a.Figure("unknown_above"+u))))
	}
	if s := a.Figure("unknown_below_share"); s > 0 {
		out.Notes = append(out.Notes, fmt.Sprintf("%s are known only to be less than %s: how they spread below it nobody measured.", draw.Percent(s), v.kind.figure(under)))
	}
	log := a.Word("scale") == "log"
	if a.Word("scale_by") == "the data" {
		out.Terms = map[bool]string{true: "Logarithmic scale, because the two sides of the middle are more alike on it. ", false: "Plain scale, on which the two sides of the middle are more alike. "}[log]
	}
	out.Terms += "Shares: Kaplan and Meier's estimate, or Turnbull's where limits of both kinds occur. What is sure of the middle: 95 % range from the ranks (binomial), as if wells were independent."
	for _, sc := range []choice{{"", "as fits", false}, {"linear", "plain", false}, {"log", "logarithmic", false}} {
		out.Links = append(out.Links, choice{v.href(func(c *review.Settings) { c.Scale = sc.Value }) + "#distribution", sc.Label, v.set.Scale == sc.Value})
	}
	out.LinksSaid = "Scale:"
	out.Wide = v.distributionChart(a, log, zero, out)
}

// distributionChart sets the counts over the shares, on one scale.
func (v *reviewReading) distributionChart(a *review.Answer, log bool, zero int, out *reviewPartView) template.HTML {
	u := v.suffix()
	t := a.Table("columns")
	from, to := shownColumn(t.Numbers("from"+u), v.kind.shown), shownColumn(t.Numbers("to"+u), v.kind.shown)
	values, atLeast, atMost, between := t.Numbers("values"), t.Numbers("at_least"), t.Numbers("at_most"), t.Numbers("between")
	edges := append([]float64(nil), from...)
	if n := len(to); n > 0 {
		last := to[n-1]
		if !finite(last) { // what is deeper than the rest is drawn as one column more
			last = from[n-1] * 1.4
			if !log && n > 1 {
				last = from[n-1] + (from[n-1] - from[n-2])
			}
		}
		edges = append(edges, last)
	}
	if len(edges) == 0 { // noughts alone: there is no column beside their bar
		edges, values = map[bool][]float64{true: {1, 10}, false: {0, 1}}[log], []float64{0}
		atLeast, atMost, between = values, values, values
	}
	hollow := make([]float64, len(values))
	top := float64(zero)
	for i := range values {
		hollow[i] = atLeast[i] + atMost[i] + between[i]
		top = max(top, values[i]+hollow[i])
	}
	x := v.axis("")
	x.Log, x.Low, x.High = log, edges[0], edges[len(edges)-1]
	marks := []draw.ChartMark{
		{Kind: draw.ColumnsMark, Tone: draw.MutedTone, X: edges, Y: values},
		{Kind: draw.ColumnsMark, Tone: draw.MutedTone, X: edges, Y: hollow, Base: values, Hollow: true},
	}
	if zero > 0 {
		x.Nought = map[bool]string{true: "dry", false: "none"}[v.field == snapshot.Yield]
		marks = append(marks, draw.ChartMark{Kind: draw.NoughtMark, Tone: draw.SignalTone, Y: []float64{float64(zero)}})
	}
	upper := &draw.Chart{Title: out.Title, Desc: out.Say, W: v.w, H: 220, X: x, Marks: marks,
		Y: draw.ChartAxis{Label: "wells; hollow: bounds, beside their limit", Low: 0, High: roundUp(top), Figure: func(x float64) string { return v.units.Figure(x, 0) }}}
	upper.X.Label = ""
	lower := &draw.Chart{W: v.w, H: 230, X: x, Y: draw.ChartAxis{Label: "share of wells with so much or less", Low: 0, High: 100, Figure: percentFigure, Ticks: []float64{0, 25, 50, 75, 100}}}
	s := a.Table("shares")
	lower.Marks = v.shareMarks(a, s, zero > 0)
	return template.HTML(draw.DrawCharts([]*draw.Chart{upper, lower}, v.theme, v.id)) //nolint:gosec // escaped by package draw
}

// shareMarks are the curve of shares and its middle.
func (v *reviewReading) shareMarks(a *review.Answer, s *review.Table, zero bool) []draw.ChartMark {
	u := v.suffix()
	curve := draw.ChartMark{Kind: draw.StepsMark}
	at, share := shownColumn(s.Numbers("value"+u), v.kind.shown), s.Numbers("share_at_most")
	for i := range at {
		if at[i] == 0 && zero {
			continue // the strip for noughts
		}
		curve.X, curve.Y = append(curve.X, at[i]), append(curve.Y, share[i]*100)
	}
	marks := []draw.ChartMark{curve}
	if n := a.Figure("known"); zero && n > 0 {
		// Measured noughts alone: the estimate of the shares allows that what is
		// 'less than' something may be none.
		marks = append(marks, draw.ChartMark{Kind: draw.NoughtMark, Tone: draw.SignalTone, Y: []float64{100 * a.Figure("noughts") / n}})
	}
	if m := a.Limit("q50" + u); finite(m.Value) && !m.More && m.Value > 0 && !(m.Value < a.Figure("unknown_below"+u)) {
		marks = append(marks, draw.ChartMark{Kind: draw.UprightMark, Tone: draw.SignalTone, X: []float64{v.kind.shown(m.Value)}, Dashed: true, Label: "half: " + v.kind.figure(m.Value)})
	}
	return marks
}

// roundUp is a round number at or above v, for the end of an axis of counts.
func roundUp(v float64) float64 {
	if v <= 5 {
		return 5
	}
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, f := range []float64{1, 1.5, 2, 3, 4, 5, 6, 8, 10} {
		if f*p >= v {
			return f * p
		}
	}
	return v
}
