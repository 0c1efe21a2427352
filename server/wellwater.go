package server

import (
	"math"
	"strings"

	"tallybook/records"
	"tallybook/server/say"
)

// waterPart is where water came, how it stands and what the hole gives.
func waterPart(u units, w *records.Well) part {
	p := part{ID: "water", Title: "Water"}
	p.Facts.add("yield", u.yield(w.Yield))
	p.Facts.text("measured by", plainWord(w.YieldMethod))
	p.Facts.add("static level", u.level(w.StaticLevel))
	if !w.CountsForYield() {
		p.Facts.text("in estimates of yield", "left out, by its purpose or as the record says")
	}
	firstM, firstY := w.FirstDrilled()
	if firstY != w.Yield {
		c := u.yield(firstY)
		if c.Text == "" {
			c.Text = "nobody wrote it"
		}
		p.Facts.add("yield as first drilled", c)
	}
	if firstM != w.TotalDepth {
		c := u.depth(firstM)
		if c.Text == "" {
			c.Text = "nobody wrote it"
		}
		p.Facts.add("depth as first drilled", c)
	}
	p.list(strikeListing(u, w))
	l := listing{Caption: "Levels", Heads: heads("when", "#static level", "measured from", "#at rest", "method")}
	for i := range w.StaticLevels {
		s := &w.StaticLevels[i]
		l.add("", cell{Text: say.Date(s.Date)}, u.level(s.Depth), cell{Text: s.From}, u.minutes(s.AtRest), cell{Text: plainWord(s.Method), More: strings.Join(extraWords(s.Extra), " · ")})
	}
	p.list(l)
	p.list(testListing(u, w))
	if len(p.Facts) == 0 && len(p.Lists) == 0 {
		p.Lead = "Nothing was written down of water."
	}
	return p
}

func strikeListing(u units, w *records.Well) listing {
	flow := "#flow"
	switch w.StrikesAs {
	case "gain":
		flow = "#gain"
	case "running_total":
		flow = "#in all down to here"
	}
	l := listing{Caption: "Water met", Heads: heads("#depth", flow, "note")}
	if w.StrikesAs == "" && len(w.Strikes) > 1 {
		l.Caption = "Water met (nobody wrote whether each flow is a gain or the running total)"
	}
	for i := range w.Strikes {
		s := &w.Strikes[i]
		f := u.flow(s.Flow)
		f.Class = "water"
		l.add("", u.depth(s.Depth), f, cell{Text: s.Note, More: strings.Join(extraWords(s.Extra), " · ")})
	}
	return l
}

func testListing(u units, w *records.Well) listing {
	l := listing{Caption: "Yield tests", Heads: heads("when", "method", "#time", "#measured", "#injected", "#net as stated", "#net as reckoned", "#level before", "#drawdown", "#for its drawdown", "level steadied", "#pump at", "note")}
	for i := range w.YieldTests {
		t := &w.YieldTests[i]
		capacity := cell{}
		if c, ok := t.SpecificCapacity(); ok {
			capacity.Text = u.SpecificCapacity(c)
		}
		l.add("", cell{Text: say.Date(t.Date)}, cell{Text: plainWord(t.Method)}, u.minutes(t.Duration), u.flow(t.Measured), u.flow(t.Injected),
			u.yield(t.Net), netCell(u, w, t), u.level(t.Before), u.length(t.Drawdown), capacity, cell{Text: yesNo(t.Steadied)}, u.depth(t.PumpDepth),
			cell{Text: t.Note, More: strings.Join(extraWords(t.Extra), " · ")})
	}
	return l
}

// netCell is what an airlift test says of the hole itself, with its
// uncertainty and what could not be taken off.
func netCell(u units, w *records.Well, t *records.YieldTest) cell {
	if t.Method != "airlift" && !t.Injected.Known() {
		return cell{}
	}
	n := w.NetAirlift(t, records.DefaultAirliftRules())
	if !n.Net.Known() {
		return cell{}
	}
	c := cell{Text: u.Flow(n.Net), Class: "water"}
	if n.Net.Value == 0 && n.Net.Qualifier == records.Exact {
		c.Text = "nothing"
	}
	if n.Uncertainty > 0 && !math.IsNaN(float64(n.Uncertainty)) {
		c.Text += " ± " + u.FlowFigure(float64(n.Uncertainty))
	}
	var why []string
	why = append(why, "Measured "+u.Flow(records.Of(n.Measured)))
	if n.InjectedUnknown {
		why = append(why, "nobody wrote how much water the rig put in, so none is taken off")
	} else {
		why = append(why, "less "+u.Flow(records.Of(n.Injected))+" that the rig put in")
	}
	if n.FromHole > 0 {
		why = append(why, "less "+u.Flow(records.Of(n.FromHole))+" that the hole gave up while its level fell")
	}
	if n.HoleUnknown {
		why = append(why, "what the hole gave up while its level fell could not be reckoned")
	}
	c.Why = strings.Join(why, ", ") + ". The ± is one standard deviation."
	if n.Unsteady {
		c.More = "the level had not steadied, or nobody wrote that it had: it may be too high"
	}
	return c
}

// qualityPart lists results of water quality.
func qualityPart(u units, w *records.Well) part {
	p := part{ID: "quality", Title: "Water quality"}
	l := listing{Heads: heads("when", "what", "#result", "method", "where", "note")}
	for i := range w.Quality {
		q := &w.Quality[i]
		where := q.Lab
		if q.InField != nil {
			where = joinWords(map[bool]string{true: "in the field", false: "in the laboratory"}[*q.InField], q.Lab)
		}
		l.add("", cell{Text: say.Date(q.Date)}, cell{Text: qualityWord(q.Kind)}, cell{Text: u.Value(q.Value, q.Unit), Given: asWritten(q.Value.Given)},
			cell{Text: q.Method}, cell{Text: where}, extraCell(q.Extra))
	}
	p.list(l)
	if len(l.Rows) > 0 {
		p.Cautions = []string{"Each result is of its own day and sample. It does not say that the water is safe to drink: the health authority and a certified laboratory do."}
	}
	return p
}

func qualityWord(kind string) string {
	if kind == "ph" {
		return "pH"
	}
	return plainWord(kind)
}
