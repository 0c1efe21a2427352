package server

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/scout"
	"tallybook/records/snapshot"
	"tallybook/server/draw"
	"tallybook/server/say"
)

func flowWords(v records.Flow, u say.System) string {
	return u.FlowFigure(float64(v)) + " " + u.FlowUnit().Symbol()
}

// whyNot is why the records cannot tell, as a sentence.
func whyNot(why string) string {
	if t, ok := strings.CutPrefix(why, "cannot tell: "); ok {
		why = t
	}
	return capital(why) + "."
}

// goOnAnswer is 'go on or stop?' in a line: for the middle stretch, or the
// longest before it of which the records can tell.
func goOnAnswer(at *desk.AtTheRig, u say.System) *rigAnswer {
	p := &at.Prospect
	need := flowWords(p.Need, u)
	g := &rigAnswer{Title: "Go on or stop?"}
	if p.Met {
		g.Big, g.Long = "The need is met", true
		g.Words = fmt.Sprintf("The hole gives %s; %s is needed. Going on would only store more, or find what is not asked for.", flowWords(p.Yield, u), need)
		return g
	}
	for i := len(p.Ahead) / 2; i >= 0 && i < len(p.Ahead); i-- {
		a := &p.Ahead[i]
		if !a.Tells {
			continue
		}
		g.Big = fmt.Sprintf("%d in 20", inTwenty(a.Reach.Value))
		g.Words = fmt.Sprintf("that the next %s bring it to %s.", u.Metres(float64(a.Length)), need)
		g.Range = reachRange(a)
		return g
	}
	g.Alert, g.Long = true, true
	g.Big = "The records cannot tell"
	switch {
	case at.Neighbours == 0 || p.Unread == at.Neighbours:
		g.Words = "No well nearby says anything of water or depth."
	case p.Effective == 0 && p.AtRisk > 0:
		g.Words = "The wells nearby are cased deeper than this, so none of them says what water lies here. Ask again below the casing."
	case len(p.Ahead) > 0:
		g.Words = whyNot(p.Ahead[0].Why)
	}
	return g
}

// rigCares are what is to be noticed of what the answers stand on: the cares of
// the estimate whose neighbours they are.
func rigCares(at *desk.AtTheRig) []string {
	var p panelPart
	for _, f := range []snapshot.Field{snapshot.Yield, snapshot.TotalDepth} {
		for i := range at.Fields {
			if at.Fields[i].Field == f && len(p.Cares) == 0 {
				p.care(&at.Fields[i])
			}
		}
	}
	return p.Cares
}

// reachRange says how sure a chance is: what the records leave open, and the
// standard error.
func reachRange(a *scout.Ahead) string {
	t := ""
	if low, high := inTwenty(a.Reach.Low), inTwenty(a.Reach.High); low != high {
		t = fmt.Sprintf("from %d to %d in 20, as the records can be read; ", low, high)
	}
	return t + fmt.Sprintf("give or take %s in 20 (standard error)", trimFloat(a.SE*20, 1))
}

// rigAhead is what one stretch of drilling is worth.
type rigAhead struct {
	Head   string // 'next 50 ft, to 230 ft'
	Count  string // '6 in 20', or that the records cannot tell
	Full   string // a dot for each outcome that meets the need
	Hollow string // and for each that does not
	Facts  []string
}

func aheadOf(at *desk.AtTheRig, a *scout.Ahead, u say.System) rigAhead {
	v := rigAhead{Head: fmt.Sprintf("next %s, to %s", u.Metres(float64(a.Length)), u.Metres(float64(a.To)))}
	switch {
	case at.Prospect.Met:
		v.Count = "not needed"
	case !a.Tells:
		v.Count = "cannot tell"
		v.Facts = append(v.Facts, whyNot(a.Why))
	default:
		n := inTwenty(a.Reach.Value)
		v.Count = fmt.Sprintf("%d in 20", n)
		v.Full, v.Hollow = strings.Repeat("●", n), strings.Repeat("○", 20-n)
		v.Facts = append(v.Facts, capital(reachRange(a)),
			fmt.Sprintf("%d in 20 strike some water", inTwenty(a.Strike.Value)),
			fmt.Sprintf("To be expected: %s more", flowWords(a.Gain, u)))
	}
	if a.CostSet {
		v.Facts = append(v.Facts, "Costs "+money(a.Cost, at.Rates.Currency)+" at your rates")
	} else {
		v.Facts = append(v.Facts, "No price: the rates have none for drilling rock here")
	}
	if a.Holds > 0 {
		v.Facts = append(v.Facts, "Stores "+volumeWords(a.Holds, u)+" more")
	}
	return v
}

// rigChart is the chance by depth.
type rigChart struct {
	Drawing template.HTML
	Say     string
	Table   listing
}

// rigChartOf draws the chance that the need is met by each depth; nil where
// the records tell nothing.
func rigChartOf(at *desk.AtTheRig, u say.System, theme draw.Theme) *rigChart {
	unit := u.LengthUnit()
	now := unit.FromBase(float64(at.Prospect.Depth))
	curve := draw.ChartMark{Kind: draw.CurveMark, Tone: draw.WaterTone}
	band := draw.ChartMark{Kind: draw.BandMark, Tone: draw.WaterTone}
	v := &rigChart{Table: listing{Heads: heads("by", "#chance, in 20", "#least", "#most")}}
	last := now
	for i := range at.Curve {
		a := &at.Curve[i]
		if at.Prospect.Met || !a.Tells {
			break
		}
		x := unit.FromBase(float64(a.To))
		low, high := max(a.Reach.Low-a.SE, 0), min(a.Reach.High+a.SE, 1)
		curve.X, curve.Y = append(curve.X, x), append(curve.Y, 20*a.Reach.Value)
		band.X, band.Low, band.High = append(band.X, x), append(band.Low, 20*low), append(band.High, 20*high)
		last = x
		if i > 0 && i%5 == 0 {
			tenth := func(share float64) cell { return cell{Text: trimFloat(20*share, 1)} }
			v.Table.add("", cell{Text: u.Metres(float64(a.To))}, tenth(a.Reach.Value), tenth(low), tenth(high))
		}
	}
	if len(curve.X) < 2 {
		return nil
	}
	v.Table.Fold = "the same as a table"
	end := unit.FromBase(float64(at.Curve[len(at.Curve)-1].To))
	v.Say = "The line is the chance that the need is met by each depth. The band is what the records leave open, with a standard error on either side."
	if last < end {
		v.Say += " Below " + u.Figure(last, 0) + " " + unit.Symbol() + " too few holes went on."
	}
	c := &draw.Chart{
		Title: "The chance that the need is met, by depth", Desc: v.Say, W: 380, H: 250,
		X: draw.ChartAxis{Label: "depth, " + longUnit(unit), Low: now - 0.06*(end-now), High: end, Figure: func(x float64) string { return trimFloat(x, 0) }},
		Y: draw.ChartAxis{Label: "in 20", Low: 0, High: 20, Ticks: []float64{0, 5, 10, 15, 20}, Figure: func(y float64) string { return trimFloat(y, 0) }},
		Marks: []draw.ChartMark{band, curve,
			{Kind: draw.UprightMark, Tone: draw.SignalTone, X: []float64{now}, Label: "now"}},
	}
	v.Drawing = template.HTML(draw.DrawChart(c, theme, "reach")) //nolint:gosec // escaped by package draw
	return v
}

// rigBasis says what the answer stands on.
func rigBasis(at *desk.AtTheRig, u say.System) []string {
	p := &at.Prospect
	out := []string{
		fmt.Sprintf("%s go into this, by the weight they have in the estimate of yield here. %s of them were still short of the need, and still being drilled, at %s: as much weight as %s that count alike.",
			count(at.Neighbours, "record", "records"), grouped(p.AtRisk), u.Metres(float64(p.Depth)), trimFloat(p.Effective, 1)),
		"A hole that stopped, or had enough for itself, is taken out from there on: it is not dry below.",
	}
	if p.Spread > 0 {
		out = append(out, count(p.Spread, "record tells", "records tell")+" of water only that it came somewhere in a stretch of hole: it is spread over that stretch.")
	}
	if p.Unread > 0 {
		out = append(out, count(p.Unread, "record says", "records say")+" nothing of water or depth, and "+map[bool]string{true: "is", false: "are"}[p.Unread == 1]+" left out.")
	}
	switch rock, ok := at.Ask.Rock.Number(); {
	case ok:
		out = append(out, "Their rock is set under the "+u.Metres(float64(rock))+" of overburden that you met.")
	case at.Ask.Aboard.Known():
		out = append(out, "Their rock is set under overburden deeper than the hole is now.")
	default:
		out = append(out, "Their rock is set under the overburden that is estimated here.")
	}
	return append(out, "That a hole was stopped is taken to say nothing of what lay below it.")
}

// casingAnswer is 'casing enough?'; nil where nobody asked.
func casingAnswer(at *desk.AtTheRig, u say.System) *rigAnswer {
	if at.ToSet != nil {
		return casingMet(at, u)
	}
	c := at.Casing
	if c == nil {
		return nil
	}
	aboard, _ := at.Ask.Aboard.Number()
	v := &rigAnswer{Title: "Casing enough?"}
	switch {
	case !c.Tells:
		v.Big, v.Long, v.Alert, v.Words = "The records cannot tell", true, true, whyNot(c.Why)
	case c.Why != "":
		v.Big, v.Long, v.Alert, v.Words = "It is not enough", true, true, whyNot(c.Why)
	default:
		v.Big = shareWords(c.RunsOut.Low, c.RunsOut.High)
		v.Words = fmt.Sprintf("that %s of casing runs out, with no bedrock down to %s.", u.Metres(float64(aboard)), u.Metres(float64(at.Ask.Depth)))
		v.Alert = c.RunsOut.High >= 0.5
	}
	if c.Reaches > 0 {
		v.Notes = append(v.Notes, fmt.Sprintf("It reaches bedrock down to %s%s.", u.Metres(float64(c.Reaches)), socketWords(&at.Plan, u)))
	}
	if c.Tells && !math.IsNaN(float64(c.Median)) {
		v.Notes = append(v.Notes, fmt.Sprintf("Half of the cases left need %s or less, nine in ten %s.", lengthOrMore(c.Median, u), lengthOrMore(c.Upper, u)))
	}
	if c.Effective > 0 {
		v.Notes = append(v.Notes, fmt.Sprintf("It stands on as much weight as %s wells whose ground goes deeper than this.", trimFloat(c.Effective, 1)))
	}
	return v
}

// casingMet holds the casing at hand against the bedrock that was met.
func casingMet(at *desk.AtTheRig, u say.System) *rigAnswer {
	aboard, _ := at.Ask.Aboard.Number()
	rock, _ := at.Ask.Rock.Number()
	v := &rigAnswer{Title: "Casing enough?", Big: "It is enough", Long: true}
	if aboard < at.ToSet.Length {
		v.Big, v.Alert = "It is short by "+u.Metres(float64(at.ToSet.Length-aboard)), true
	}
	v.Words = fmt.Sprintf("Bedrock at %s%s asks for %s; %s are at hand.", u.Metres(float64(rock)), socketWords(&at.Plan, u), u.Metres(float64(at.ToSet.Length)), u.Metres(float64(aboard)))
	if at.ToSet.ByRule {
		v.Words += " The local minimum decides."
	}
	v.Notes = append(v.Notes, capital(at.ToSet.Working.Caution)+".")
	return v
}

func lengthOrMore(l records.Length, u say.System) string {
	if math.IsInf(float64(l), 1) {
		return "more than the records say"
	}
	return u.Estimate(float64(l))
}

// socketWords names what stands beside the bare depth to bedrock.
func socketWords(p *scout.Plan, u say.System) string {
	var parts []string
	if p.Socket > 0 {
		parts = append(parts, u.Metres(float64(p.Socket))+" into it")
	}
	if p.StickUp > 0 {
		parts = append(parts, u.Metres(float64(p.StickUp))+" above ground")
	}
	if len(parts) == 0 {
		return " (the office has stated no socket and no stick-up)"
	}
	return " with " + strings.Join(parts, " and ")
}
