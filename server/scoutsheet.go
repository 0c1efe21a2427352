package server

import (
	"fmt"
	"html/template"
	"net/http"
	"strings"
	"time"
	"unicode/utf8"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/scout"
	"tallybook/records/snapshot"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// sheetPage is what a landowner is handed: two pages, the first of the ground,
// the second of the money. It is made from the same answer as the scouting
// page.
type sheetPage struct {
	Base
	Firm   scout.Words
	Place  string
	Around string
	Asked  string
	Made   string
	Until  string
	Back   string
	Parts  []panelPart
	Tells  []string // what the neighbours tell, a sentence a field
	Map    template.HTML
	Near   listing
	Store  []string
	Cost   *costView
	Terms  []fact
	Notes  []string
	Lacks  []string
	Cares  []string
	NoHole string
	Site   *sheetSite // what stands near the pin; nil where nothing was drawn
	Fit    string     // how closely the second page is set: see sheetFit
}

// Terms of so many characters still leave the second page whole when it is set
// as usual, and when it is set closer. Longer ones are set closest of all:
// nothing that a firm agrees to is ever left out, at worst it takes a page more.
const (
	usualTerms = 350
	closeTerms = 1100
	termsLine  = 110 // characters of a line, which a line of fewer takes too
)

// sheetFit is the class of a second page that bears these terms.
func sheetFit(terms string) string {
	size := 0
	for line := range strings.Lines(terms) {
		size += max(utf8.RuneCountInString(line), termsLine)
	}
	switch {
	case size <= usualTerms:
		return ""
	case size <= closeTerms:
		return "close"
	}
	return "close closest"
}

// scoutSheet answers /scout/sheet.
func (s *Server) scoutSheet(w http.ResponseWriter, r *http.Request) error {
	u := unitsOf(r)
	a, err := parseScoutAsk(r.URL.Query(), u)
	if err != nil {
		return err
	}
	sc, err := s.desk.Scouting(r.Context(), s.actor(r), a.ask())
	if err != nil {
		return err
	}
	p := sheetPage{Base: s.base(r, "Sheet"), Place: position.Format(a.at, position.DecimalDegrees), Around: joinWords(aroundWords(sc.Outlook, u), trustLine(s.desk.Picture(), &sc.Ask.Filter, snapshot.Fields())), Back: a.href("/scout", u, nil)}
	p.Firm = sc.Practice.Words
	p.Fit = sheetFit(p.Firm.Terms)
	today := s.desk.Validation().Today
	p.Made = say.Date(today)
	until := records.Date{}
	if days, ok := p.Firm.Days.Number(); ok && days > 0 {
		until = daysAfter(today, int(days))
	}
	p.Asked = askedWords(a, u)
	p.ground(sc, a, u)
	if err := s.sheetSite(r, &p, a, sc.Rules); err != nil {
		return err
	}
	if err := s.sheetWells(r, &p, a, sc.Outlook); err != nil {
		return err
	}
	if sc.NoReplay != nil {
		p.NoHole = records.MessageOf(sc.NoReplay)
		return s.show(w, "sheet", p)
	}
	p.money(sc, a, until, today, u)
	return s.show(w, "sheet", p)
}

// daysAfter is the date some days after another.
func daysAfter(d records.Date, days int) records.Date {
	y, m, day := time.Date(d.Year, time.Month(d.Month), d.Day+days, 0, 0, 0, 0, time.UTC).Date()
	return records.Date{Year: y, Month: int(m), Day: day}
}

func askedWords(a *scoutAsk, u say.System) string {
	t := u.FlowFigure(a.needLps) + " " + u.FlowUnit().Symbol()
	if a.people > 0 {
		t += " for " + count(a.people, "person", "people")
	}
	return t
}

// ground is the first page: what is likely, and what it is worth. It is on
// paper, so it is drawn for paper.
func (p *sheetPage) ground(sc *desk.Scouting, a *scoutAsk, u say.System) {
	for i := range sc.Fields {
		f := &sc.Fields[i]
		if f.Field.String() == "total_depth" {
			continue // what others' needs came to; the hole asked for is told instead
		}
		part := panelPartOf(f, u, draw.Print, a.needLps)
		p.Tells = append(p.Tells, part.Title+": "+uncapital(part.Verdict))
		p.Cares = append(p.Cares, part.Cares...)
		part.Verdict, part.Cares, part.Basis = "", nil, nil
		p.Parts = append(p.Parts, part)
	}
	if h := holeViewOf(sc, u, draw.Print); h.Why == "" {
		for _, part := range h.Parts {
			if part.Title == "Grout" {
				continue
			}
			part.Cares = nil
			p.Parts = append(p.Parts, part)
		}
	}
	if st := storageViewOf(sc, u, draw.Print); st != nil {
		p.Store = append([]string{st.Lead}, st.Ways...)
	}
}

// How many of the nearest wells a sheet lists, and how many where the plan of
// the site stands on the same page.
const (
	sheetNear         = 7
	sheetNearWithPlan = 3
)

// sheetSite is where the hole may go, in a plan and a few lines.
type sheetSite struct {
	Plan   template.HTML
	Lines  []string
	More   int // things that are not listed
	Access string
}

// mostSiteLines is how many things a sheet tells of beside its plan.
const mostSiteLines = 5

// site is the plan of what was drawn around the pin, with what layers hold near
// it.
func (s *Server) sheetSite(r *http.Request, p *sheetPage, a *scoutAsk, rules []scout.LocalRule) error {
	if len(a.hazards) == 0 && a.access == "" {
		return nil
	}
	u := unitsOf(r)
	layers, err := s.layers.of(r.Context(), s.desk, s.actor(r), s.desk.Picture().Commit())
	if err != nil {
		return err
	}
	backs, _ := scout.CheckSetbacks(a.at, 0, a.hazardsOf(layers), rules)
	half := a.planHalf("", rules)
	svg := draw.Site(sitePlanOf(a, backs, half, u), draw.Print, "site")
	p.Site = &sheetSite{Plan: template.HTML(svg), Access: a.access} //nolint:gosec // escaped by package draw
	told := placeViewOf(a, layers, rules, u)
	for i := range told.Table.Rows {
		c := told.Table.Rows[i].Cells
		if i >= mostSiteLines {
			p.Site.More++
			continue
		}
		line := c[0].Text + " " + c[1].Text + ": " + c[2].Text
		if c[2].More != "" {
			line += " (" + c[2].More + ")"
		}
		p.Site.Lines = append(p.Site.Lines, line)
	}
	return nil
}

func (s *Server) sheetWells(r *http.Request, p *sheetPage, a *scoutAsk, o *desk.Outlook) error {
	u := unitsOf(r)
	st := &mapState{units: u, surface: showNothing, at: &a.at, field: snapshot.Bedrock, view: draw.View{W: 420, H: 340}}
	m, err := s.mapOf(r.Context(), s.actor(r), st, draw.Print)
	if err != nil {
		return err
	}
	p.Map = template.HTML(m.SVG) //nolint:gosec // escaped by package draw
	listed := sheetNear
	if p.Site != nil {
		listed = sheetNearWithPlan
	}
	near, err := s.named(r, o.Nearest[:min(listed, len(o.Nearest))])
	if err != nil {
		return err
	}
	p.Near = nearListing(units{u}, near).tidy()
	for i := range p.Near.Rows {
		for j := range p.Near.Rows[i].Cells {
			p.Near.Rows[i].Cells[j].Href = ""
		}
	}
	return nil
}

// money is the second page: the range, the terms, what it rests on.
func (p *sheetPage) money(sc *desk.Scouting, a *scoutAsk, until, today records.Date, u say.System) {
	p.Cost = costViewOf(sc, a, draw.Print)
	p.Cost.Part.Title, p.Cost.Bill.Fold = "Cost", ""
	q := scout.NewQuoteSheet(sc.Hole, &sc.Rates, today, until, sc.Practice.Words)
	p.Until = say.Date(q.ValidUntil)
	term := func(label, words string) {
		if words != "" {
			p.Terms = append(p.Terms, fact{label, cell{Text: words}})
		}
	}
	cents := func(price scout.Price, unit string) string {
		if !price.Set {
			return ""
		}
		return money(price.Cents, q.Currency) + unit
	}
	chance := shareWords(q.MetLow, q.MetHigh) + " such holes give " + p.Asked
	term("Chance of enough", chance+fmt.Sprintf(" by %s, where drilling stops", u.Estimate(float64(q.MaxDepth))))
	if q.CallDepth > 0 {
		term("We stop and call", fmt.Sprintf("at %s; %s come to it", u.Estimate(float64(q.CallDepth)), shareWords(q.CallLow, q.CallHigh)))
	}
	if v, ok := q.MinimumLength.Number(); ok {
		term("Charged at least", u.Metres(float64(v)))
	}
	if v, ok := q.DryBelow.Number(); ok {
		t := "a hole that gives less than " + u.FlowFigure(float64(v)) + " " + u.FlowUnit().Symbol()
		if share, ok := q.FootageShare.Number(); ok {
			t += fmt.Sprintf(" is charged %.0f\u00a0%% of its drilling", float64(share)*100)
		}
		term("Too little water", joinWords(t, q.DryWords))
	} else {
		term("Too little water", q.DryWords)
	}
	term("Waiting", cents(q.Standby, " an hour"))
	term("Permit", cents(q.Permit, ""))
	sealing := cents(q.Sealing, "")
	if q.SealingBy.Set {
		sealing = joinWords(sealing, cents(q.SealingBy, " a "+q.Units.Of(records.DimLength).Symbol()))
	}
	term("Sealing a hole given up", sealing)
	term("Setting the pump", cents(q.PumpSet, ""))
	p.Notes, p.Lacks = q.Assumptions, q.Missing
	p.Cares = append(p.Cares, q.Cautions...)
}
