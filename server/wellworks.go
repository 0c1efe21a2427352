package server

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"tallybook/records"
	"tallybook/server/say"
)

// constructionPart tells how the hole was made and sealed.
func constructionPart(u units, w *records.Well) part {
	p := part{ID: "construction", Title: "Construction"}
	p.Facts.add("drilled to", u.depth(w.TotalDepth))
	p.Facts.add("left open to", u.depth(w.CompletedDepth))
	p.Facts.text("drilling stopped", stopWords(w.StopReason))
	l := listing{Caption: "Hole", Heads: heads(u.spanHead(), "#diameter", "method", "note")}
	for i := range w.Bores {
		b := &w.Bores[i]
		l.add("", u.span(b.From, b.To), u.diameter(b.Diameter), cell{Text: plainWord(b.Method)}, extraCell(b.Extra))
	}
	p.list(l)
	l = listing{Caption: "Casing", Heads: heads(u.spanHead(), "material", "#diameter", "#outside", "#wall", "schedule", "joint", "drive shoe", "#set into rock", "note")}
	for i := range w.Casing {
		c := &w.Casing[i]
		l.add("", u.span(c.From, c.To), cell{Text: plainWord(c.Material)}, u.diameter(c.Diameter), u.diameter(c.OutsideDia),
			u.diameter(c.Wall), cell{Text: c.Schedule}, cell{Text: c.Joint}, cell{Text: yesNo(c.DriveShoe)}, u.length(c.SocketToRock), extraCell(c.Extra))
	}
	p.list(l)
	l = listing{Caption: "Screen", Heads: heads(u.spanHead(), "material", "#diameter", "#slot", "note")}
	for i := range w.Screens {
		c := &w.Screens[i]
		l.add("", u.span(c.From, c.To), cell{Text: plainWord(c.Material)}, u.diameter(c.Diameter), u.diameter(c.Slot), extraCell(c.Extra))
	}
	p.list(l)
	p.list(groutListing(u, w))
	finishFacts(u, w, &p)
	if len(p.Facts) == 0 && len(p.Lists) == 0 {
		p.Lead = "Nothing was written down of how the hole was made."
	}
	return p
}

func groutListing(u units, w *records.Well) listing {
	l := listing{Caption: "Grout", Heads: heads(u.spanHead(), "material", "method", "#placed", "#planned", "#topped up", "#the space holds", "#overrun", "witnessed", "note")}
	for i := range w.Grout {
		g := &w.Grout[i]
		overrun, space := cell{}, cell{}
		if ratio, annulus, ok := w.GroutOverrun(g); ok {
			space.Text = u.Volume(records.Of(annulus))
			overrun = overrunCell(ratio)
		}
		l.add("", u.span(g.From, g.To), cell{Text: plainWord(g.Material)}, cell{Text: plainWord(g.Method)}, u.volume(g.Placed),
			u.volume(g.Planned), u.volume(g.ToppedUp), space, overrun, cell{Text: g.Witnessed}, extraCell(g.Extra))
	}
	return l
}

// overrunCell says how much more grout went in than the space holds: the
// ratio of what was placed to the annulus of the hole as logged.
func overrunCell(ratio float64) cell {
	pc := math.Round((ratio - 1) * 100)
	switch {
	case pc < 0:
		return cell{Text: fmt.Sprintf("%.0f %% short", -pc), Class: "signal", More: "less than the space as logged"}
	case pc == 0:
		return cell{Text: "none"}
	}
	return cell{Text: fmt.Sprintf("%.0f %%", pc)}
}

func finishFacts(u units, w *records.Well, p *part) {
	f, pump := &w.Finish, &w.Pump
	p.Facts.text("cap", f.Cap)
	p.Facts.text("liner", f.Liner)
	p.Facts.text("pitless unit", f.Pitless)
	p.Facts.add("stick-up", u.length(f.StickUp))
	p.Facts.text("inspected", joinWords(say.Date(f.Inspected), f.Inspector, f.Result))
	p.Facts.text("ties to fixed points", f.Ties)
	p.Facts.add("pump set at", u.depth(pump.SetDepth))
	p.Facts.text("pump", pump.Type)
	p.Facts.add("pump's power", u.power(pump.Power))
	p.Facts.text("also kept", strings.Join(append(extraWords(f.Extra), extraWords(pump.Extra)...), " · "))
}

func stopWords(reason string) string {
	switch reason {
	case "":
		return ""
	case "enough_water":
		return "with enough water"
	case "depth":
		return "at the depth agreed"
	case "money":
		return "when the money was spent"
	case "tools":
		return "by trouble with the tools"
	case "ground":
		return "by the ground"
	case "dry":
		return "dry"
	case "unknown":
		return "nobody wrote why"
	}
	return plainWord(reason)
}

// rodsPart lists the rods with their penetration rates.
func rodsPart(u units, w *records.Well) part {
	p := part{ID: "rods", Title: "Rods"}
	if len(w.Rods) == 0 {
		return p
	}
	l := listing{Heads: heads("#rod", u.spanHead(), "#time", "#rate, "+say.RateUnit(u.System), "remark")}
	total := 0.0
	var last records.Amount[records.Depth]
	for i := range w.Rods {
		r := &w.Rods[i]
		from := r.From
		if !from.Known() {
			from = last
		}
		last = r.To
		rate := cell{}
		a, okA := from.Number()
		b, okB := r.To.Number()
		t, okT := r.Time.Number()
		if okT {
			total += float64(t)
		}
		if okA && okB && okT && t > 0 && b > a {
			rate.Text = u.Figure(say.Rate(u.System, float64(b-a)/float64(t)), 2)
		}
		no := ""
		if r.Number > 0 {
			no = strconv.Itoa(r.Number)
		}
		l.add("", cell{Text: no}, u.span(r.From, r.To), u.minutes(r.Time), rate, cell{Text: r.Remark, More: strings.Join(extraWords(r.Extra), " · ")})
	}
	l.Fold = count(len(w.Rods), "rod", "rods")
	if total > 0 {
		l.Fold += ", " + u.Minutes(records.Of(records.Minutes(total))) + " of drilling in all"
	}
	p.list(l)
	return p
}

// worksPart is what was done to the hole and when.
func worksPart(u units, w *records.Well) part {
	p := part{ID: "works", Title: "Works"}
	p.Facts.text("started", say.Date(w.Started))
	p.Facts.text("completed", say.Date(w.Completed))
	l := listing{Heads: heads("work", "firm", "permit", "from", "until", "#left at", "#yield then", "report", "note")}
	for i := range w.Works {
		k := &w.Works[i]
		l.add("", cell{Text: plainWord(k.Kind)}, cell{Text: k.Firm}, cell{Text: k.PermitNumber}, cell{Text: say.Date(k.Started)}, cell{Text: say.Date(k.Completed)},
			u.depth(k.TotalDepth), u.yield(k.Yield), cell{Text: k.Report}, cell{Text: k.Note, More: strings.Join(extraWords(k.Extra), " · ")})
	}
	p.list(l)
	l = listing{Caption: "Treatment", Heads: heads("kind", "when", u.spanHead(), "#pressure", "#yield before", "#yield after", "product", "strength", "amount", "#in contact", "#took", "note")}
	fractured := false
	disinfected := false
	for i := range w.Treatments {
		t := &w.Treatments[i]
		fractured = fractured || t.Kind == "hydrofracture"
		disinfected = disinfected || t.Kind == "disinfection"
		l.add("", cell{Text: plainWord(t.Kind)}, cell{Text: say.Date(t.Date)}, u.span(t.From, t.To), u.pressure(t.Pressure), u.yield(t.YieldBefore), u.yield(t.YieldAfter),
			cell{Text: t.Product}, cell{Text: t.Strength}, cell{Text: t.Amount}, u.minutes(t.Contact), u.minutes(t.Duration), cell{Text: t.Note, More: strings.Join(extraWords(t.Extra), " · ")})
	}
	p.list(l)
	l = listing{Caption: "Shifts", Heads: heads("day", u.spanHead(), "note")}
	for i := range w.Shifts {
		s := &w.Shifts[i]
		l.add("", cell{Text: say.Date(s.Date)}, u.span(s.From, s.To), cell{Text: s.Note, More: strings.Join(extraWords(s.Extra), " · ")})
	}
	p.list(l)
	if fractured {
		p.Cautions = append(p.Cautions, "Pressures are what was recorded here, not what another hole or its casing will bear. The maker's limits and a licensed driller decide.")
	}
	if disinfected {
		p.Cautions = append(p.Cautions, "Doses and times are what was recorded here. Local code says what a well needs; never mix chlorine with acids or other cleaners.")
	}
	return p
}

// extraWords are properties kept from the file that the model has no place
// for.
func extraWords(ms []records.Member) []string {
	var out []string
	for _, m := range ms {
		out = append(out, m.Name+": "+clipText(m.JSON, 200))
	}
	return out
}

func extraCell(ms []records.Member) cell {
	return cell{Text: strings.Join(extraWords(ms), " · "), Class: "quiet"}
}

// clipText shortens a text that may be of any length.
func clipText(t string, most int) string {
	r := []rune(t)
	if len(r) <= most {
		return t
	}
	return string(r[:most]) + "…"
}
