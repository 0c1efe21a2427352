package draw

import (
	"math"
	"strconv"

	"tallybook/server/say"
)

// ends names the ends of the line over the drawing, with what must be known to
// read it between them.
func (k *sectionSheet) ends() {
	y := 24.0
	side := func(e SectionEnd, x float64, end bool) float64 {
		place := joined(say.Bearing(e.Deg)+" end", e.Place)
		k.line1(x, y, 20, e.Name, k.c.Ink, true, end)
		k.line1(x, y+21, sizeSmall, place, k.c.Muted, false, end)
		return TextWidth(place, sizeSmall, false)
	}
	left := side(k.d.From, 16, false)
	right := side(k.d.To, k.w-16, true)
	mid := joined(k.timesWords(), held(k.u.Distance(k.d.LengthM))+" long", "corridor "+k.u.Figure(k.u.LengthUnit().FromBase(k.d.WidthM), 0)+"\u00a0"+k.u.LengthUnit().Symbol()+" wide")
	room := 2 * min((k.w/2)-16-left, (k.w/2)-16-right)
	lines, _ := Wrap(mid, sizeSmall+0.5, false, room-32, 3)
	for i, t := range lines {
		k.Start("text").N("x", k.w/2).N("y", y-3+float64(i)*lineSmall+(sizeSmall+0.5)*0.36).N("font-size", sizeSmall+0.5).
			A("fill", k.c.Ink).A("text-anchor", "middle").Text(t)
	}
	k.Line()
}

// axis draws the scale of elevations, or of depths, with hairlines across.
func (k *sectionSheet) axis() {
	unit := k.u.LengthUnit().Symbol()
	head := "elevation, " + unit
	if d := clip(k.d.Datum, 24); d != "" {
		head += " above " + d
	}
	sc := Scale{PerUnit: k.u.LengthUnit().FromBase(1), PxPerM: -k.perM(), Zero: k.y(0)}
	from, to := k.bottomM, k.topM
	if k.d.ByDepth {
		head = "depth below ground, " + unit
		sc.PxPerM = k.perM()
		from, to = 0, -k.bottomM
	}
	k.line1(16, k.y0+k.h+48, sizeSmall, Shorten(head, sizeSmall, false, k.w/2-30), k.c.Muted, false, false)
	k.hairTicks(sc.Ticks(from, to, 40), sc, k.c, k.u, k.axisX, k.w-14)
	k.Line()
}

// alongUnit is the unit of the axis along the line: feet and metres on short
// lines, miles and kilometres on long ones.
func (k *sectionSheet) alongUnit() (perM float64, symbol string) {
	switch {
	case k.u == say.US && k.d.LengthM > 3*1609.344:
		return 1 / 1609.344, "mi"
	case k.u == say.US:
		return k.u.LengthUnit().FromBase(1), "ft"
	case k.d.LengthM > 5000:
		return 0.001, "km"
	}
	return 1, "m"
}

// along draws the axis of distance along the line, where each well truly
// stands on it, and its bends.
func (k *sectionSheet) along() {
	y := k.y0 + k.h
	perM, unit := k.alongUnit()
	sc := Scale{PerUnit: perM, Zero: k.x0, PxPerM: k.pxPerM}
	var line, marks, wells Path
	line.M(k.x0, y).H(k.x1)
	ticks := sc.Ticks(0, k.d.LengthM, 96)
	for _, t := range ticks {
		l := 3.0
		if t.Major {
			l = 6
		}
		marks.M(sc.Y(t.M), y).V(y + l)
	}
	k.Start("path").D(&line).A("stroke", k.c.Ink).N("stroke-width", 1).End()
	k.Start("path").D(&marks).A("stroke", k.c.Line).N("stroke-width", 0.9).End()
	for _, t := range ticks {
		if !t.Major {
			continue
		}
		text, x := k.u.Figure(t.Value, 2), sc.Y(t.M)
		if t.M == 0 {
			text += " " + unit
		}
		k.Start("text").N("x", x).N("y", y+20).N("font-size", sizeSmall).A("fill", k.c.Muted).A("text-anchor", "middle").Text(text)
	}
	k.Start("text").N("x", k.x1).N("y", y+52).N("font-size", sizeSmall).A("fill", k.c.Muted).A("text-anchor", "end").
		Text("along the line from " + clip(k.d.From.Name, 8) + ", " + unit)
	for i := range k.cols {
		x := k.cols[i].atX
		wells.M(x-3.5, y-7).H(x+3.5).L(x, y-0.5).Z()
	}
	if !wells.Empty() {
		k.Start("path").D(&wells).A("fill", k.c.Ink).End()
	}
	k.bends(y)
	k.Line()
}

// bends marks where the line bends; their words keep clear of each other.
func (k *sectionSheet) bends(y float64) {
	if len(k.d.Bends) == 0 {
		return
	}
	var p Path
	end := k.x0 - 14
	room := k.x1 - TextWidth("along the line from A, km", sizeSmall, false) - 20
	for i, b := range k.d.Bends {
		x := k.x(b.AlongM)
		p.M(x, k.y0).V(y + 26)
		t := "bends " + say.Bearing(b.Deg)
		w := TextWidth(t, sizeSmall, false)
		if at := max(x-w/2, end+10); at < x+w && at+w < room {
			k.line1(at, y+36, sizeSmall, t, k.c.Muted, false, false)
			end = at + w
		} else if i == 0 {
			end = max(end, x)
		}
	}
	k.Start("path").D(&p).A("stroke", k.c.Muted).N("stroke-width", 0.9).A("stroke-dasharray", "2 4").A("fill", "none").Open()
	k.Title(strconv.Itoa(len(k.d.Bends)) + " bends of the line")
	k.Close()
}

// title names the drawing for those who cannot see it.
func (k *sectionSheet) title() string {
	if k.o.Title != "" {
		return k.o.Title
	}
	return "Section through the ground from " + clip(k.d.From.Name, 20) + " to " + clip(k.d.To.Name, 20) + ", " + strconv.Itoa(len(k.cols)) + " wells"
}

// prose says the section in sentences, for those who hear a drawing.
func (k *sectionSheet) prose() string {
	t := capitalised(k.timesWords()) + ". "
	for i := range k.cols {
		d := k.cols[i].d
		t += wellName(d) + ", " + k.u.Distance(d.AlongM) + " along, " + k.off(d) + ": " + clip(d.prose(k.u), 500) + " "
	}
	if k.movedM > 0 {
		t += k.movedWords()
	}
	return clip(t, proseRunes)
}

func capitalised(t string) string {
	if t == "" || t[0] < 'a' || t[0] > 'z' {
		return t
	}
	return string(t[0]-32) + t[1:]
}

func (k *sectionSheet) movedWords() string {
	return "Columns that would stand on each other are moved aside, by up to " + held(k.u.Distance(math.Ceil(k.movedM))) +
		"; the marks on the lower axis show where each well stands."
}
