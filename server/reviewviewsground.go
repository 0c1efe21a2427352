package server

import (
	"fmt"
	"html/template"
	"math"

	"tallybook/geo/spread"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/review"
	"tallybook/records/snapshot"
	"tallybook/server/draw"
)

func showDepth(a *review.Answer, v *reviewReading, out *reviewPartView) {
	run, dots := a.Table("running"), a.Table("wells")
	flow, depth := v.kindOf(snapshot.Yield), v.kindOf(snapshot.TotalDepth)
	from, to := run.Numbers("from_m"), run.Numbers("to_m")
	med := run.Numbers("median_lps")
	if n := len(med); n >= 2 {
		row := func(i int) string {
			return fmt.Sprintf("%s deep the middle is %s (%d wells)", betweenWords(depth, spread.Limit{Value: from[i]}, spread.Limit{Value: to[i]}),
				limitWords(flow, spread.Limit{Value: med[i], More: run.Texts("median_is_more")[i] == "yes"}), int(run.Numbers("wells")[i]))
		}
		out.Say = fmt.Sprintf("In holes %s; in those %s.", row(0), row(n-1))
		if to[0] >= from[n-1] {
			out.Say = "The holes are all about as deep as each other: whether deeper ones give more cannot be told."
		}
	} else {
		out.Say = fmt.Sprintf("%s have both; they stand too far apart in depth for a running middle.", count(a.Count("wells"), "well", "wells"))
	}
	out.Caution = "Drilling stops when there is enough water: deep holes are often those whose ground gave little. This does not say what deepening a hole would bring."
	if shown := a.Count("shown"); shown < a.Count("wells") {
		out.Notes = append(out.Notes, fmt.Sprintf("%s of %s wells are drawn, spread evenly over all; the line and its band are of all.", grouped(shown), grouped(a.Count("wells"))))
	}
	out.Terms = "Line: running median of a twelfth of the wells (20 at least); band: their middle half; both only where wells stand close enough in depth. Bounds count as bounds (Kaplan and Meier, Turnbull); hollow dots are bounds at their limit."
	full, hollow := draw.ChartMark{Kind: draw.PointsMark, Tone: draw.MutedTone, Radius: 2.2}, draw.ChartMark{Kind: draw.PointsMark, Tone: draw.MutedTone, Radius: 2.6, Hollow: true}
	x, y, q := dots.Numbers("total_depth_m"), dots.Numbers("yield_lps"), dots.Texts("qualifier")
	zero := false
	for i := range x {
		m := &full
		if q[i] != records.Exact.String() {
			m = &hollow
		}
		zero = zero || y[i] == 0
		m.X, m.Y = append(m.X, depth.shown(x[i])), append(m.Y, flow.shown(y[i]))
	}
	mid := shownColumn(run.Numbers("middle_m"), depth.shown)
	band := draw.ChartMark{Kind: draw.BandMark, Tone: draw.WaterTone, X: mid}
	line := draw.ChartMark{Kind: draw.CurveMark, Tone: draw.WaterTone, X: mid, Label: "middle"}
	q25, q75 := run.Numbers("q25_lps"), run.Numbers("q75_lps")
	for i := range mid {
		band.Low, band.High = append(band.Low, aboveNought(flow.shown(q25[i]))), append(band.High, aboveNought(flow.shown(q75[i])))
		line.Y = append(line.Y, aboveNought(flow.shown(med[i])))
	}
	yAxis := draw.ChartAxis{Label: "yield, " + flow.unit, Log: true, Figure: func(x float64) string { return v.units.Figure(x, 2) }}
	if zero {
		yAxis.Nought = "dry"
	}
	out.Wide = v.chart(&draw.Chart{Title: out.Title, Desc: out.Say, X: draw.ChartAxis{Label: "total depth, " + depth.unit, Figure: func(x float64) string { return v.units.Figure(x, 0) }}, Y: yAxis,
		Marks: []draw.ChartMark{full, hollow, band, line}}, 340)
}

// aboveNought leaves a value out of a logarithmic line where it is nought.
func aboveNought(v float64) float64 {
	if v <= 0 {
		return math.NaN()
	}
	return v
}

// yearsNotes says which wells the drawing leaves out: those of the first skip
// years and those without a date.
func yearsNotes(a *review.Answer, n, first []float64, skip int, out *reviewPartView) {
	if skip > 0 {
		early := 0.0
		for _, k := range n[:skip] {
			early += k
		}
		out.Notes = append(out.Notes, fmt.Sprintf("%s drilled before %.0f stand in the table and are not drawn.", count(int(early), "well", "wells"), first[skip]))
		if early == 1 {
			out.Notes[len(out.Notes)-1] = fmt.Sprintf("1 well drilled before %.0f stands in the table and is not drawn.", first[skip])
		}
	}
	if k := a.Count("undated"); k > 0 {
		out.Notes = append(out.Notes, count(k, "well bears", "wells bear")+" no date and is left out here.")
		if k > 1 {
			out.Notes[len(out.Notes)-1] = count(k, "well bears", "wells bear") + " no date and are left out here."
		}
	}
}

func showYears(a *review.Answer, v *reviewReading, out *reviewPartView) {
	u := v.suffix()
	t := a.Table("years")
	first, last, n := t.Numbers("first_year"), t.Numbers("last_year"), t.Numbers("wells")
	med, low, high, q25, q75 := t.Numbers("median"+u), t.Numbers("median_low"+u), t.Numbers("median_high"+u), t.Numbers("q25"+u), t.Numbers("q75"+u)
	more, less := t.Texts("median_is_more"), t.Texts("median_is_less")
	under := func(i int) bool { return i < len(less) && less[i] == "yes" }
	points := draw.ChartMark{Kind: draw.PointsMark}
	beyond := draw.ChartMark{Kind: draw.PointsMark, Hollow: true}
	band := draw.ChartMark{Kind: draw.BandMark, Tone: draw.MutedTone}
	counts := draw.ChartMark{Kind: draw.ColumnsMark, Tone: draw.MutedTone}
	begin, end, told := -1, -1, 0
	skip := strayYears(n)
	for i := skip; i < len(first); i++ {
		x := (first[i] + last[i] + 1) / 2
		counts.X, counts.Y = append(counts.X, first[i]), append(counts.Y, n[i])
		if i+1 == len(first) || first[i+1] > last[i]+1 {
			counts.X, counts.Y = append(counts.X, last[i]+1), append(counts.Y, math.NaN())
		}
		band.X, band.Low, band.High = append(band.X, x), append(band.Low, v.kind.shown(q25[i])), append(band.High, v.kind.shown(q75[i]))
		if !finite(med[i]) {
			continue
		}
		told++
		if begin < 0 {
			begin = i
		}
		end = i
		m := &points
		if more[i] == "yes" || under(i) {
			m = &beyond
		}
		m.X, m.Y = append(m.X, x), append(m.Y, v.kind.shown(med[i]))
		m.Low, m.High = append(m.Low, v.kind.shown(low[i])), append(m.High, v.kind.shown(high[i]))
	}
	span := func(i int) string {
		if first[i] == last[i] {
			return fmt.Sprintf("%.0f", first[i])
		}
		return fmt.Sprintf("%.0f to %.0f", first[i], last[i])
	}
	switch {
	case told < 2:
		out.Say = fmt.Sprintf("Fewer than two stretches hold %d wells: no change can be told.", review.LeastForMiddle)
	default:
		say := func(i int) string {
			if under(i) {
				return fmt.Sprintf("less than %s in %s (%d wells)", v.kind.figure(med[i]), span(i), int(n[i]))
			}
			return fmt.Sprintf("%s in %s (%d wells)", limitWords(v.kind, spread.Limit{Value: med[i], More: more[i] == "yes"}), span(i), int(n[i]))
		}
		out.Say = fmt.Sprintf("The middle %s was %s and %s.", desk.FieldWords(v.field), say(begin), say(end))
		switch {
		case more[begin] == "yes" || more[end] == "yes":
			out.Say += " What is only known to be more than a limit cannot be held against another: no change can be told."
		case low[begin] > high[end] || low[end] > high[begin]:
			out.Say += " Their 95 % ranges lie apart: more than chance alone would make of it."
		default:
			out.Say += " Their 95 % ranges overlap: that may be chance."
		}
	}
	yearsNotes(a, n, first, skip, out)
	out.Caution = "Practice changed with the years too: how deep people drill, what is written down, how yield is measured, and where wells are put."
	out.Terms = fmt.Sprintf("Points: medians by %s with their 95 %% ranges (binomial, as if independent); grey band: the middle half. Stretches of fewer than %d wells have no point. Bounds count as bounds; a hollow point is only a limit.", map[bool]string{true: "year", false: fmt.Sprintf("%d years", a.Count("years_together"))}[a.Count("years_together") == 1], review.LeastForMiddle)
	x := draw.ChartAxis{Figure: yearFigure}
	if k := len(first); k > 0 {
		x.Low, x.High, x.Ticks = first[skip], last[k-1]+1, yearTicks(int(first[skip]), int(last[k-1]), v.narrow())
	}
	y := v.axis(desk.FieldWords(v.field))
	upper := &draw.Chart{Title: out.Title, Desc: out.Say, H: 250, W: v.w, X: x, Y: y, Marks: []draw.ChartMark{band, points, beyond}}
	below := x
	below.Label = "year drilled"
	top := 0.0
	for _, k := range n {
		top = max(top, k)
	}
	lower := &draw.Chart{H: 140, W: v.w, X: below, Y: draw.ChartAxis{Label: "wells", Low: 0, High: roundUp(top), Figure: func(x float64) string { return v.units.Figure(x, 0) }}, Marks: []draw.ChartMark{counts}}
	out.Wide = template.HTML(draw.DrawCharts([]*draw.Chart{upper, lower}, v.theme, v.id)) //nolint:gosec // escaped by package draw
}

// strayYears is how many of the first stretches hold, all together, under one
// in a hundred of the wells: drawn, they would squeeze the others together.
func strayYears(n []float64) int {
	all, sum := 0.0, 0.0
	for _, k := range n {
		all += k
	}
	for i, k := range n {
		if sum += k; sum >= 0.01*all {
			return i
		}
	}
	return 0
}

// yearTicks are whole years, few enough to be written.
func yearTicks(first, last int, narrow bool) []float64 {
	most := 8
	if narrow {
		most = 5
	}
	step := 1
	for _, s := range []int{1, 2, 5, 10, 20, 50} {
		step = s
		if (last-first)/s <= most {
			break
		}
	}
	out := []float64{}
	for y := (first + step - 1) / step * step; y <= last; y += step {
		out = append(out, float64(y))
	}
	return out
}

func showNeighbours(a *review.Answer, v *reviewReading, out *reviewPartView) {
	u := v.suffix()
	within := v.units.Distance(a.Figure("within_m"))
	median := a.Limit("median_difference" + u)
	out.Say = fmt.Sprintf("Of %s within %s of each other, half differ by %s or more", count(a.Count("pairs"), "pair of wells", "pairs of wells"), within, limitWords(v.kind, median))
	if far := a.Limit("median_difference_at_random" + u); finite(far.Value) {
		out.Say += fmt.Sprintf("; of any two wells drawn at random, half differ by %s or more", limitWords(v.kind, far))
	}
	out.Say += ". " + neighbourWords(median, a.Limit("median_difference_at_random"+u))
	if k := a.Count("left_out_as_one_well"); k > 0 {
		out.Notes = append(out.Notes, fmt.Sprintf("%s left out: their two records agree in everything, and may be one well on record twice.", count(k, "pair is", "pairs are")))
	}
	if k := a.Count("pairs_that_cannot_tell"); k > 0 {
		out.Notes = append(out.Notes, count(k, "pair says", "pairs say")+" nothing of a difference: a bound leaves it open.")
	}
	out.LinksSaid = "Neighbours within:"
	unit := v.units.LengthUnit()
	for _, d := range []float64{100, 300, 1000, 3000} {
		if v.units.String() == "si" {
			d *= 0.3
		}
		m := unit.ToBase(d)
		out.Links = append(out.Links, choice{v.href(func(c *review.Settings) { c.PairsWithinM = m }) + "#neighbours", v.units.Distance(m), math.Abs(m-v.set.PairsWithinM) < 0.5})
	}
	out.Terms = "Absolute differences of pairs, cumulated; each well weighs the same however many stand around it, and is paired with its sixteen nearest at most. Differences of bounds are bounds (Kaplan and Meier, Turnbull). Dashed: up to 20,000 pairs drawn with a fixed seed."
	t := a.Table("differences")
	of, d, share := t.Texts("of"), t.Numbers("difference"+u), t.Numbers("share_at_most")
	beside := draw.ChartMark{Kind: draw.StepsMark, Label: "neighbours"}
	random := draw.ChartMark{Kind: draw.StepsMark, Tone: draw.MutedTone, Dashed: true, Label: "any two wells"}
	for i := range of {
		m := &beside
		if of[i] != "neighbours" {
			m = &random
		}
		m.X, m.Y = append(m.X, v.kind.shown(d[i])), append(m.Y, share[i]*100)
	}
	for _, m := range []*draw.ChartMark{&beside, &random} {
		for i, y := range m.Y { // where the curve has risen enough to be told from the other
			if y >= map[bool]float64{true: 50, false: 66}[m == &random] {
				m.LabelX = m.X[i]
				break
			}
		}
	}
	x := v.axis("difference")
	x.Low, x.High = 0, roundUp(v.differenceEnd(t))
	out.Wide = v.chart(&draw.Chart{Title: out.Title, Desc: out.Say, X: x, Y: draw.ChartAxis{Label: "share of pairs that differ by so much or less", Low: 0, High: 100, Figure: percentFigure, Ticks: []float64{0, 25, 50, 75, 100}},
		Marks: []draw.ChartMark{random, beside}}, 300)
	out.Table = v.distanceTable(a.Table("by_distance"), u)
}

// neighbourWords says what being neighbours is worth.
func neighbourWords(beside, random spread.Limit) string {
	const floor = "An estimate for one spot cannot be expected to be nearer than wells beside each other are."
	if !finite(beside.Value) || !finite(random.Value) || beside.More || random.More || random.Value <= 0 {
		return floor
	}
	if beside.Value >= 0.8*random.Value {
		return "Standing beside each other says next to nothing of it. " + floor
	}
	return fmt.Sprintf("Standing beside each other takes away %s of the difference. ", percentFigure(100*(1-beside.Value/random.Value))) + floor
}

// differenceEnd is where the axis of differences ends: most of the random
// pairs lie below it.
func (v *reviewReading) differenceEnd(t *review.Table) float64 {
	end := 0.0
	d, share := t.Numbers("difference"+v.suffix()), t.Numbers("share_at_most")
	for i := range d {
		if share[i] <= 0.95 {
			end = max(end, v.kind.shown(d[i]))
		}
	}
	if end == 0 {
		for i := range d {
			end = max(end, v.kind.shown(d[i]))
		}
	}
	return end
}

func (v *reviewReading) distanceTable(t *review.Table, u string) listing {
	l := listing{Heads: heads("apart", "#pairs", "half differ by this or more", "sure to about")}
	from, to, pairs := t.Numbers("from_m"), t.Numbers("to_m"), t.Numbers("pairs")
	med, low, high := t.Numbers("median"+u), t.Numbers("median_low"+u), t.Numbers("median_high"+u)
	for i := range from {
		name := "on one spot"
		if i > 0 {
			name = v.units.Distance(from[i]) + " to " + v.units.Distance(to[i])
		}
		if !finite(med[i]) {
			l.add("", cell{Text: name}, cell{Text: grouped(int(pairs[i]))}, cell{Text: "too few to say", Class: "quiet"}, cell{})
			continue
		}
		l.add("", cell{Text: name}, cell{Text: grouped(int(pairs[i]))}, cell{Text: v.kind.figure(med[i])}, cell{Text: betweenWords(v.kind, spread.Limit{Value: low[i]}, spread.Limit{Value: high[i]})})
	}
	return l
}
