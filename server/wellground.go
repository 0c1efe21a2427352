package server

import (
	"math"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/importer"
	"tallybook/records/lithology"
	"tallybook/server/draw"
)

var classWords = map[records.Class]string{
	records.ClassSoil: "loose ground", records.ClassTransition: "between loose ground and rock",
	records.ClassRock: "rock", records.ClassVoid: "an opening", records.ClassUnknown: "not known whether loose or rock",
}

// groundPart is the log: the driller's words, and what was read from them.
func groundPart(u units, s *desk.Sheet, v *lithology.Vocabulary) part {
	p := part{ID: "ground", Title: "The ground"}
	if text := importer.LogAsWritten(s.Well); text != "" {
		p.Notes = append(p.Notes, "The whole log as it came: “"+clipText(text, 4000)+"”")
	}
	if len(s.Well.Strata) == 0 {
		p.Lead = "No strata were logged."
		return p
	}
	p.Lead = "Depths in " + longUnit(u.LengthUnit()) + " below ground; the driller's words as they were written."
	l := listing{Heads: heads(u.spanHead(), "as the driller wrote it", "read as")}
	gaps := draw.ColumnOf(s.Well, s.Picks, v).Gaps
	gapBefore := func(m float64) {
		for len(gaps) > 0 && gaps[0].BottomM <= m+0.02 {
			l.add("gap", cell{Text: u.LengthFigure(gaps[0].TopM) + "–" + u.LengthFigure(gaps[0].BottomM), Class: "figures"},
				cell{Text: "not logged"}, cell{})
			gaps = gaps[1:]
		}
	}
	bedrock, isNumber := s.Picks.Bedrock.Depth.Number()
	for i := range s.Well.Strata {
		st := &s.Well.Strata[i]
		top, ok := st.Top.Number()
		if ok {
			gapBefore(float64(top))
		}
		depth := u.span(st.Top, st.Bottom)
		class := ""
		if ok && isNumber && math.Abs(float64(top-bedrock)) < 0.01 {
			class, depth.More = "bedrock", "top of sound bedrock"
		}
		l.add(class, depth, wordsCell(st), readAs(st, v))
	}
	gapBefore(math.Inf(1))
	p.list(l)
	return p
}

// wordsCell is the driller's description, verbatim, with what was recorded
// beside it.
func wordsCell(st *records.Stratum) cell {
	c := cell{Text: st.Description, Class: "words"}
	if strings.TrimSpace(st.Description) == "" {
		c = cell{Text: "no words", Class: "quiet"}
	}
	var more []string
	for _, m := range [][2]string{{"colour", st.Color}, {"hardness", st.Hardness}, {"weathering", st.Weathering}, {"water", st.Water}} {
		if m[1] != "" {
			more = append(more, m[0]+": "+m[1])
		}
	}
	c.More = strings.Join(append(more, extraWords(st.Extra)...), " · ")
	return c
}

// readAs is what a stratum is taken for, and why.
func readAs(st *records.Stratum, v *lithology.Vocabulary) cell {
	g := v.Ground(st)
	label := g.Material
	if m, ok := v.Material(g.Material); ok {
		label = m.Label
	}
	c := cell{Text: label, More: classWords[g.Class]}
	if g.Material == lithology.Unknown && g.Class == records.ClassUnknown {
		c.Class, c.More = "quiet", ""
	}
	reading := v.Read(st.Description)
	_, recorded := v.Material(st.Material)
	switch {
	case recorded && st.Material != "":
		c.Why = "The record itself names this material, so the words do not decide."
		if strings.TrimSpace(st.Description) != "" {
			c.Why += " By themselves: " + reading.Explain()
		}
	case strings.TrimSpace(st.Description) != "":
		c.Why = reading.Explain()
		if st.Material != "" {
			c.Why = "The record names “" + st.Material + "”, which is no material of the vocabulary; the words decide. " + c.Why
		}
	}
	return c
}

// bedrockPart tells what each source says of bedrock, which is used and why.
func bedrockPart(u units, picks records.Picks) part {
	p := part{ID: "bedrock", Title: "Depth to sound bedrock"}
	used := picks.Bedrock
	if used.Depth.Known() {
		p.Lead = capital(u.DepthWords(used.Depth)) + ", " + used.Why + "."
	} else {
		p.Lead = "Cannot be told: " + used.Why + "."
	}
	if picks.Disagree {
		p.Alert = "The sources disagree. All are kept; look at them before relying on one."
	}
	l := listing{Heads: heads("source", "#says", "how")}
	for _, s := range []struct {
		name   string
		pick   records.Pick
		source records.PickSource
	}{
		{"the strata", picks.ByStrata, records.FromStrata},
		{"stated by the driller", picks.ByStated, records.FromStated},
		{"the casing seat", picks.BySeat, records.FromSeat},
	} {
		c := u.depth(s.pick.Depth)
		if c.Text == "" {
			c = cell{Text: "nothing", Class: "quiet"}
		}
		name, class := cell{Text: s.name}, ""
		if s.source == used.Source && used.Source != records.FromNothing {
			class, name.More = "used", "used"
		}
		l.add(class, name, c, cell{Text: capital(s.pick.Why) + "."})
	}
	first := u.depth(picks.FirstRock.Depth)
	if first.Text != "" {
		l.add("", cell{Text: "first rock met"}, first, cell{Text: "The top of the first interval of rock; ledges and boulders above loose ground are not bedrock."})
	}
	p.list(l)
	return p
}
