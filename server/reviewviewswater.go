package server

import (
	"fmt"
	"html/template"
	"math"

	"tallybook/geo/spread"
	"tallybook/records/review"
	"tallybook/records/snapshot"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// perHole is the length of hole for which strikes are counted: 100 ft, or 30 m.
func perHole(u say.System) (metres float64, words string) {
	if u == say.SI {
		return 30, "30 m"
	}
	return 30.48, "100 ft"
}

// waterNotes say which records stand behind a part on water.
func waterNotes(a *review.Answer, out *reviewPartView) {
	out.Notes = append(out.Notes, fmt.Sprintf("%s list where water came and %s dry; %s gave water without saying where, and are left out.",
		count(a.Count("with_strikes"), "record", "records"), isAre(a.Count("dry")), grouped(a.Count("left_out_silent"))))
	if k := a.Count("left_out_marked"); k > 0 {
		out.Notes = append(out.Notes, leftOutWords(k, false)+".")
	}
	if k := a.Count("strikes_without_a_depth"); k > 0 {
		out.Notes = append(out.Notes, count(k, "strike is", "strikes are")+" left out: no depth, or one that fits no one layer.")
	}
}

func isAre(n int) string {
	if n == 1 {
		return "1 was"
	}
	return grouped(n) + " were"
}

func showMaterials(a *review.Answer, v *reviewReading, out *reviewPartView) {
	t := a.Table("materials")
	flow := v.kindOf(snapshot.Yield)
	codes, strikes, flows := t.Texts("material"), t.Numbers("strikes"), t.Numbers("strikes_with_flow")
	med, q25, q75, low, high := t.Numbers("median_lps"), t.Numbers("q25_lps"), t.Numbers("q75_lps"), t.Numbers("median_low_lps"), t.Numbers("median_high_lps")
	rate := t.Numbers("strikes_per_100_m")
	per, perWords := perHole(v.units)
	c := &draw.RowsChart{W: v.w, Tone: draw.WaterTone, Head: "ground", NoteHead: "strikes, per " + perWords,
		X: draw.ChartAxis{Label: "gain at a strike, " + flow.unit, Log: true, Figure: func(x float64) string { return v.units.Figure(x, 2) }}}
	if v.narrow() {
		c.NoteHead = "strikes"
	}
	best, bestRate, thin := -1, -1, 0
	drilled, allDrilled := t.Numbers("drilled_m"), 0.0
	for _, m := range drilled {
		allDrilled += m
	}
	for i := range codes {
		if strikes[i] == 0 && len(c.Rows) >= 14 {
			continue
		}
		r := draw.ChartRow{Name: v.materialLabel(codes[i]), Note: grouped(int(strikes[i])), Mid: math.NaN(), Low: flow.shown(q25[i]), High: flow.shown(q75[i]), ThinLow: math.NaN(), ThinHigh: math.NaN()}
		if finite(rate[i]) && !v.narrow() {
			r.Note += fmt.Sprintf(" · %s", v.units.Figure(rate[i]*per/100, 2))
		}
		switch {
		case finite(med[i]) && med[i] > 0:
			r.Mid = flow.shown(med[i])
			if r.Low <= 0 {
				r.Low = r.Mid
			}
			r.ThinLow, r.ThinHigh = math.NaN(), math.NaN()
			if best < 0 || med[i] > med[best] {
				best = i
			}
		case strikes[i] == 0:
			r.Instead = "no strike on record"
		default:
			r.Instead = "too few to say"
			thin++
		}
		if finite(rate[i]) && strikes[i] >= review.LeastForMiddle && drilled[i] >= 0.02*allDrilled && (bestRate < 0 || rate[i] > rate[bestRate]) {
			bestRate = i
		}
		c.Rows = append(c.Rows, r)
	}
	switch {
	case best < 0:
		out.Say = fmt.Sprintf("No ground has %d strikes with a flow written down: too few to say.", review.LeastForMiddle)
	default:
		out.Say = fmt.Sprintf("The strongest strikes come in %s: half bring %s or more (%d with a flow; sure to about %s).", uncapital(v.materialLabel(codes[best])), flow.figure(med[best]), int(flows[best]),
			betweenWords(flow, spread.Limit{Value: low[best]}, spread.Limit{Value: high[best]}))
	}
	if bestRate >= 0 {
		out.Say += fmt.Sprintf(" Of the grounds that make up much of the holes, they are most frequent in %s: %s for each %s drilled in it.", uncapital(v.materialLabel(codes[bestRate])), v.units.Figure(rate[bestRate]*per/100, 2), perWords)
	}
	if thin > 0 {
		out.Notes = append(out.Notes, fmt.Sprintf("%s fewer than %d strikes with a flow.", count(thin, "ground has", "grounds have"), review.LeastForMiddle))
	}
	waterNotes(a, out)
	out.Caution = "What is called by a name differs from driller to driller, and small strikes are often not written down."
	out.Terms = "Dot: median gain of the strikes in that ground; thick line: their middle half. Strikes for each " + perWords + " of that ground drilled through; a strike on a contact belongs to the ground below it. Running totals were turned into gains."
	c.Title, c.Desc = out.Title, out.Say
	out.Wide = template.HTML(draw.DrawRows(c, v.theme, v.id)) //nolint:gosec // escaped by package draw
}

func showIntervals(a *review.Answer, v *reviewReading, out *reviewPartView) {
	t := a.Table("intervals")
	flow := v.units.FlowUnit()
	length := v.units.LengthUnit()
	per, perWords := perHole(v.units)
	from, to, wells, strikes := t.Numbers("from_m"), t.Numbers("to_m"), t.Numbers("wells"), t.Numbers("strikes")
	gain, low, high := t.Numbers("gain_lps_per_100_m"), t.Numbers("gain_lps_per_100_m_low"), t.Numbers("gain_lps_per_100_m_high")
	each := func(x float64) float64 { return flow.FromBase(x) * per / 100 }
	c := &draw.RowsChart{W: v.w, Tone: draw.WaterTone, Head: "depth, " + length.Symbol(), NoteHead: "strikes · holes",
		X: draw.ChartAxis{Label: fmt.Sprintf("gain for each %s drilled, %s", perWords, flow.Symbol()), Figure: func(x float64) string { return v.units.Figure(x, 2) }}}
	if v.narrow() {
		c.X.Label = "gain per " + perWords + ", " + flow.Symbol()
	}
	best, last := -1, -1
	for i := range from {
		name := fmt.Sprintf("%s–%s", v.units.Figure(length.FromBase(from[i]), 0), v.units.Figure(length.FromBase(to[i]), 0))
		if !finite(to[i]) {
			name = v.units.Figure(length.FromBase(from[i]), 0) + " and more"
		}
		r := draw.ChartRow{Name: name, Note: fmt.Sprintf("%s · %s", grouped(int(strikes[i])), grouped(int(wells[i]))), Mid: math.NaN(), ThinLow: math.NaN(), ThinHigh: math.NaN(), Low: math.NaN(), High: math.NaN(), Bar: true}
		if finite(gain[i]) && int(wells[i]) >= review.LeastForMiddle {
			r.Mid, r.Low, r.High = each(gain[i]), each(low[i]), each(high[i])
			last = i
			if best < 0 || gain[i] > gain[best] {
				best = i
			}
		} else {
			r.Instead = "too few to say"
		}
		c.Rows = append(c.Rows, r)
	}
	if best < 0 {
		out.Say = "No stretch of depth was drilled through often enough: too few to say."
	} else {
		out.Say = fmt.Sprintf("Most water for the hole drilled comes from %s: %s for each %s (%d strikes in %d holes); the deepest stretch that can be told, from %s, brings %s.",
			v.stretchWords(from[best], to[best]), v.units.Figure(each(gain[best]), 2)+" "+flow.Symbol(), perWords, int(strikes[best]), int(wells[best]), v.stretchWords(from[last], to[last]), v.units.Figure(each(gain[last]), 2)+" "+flow.Symbol())
	}
	waterNotes(a, out)
	out.Caution = "Holes that go deep are those that had not met enough above; their ground may be poorer than the rest of it down there."
	out.Terms = "Water gained in a stretch ÷ metres of hole drilled through it, by holes that tell where water came and by dry ones. Line: 95 % range (compound Poisson, normal approximation). A flow of ‘less than’ counts as none, ‘more than’ as its limit."
	c.Title, c.Desc = out.Title, out.Say
	out.Wide = template.HTML(draw.DrawRows(c, v.theme, v.id)) //nolint:gosec // escaped by package draw
}

func (v *reviewReading) stretchWords(from, to float64) string {
	length := v.units.LengthUnit()
	a := v.units.Figure(length.FromBase(from), 0)
	if !finite(to) {
		return a + " " + length.Symbol() + " down"
	}
	return a + " to " + v.units.Figure(length.FromBase(to), 0) + " " + length.Symbol()
}
