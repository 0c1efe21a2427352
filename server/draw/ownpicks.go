package draw

import (
	"strings"

	"tallybook/records"
	"tallybook/server/say"
)

// OwnPickView is a consultant's own pick as drawn: a hollow diamond for
// bedrock, a ring for water, with the name of its set beside it.
type OwnPickView struct {
	M     float64 // where it is drawn
	Depth records.Amount[records.Depth]
	Water bool
	Set   string
	Title string // who, when and why
}

// addJudgement takes over own picks and marks.
func (d *ColumnData) addJudgement(w *records.Well) {
	for i := range w.OwnPicks {
		p := &w.OwnPicks[i]
		m, ok := depthOf(p.Depth)
		if !ok || m < 0 {
			d.Undrawn = append(d.Undrawn, "own pick")
			continue
		}
		v := OwnPickView{M: m, Depth: p.Depth, Water: p.Of == records.PickStrike, Set: plainText(clip(p.Set, 60))}
		v.Title = clip(joined(plainText(p.By), p.Date.String(), plainText(p.Reason)), titleRunes)
		d.Own = append(d.Own, v)
	}
	for i := range w.Unreliable {
		m := &w.Unreliable[i]
		t := DoubtPhrase(m.About)
		if r := plainText(clip(m.Reason, 200)); r != "" {
			t += " (" + r + ")"
		}
		d.Marked = append(d.Marked, t)
	}
}

// DoubtPhrase is what a mark speaks of, in a person's words.
func DoubtPhrase(about string) string {
	switch about {
	case records.DoubtStrata:
		return "the strata and bedrock"
	case records.DoubtYield:
		return "the yield"
	case records.DoubtPosition:
		return "the position"
	case records.DoubtAll:
		return "all of the log"
	}
	return plainText(clip(about, 40))
}

// phrase says a pick: 'picked ~44 ft, first reading'.
func (p *OwnPickView) phrase(u say.System) string {
	t := "picked "
	if p.Water {
		t = "water picked "
	}
	if p.Depth.Qualifier == records.GreaterThan || p.Depth.Qualifier == records.LessThan {
		t += strings.ReplaceAll(u.DepthWords(p.Depth), " "+u.LengthUnit().Symbol(), "\u00a0"+u.LengthUnit().Symbol())
	} else {
		t += held(u.Depth(p.Depth))
	}
	if p.Set != "" {
		t += ", " + p.Set
	}
	return t
}

// markedPhrase is "" where nothing is marked.
func (d *ColumnData) markedPhrase() string {
	if len(d.Marked) == 0 {
		return ""
	}
	return "Marked unreliable: " + strings.Join(d.Marked, "; ") + "."
}

// own marks the own picks on the right edge of the ground, over all else: a
// shape of their own, so that nobody takes them for the driller's.
func (f *holeFrame) own() {
	for i := range f.d.Own {
		p := &f.d.Own[i]
		y := f.y(p.M)
		if !p.Water {
			var line Path
			line.M(f.x0-f.over, y).H(f.x1)
			f.stroke(&line, f.c.Paper, 3, "")
			f.stroke(&line, f.c.Ink, 1.2, "1.5 2.5")
		}
		ownMark(f.SVG, f.c, f.x1, y, p.Water, p.Title)
	}
}

// ownMark draws the mark of an own pick around a point.
func ownMark(s *SVG, c Colours, x, y float64, water bool, title string) {
	if water {
		s.Start("circle").N("cx", x).N("cy", y).N("r", 4.2).A("fill", c.Paper).A("stroke", c.Water).N("stroke-width", 1.8)
	} else {
		var p Path
		p.M(x, y-6).L(x+6, y).L(x, y+6).L(x-6, y).Z()
		s.Start("path").D(&p).A("fill", c.Paper).A("stroke", c.Ink).N("stroke-width", 1.6)
	}
	if title == "" {
		s.End()
		return
	}
	s.Open()
	s.Title(title)
	s.Close()
}
