package server

import (
	"net/http"
	"strconv"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/server/say"
)

// nearestToPlate is how many wells are listed near a plate that is linked to
// none.
const nearestToPlate = 8

// platePage is one plate.
type platePage struct {
	Base
	Heading string
	Sub     string
	Back    string
	Plate   stampedPlate
	WellRef string // the linked well, "" for none
	Well    string
	Linked  string // how it came to be linked
	MapHref string
	Alert   string
	Parts   []part
	Acts    plateActs
	Earlier []sightingEarlier
	Decided []plateDecisionView

	PrintHref string
}

// plateActs are what can be done with a plate.
type plateActs struct{ Decide, Again, Edit, Remove string }

// stampedPlate is the plate as it would be stamped.
type stampedPlate struct {
	Authority string
	Number    string
	Series    string
	Lines     []fact
}

// plateHome answers /plate/{id}.
func (s *Server) plateHome(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	ctx, actor := r.Context(), s.actor(r)
	pl, err := s.desk.Plate(ctx, actor, id)
	if err != nil {
		return err
	}
	u := units{unitsOf(r)}
	p := platePage{
		Base: s.base(r, "Plate "+plateName(pl)), Heading: "Plate " + plateName(pl), Back: backOf(r),
		Sub: sinceWords(pl), Plate: stampedOf(u, pl), PrintHref: plateHref(id) + "/print",
	}
	var sheet *desk.Sheet
	if pl.WellID != 0 {
		if sheet, err = s.desk.Well(ctx, actor, pl.WellID); err != nil {
			return err
		}
		p.Well, p.WellRef = nameOf(sheet.Well), wellHref(pl.WellID)
		p.Linked = linkedWords(pl)
		against := stampedAgainst(u, pl, sheet.Well)
		p.Parts = append(p.Parts, against)
		p.Alert = against.Alert
	} else {
		p.Alert = "Not linked to any record yet."
	}
	p.Parts = append(p.Parts, seenPart(u, pl))
	if at, ok := seenAt(pl); ok {
		p.MapHref = "/?at=" + queryEscape(latLon(at))
		if sheet == nil {
			near, err := s.named(r, s.desk.Picture().Nearest(at, nearestToPlate, nil))
			if err != nil {
				return err
			}
			part := part{ID: "near", Title: "Wells near it", Lead: "The wells nearest to where the plate was last seen. Which of them it belongs to is for a person to decide."}
			part.list(markStamped(u, nearListing(u, near), &pl.Stamped))
			p.Parts = append(p.Parts, part)
		}
	}
	if err := s.platePast(r, &p, pl); err != nil {
		return err
	}
	return s.show(w, "plate", p)
}

func sinceWords(p *records.Plate) string {
	from, until := say.Date(p.Since), say.Date(p.Until)
	switch {
	case from != "" && until != "":
		return "in use " + from + " to " + until
	case from != "":
		return "in use since " + from
	case until != "":
		return "in use until " + until
	}
	return ""
}

func linkedWords(p *records.Plate) string {
	when := ""
	if !p.LinkedAt.IsZero() {
		when = p.LinkedAt.UTC().Format("2 January 2006")
	}
	return joinWords("evidence: "+orElse(p.Evidence, "none written down"), joinHeld(when, byWords(p.LinkedBy)))
}

func stampedOf(u units, p *records.Plate) stampedPlate {
	st := &p.Stamped
	out := stampedPlate{Authority: p.Authority, Number: plateName(p), Series: seriesWords(p)}
	var f facts
	f.text("date", say.Date(st.Date))
	f.add("depth", u.depth(st.Depth))
	f.add("casing", u.depth(st.Casing))
	f.add("diameter", u.diameter(st.Diameter))
	f.add("yield", u.yield(st.Yield))
	f.add("static", u.level(st.Static))
	f.add("pump at", u.depth(st.PumpDepth))
	f.text("driller", st.Driller)
	for _, w := range extraWords(st.Extra) {
		f.text("also", w)
	}
	out.Lines = f
	return out
}

// stampedAgainst sets what is stamped beside what the linked record says.
func stampedAgainst(u units, p *records.Plate, w *records.Well) part {
	out := part{ID: "against", Title: "Against the record"}
	l := listing{Heads: heads("field", "stamped on the plate", "in the record", "agree")}
	l.Heads[0] = head{Text: "what"}
	seat := records.Amount[records.Depth]{}
	if m, ok := w.CasingSeat(); ok {
		seat = records.Of(m)
	}
	differ := 0
	add := func(what, stamped, recorded string) {
		if stamped == "" {
			return
		}
		agree, class := cell{Text: "yes"}, ""
		switch {
		case recorded == "":
			recorded, agree = "not recorded", cell{Text: "cannot be told", Class: "quiet"}
		case stamped != recorded:
			agree, class = cell{Text: "no", Class: "signal"}, "differs"
			differ++
		}
		l.add(class, cell{Text: what}, cell{Text: stamped}, cell{Text: recorded}, agree)
	}
	st := &p.Stamped
	add("date", say.Date(st.Date), say.Date(w.Completed))
	add("depth", u.Depth(st.Depth), u.Depth(w.TotalDepth))
	add("casing", u.Depth(st.Casing), u.Depth(seat))
	add("yield", u.Yield(st.Yield), u.Yield(w.Yield))
	add("static level", u.Level(st.Static), u.Level(w.StaticLevel))
	add("pump at", u.Depth(st.PumpDepth), u.Depth(w.Pump.SetDepth))
	add("driller", st.Driller, w.Crew.Driller)
	out.list(l)
	if differ > 0 {
		out.Alert = capital(count(differ, "stamp disagrees", "stamps disagree")) + " with the record it is linked to."
	}
	return out
}

// markStamped marks what a near well shares with the plate.
func markStamped(u units, l listing, st *records.Stamped) listing {
	year := ""
	if st.Date.Year > 0 {
		year = strconv.Itoa(st.Date.Year)
	}
	want := map[string]string{"depth": u.Depth(st.Depth), "yield": u.Yield(st.Yield), "year": year}
	for _, r := range l.Rows {
		for i := range r.Cells {
			if w := want[l.Heads[i].Text]; w != "" && r.Cells[i].Text == w {
				r.Cells[i].Class, r.Cells[i].More = "strong", "as stamped"
			}
		}
	}
	return l
}

// seenPart tells where and when the plate was seen and what could be read.
func seenPart(u units, p *records.Plate) part {
	out := part{ID: "seen", Title: "Seen"}
	l := listing{Heads: heads("when", "by", "where", "could be read", "note")}
	for i := range p.Seen {
		sg := &p.Seen[i]
		where := cell{Text: "place not recorded", Class: "quiet"}
		if sg.Located {
			at := position.LonLat{Lon: sg.Lon, Lat: sg.Lat}
			where = cell{Text: position.Format(at, position.DecimalDegrees), Href: "/?at=" + queryEscape(latLon(at))}
			if a := u.Length(sg.Accuracy); a != "" {
				where.More = "good to within " + a
			}
		}
		l.add("", cell{Text: orElse(say.Date(sg.Date), "no date")}, cell{Text: sg.By}, where, cell{Text: sg.Legible, Class: "words"}, cell{Text: sg.Note})
	}
	out.list(l)
	if len(l.Rows) == 0 {
		out.Lead = "Nobody wrote down where it was seen."
	}
	for _, w := range extraWords(p.Extra) {
		out.Notes = append(out.Notes, "Also kept: "+w)
	}
	return out
}

// seenAt is where the plate was last seen.
func seenAt(p *records.Plate) (position.LonLat, bool) {
	for i := len(p.Seen) - 1; i >= 0; i-- {
		at := position.LonLat{Lon: p.Seen[i].Lon, Lat: p.Seen[i].Lat}
		if p.Seen[i].Located && at.Valid() == nil {
			return at, true
		}
	}
	return position.LonLat{}, false
}
