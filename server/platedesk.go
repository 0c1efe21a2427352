package server

import (
	"html/template"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// plateDeskPage is one plate on the desk.
type plateDeskPage struct {
	Base
	Heading, Sub   string
	List, ListName string // back to the list
	Before, After  string
	Action         string
	Revision       int64
	Show           string
	Wide, Narrow   template.HTML // the plate as it is stamped
	Against        string        // which record the slips tell of
	State          string        // what holds now
	StateHref      string
	Signal         string
	Candidates     []plateCandidateView
	Seldom         []plateCandidateView // those that are very unlikely beside the first
	Pending        bool
	None           string // how likely it is that there is no record
	Map            template.HTML
	MapWords       []string
	Seen           part
	History        []plateDecisionView
	Refused        []plateRefusedView
	Linked, Open   bool
	Exchange       string
	SwapWith       string
	Home           string // the plate's own page
}

// plateCandidateView is a record that the plate may belong to.
type plateCandidateView struct {
	Number          int // on the map and the keys
	ID              int64
	Name, Href      string
	Look            string // address that puts it on the slips
	Chosen, Is      bool   // on the slips; the one that it is linked to
	Chance, Percent string
	Facts           string
	Taken           string // which plate is linked to it already
	TakenHref       string
	Reasons         []plateReasonView
	Weight          string
	seldom          bool
}

// plateReasonView is what one field says.
type plateReasonView struct {
	Field, Plate, Record string
	Sign, Word, How      string
	Speaks               string
	Class                string
}

type plateRefusedView struct{ Name, Href string }

// plateDecisionView is something that was decided.
type plateDecisionView struct {
	What, When, Why string
	Reasons         []string
}

// plateDesk answers /plates/{id}.
func (s *Server) plateDesk(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	show := showOf(r.URL.Query())
	kinds, err := plateKindsOf(show)
	if err != nil {
		return err
	}
	ctx, actor, u := r.Context(), s.actor(r), units{unitsOf(r)}
	sheet, err := s.desk.PlateSheet(ctx, actor, id)
	if err != nil {
		return err
	}
	b, err := s.desk.PlateBoard(ctx, actor)
	if err != nil {
		return err
	}
	pl := sheet.Plate
	p := plateDeskPage{Base: s.base(r, "Plate "+plateName(pl)), Heading: "Plate " + plateName(pl), Show: show, Revision: sheet.State.Decision.Revision,
		Action: "/plates/" + strconv.FormatInt(id, 10) + "/decide", Home: plateHref(id), Pending: sheet.Pending,
		List: "/plates?show=" + show, Exchange: "/plates/" + strconv.FormatInt(id, 10) + "/exchange"}
	before, after, at, of := b.Around(id, kinds)
	for _, k := range plateKindsShown {
		if k.word == show {
			p.ListName = k.label
		}
	}
	p.Sub = joinWords(grouped(at)+" of "+grouped(of)+", "+p.ListName, plateProgressWords(b))
	if before != 0 {
		p.Before = plateDeskHref(before, show)
	}
	if after != 0 {
		p.After = plateDeskHref(after, show)
	}
	s.plateCandidates(&p, sheet, u, r.URL.Query().Get("record"))
	s.plateStands(&p, sheet, b)
	p.draw(u, sheet, themeOf(r))
	p.Seen = seenPart(u, pl)
	p.History = decisionViews(sheet.Decisions)
	for _, c := range p.Candidates {
		if c.seldom {
			p.Seldom = append(p.Seldom, c)
		}
	}
	p.Candidates = slices.DeleteFunc(p.Candidates, func(c plateCandidateView) bool { return c.seldom })
	for _, no := range sheet.Refused {
		p.Refused = append(p.Refused, plateRefusedView{nameOf(no), wellHref(no.ID)})
	}
	return s.show(w, "platedesk", p)
}

// seldomOffered is the probability under which a record beside the likeliest is
// folded away; ours, no source.
const seldomOffered = 0.01

// plateStands says what holds of the plate now.
func (s *Server) plateStands(p *plateDeskPage, sheet *desk.PlateSheet, b *desk.PlateBoard) {
	e, known := b.Entry(sheet.Plate.ID)
	state := sheet.State.State()
	if known {
		state = e.State
	}
	p.Open = state == records.PlateOpen
	switch state {
	case records.PlateLinked:
		p.Linked = true
		p.State, p.StateHref = "record "+nameOf(sheet.Linked), wellHref(sheet.Linked.ID)
	case records.PlateNoRecord:
		p.State = "Decided: no record of its well exists."
	case records.PlateLater:
		p.State = "Set aside until something new is known."
	}
	switch {
	case !known:
	case e.Swapped != 0:
		p.Signal = "This plate fits the record of another plate better, and that one fits this record better: they may have been exchanged."
		p.SwapWith = p.Exchange + "?with=" + strconv.FormatInt(e.Swapped, 10)
	case e.Kind == desk.PlateDoubtful:
		p.Signal = "Another record fits better than the one that it is linked to."
	case e.Renewed:
		p.Signal = "It was set aside, and there is something new."
	}
}

// plateCandidates puts the records beside the plate.
func (s *Server) plateCandidates(p *plateDeskPage, sheet *desk.PlateSheet, u units, look string) {
	list := sheet.Candidates
	chosen := 0
	for i := range list {
		if look != "" && strconv.FormatInt(list[i].WellID, 10) == look || look == "" && list[i].WellID == sheet.Plate.WellID {
			chosen = i
		}
	}
	for i := range list {
		c := &list[i]
		v := plateCandidateView{Number: i + 1, ID: c.WellID, Name: nameOf(c.Well), Href: wellHref(c.WellID), Chosen: i == chosen, Is: c.WellID == sheet.Plate.WellID,
			Chance: chanceWords(c.Probability), Percent: sureWords(c.Probability), Facts: candidateFacts(u, c.Well), Weight: trimFloat(c.Weight, 1)}
		join := "?"
		to := plateDeskHref(sheet.Plate.ID, p.Show)
		if strings.Contains(to, "?") {
			join = "&"
		}
		v.Look = to + join + "record=" + strconv.FormatInt(c.WellID, 10)
		v.seldom = i > 0 && !v.Chosen && !v.Is && c.Probability < seldomOffered
		for k := range c.Well.Plates {
			if other := &c.Well.Plates[k]; other.ID != sheet.Plate.ID {
				v.Taken, v.TakenHref = plateName(other), plateDeskHref(other.ID, "decided")
			}
		}
		for _, f := range c.Fields {
			if f.Agreement == "missing" && f.Plate == "" && f.Record == "" {
				continue // neither says anything
			}
			v.Reasons = append(v.Reasons, reasonView(u, f, sheet.Plate, c.Well))
		}
		p.Candidates = append(p.Candidates, v)
	}
	if len(list) > 0 {
		p.None = "That its record is not in the file: " + chanceWords(sheet.None) + ", " + sureWords(sheet.None) + "."
	}
}

// candidateFacts is a record in a line.
func candidateFacts(u units, w *records.Well) string {
	depth, yield := u.Depth(w.TotalDepth), u.Yield(w.Yield)
	return joinWords(say.Date(w.Completed), depth, yield, w.Crew.Driller)
}

// speaksAgainst is the evidence from which on a difference is to be noticed: a
// plate that bears another sort of number than the records differs always.
const speaksAgainst = 0.5

// reasonView puts a reason in the reader's units.
func reasonView(u units, f desk.PlateReason, pl *records.Plate, w *records.Well) plateReasonView {
	v := plateReasonView{Field: plateFieldWord(f.Name), Plate: f.Plate, Record: f.Record, How: f.How}
	if a, b, ok := inUnits(u, f.Name, pl, w); ok && (u.System == say.SI || f.Agreement == "missing") { // the reasons are in feet
		v.Plate, v.Record = orElse(a, v.Plate), orElse(b, v.Record)
	}
	v.Plate, v.Record = dayWords(v.Plate), dayWords(v.Record)
	v.Sign, v.Word = draw.PlateSign(f.Agreement)
	if f.Agreement == "missing" {
		v.Class, v.How = "quiet", ""
		return v
	}
	if f.Agreement == "differs" && f.Weight <= -speaksAgainst {
		v.Class = "differs"
	}
	switch {
	case f.Weight >= 0.05:
		v.Speaks = "for it, " + trimFloat(f.Weight, 1)
	case f.Weight <= -0.05:
		v.Speaks = "against it, " + trimFloat(-f.Weight, 1)
	default:
		v.Speaks = "neither way"
	}
	return v
}

// dayWords writes a date as the pages do.
func dayWords(t string) string {
	if d, err := records.ParseDate(t); err == nil {
		return say.Date(d)
	}
	return t
}

func plateFieldWord(name string) string {
	switch name {
	case "static":
		return "static level"
	case "pump":
		return "pump at"
	}
	return name
}

// inUnits gives a quantity on the plate and in the record in the reader's
// units, where the field is one.
func inUnits(u units, name string, pl *records.Plate, w *records.Well) (stamped, recorded string, ok bool) {
	st := &pl.Stamped
	switch name {
	case "date":
		return say.Date(st.Date), say.Date(w.Completed), true
	case "depth":
		return u.Depth(st.Depth), u.Depth(w.TotalDepth), true
	case "casing":
		seat := records.Amount[records.Depth]{}
		if m, known := w.CasingSeat(); known {
			seat = records.Of(m)
		}
		return u.Depth(st.Casing), u.Depth(seat), true
	case "pump":
		return u.Depth(st.PumpDepth), u.Depth(w.Pump.SetDepth), true
	case "static":
		return u.Level(st.Static), u.Level(w.StaticLevel), true
	case "diameter":
		d := records.Amount[records.Diameter]{}
		if n := len(w.Casing); n > 0 {
			d = w.Casing[n-1].Diameter
		}
		return u.Diameter(st.Diameter), u.Diameter(d), true
	case "yield":
		return u.Yield(st.Yield), u.Yield(w.Yield), true
	case "driller":
		return st.Driller, w.Crew.Driller, true
	}
	return "", "", false
}

// draw draws the plate with the chosen record under its fields, and the map.
func (p *plateDeskPage) draw(u units, sheet *desk.PlateSheet, theme draw.Theme) {
	pl := sheet.Plate
	face := draw.PlateFace{Title: "Plate " + plateName(pl) + " as it is stamped", Authority: pl.Authority, Number: orElse(pl.Number, "no number"), Series: seriesWords(pl), Columns: 3}
	var of *desk.PlateCandidate
	var w *records.Well
	for i := range p.Candidates {
		if p.Candidates[i].Chosen {
			of = &sheet.Candidates[i]
			w = of.Well
		}
	}
	if w == nil && sheet.Linked != nil {
		w = sheet.Linked
	}
	if w != nil {
		p.Against = nameOf(w)
		face.Against = "record " + p.Against
		face.Title += ", and under each of its fields what record " + p.Against + " says"
	}
	for _, name := range [...]string{"date", "depth", "casing", "diameter", "yield", "static", "pump", "driller"} {
		against := w
		if against == nil {
			against = &records.Well{}
		}
		stamped, recorded, _ := inUnits(u, name, pl, against)
		if stamped == "" && recorded == "" || stamped == "" && (name == "static" || name == "pump" || name == "driller") {
			continue
		}
		f := draw.PlateField{Label: plateFieldWord(name), Stamped: stamped, Record: recorded, Agree: "missing"}
		if of != nil {
			for _, reason := range of.Fields {
				if reason.Name == name {
					f.Agree = reason.Agreement
					f.Record = reasonView(u, reason, pl, w).Record
				}
			}
		}
		face.Fields = append(face.Fields, f)
	}
	p.Wide = template.HTML(draw.PlateDrawing(&face, theme, "plate-wide")) //nolint:gosec // drawings escape what they hold
	face.Columns = 2
	p.Narrow = template.HTML(draw.PlateDrawing(&face, theme, "plate-narrow")) //nolint:gosec // as above
	p.drawMap(u, sheet, theme)
}

// drawMap draws where the plate was seen against where the records lie, and says
// it in words.
func (p *plateDeskPage) drawMap(u units, sheet *desk.PlateSheet, theme draw.Theme) {
	at, seen := seenAt(sheet.Plate)
	if !seen {
		p.MapWords = []string{"Nobody wrote down where the plate was seen."}
		return
	}
	m := draw.PlateMap{Title: "Where the plate was seen, and where the records lie", W: 340, H: 300, Metric: u.System == say.SI}
	plane := position.NewPlane(at)
	for i := range sheet.Plate.Seen {
		x := &sheet.Plate.Seen[i]
		here := position.LonLat{Lon: x.Lon, Lat: x.Lat}
		if !x.Located || here.Valid() != nil {
			continue
		}
		e, n := plane.ToXY(here)
		acc, _ := x.Accuracy.Number()
		m.Points = append(m.Points, draw.PlatePoint{X: e, Y: n, Accuracy: float64(acc), Label: "seen", Title: joinWords("the plate was seen here", say.Date(x.Date)), Seen: true})
	}
	for i := range p.Candidates {
		c := &p.Candidates[i]
		w := sheet.Candidates[i].Well
		where, ok := placeOf(w)
		if c.seldom {
			continue
		}
		if !ok {
			p.MapWords = append(p.MapWords, c.Name+" has no place on record")
			continue
		}
		far, bearing := position.Distance(at, where)
		words := c.Name + " lies " + u.Distance(far) + " " + say.Bearing(bearing) + " of where the plate was seen"
		if far < 1 {
			words = c.Name + " lies where the plate was seen"
		}
		p.MapWords = append(p.MapWords, words)
		if far > farOffPlateM {
			continue
		}
		e, n := plane.ToXY(where)
		acc, _ := w.Place.Accuracy.Number()
		m.Points = append(m.Points, draw.PlatePoint{X: e, Y: n, Accuracy: float64(acc), Label: strconv.Itoa(c.Number) + " " + clipText(c.Name, 14), Title: words, Href: c.Look, Chosen: c.Chosen})
	}
	p.Map = template.HTML(draw.PlateMapDrawing(&m, theme, "where")) //nolint:gosec // drawings escape what they hold
}

// farOffPlateM is beyond what the small map shows, metres: what lies farther off
// is told in words alone.
const farOffPlateM = 5000

// decisionViews puts what was decided in words.
func decisionViews(list []records.PlateDecision) []plateDecisionView {
	var out []plateDecisionView
	for i := range list {
		d := &list[i]
		v := plateDecisionView{When: joinHeld(d.At.UTC().Format("2 January 2006 15:04"), byWords(d.By)), Why: d.Why}
		switch d.State {
		case records.PlateLinked:
			v.What = "linked"
		case records.PlateLater:
			v.What = "set aside"
		case records.PlateNoRecord:
			v.What = "no record exists"
		default:
			v.What = "open"
		}
		if i+1 < len(list) && len(d.Refused) > len(list[i+1].Refused) {
			v.What = "a record refused"
			if d.State == records.PlateLinked {
				v.What += ", still linked"
			}
		}
		v.Reasons = reasonsKept(d)
		out = append(out, v)
	}
	return out
}
