package server

import (
	"math"
	"sort"
	"strings"

	"tallybook/geo/position"
	"tallybook/geo/section"
	"tallybook/records"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// arrange puts the wells of a comparison in their order and tells what must
// be said of it.
func (c *side) arrange() {
	switch c.order {
	case byDistance:
		c.sortByDistance()
	case alongLine:
		c.sortAlongLine()
	}
	if c.hang != draw.HangSeaLevel {
		return
	}
	var bare, read, datums []string
	for i := range c.wells {
		w, datum := c.wells[i].sheet.Well, ""
		if _, ok := w.Place.Elevation.Number(); ok {
			datum = w.Place.VertDatum
		} else if c.wells[i].readGround() {
			read = append(read, nameOf(w))
			datum = c.wells[i].sheet.Ground.Datum
		} else {
			bare = append(bare, nameOf(w))
			continue
		}
		if d := orElse(datum, "a datum that nobody wrote down"); !contains(datums, d) {
			datums = append(datums, d)
		}
	}
	if len(read) > 0 {
		c.said = append(c.said, "Hung at an elevation read from an elevation grid, for their records give none: "+strings.Join(read, ", ")+".")
	}
	if len(bare) > 0 {
		c.odd = append(c.odd, "Not hung on sea level, for the elevation of the ground is not known: "+strings.Join(bare, ", ")+".")
	}
	if len(datums) > 1 {
		c.odd = append(c.odd, "The elevations stand on different datums ("+strings.Join(datums, "; ")+"): heights between these wells may be off by as much as the datums differ.")
	}
}

func contains(ws []string, w string) bool {
	for _, x := range ws {
		if x == w {
			return true
		}
	}
	return false
}

// sortByDistance puts the nearest first; the well that distances are from
// leads, those without a place come last.
func (c *side) sortByDistance() {
	var bare []string
	for i := range c.wells {
		if !c.wells[i].placed {
			bare = append(bare, nameOf(c.wells[i].sheet.Well))
		}
	}
	if c.from == "" {
		c.odd = append(c.odd, "The first well has no position, so there is no distance to order by: the wells stand as chosen.")
		return
	}
	if len(bare) > 0 {
		c.odd = append(c.odd, "Put last, for their place is not known: "+strings.Join(bare, ", ")+".")
	}
	rank := func(w *sideWell) float64 {
		if !w.placed {
			return math.Inf(1)
		}
		return w.distM
	}
	sort.SliceStable(c.wells, func(i, j int) bool { return rank(&c.wells[i]) < rank(&c.wells[j]) })
}

// wellLine is the straight line that runs closest to the wells.
type wellLine struct {
	fromDeg  float64 // bearing of the end where it begins, from its middle
	toDeg    float64
	lengthM  float64 // between the first and the last well along it
	farthest float64 // of a well from the line, metres
	drawn    bool    // somebody drew it, for a section
}

// sortAlongLine orders the wells along the line that runs closest to them: the
// principal axis of their places, from west to east, or from north to south
// where it runs steeper than that. Without a place for every well there is no
// line, and no pick is joined.
func (c *side) sortAlongLine() {
	var bare []string
	for i := range c.wells {
		if !c.wells[i].placed {
			bare = append(bare, nameOf(c.wells[i].sheet.Well))
		}
	}
	if len(bare) > 0 {
		c.odd = append(c.odd, "No line can be drawn through wells whose place is not known ("+strings.Join(bare, ", ")+"): the wells stand as chosen, and their bedrock is not joined.")
		return
	}
	if len(c.along) >= 2 && c.sortAlongSection() {
		return
	}
	plane := position.NewPlane(c.wells[0].at)
	n := float64(len(c.wells))
	x, y := make([]float64, len(c.wells)), make([]float64, len(c.wells))
	var mx, my float64
	for i := range c.wells {
		x[i], y[i] = plane.ToXY(c.wells[i].at)
		mx, my = mx+x[i]/n, my+y[i]/n
	}
	var xx, xy, yy float64
	for i := range x {
		dx, dy := x[i]-mx, y[i]-my
		xx, xy, yy = xx+dx*dx, xy+dx*dy, yy+dy*dy
	}
	if xx+yy < 1 {
		c.odd = append(c.odd, "The wells stand on one and the same place, so no line runs through them.")
		return
	}
	angle := math.Atan2(2*xy, xx-yy) / 2 // of the principal axis, from east
	ux, uy := math.Cos(angle), math.Sin(angle)
	if math.Abs(ux) >= math.Abs(uy) && ux < 0 || math.Abs(uy) > math.Abs(ux) && uy > 0 {
		ux, uy = -ux, -uy
	}
	type place struct {
		w     sideWell
		along float64
	}
	places := make([]place, len(c.wells))
	l := &wellLine{toDeg: math.Atan2(ux, uy) * 180 / math.Pi}
	l.fromDeg = l.toDeg + 180
	for i := range c.wells {
		dx, dy := x[i]-mx, y[i]-my
		places[i] = place{c.wells[i], dx*ux + dy*uy}
		l.farthest = max(l.farthest, math.Abs(dx*uy-dy*ux))
	}
	sort.SliceStable(places, func(i, j int) bool { return places[i].along < places[j].along })
	for i := range places {
		c.wells[i] = places[i].w
	}
	l.lengthM = places[len(places)-1].along - places[0].along
	c.line = l
	c.odd = append(c.odd, c.unjoined()...)
}

// sortAlongSection orders the wells along the line of a section; false where
// that is no line.
func (c *side) sortAlongSection() bool {
	plane := position.NewPlane(c.along[len(c.along)/2])
	points := make([]section.Point, len(c.along))
	for i, at := range c.along {
		points[i].X, points[i].Y = plane.ToXY(at)
	}
	line, err := section.New(points)
	if err != nil {
		return false
	}
	type place struct {
		w     sideWell
		along float64
	}
	places := make([]place, len(c.wells))
	l := &wellLine{fromDeg: line.AzimuthDeg(0) + 180, toDeg: line.AzimuthDeg(line.LengthM()), drawn: true}
	for i := range c.wells {
		x, y := plane.ToXY(c.wells[i].at)
		p := line.Project(section.Point{X: x, Y: y})
		places[i] = place{c.wells[i], p.AlongM}
		l.farthest = max(l.farthest, math.Abs(p.OffM))
	}
	sort.SliceStable(places, func(i, j int) bool { return places[i].along < places[j].along })
	for i := range places {
		c.wells[i] = places[i].w
	}
	l.lengthM = places[len(places)-1].along - places[0].along
	c.line = l
	c.odd = append(c.odd, c.unjoined()...)
	return true
}

// unjoined tells which wells the joined line of bedrock passes by.
func (c *side) unjoined() []string {
	var out []string
	for i := range c.wells {
		s := c.wells[i].sheet
		if _, ok := s.Picks.Bedrock.Depth.Number(); !ok {
			why := "cannot be told"
			if s.Picks.Bedrock.Depth.Qualifier == records.GreaterThan {
				why = "was not reached"
			} else if s.Picks.Bedrock.Depth.Known() {
				why = "is only a bound"
			}
			out = append(out, "Bedrock "+why+" at "+nameOf(s.Well)+", so the line is not joined there.")
		}
	}
	return out
}

// words say how the line runs and how far from it the wells stand.
func (l *wellLine) words(u units) string {
	line := "a line"
	if l.drawn {
		line = "the line of the section"
	}
	t := "Along " + line + " from " + say.Bearing(l.fromDeg) + " to " + say.Bearing(l.toDeg) + ", " + u.Distance(l.lengthM) + " long"
	if l.farthest >= 1 {
		t += "; the farthest well stands " + u.Distance(l.farthest) + " off it"
	}
	return t + ". Spaces between the logs are not to scale, and between wells the joined line of bedrock is a guess"
}
