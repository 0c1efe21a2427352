package server

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/scout"
	"tallybook/records/snapshot"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// holeView is the hole that is asked for, as it would have gone in every
// neighbouring record.
type holeView struct {
	Why   string // why there is none
	Lead  string
	Parts []panelPart
	Notes []string
	Lacks []string
}

// shortAnswer says the whole answer in a sentence: bedrock, the chance of
// enough water, the money.
func shortAnswer(s *desk.Scouting, u say.System) string {
	var parts []string
	for i := range s.Fields {
		f := &s.Fields[i]
		if f.Field != snapshot.Bedrock {
			continue
		}
		if m := f.Best().Median(); !math.IsInf(m, 1) {
			parts = append(parts, "sound bedrock at about "+u.Estimate(m))
		}
	}
	if f := s.Hole; f != nil {
		parts = append(parts, shareWords(f.MetLow, f.MetHigh)+" such holes reach "+u.Flow(records.Of(f.Plan.Need))+" by "+u.Estimate(float64(f.Plan.MaxDepth)))
		if r := f.Range80(); !f.Cost.Empty() {
			most := say.RoughMoney(r.High, s.Rates.Currency)
			if r.AtLeastHigh {
				most = atMost(f.Ceiling, s.Rates.Currency) + " at the most"
			}
			parts = append(parts, say.RoughMoney(r.Low, s.Rates.Currency)+" to "+most+" in 8 of 10")
		}
	}
	if len(parts) == 0 {
		return "No located record says anything of bedrock, yield or depth yet."
	}
	return capital(strings.Join(parts, "; ")) + "."
}

// inTwenty says a share as a count of twenty; never none or all where the
// share is neither.
func inTwenty(share float64) int {
	n := int(math.Round(share * 20))
	switch {
	case n == 0 && share > 0.005:
		return 1
	case n == 20 && share < 0.995:
		return 19
	}
	return n
}

// shareWords says a share that is known between two limits.
func shareWords(low, high float64) string {
	a, b := inTwenty(low), inTwenty(high)
	if a == b {
		return fmt.Sprintf("%d in 20", a)
	}
	return fmt.Sprintf("%d to %d in 20", a, b)
}

func holeViewOf(s *desk.Scouting, u say.System, theme draw.Theme) *holeView {
	if s.NoReplay != nil {
		return &holeView{Why: records.MessageOf(s.NoReplay)}
	}
	f := s.Hole
	need := u.FlowFigure(float64(f.Plan.Need)) + " " + u.FlowUnit().Symbol()
	most := u.Estimate(float64(f.Plan.MaxDepth))
	h := &holeView{Lacks: s.Practice.Lacks()}
	h.Lead = fmt.Sprintf("Drilled until there is %s, and never deeper than %s, in each of the %s that speak for this spot.",
		need, most, count(f.Basis.Outcomes, "record", "records"))
	depth := drillPart(f, need, most, u, theme)
	if f.MetLow != f.MetHigh {
		depth.Cares = append(depth.Cares, "Some neighbours stopped short of this depth with less water: what lies below them is not known.")
	}
	if f.Plan.CallDepth > 0 {
		low, high := f.CallShare()
		depth.Cares = append(depth.Cares, fmt.Sprintf("%s come to the call at %s without enough.", shareWords(low, high), u.Estimate(float64(f.Plan.CallDepth))))
	}
	casing := distPart("casing-to-set", "Casing below ground", &f.Casing, lengthKind(u), theme)
	casing.Verdict = casingWords(f, s, u)
	h.Parts = []panelPart{depth, casing}
	if !f.Sacks.Empty() {
		h.Parts = append(h.Parts, distPart("grout-sacks", "Grout", &f.Sacks, sackKind, theme))
	}
	h.Notes = holeNotes(&f.Basis)
	return h
}

// drillPart shows how deep the hole goes: the outcomes that meet the need on
// an axis of depth, those that do not beside it.
func drillPart(f *scout.Forecast, need, most string, u say.System, theme draw.Theme) panelPart {
	unit := u.LengthUnit()
	p := panelPart{Title: "Depth to drill", Headline: shareWords(f.MetLow, f.MetHigh) + " reach " + need}
	plot := &draw.DotPlot{Unit: longUnit(unit), Figure: func(v float64) string { return say.US.Figure(v, 0) }, Never: "not by " + most}
	met := inTwenty((f.MetLow + f.MetHigh) / 2)
	var half float64
	for i, v := range f.Depth.Dots(20) {
		if i >= met || math.IsInf(v, 1) {
			plot.Values = append(plot.Values, math.Inf(1))
			continue
		}
		plot.Values = append(plot.Values, unit.FromBase(v))
		if i == met/2 {
			half = v
		}
	}
	p.Range = "none of twenty by " + most
	if met > 0 {
		p.Range = "of those that do, half by " + u.Estimate(half)
	}
	plot.Title = p.Title + ": twenty equally likely outcomes. " + p.Headline + "; " + p.Range + "."
	p.Plot = template.HTML(draw.Dots(plot, theme, "dots-drill")) //nolint:gosec // escaped by package draw
	return p
}

func casingWords(f *scout.Forecast, s *desk.Scouting, u say.System) string {
	t := "Bedrock"
	if f.Plan.Socket > 0 {
		t += " and " + u.Metres(float64(f.Plan.Socket)) + " into it"
	}
	if f.Plan.MinCasing > 0 {
		t += ", never less than " + u.Metres(float64(f.Plan.MinCasing))
	}
	t += "."
	if s.Practice.Rule != "" {
		t += " Rule: " + s.Practice.Rule
	}
	return t
}

func holeNotes(b *scout.Basis) []string {
	var out []string
	add := func(n int, words string) {
		if n > 0 {
			out = append(out, count(n, "record", "records")+" "+words)
		}
	}
	out = append(out, fmt.Sprintf("As much weight as %.0f records that count alike.", b.Effective))
	add(b.Met, "met the need")
	add(b.Short, "went to the end and gave less")
	add(b.StoppedEarly, "stopped before, and say only 'at least'")
	add(b.Either, "may have met it or not: their water is not told by depth")
	add(b.DrewBedrock, "say no depth to bedrock: it is drawn from the estimate")
	add(b.DrewYield, "say no yield: it is drawn from the estimate")
	add(b.Cased, "had water that the casing would shut out here")
	return out
}

// partKind is how values of a distribution are shown.
type partKind struct {
	unit   string
	figure func(base float64) string  // with the unit
	shown  func(base float64) float64 // on the axis
}

func lengthKind(u say.System) partKind {
	unit := u.LengthUnit()
	return partKind{longUnit(unit), u.Estimate, unit.FromBase}
}

var sackKind = partKind{"sacks", func(v float64) string { return count(int(math.Round(v)), "sack", "sacks") }, func(v float64) float64 { return v }}

func moneyKind(currency string) partKind {
	return partKind{currency, func(v float64) string { return say.RoughMoney(v, currency) }, func(v float64) float64 { return v / 100 }}
}

// distPart shows a distribution in words, figures and dots.
func distPart(id, title string, d *predict.Distribution, k partKind, theme draw.Theme) panelPart {
	return distPartCame(id, title, d, nil, k, theme)
}

// distPartCame is distPart with what was found; came is nil where nothing was.
func distPartCame(id, title string, d *predict.Distribution, came *cameMark, k partKind, theme draw.Theme) panelPart {
	r := d.RangeAt(0.1, 0.9)
	p := panelPart{Title: title, Headline: "~" + k.figure(d.Median()), Range: eightInTen(r, k.figure)}
	if _, from, open := d.UpperUnknown(); open && math.IsInf(d.Median(), 1) {
		p.Headline = "more than " + k.figure(from)
	}
	plot := &draw.DotPlot{Unit: k.unit, Figure: func(v float64) string { return say.US.Figure(v, 0) }, Title: title + ": twenty equally likely outcomes. " + p.Range + "."}
	for _, v := range d.Dots(20) {
		plot.Values = append(plot.Values, k.shown(v))
	}
	if came != nil {
		plot.Came, plot.CameSaid = k.shown(came.value), came.said
	}
	p.Plot = template.HTML(draw.Dots(plot, theme, "dots-"+id)) //nolint:gosec // escaped by package draw
	return p
}
