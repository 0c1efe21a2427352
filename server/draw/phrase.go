package draw

import (
	"strings"

	"tallybook/records"
	"tallybook/server/say"
)

// spoken turns a word of a closed vocabulary into one for a person.
func spoken(word string) string {
	if word == "pvc" {
		return "PVC"
	}
	return strings.ReplaceAll(word, "_", " ")
}

// held keeps a figure and its unit on one line.
func held(t string) string { return strings.ReplaceAll(t, " ", "\u00a0") }

// interval writes a stratum's depths as figures: '12–16', '~12 to 16'.
func (s *StratumView) interval(u say.System) string {
	dash := "–"
	if s.TopAbout || s.BottomAbout {
		dash = " to " // '16–~58' would be hard to read
	}
	return about(s.TopAbout) + u.LengthFigure(s.TopM) + dash + about(s.BottomAbout) + u.LengthFigure(s.BottomM)
}

func about(a bool) string {
	if a {
		return "~"
	}
	return ""
}

// bedrockPhrase says the pick of sound bedrock, and is "" where there is none.
func (d *ColumnData) bedrockPhrase(u say.System) string {
	b := d.Bedrock.Depth
	switch b.Qualifier {
	case records.Missing:
		return ""
	case records.GreaterThan, records.LessThan:
		return "sound bedrock " + strings.Replace(u.DepthWords(b), " "+u.LengthUnit().Symbol(), "\u00a0"+u.LengthUnit().Symbol(), 1)
	}
	return "sound bedrock " + held(u.Depth(b))
}

// otherPhrase says what another source says of sound bedrock.
func otherPhrase(p records.Pick, u say.System) string {
	by := map[records.PickSource]string{records.FromStrata: "by the strata", records.FromStated: "as stated", records.FromSeat: "by the casing seat", records.FromOwnPick: "as picked"}[p.Source]
	if p.Depth.Qualifier == records.GreaterThan || p.Depth.Qualifier == records.LessThan {
		return by + " " + u.DepthWords(p.Depth)
	}
	return by + " " + held(u.Depth(p.Depth))
}

// strikePhrase says one strike: '12 gpm at 201 ft', '+3 gpm at 118 ft',
// '12 gpm in all at 201 ft', 'water at 60 ft'.
func (s *StrikeView) phrase(u say.System) string {
	at := " at " + about(s.About) + held(u.Metres(s.DepthM))
	flow := held(u.Flow(s.Flow))
	switch {
	case flow == "":
		return "water" + at
	case s.As == "gain" && s.Flow.Qualifier == records.Exact:
		return "+" + flow + at
	case s.As == "running_total":
		return flow + " in all" + at
	}
	return flow + at
}

// levelPhrase says the static level.
func (d *ColumnData) levelPhrase(u say.System) string {
	if !d.Static.Known() {
		return "static level not recorded"
	}
	if v, ok := d.Static.Number(); ok && v < 0 {
		return "flows: level " + u.Level(d.Static)
	}
	return "static level " + held(u.Level(d.Static))
}

func (c *CasingView) phrase(u say.System) string {
	var b strings.Builder
	if t := u.Diameter(c.Diameter); t != "" {
		b.WriteString(held(t) + " ")
	}
	if c.Material != "" && c.Material != "unknown" {
		b.WriteString(spoken(c.Material) + " ")
	}
	b.WriteString("casing to " + held(u.Metres(c.BottomM)))
	if c.Shoe {
		b.WriteString(", drive shoe")
	}
	return b.String()
}

func (s *ScreenView) phrase(u say.System) string {
	t := "screen " + u.LengthFigure(s.TopM) + "–" + held(u.Metres(s.BottomM))
	if slot := u.Diameter(s.Slot); slot != "" {
		t += ", slot " + held(slot)
	}
	return t
}

func (g *GroutView) phrase(u say.System) string {
	what := "grout"
	if g.Material != "" && g.Material != "unknown" {
		what = spoken(g.Material)
	}
	return what + " " + u.LengthFigure(g.TopM) + "–" + held(u.Metres(g.BottomM))
}

func (d *ColumnData) depthPhrase(u say.System) string {
	if t := u.Depth(d.TotalDepth); t != "" {
		return t
	}
	return "not recorded"
}

// proseRunes bounds a description for screen readers.
const proseRunes = 4000

// prose says the whole log in sentences, for those who hear a drawing.
func (d *ColumnData) prose(u say.System) string {
	var b strings.Builder
	b.WriteString("Total depth " + d.depthPhrase(u) + ".")
	if d.Dry {
		b.WriteString(" Dry hole.")
	} else if y := u.Yield(d.Yield); y != "" {
		b.WriteString(" Yield " + y + ".")
	}
	if t := d.bedrockPhrase(u); t != "" {
		b.WriteString(" " + capitalFirst(t) + ".")
	} else {
		b.WriteString(" Depth to sound bedrock not known.")
	}
	if len(d.Strata) == 0 {
		b.WriteString(" No strata were logged.")
	}
	unit := " " + u.LengthUnit().Symbol()
	for i := range d.Strata {
		s := &d.Strata[i]
		b.WriteString(" " + s.interval(u) + unit + " " + clip(plainText(s.Words), 200) + " (" + s.Label + ").")
		if b.Len() > 2*proseRunes {
			break
		}
	}
	for _, c := range d.Casing {
		b.WriteString(" " + c.phrase(u) + ".")
	}
	for _, g := range d.Grout {
		b.WriteString(" " + g.phrase(u) + ".")
	}
	for _, s := range d.Screens {
		b.WriteString(" " + s.phrase(u) + ".")
	}
	for _, s := range d.Strikes {
		b.WriteString(" " + s.phrase(u) + ".")
	}
	for i := range d.Own {
		b.WriteString(" " + capitalFirst(d.Own[i].phrase(u)) + ".")
	}
	if t := d.markedPhrase(); t != "" {
		b.WriteString(" " + t)
	}
	b.WriteString(" " + d.levelPhrase(u) + ".")
	return clip(b.String(), proseRunes)
}

// capitalFirst begins a sentence with a text of plain letters.
func capitalFirst(t string) string { return strings.ToUpper(t[:1]) + t[1:] }
