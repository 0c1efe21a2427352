package draw

import (
	"math"
	"strings"

	"tallybook/records"
	"tallybook/server/say"
)

// axis draws the depth axis with hairlines to the ground.
func (k *columnSheet) axis(s *SVG, sc Scale) {
	if k.d.BottomM <= 0 {
		return
	}
	end := k.ground0
	var hair, marks Path
	ticks := sc.Ticks(0, k.d.BottomM, 46)
	for _, t := range ticks {
		y := sc.Y(t.M)
		if t.Major {
			hair.M(k.axisX, y).H(end)
			marks.M(k.axisX-4, y).H(k.axisX)
		} else {
			marks.M(k.axisX-2, y).H(k.axisX)
		}
	}
	s.Start("path").D(&hair).A("stroke", k.c.Hair).N("stroke-width", 0.8).End()
	marks.M(k.axisX, k.y0).V(k.y0 + k.h)
	s.Start("path").D(&marks).A("stroke", k.c.Line).N("stroke-width", 0.8).A("fill", "none").End()
	for _, t := range ticks {
		if t.Major {
			s.line1(k.axisX-7, sc.Y(t.M), sizeSmall, k.u.Figure(t.Value, 2), k.c.Muted, false, true)
		}
	}
	s.Line()
}

// headsY is the middle of the line that names the columns.
func (k *columnSheet) headsY() float64 {
	if k.o.Heading {
		return 78
	}
	return 20
}

// heads names the well where asked, and the columns.
func (k *columnSheet) heads(s *SVG) {
	y := k.headsY()
	if k.o.Heading {
		x, room := 10.0, k.w-20
		if k.wide {
			x, room = 18, k.w-36
		}
		name := k.d.Number
		if name == "" {
			name = "A well without a number"
		}
		s.line1(x, 24, 18, Shorten(name, 18, true, room), k.c.Ink, true, false)
		s.line1(x, 45, sizeSmall+0.5, Shorten(joined(year(k.d.Year), k.d.Purpose), sizeSmall+0.5, false, room), k.c.Muted, false, false)
	}
	s.line1(k.axisX-7, y, sizeSmall, k.u.LengthUnit().Symbol(), k.c.Muted, false, true)
	if k.laneX1 > k.laneX0 && k.wide {
		s.line1(k.laneX0-2, y, sizeSmall, say.RateUnit(k.u), k.c.Muted, false, false)
	}
	if !k.wide {
		s.line1(k.depthX, y, sizeSmall, Shorten("as the driller wrote it", sizeSmall, false, k.wordsW), k.c.Muted, false, false)
		return
	}
	if len(k.left) > 0 {
		s.line1(k.holeX1, y, sizeSmall, "in the hole", k.c.Muted, false, true)
	}
	s.line1(k.wordsX, y, sizeSmall, Shorten("as the driller wrote it", sizeSmall, false, k.wordsW), k.c.Muted, false, false)
	if k.tagW > 0 && len(k.d.Strata) > 0 {
		s.line1(k.tagX, y, sizeSmall, "read as", k.c.Muted, false, false)
	}
}

// rates draws the penetration rate rod by rod as steps, faster to the right.
func (k *columnSheet) rates(s *SVG, sc Scale) {
	if k.laneX1 <= k.laneX0 {
		return
	}
	most := 0.0
	for _, r := range k.d.Rates {
		most = max(most, say.Rate(k.u, r.MPerMin))
	}
	top, _ := niceStep(most)
	x := func(r RateView) float64 {
		return k.laneX0 + (k.laneX1-k.laneX0)*min(say.Rate(k.u, r.MPerMin)/top, 1)
	}
	var axis, steps Path
	axis.M(k.laneX0, k.y0-8).H(k.laneX1).M(k.laneX0, k.y0-8).V(k.y0-4).M(k.laneX1, k.y0-8).V(k.y0 - 4)
	s.Start("path").D(&axis).A("stroke", k.c.Line).N("stroke-width", 0.8).A("fill", "none").End()
	label := k.u.Figure(top, 2)
	if !k.wide {
		label += " " + say.RateUnit(k.u)
	} else {
		s.line1(k.laneX0-2, k.y0-18, sizeSmall, "0", k.c.Muted, false, false)
	}
	s.line1(k.laneX1+2, k.y0-18, sizeSmall, label, k.c.Muted, false, true)
	end := math.Inf(-1)
	for _, r := range k.d.Rates {
		if r.TopM-end > 0.1 || r.TopM < end-0.1 {
			steps.M(x(r), sc.Y(max(r.TopM, 0)))
		}
		steps.H(x(r)).V(sc.Y(r.BottomM))
		end = r.BottomM
	}
	s.Start("path").D(&steps).A("stroke", k.c.Muted).N("stroke-width", 0.9).A("fill", "none").A("stroke-linejoin", "round").Open()
	s.Title("penetration rate from the rods, " + say.RateUnit(k.u))
	s.Close()
	s.Line()
}

// foot writes total depth and what came of it under the hole, and the notes.
func (k *columnSheet) foot(s *SVG, notes []string) {
	d := k.d
	cx, y := (k.ground0+k.ground1)/2, k.y0+k.h+19
	mid := func(size float64, t, fill string, bold bool) {
		s.Start("text").N("x", cx).N("y", y+size*0.36).N("font-size", size).A("fill", fill).A("text-anchor", "middle")
		if bold {
			s.A("font-weight", "600")
		}
		s.Text(t)
		y += lineWords
	}
	if t := k.u.Depth(d.TotalDepth); t != "" {
		mid(sizeWords+1, t, k.c.Ink, true)
	} else {
		mid(sizeSmall, "depth not recorded", k.c.Muted, false)
	}
	switch yield := k.u.Yield(d.Yield); {
	case d.Dry:
		mid(sizeSmall+0.5, "dry hole", k.c.Ink, true)
	case yield != "":
		mid(sizeSmall+0.5, "yields "+held(yield), k.c.Water, true)
	}
	y = k.footY
	x := 10.0
	if k.wide {
		x = 18
	}
	for _, t := range notes {
		s.line1(x, y, sizeSmall, t, k.c.Muted, false, false)
		y += lineSmall
	}
}

// undrawn counts what could not be drawn: 'casing, grout (2)'.
func undrawn(kinds []string, u say.System) string {
	var order []string
	count := map[string]int{}
	for _, kind := range kinds {
		if count[kind]++; count[kind] == 1 {
			order = append(order, kind)
		}
	}
	for i, kind := range order {
		if n := count[kind]; n > 1 {
			order[i] += " (" + u.Figure(float64(n), 0) + ")"
		}
	}
	return strings.Join(order, ", ")
}

// notes is what must be said in words, wrapped to the width.
func (k *columnSheet) notes() []string {
	d := k.d
	var all []string
	if d.BottomM <= 0 {
		all = append(all, "The record gives no depths, so there is nothing to draw.")
	}
	if d.Bedrock.Depth.Qualifier == records.Missing && len(d.Strata) > 0 {
		t := "Depth to sound bedrock cannot be told from this log."
		if d.Bedrock.Why != "" {
			t += " " + d.Bedrock.Why
		}
		all = append(all, t)
	}
	if t := d.markedPhrase(); t != "" {
		all = append(all, t)
	}
	if d.Disagree && d.Bedrock.Why != "" {
		all = append(all, d.Bedrock.Why)
	}
	if t := undrawn(d.Undrawn, k.u); t != "" {
		all = append(all, "Recorded without usable depths, so not drawn: "+t+".")
	}
	if n := len(d.Unplaced); n > 0 {
		t := "Logged without usable depths, so not drawn: "
		for i, w := range d.Unplaced {
			if i > 0 {
				t += "; "
			}
			if w == "" {
				w = "a stratum without words"
			}
			t += "“" + clip(w, 200) + "”"
			if i == 7 && n > 8 {
				t += " and " + k.u.Figure(float64(n-8), 0) + " more"
				break
			}
		}
		all = append(all, t+".")
	}
	margin := 20.0
	if k.wide {
		margin = 36
	}
	var out []string
	for _, t := range all {
		lines, _ := Wrap(t, sizeSmall, false, k.w-margin, 6)
		out = append(out, lines...)
	}
	return out
}
