package scout

import (
	"fmt"

	"tallybook/records"
)

// RuleTable is a named set of local rules, an office's own.
type RuleTable struct {
	Name  string
	Note  string
	Units Units // of the distances as written
	Rules []LocalRule
}

func (t *RuleTable) visit(f *form) {
	f.text("name", &t.Name)
	f.text("note", &t.Note)
	f.units("units", &t.Units)
	list(f, "rules", &t.Rules, (*LocalRule).visit)
}

func (r *LocalRule) visit(f *form) {
	f.text("kind", &r.Kind)
	quantity(f, "distance", records.DimLength, &r.Distance)
	f.text("regulation", &r.Regulation)
	year := float64(r.Year)
	f.number("year", &year)
	if r.Year = int(min(max(year, -1), maxYear)); float64(r.Year) != year {
		f.fault("year", fmt.Sprintf("%g is no year", year), "write four digits")
		r.Year = 0
	}
	f.text("note", &r.Note)
}

// ParseRules reads a table of local rules from a JSON object and reports every
// fault; unknown properties are refused by name. What can be read is read even
// so.
func ParseRules(text []byte) (RuleTable, []records.Fault) {
	var t RuleTable
	faults := readForm(text, t.visit)
	return t, append(faults, t.Validate()...)
}

// AppendJSON appends the table as one JSON object, as ParseRules reads it.
func (t RuleTable) AppendJSON(dst []byte) []byte { return appendObject(dst, 0, t.visit) }

// Limits of what a rule may say.
const (
	maxSetbackM = 10_000 // farther than any rule keeps a household's well from anything
	minYear     = 1850
	maxYear     = 2200
)

// Validate reports every fault of the table.
func (t *RuleTable) Validate() []records.Fault {
	s := &sheet{}
	if len(t.Rules) > 0 && t.Units.String() == "" {
		s.fault(records.Refusal, "units", "are missing: nobody can tell feet from metres", `write "us" or "si"`)
	}
	type same struct{ kind, regulation string }
	seen := map[same]bool{}
	for i, r := range t.Rules {
		at := fmt.Sprintf("rules[%d]", i)
		if r.Kind == "" {
			s.fault(records.Refusal, at+".kind", "is empty", "name what the distance is from")
		}
		if d, ok := r.Distance.Number(); !ok || !(d > 0) || d > maxSetbackM {
			s.fault(records.Refusal, at+".distance", "is not above 0 and below 10 km", "write the distance that the rule asks for")
		}
		if r.Regulation == "" {
			s.fault(records.Refusal, at+".regulation", "is empty", "name the rule that asks for it, so that it can be looked up")
		}
		if r.Year == 0 {
			s.fault(records.Warning, at+".year", "is not stated", "write the year of the text, since rules change")
		} else if r.Year < minYear || r.Year >= maxYear {
			s.fault(records.Refusal, at+".year", fmt.Sprintf("%d is no year of a rule", r.Year), "write four digits")
		}
		key := same{r.Kind, r.Regulation}
		if seen[key] {
			s.fault(records.Warning, at, "names a hazard of this regulation again; the greater distance counts", "keep the one that holds here")
		}
		seen[key] = true
	}
	return s.faults
}
