package stamp

import (
	"fmt"
	"strings"
	"unicode"

	"tallybook/records"
	"tallybook/server/say"
)

// Plate is what stands on a plate.
type Plate struct {
	Heading string
	Number  string
	Lines   []Line
	Code    string // what its code holds
}

// Line is a field of a plate.
type Line struct{ Label, Value string }

// fieldLabels are the words before each value. A plate has little room.
var fieldLabels = map[string]string{
	"contractor": "driller", "licence": "licence", "permit": "permit", "completed": "completed", "depth": "depth", "casing": "casing to",
	"diameter": "casing dia.", "screens": "screen", "yield": "yield", "static": "static level", "pump": "pump at",
}

// FieldLabel is what a field of records.PlateFieldWords is called on a plate.
func FieldLabel(word string) string { return fieldLabels[word] }

// Of puts a plate's words together: what the record says, or, of a plate
// without a record, what is stamped on it. Each figure keeps its unit, '~', '<'
// and '>'; what is not recorded has no line.
func Of(number string, w *records.Well, stamped *records.Stamped, f records.PlateFormat) Plate {
	u, _ := say.Parse(f.Units)
	p := Plate{Heading: tidy(f.Heading), Number: tidy(number), Code: CodeText(f.PublicBase, number)}
	for _, word := range f.Fields {
		values := []string{}
		if w != nil {
			values = ofWell(word, w, u)
		} else if stamped != nil {
			values = []string{ofStamped(word, stamped, u)}
		}
		for _, v := range values {
			if v = tidy(v); v != "" {
				p.Lines = append(p.Lines, Line{fieldLabels[word], v})
			}
		}
	}
	return p
}

// CodeText is what the code of a plate holds: the address of the record where
// the office has a public one, else the plain number.
func CodeText(base records.PublicBase, number string) string {
	number = tidy(number)
	if base == "" {
		return number
	}
	return base.For(number)
}

func ofWell(word string, w *records.Well, u say.System) []string {
	one := func(t string) []string { return []string{t} }
	switch word {
	case "contractor":
		if w.Crew.Firm != "" {
			return one(w.Crew.Firm)
		}
		return one(w.Crew.Driller)
	case "licence":
		return one(w.Crew.Licence)
	case "permit":
		return one(w.PermitNumber)
	case "completed":
		return one(say.Date(w.Completed))
	case "depth":
		return one(u.Depth(w.TotalDepth))
	case "casing":
		if c := deepestCasing(w); c != nil {
			return one(u.Depth(c.To))
		}
	case "diameter":
		if c := deepestCasing(w); c != nil {
			return one(u.Diameter(c.Diameter))
		}
	case "screens":
		var out []string
		for i := range w.Screens {
			s := &w.Screens[i]
			if s.From.Known() && s.To.Known() {
				out = append(out, u.DepthFigure(s.From)+" to "+u.Depth(s.To))
			}
		}
		return out
	case "yield":
		return one(u.Yield(w.Yield))
	case "static":
		level := u.Level(w.StaticLevel)
		if level == "" {
			return nil
		}
		for i := len(w.StaticLevels) - 1; i >= 0; i-- { // the day on which it stood so
			if l := &w.StaticLevels[i]; l.Depth.Qualifier == w.StaticLevel.Qualifier && l.Depth.Value == w.StaticLevel.Value && !l.Date.IsZero() {
				return one(level + ", " + say.Date(l.Date))
			}
		}
		return one(level)
	case "pump":
		return one(u.Depth(w.Pump.SetDepth))
	}
	return nil
}

// deepestCasing is the string whose end is the seat: what of it is known, even
// where that is only a bound.
func deepestCasing(w *records.Well) *records.Casing {
	var deepest *records.Casing
	for i := range w.Casing {
		if c := &w.Casing[i]; c.To.Known() && (deepest == nil || c.To.Value > deepest.To.Value) {
			deepest = c
		}
	}
	return deepest
}

func ofStamped(word string, s *records.Stamped, u say.System) string {
	switch word {
	case "contractor":
		return s.Driller
	case "completed":
		return say.Date(s.Date)
	case "depth":
		return u.Depth(s.Depth)
	case "casing":
		return u.Depth(s.Casing)
	case "diameter":
		return u.Diameter(s.Diameter)
	case "yield":
		return u.Yield(s.Yield)
	case "static":
		return u.Level(s.Static)
	case "pump":
		return u.Depth(s.PumpDepth)
	}
	return ""
}

// StampedOf is what a plate made from a record says, to be kept with it.
func StampedOf(w *records.Well, f records.PlateFormat) records.Stamped {
	var s records.Stamped
	for _, word := range f.Fields {
		switch word {
		case "contractor":
			if s.Driller = w.Crew.Firm; s.Driller == "" {
				s.Driller = w.Crew.Driller
			}
		case "completed":
			s.Date = w.Completed
		case "depth":
			s.Depth = w.TotalDepth
		case "casing":
			if c := deepestCasing(w); c != nil {
				s.Casing = c.To
			}
		case "diameter":
			if c := deepestCasing(w); c != nil {
				s.Diameter = c.Diameter
			}
		case "yield":
			s.Yield = w.Yield
		case "static":
			s.Static = w.StaticLevel
		case "pump":
			s.PumpDepth = w.Pump.SetDepth
		}
	}
	return s
}

// tidy joins the words of a text by single blanks and leaves out what no plate
// can show. The narrow blank that parts thousands becomes one that the font has.
func tidy(text string) string {
	text = strings.ReplaceAll(strings.ToValidUTF8(text, ""), "\u202f", "\u00a0")
	text = strings.Map(func(r rune) rune {
		switch {
		case r == '\u00a0':
			return r
		case unicode.IsSpace(r):
			return ' '
		case unicode.IsControl(r) || unicode.Is(unicode.Cf, r):
			return -1
		}
		return r
	}, text)
	parts := strings.FieldsFunc(text, func(r rune) bool { return r == ' ' })
	return strings.Join(parts, " ")
}

// unfit says of a text that it holds a sign that the letters at hand lack.
func unfit(what, text string, bold bool) *records.Fault {
	r, lacks := faceOf(bold).lacks(text)
	if !lacks {
		return nil
	}
	return &records.Fault{
		Severity: records.Refusal, Field: what, Message: fmt.Sprintf("“%s” holds the sign “%c” (%U), which the letters of a plate do not have", text, r, r),
		Mend: "write it in Latin, Greek or Cyrillic letters in the record, or leave this line out",
	}
}
