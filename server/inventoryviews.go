package server

import (
	"fmt"
	"net/http"
	"strings"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// inventoryViewOf sets out what was found.
func (s *Server) inventoryViewOf(r *http.Request, a *inventoryAsk, inv *desk.Inventory, u units) (*inventoryView, error) {
	v := &inventoryView{
		Heading: "All wells " + inventoryWhere(a, inv, u), Sub: count(inv.Within, "well lies", "wells lie") + " within",
		CSV: a.href("/inventory.csv", u.System), QualityCSV: a.href("/inventory.csv", u.System) + "&of=quality",
		GeoJSON: a.href("/inventory.geojson", u.System), SVG: a.href("/inventory.svg", u.System) + "&download=1",
	}
	if inv.May > 0 {
		v.Sub += "; " + count(inv.May, "more may", "more may") + ": their positions are no better known than the edge is near, or are marked unreliable"
	}
	var err error
	if v.Log, err = s.inventoryLog(r, a, inv, u); err != nil {
		return nil, err
	}
	v.Within, v.May = inventoryTable(inv, u, false), inventoryTable(inv, u, true)
	v.May.Caption = "May lie within"
	v.quality(inv, u)
	v.settings(inv, u, say.Date(s.desk.Validation().Today))
	if len(inv.Wells) > 0 && s.desk.Permit(s.actor(r), desk.Edit) == nil {
		st := judgeState{set: a.picks, from: &inv.From}
		v.Pick = st.href(inv.Wells[0].Well.ID)
	}
	return v, nil
}

// inventoryWhere says where in words: 'within 0.5 mi of 44.25, -38.75'.
func inventoryWhere(a *inventoryAsk, inv *desk.Inventory, u units) string {
	switch {
	case inv.Ask.RadiusM > 0:
		radius := u.Distance(inv.Ask.RadiusM)
		if namesUnit(a.radius) {
			radius = a.radius
		}
		return "within " + radius + " of " + position.Format(inv.Ask.At, position.DecimalDegrees)
	case inv.Ask.Name != "":
		return "within " + clipText(inv.Ask.Name, 80)
	}
	return "within an outline"
}

// inventoryTable lists the wells within, or those that only may lie there, each
// with its number on the map.
func inventoryTable(inv *desk.Inventory, u units, may bool) listing {
	l := listing{Heads: heads("#no.", "well", "where", "#year", "#depth", "#bedrock", "#casing", "#yield", "#static", "located by")}
	if inv.Ask.Private {
		l.Heads = append(l.Heads, heads("owner")...)
	}
	for i := range inv.Wells {
		w := &inv.Wells[i]
		if w.May != may {
			continue
		}
		row := inventoryRow(w, u)
		row[0] = cell{Text: fmt.Sprint(i + 1)}
		class := ""
		if inv.Ask.Private {
			o := &w.Well.Owner
			row = append(row, cell{Text: o.Name, More: joinWords(o.Address, o.Telephone)})
		}
		l.add(class, row...)
	}
	return l.tidy()
}

func inventoryRow(w *desk.InventoryWell, u units) []cell {
	r := w.Well
	well := cell{Text: nameOf(r), Href: wellHref(r.ID), More: joinWords(plainWord(r.Purpose), plainWord(r.Status))}
	if t := markedShort(r); t != "" {
		well.More = joinWords(well.More, t)
	}
	where := cell{Text: strings.TrimSpace(u.Distance(w.DistanceM) + " " + say.Bearing(w.BearingDeg)), More: w.MayWords()}
	year := cell{}
	if r.Completed.Year > 0 {
		year.Text = fmt.Sprint(r.Completed.Year)
	}
	bedrock := u.depth(w.Picks.Bedrock.Depth)
	switch {
	case w.Picks.Bedrock.Source == records.FromOwnPick:
		bedrock.More = "own pick"
	case w.Picks.Disagree:
		bedrock.More = "sources disagree"
	}
	casing := cell{}
	if seat, ok := r.CasingSeat(); ok {
		casing.Text = u.Metres(float64(seat))
	}
	located := cell{Text: orElse(plainWord(r.Place.Method), "not said"), More: "accuracy not said"}
	if r.Place.Accuracy.Known() {
		located.More = "to " + u.Distance(float64(r.Place.Accuracy.Value))
	}
	return []cell{{}, well, where, year, u.depth(r.TotalDepth), bedrock, casing, u.yield(r.Yield), u.level(r.StaticLevel), located}
}

// markedShort says in few words what of a log is marked.
func markedShort(w *records.Well) string {
	if len(w.Unreliable) == 0 {
		return ""
	}
	var of []string
	for i := range w.Unreliable {
		of = append(of, draw.DoubtPhrase(w.Unreliable[i].About))
	}
	return "marked unreliable: " + strings.Join(of, ", ")
}

// quality lists the results of water quality, each of its own place and day.
func (v *inventoryView) quality(inv *desk.Inventory, u units) {
	l := listing{Heads: heads("#no.", "well", "when", "what", "#result", "method", "where")}
	for i := range inv.Wells {
		w := &inv.Wells[i]
		for j := range w.Well.Quality {
			q := &w.Well.Quality[j]
			where := q.Lab
			if q.InField != nil {
				where = joinWords(map[bool]string{true: "in the field", false: "in the laboratory"}[*q.InField], q.Lab)
			}
			well := cell{Text: nameOf(w.Well), Href: wellHref(w.Well.ID)}
			if w.May {
				well.More = "may lie within"
			}
			l.add("", cell{Text: fmt.Sprint(i + 1)}, well, cell{Text: orElse(say.Date(q.Date), "no date"), Class: quietUnless(!q.Date.IsZero())}, cell{Text: qualityWord(q.Kind)},
				cell{Text: u.Value(q.Value, q.Unit), Given: asWritten(q.Value.Given)}, cell{Text: q.Method}, cell{Text: where})
		}
	}
	v.Quality = l.tidy()
	if len(l.Rows) == 0 {
		v.NoQuality = "None of these records tells of water quality."
		return
	}
	v.Cautions = append(v.Cautions, "Each result is of its own place, day and sample, and says nothing of another. No limit stands beside them: whether water may be drunk is for the local health authority and a certified laboratory.")
}

func quietUnless(said bool) string {
	if said {
		return ""
	}
	return "quiet"
}

// settings say how the list was made, so that another can make it again.
func (v *inventoryView) settings(inv *desk.Inventory, u units, today string) {
	f := &v.Settings
	ask := &inv.Ask
	if ask.RadiusM > 0 {
		f.text("around", position.Format(ask.At, position.DecimalDegrees))
		f.add("radius", cell{Text: u.Distance(ask.RadiusM), More: trimFloat(ask.RadiusM, 2) + " m"})
	} else {
		points, holes := 0, 0
		for _, p := range ask.Outline {
			for i, ring := range p {
				points += len(ring) - 1
				if i > 0 {
					holes++
				}
			}
		}
		f.add("outline", cell{Text: orElse(ask.Name, "as given"), More: joinWords(count(points, "corner", "corners"), countUnlessNone(holes, "hole left out", "holes left out"))})
		f.add("distances from", cell{Text: position.Format(inv.From, position.DecimalDegrees), More: "the middle of the outline"})
	}
	f.text("bedrock", map[bool]string{true: "sound bedrock, as the logs say", false: "as picked in “" + clipText(ask.Picks, 60) + "”, else as the logs say"}[ask.Picks == ""])
	f.add("records as of", cell{Text: "state " + grouped(int(inv.Commit)), More: "listed " + today})
	v.Notes = append(v.Notes, "Distances run along the geodesic of WGS 84. A well lies within where its whole circle of accuracy does; where nobody said how well a position is known, the position itself decides.")
	if inv.Unlocated > 0 {
		v.Notes = append(v.Notes, capital(count(inv.Unlocated, "record", "records"))+" of the database "+map[bool]string{true: "has", false: "have"}[inv.Unlocated == 1]+" no position and may be of a well that stands here.")
	}
	if !ask.Private {
		v.Notes = append(v.Notes, "Names, addresses and telephone numbers of people are left out.")
	}
	v.Cautions = append(v.Cautions, "A list of records is no list of all wells: old ones were often never reported. Ask on the ground, and call before you dig.")
}

func countUnlessNone(n int, one, many string) string {
	if n == 0 {
		return ""
	}
	return count(n, one, many)
}
