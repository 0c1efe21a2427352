package server

import (
	"strconv"
	"strings"

	"tallybook/geo/position"
	"tallybook/server/say"
)

// sub says in a line what stands here.
func (c *side) sub(u units) string {
	t := countWords(len(c.wells)) + " wells"
	if c.from != "" {
		t += ", distances from " + c.from
		if c.at != nil {
			t += " at " + position.Format(*c.at, position.DecimalDegrees)
		}
	}
	if c.line != nil {
		t += ". " + c.line.words(u)
	}
	return capital(t)
}

func countWords(n int) string {
	return [...]string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight"}[min(max(n, 0), mostTray)]
}

// table sets the figures of the wells under the drawing.
func (c *side) table(u units) listing {
	l := listing{Heads: heads("well", "where", "#year", "use", "#total depth", "#sound bedrock", "#casing", "#yield", "#static level", "#ground elevation", "")}
	for i := range c.wells {
		sw := &c.wells[i]
		w := sw.sheet.Well
		year := ""
		if w.Completed.Year > 0 {
			year = strconv.Itoa(w.Completed.Year)
		}
		casing := cell{}
		if seat, ok := w.CasingSeat(); ok {
			casing.Text = u.Metres(float64(seat))
		}
		bedrock := cell{Text: orElse(u.Depth(sw.sheet.Picks.Bedrock.Depth), "cannot be told")}
		if sw.sheet.Picks.Disagree {
			bedrock.More, bedrock.Class = "sources disagree", "signal"
		}
		remove := cell{}
		if len(c.ids) > leastCompared {
			remove = cell{Text: "leave out", Href: c.href("/compare", func(n *sideState) { n.ids = without(n.ids, w.ID) })}
		}
		l.add("", cell{Text: nameOf(w), Href: wellHref(w.ID)}, cell{Text: sw.where(c, u), Class: "figures"}, cell{Text: year}, cell{Text: plainWord(w.Purpose)},
			u.depth(w.TotalDepth), bedrock, casing, u.yield(w.Yield), u.level(w.StaticLevel), sw.groundCell(u), remove)
	}
	return l.tidy()
}

func (w *sideWell) where(c *side, u units) string {
	switch {
	case w.away && w.distM > 0:
		return strings.TrimSpace(u.Distance(w.distM) + " " + say.Bearing(w.bearDg))
	case w.away:
		return "at the same place"
	case !w.placed:
		return "not known"
	case c.from != "":
		return "from here"
	}
	return ""
}

// readGround says whether the well hangs at an elevation that a grid has there,
// for its record gives none.
func (w *sideWell) readGround() bool {
	_, own := w.sheet.Well.Place.Elevation.Number()
	return !own && w.sheet.Ground.OK
}

// groundCell is the elevation of the ground, with the grid that it was read
// from where the record gives none.
func (w *sideWell) groundCell(u units) cell {
	if w.readGround() {
		return cell{Text: derivedHeight(u, w.sheet.Ground.ElevationM), More: "read from " + w.sheet.Ground.Grid}
	}
	return u.height(w.sheet.Well.Place.Elevation)
}
