package server

import (
	"fmt"
	"net/http"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/server/say"
)

// sub says in a line what the section shows.
func (c *sectionDone) sub(u units) string {
	t := fmt.Sprintf("%s long, from %s to %s", u.Distance(c.Line.LengthM()), say.Bearing(c.Line.AzimuthDeg(0)+180), say.Bearing(c.Line.AzimuthDeg(c.Line.LengthM())))
	if n := len(c.Line.BendsM()); n > 0 {
		t += ", with " + count(n, "bend", "bends")
	}
	t += "; " + count(c.Standing, "well stands", "wells stand") + " within " + u.Distance(c.widthM/2) + " on either side"
	if n := len(c.Wells); n < c.Standing {
		t += ", " + grouped(n) + " of them drawn"
	}
	return t
}

// notes say how the drawing is to be read.
func (c *sectionDone) notes(u units) []string {
	var out []string
	if c.told() {
		out = append(out, "Between the wells, bedrock is an estimate from all wells around, by the same method as the map: the dashed line is its middle, the band holds 8 in 10. It does not follow each well, since wells stand off the line and differ from their neighbours. Where no well is near enough, nothing is claimed.")
	}
	switch {
	case c.NoElevation:
		out = append(out, "No elevation of the ground is known here, so all hangs on the ground and depths are drawn: hills and valleys do not show.")
	case c.ByDepth:
		out = append(out, "All hangs on the ground, as asked: hills and valleys do not show.")
	case c.Ground == desk.GroundOfGrid:
		t := "The line of the ground is read from " + c.gridWords()
		for i := range c.Stations {
			if c.Stations[i].GroundIs == desk.GroundBetween {
				t += ", and where it has no height, broken, between the elevations of the eight nearest wells"
				break
			}
		}
		out = append(out, t+"; each well hangs at its own elevation, which off the line may be another.")
	case c.Ground == desk.GroundBetween:
		out = append(out, "The line of the ground is read between the elevations of the eight nearest wells; each well hangs at its own elevation, which off the line may be another.")
	}
	if t := c.readWords(); t != "" {
		out = append(out, t)
	}
	return out
}

// readWords name the wells whose elevation is read and not recorded.
func (c *sectionDone) readWords() string {
	if c.ByDepth {
		return ""
	}
	var names []string
	from := ""
	for i := range c.Wells {
		w := &c.Wells[i]
		here := ""
		switch w.GroundIs {
		case desk.GroundOfGrid:
			here = "from the grid"
		case desk.GroundBetween:
			here = "between wells around"
		default:
			continue
		}
		names = append(names, nameOf(w.Well))
		if from != "" && from != here {
			here = "from the grid, or where it has none between wells around"
		}
		from = here
	}
	if names == nil {
		return ""
	}
	return "Hung at an elevation read " + from + ", for their records give none: " + strings.Join(names, ", ") + "."
}

// gridWords name the elevation grids that the ground was read from.
func (c *sectionDone) gridWords() string {
	names := make([]string, len(c.GridNames))
	for i, n := range c.GridNames {
		names[i] = "“" + clipText(n, 80) + "”"
	}
	if len(names) > 1 {
		return "the elevation grids " + strings.Join(names, ", ")
	}
	return "the elevation grid " + strings.Join(names, ", ")
}

// alerts are what is to be noticed.
func (c *sectionDone) alerts(u units) []string {
	var out []string
	switch {
	case c.NotYet:
		out = append(out, "The estimate of bedrock is still being worked out from the wells; open this page again in a moment to see it.")
	case c.Model == nil:
		out = append(out, "No well tells where bedrock lies, so there is no estimate of it.")
	}
	var bare, datums, marked []string
	tooMany := 0
	for i := range c.Wells {
		w := &c.Wells[i]
		name := nameOf(w.Well)
		if w.Well.Doubts() != 0 && !c.filters.filter.Marked {
			marked = append(marked, name)
		}
		switch {
		case c.ByDepth:
		case w.GroundIs == desk.GroundUnknown:
			bare = append(bare, name)
		case w.GroundIs == desk.GroundOfRecord:
			if d := orElse(w.Well.Place.VertDatum, "a datum that nobody wrote down"); !contains(datums, d) {
				datums = append(datums, d)
			}
		}
	}
	for _, o := range c.Out {
		if o.Why == desk.OutTooMany {
			tooMany++
		}
	}
	if tooMany > 0 {
		out = append(out, fmt.Sprintf("No more than %d wells are drawn, those nearest to the line: %d more stand in the corridor. A narrower corridor, or a filter, says which.", desk.MostSectionWells, tooMany))
	}
	if len(bare) > 0 {
		out = append(out, "Not drawn, for the elevation of the ground is not known: "+strings.Join(bare, ", ")+".")
	}
	if !c.ByDepth {
		for _, d := range c.GridDatums {
			if d = orElse(d, "a datum that nobody wrote down"); !contains(datums, d) {
				datums = append(datums, d)
			}
		}
	}
	if len(marked) > 0 {
		out = append(out, "Marked unreliable, drawn pale and not gone by: "+strings.Join(marked, ", ")+".")
	}
	if len(datums) > 1 {
		out = append(out, "The elevations stand on different datums ("+strings.Join(datums, "; ")+"): heights may be off against each other by as much as the datums differ.")
	}
	return out
}

// sectionTable sets the figures of the wells under the drawing.
func (s *Server) sectionTable(c *sectionDone, u units) (listing, error) {
	l := listing{Heads: heads("well", "#along", "#off the line", "#ground elevation", "#bedrock elevation", "#depth to bedrock", "#total depth", "#yield", "")}
	for i := range c.Wells {
		w := &c.Wells[i]
		off := cell{Text: "on it", Class: "figures"}
		if abs(w.OffM) >= 0.5 {
			off.Text = u.along(abs(w.OffM)) + " " + say.Bearing(w.OffDeg)
		}
		if end := beyondEnd(w.BeyondM); end != "" {
			off.More = "beyond " + end
		}
		bedrock := cell{Text: orElse(u.Depth(w.Picks.Bedrock.Depth), "cannot be told")}
		if w.Picks.Bedrock.Source == records.FromOwnPick {
			bedrock.More = "own pick"
		} else if w.Picks.Disagree {
			bedrock.More, bedrock.Class = "sources disagree", "signal"
		}
		name := cell{Text: nameOf(w.Well), Href: wellHref(w.Well.ID)}
		if w.Well.Doubts() != 0 {
			name.More = "marked unreliable"
		}
		l.add("", name, cell{Text: u.along(w.AlongM), Class: "figures"}, off,
			c.groundCell(w, u), u.height(w.BedrockElevation()), bedrock, u.depth(w.Well.TotalDepth), u.yield(w.Well.Yield),
			cell{Text: "leave out", Href: c.href("/section", func(n *sectionState) { n.without = append(append([]int64(nil), n.without...), w.Well.ID) })})
	}
	return l.tidy(), nil
}

// along writes a length over ground to the foot or the metre.
func (u units) along(m float64) string {
	return u.Figure(u.LengthUnit().FromBase(m), 0) + " " + u.LengthUnit().Symbol()
}

// groundCell is the elevation of the ground at a well, with where it comes
// from when the record gives none.
func (c *sectionDone) groundCell(w *desk.SectionWell, u units) cell {
	k := cell{Text: u.Height(w.Ground())}
	switch w.GroundIs {
	case desk.GroundOfRecord:
		k.Given = asWritten(w.Well.Place.Elevation.Given)
	case desk.GroundOfGrid:
		k.More = "from the grid"
	case desk.GroundBetween:
		k.More = "between wells"
	case desk.GroundUnknown:
		k = cell{Text: "not known", Class: "quiet"}
	}
	return k
}

// mostOutListed is how many wells that are not drawn are listed by name.
const mostOutListed = 60

// sectionOutTable lists what stands in the corridor and is not drawn, and why.
func (s *Server) sectionOutTable(r *http.Request, c *sectionDone, u units) (listing, error) {
	l := listing{Fold: count(len(c.Out), "well in the corridor is not drawn", "wells in the corridor are not drawn"), Heads: heads("well", "#along", "#off the line", "why", "")}
	out := c.Out
	if len(out) > mostOutListed {
		l.Fold += fmt.Sprintf("; the first %d along the line", mostOutListed)
		out = out[:mostOutListed]
	}
	ids := make([]int64, len(out))
	for i := range out {
		ids[i] = out[i].ID
	}
	names, err := s.desk.Numbers(r.Context(), s.actor(r), ids)
	if err != nil {
		if records.CodeOf(err) == records.NotFound { // taken out since: the next look shows it
			return listing{}, nil
		}
		return l, err
	}
	for i := range out {
		o := &out[i]
		back := cell{}
		if o.Why == desk.OutByReader {
			back = cell{Text: "put it back", Href: c.href("/section", func(n *sectionState) { n.without = without(n.without, o.ID) })}
		}
		l.add("", cell{Text: names[i], Href: wellHref(o.ID)}, cell{Text: u.along(o.AlongM)},
			cell{Text: strings.TrimSpace(u.along(abs(o.OffM)) + " " + say.Bearing(o.OffDeg))}, cell{Text: outWords(o.Why)}, back)
	}
	fold := l.Fold
	l = l.tidy()
	l.Fold = fold
	return l, nil
}

// outWords say why a well in the corridor is not drawn.
func outWords(o desk.OutReason) string {
	switch o {
	case desk.OutByFilter:
		return "not among the wells asked for"
	case desk.OutByReader:
		return "you left it out"
	case desk.OutTooMany:
		return fmt.Sprintf("more than %d, and farther off the line", desk.MostSectionWells)
	}
	return "outside of the corridor"
}
