package server

import (
	"fmt"
	"math"
	"strings"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/server/say"
)

// placePart says where a well stands, in the forms that people use.
func placePart(u units, sheet *desk.Sheet, private bool) part {
	w := sheet.Well
	p := part{ID: "place", Title: "Place"}
	pl := &w.Place
	if at, ok := placeOf(w); ok {
		p.Facts.add("latitude, longitude (WGS 84)", cell{Text: position.Format(at, position.DecimalDegrees), Class: "figures"})
		p.Facts.add("degrees and minutes", cell{Text: position.Format(at, position.DegreesMinutes), Class: "figures"})
		p.Facts.add("degrees, minutes, seconds", cell{Text: position.Format(at, position.DegreesMinutesSeconds), Class: "figures"})
		if position.HasUTM(at) {
			p.Facts.add("UTM", cell{Text: position.Format(at, position.UTMGrid), Class: "figures"})
		}
		accuracy := u.length(pl.Accuracy)
		if accuracy.Text == "" {
			accuracy.Text = "not recorded"
			accuracy.Class = "quiet"
		} else {
			accuracy.Text = "within " + accuracy.Text
		}
		p.Facts.add("good to", accuracy)
	} else {
		p.Lead = "Where the well stands is not known, so it is on no map and in no estimate."
	}
	if pl.Given != "" {
		p.Facts.add("as given", cell{Text: "“" + pl.Given + "”", More: pl.Datum})
	}
	p.Facts.text("how located", plainWord(pl.Method))
	if e := u.height(pl.Elevation); e.Text != "" {
		e.More = "vertical datum not recorded"
		if pl.VertDatum != "" {
			e.More = pl.VertDatum
		}
		p.Facts.add("ground elevation", e)
	}
	derivedGround(u, sheet, &p)
	p.Facts.text("parcel", pl.Parcel)
	if private {
		p.Facts.add("address", privateCell(pl.Address))
	}
	p.Facts.text("access", pl.AccessNotes)
	p.Facts.text("setting", plainWord(w.Setting))
	p.Facts.text("rock unit", w.Rock)
	p.Facts.text("land use", w.LandUse)
	if placed(w) {
		p.Cautions = []string{"A position on paper does not find a wellhead, a pipe or a wire. Have buried lines marked before anybody digs."}
	}
	return p
}

// derivedGround says what an elevation grid has there, apart from what the
// record says.
func derivedGround(u units, sheet *desk.Sheet, p *part) {
	g := &sheet.Ground
	if !g.OK {
		return
	}
	label := "ground elevation, derived"
	if own, ok := sheet.Well.Place.Elevation.Number(); ok {
		if math.Abs(float64(own)-g.ElevationM) > desk.GroundApartM {
			p.Alert = fmt.Sprintf("The record's elevation and that of %s differ by %s. The record's own is used; look at the place first.", g.Grid, derivedHeight(u, math.Abs(float64(own)-g.ElevationM)))
		}
		label = "beside it, derived"
	}
	p.Facts.add(label, cell{Text: derivedHeight(u, g.ElevationM), More: "from " + g.Grid + ", above " + orElse(g.Datum, "a datum that nobody named")})
}

func placed(w *records.Well) bool {
	_, ok := placeOf(w)
	return ok
}

// peoplePart names those who did the work and, for those who may see it, the
// owner.
func peoplePart(u units, w *records.Well, private bool) part {
	p := part{ID: "people", Title: "People"}
	c := &w.Crew
	p.Facts.text("driller", c.Driller)
	p.Facts.text("licence", c.Licence)
	p.Facts.text("firm", c.Firm)
	p.Facts.text("rig", c.Rig)
	p.Facts.text("helper", c.Helper)
	p.Facts.text("also kept", strings.Join(extraWords(c.Extra), " · "))
	if !private {
		return p
	}
	o := &w.Owner
	p.Facts.add("owner", privateCell(o.Name))
	p.Facts.add("owner's address", privateCell(o.Address))
	p.Facts.add("owner's telephone", privateCell(o.Telephone))
	if len(o.Extra) > 0 {
		p.Facts.add("also kept of the owner", privateCell(strings.Join(extraWords(o.Extra), " · ")))
	}
	return p
}

// privateCell is shown only to those who may see people, and is left off
// paper: a log is printed to be given away.
func privateCell(t string) cell {
	if t == "" {
		return cell{}
	}
	return cell{Text: t, More: "private, not printed", Class: "private"}
}

// platesPart lists the plates linked to the well.
func platesPart(u units, w *records.Well) part {
	p := part{ID: "plates", Title: "Plate"}
	if len(w.Plates) > 1 {
		p.Title = "Plates"
	}
	l := listing{Heads: heads("number", "stamped", "seen", "evidence", "linked")}
	for i := range w.Plates {
		pl := &w.Plates[i]
		linked := ""
		if !pl.LinkedAt.IsZero() {
			linked = pl.LinkedAt.UTC().Format("2 January 2006")
		}
		l.add("", cell{Text: plateName(pl), Href: plateHref(pl.ID), More: joinWords(pl.Authority, seriesWords(pl))}, cell{Text: stampedWords(u, &pl.Stamped)},
			cell{Text: seenWords(pl)}, cell{Text: orElse(pl.Evidence, "none written down")}, cell{Text: joinWords(linked, byWords(pl.LinkedBy))})
	}
	p.list(l)
	return p
}

func orElse(t, otherwise string) string {
	if t == "" {
		return otherwise
	}
	return t
}

func byWords(who string) string {
	if who == "" {
		return ""
	}
	return "by " + who
}

func seriesWords(p *records.Plate) string {
	if p.Series == "" {
		return ""
	}
	return "series " + p.Series
}

func plateName(p *records.Plate) string { return orElse(p.Number, "no number") }

func plateHref(id int64) string { return fmt.Sprintf("/plate/%d", id) }

// stampedWords says in a line what is stamped on a plate.
func stampedWords(u units, s *records.Stamped) string {
	depth, casing, static := u.Depth(s.Depth), u.Depth(s.Casing), u.Level(s.Static)
	if depth != "" {
		depth = "depth " + depth
	}
	if casing != "" {
		casing = "casing " + casing
	}
	if static != "" {
		static = "static " + static
	}
	return orElse(joinWords(say.Date(s.Date), depth, casing, u.Yield(s.Yield), static), "nothing beside the number")
}

func seenWords(p *records.Plate) string {
	if len(p.Seen) == 0 {
		return "never"
	}
	last := p.Seen[len(p.Seen)-1]
	t := joinWords(say.Date(last.Date), byWords(last.By))
	if t == "" {
		t = "once, not dated"
	}
	if n := len(p.Seen) - 1; n > 0 {
		t += fmt.Sprintf(" · %d times before", n)
	}
	return t
}
