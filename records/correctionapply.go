package records

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// Chosen says whether a record is among those that are meant, the filter left
// out.
func (c *CorrectionChoice) Chosen(w *Well) bool {
	switch {
	case c.Batch != 0 && w.Provenance.Batch != c.Batch,
		c.Driller != "" && !holds(w.Crew.Driller, c.Driller) && !holds(w.Crew.Firm, c.Driller),
		c.FromYear != 0 && w.Completed.Year < c.FromYear,
		c.ToYear != 0 && (w.Completed.Year == 0 || w.Completed.Year > c.ToYear):
		return false
	}
	if c.Words != "" && !slices.ContainsFunc(w.Strata, func(s Stratum) bool { return holds(s.Description, c.Words) }) {
		return false
	}
	if b := c.Within; b != nil && !(w.Place.Located && Bounds{West: b[0], South: b[1], East: b[2], North: b[3]}.Has(w.Place.Lon, w.Place.Lat)) {
		return false
	}
	if c.Has == "" && c.Lacks == "" && c.Of == "" {
		return true
	}
	f := fieldFinder{said: map[string]bool{}, of: c.Of}
	w.visit(&f)
	if c.Has != "" && !f.said[c.Has] || c.Lacks != "" && f.said[c.Lacks] {
		return false
	}
	return c.Of == "" || f.found && (c.Least == nil || f.value >= *c.Least) && (c.Most == nil || f.value <= *c.Most)
}

func holds(text, part string) bool {
	return strings.Contains(strings.ToLower(text), strings.ToLower(part))
}

// fieldFinder finds which fields of a record say something, and one quantity.
type fieldFinder struct {
	skipper
	said   map[string]bool
	of     string
	found  bool
	value  float64
	prefix string
}

func (f *fieldFinder) set(name string, said bool) {
	if said {
		f.said[f.prefix+name] = true
	}
}

func (f *fieldFinder) text(name string, p *string)          { f.set(name, *p != "") }
func (f *fieldFinder) word(name string, p *string, _ words) { f.set(name, *p != "") }
func (f *fieldFinder) flag(name string, p **bool)           { f.set(name, *p != nil) }
func (f *fieldFinder) whole(name string, p *int)            { f.set(name, *p != 0) }
func (f *fieldFinder) date(name string, p *Date)            { f.set(name, !p.IsZero()) }

func (f *fieldFinder) amount(a *amountField, p amountRef) {
	v := p.load()
	f.set(a.base, v.Known())
	if f.prefix+a.base == f.of && v.Known() && !f.found {
		f.found, f.value = true, v.Value
	}
}

func (f *fieldFinder) rows(name string, r rowsRef) {
	f.set(name, r.len() > 0)
	for i := range r.len() {
		f.within(name, r.at(i))
	}
}

func (f *fieldFinder) group(name string, g visitable) { f.within(name, g) }

func (f *fieldFinder) within(name string, g visitable) {
	outer := f.prefix
	f.prefix += name + "."
	g.visit(f)
	f.prefix = outer
}

// Apply changes a record by the rule and tells whether anything in it changed.
// Faults say what could not be changed, in words; a record with one is left as
// it was. The rule must have been checked.
func (r *CorrectionRule) Apply(w *Well) (changed bool, faults []Fault) {
	switch r.Kind {
	case CorrectDatum:
		return r.applyDatum(w)
	case CorrectMark, CorrectUnmark:
		return r.applyMark(w), nil
	case CorrectMaterial:
		for i := range w.Strata {
			s := &w.Strata[i]
			if strings.EqualFold(strings.TrimSpace(s.Description), strings.TrimSpace(r.From)) && s.Material != r.To {
				s.Material, changed = r.To, true
			}
		}
		return changed, nil
	}
	a := ruleApplier{rule: r}
	if r.Kind == CorrectUnit {
		d := pathsOfRecord().amounts[r.Field]
		a.from, _ = d.UnitBySymbol(r.From)
		a.to, _ = d.UnitBySymbol(r.To)
	}
	w.visit(&a)
	return a.changed && len(a.faults) == 0, a.faults
}

// applyDatum reads the coordinates anew, as they were given.
func (r *CorrectionRule) applyDatum(w *Well) (bool, []Fault) {
	if r.From != "*" && !strings.EqualFold(w.Place.Datum, r.From) || w.Place.Datum == r.To || !w.Place.Located && w.Place.Given == "" {
		return false, nil
	}
	given := placeText(&w.Place)
	read := w.ReadTyped(Typed{"coordinates_given": given, "datum": r.To}, TypedOptions{})
	if Refuses(read.Faults) {
		return false, read.Faults
	}
	return true, read.Faults
}

// ruleApplier changes the fields it is shown.
type ruleApplier struct {
	skipper
	rule     *CorrectionRule
	from, to Unit
	prefix   string
	changed  bool
	faults   []Fault
}

func (a *ruleApplier) text(name string, p *string) {
	r := a.rule
	if r.Kind != CorrectText || a.prefix+name != r.Field || *p == r.To {
		return
	}
	if r.From == "*" && *p != "" || r.From != "*" && strings.EqualFold(strings.TrimSpace(*p), strings.TrimSpace(r.From)) {
		*p, a.changed = r.To, true
	}
}

func (a *ruleApplier) word(name string, p *string, _ words) { a.text(name, p) }

// aNumber is a number alone, with what makes a bound of it: a text that names
// its own unit was not meant in another.
var aNumber = regexp.MustCompile(`^[<>~≤≥]?\s*[0-9][0-9.,/ ]*\+?$`)

func (a *ruleApplier) amount(f *amountField, p amountRef) {
	if a.rule.Kind != CorrectUnit || a.prefix+f.base != a.rule.Field {
		return
	}
	was := p.load()
	if !was.Known() {
		return
	}
	unit, text := was.Given.Unit, was.Given.Text
	if unit == NoUnit || text == "" {
		unit, text = f.dimension.Base(), strconv.FormatFloat(was.Value, 'f', -1, 64)
		if was.Qualifier != Exact {
			return // a bound that nobody wrote: there is no text to read anew
		}
	}
	if unit != a.from {
		return
	}
	if was.Qualifier == Exact && was.Value == 0 {
		return // dry is dry in every unit
	}
	text = strings.TrimSpace(text)
	if !aNumber.MatchString(text) || was.Given.High != "" {
		a.faults = append(a.faults, Fault{Severity: Refusal, Field: a.prefix + f.base, Message: fmt.Sprintf("%q names its own unit or is a range", text), Mend: "change this record by hand"})
		return
	}
	now, err := ParseAmount(text, f.dimension, a.to)
	if err != nil {
		a.faults = append(a.faults, Fault{Severity: Refusal, Field: a.prefix + f.base, Message: fmt.Sprintf("%q cannot be read in %s", text, a.to.Symbol()), Mend: "change this record by hand"})
		return
	}
	p.store(now)
	a.changed = true
}

func (a *ruleApplier) rows(name string, r rowsRef) {
	for i := range r.len() {
		a.within(name, r.at(i))
	}
}

func (a *ruleApplier) group(name string, g visitable) { a.within(name, g) }

func (a *ruleApplier) within(name string, g visitable) {
	if !strings.HasPrefix(a.rule.Field, a.prefix+name+".") {
		return
	}
	outer := a.prefix
	a.prefix += name + "."
	g.visit(a)
	a.prefix = outer
}

// Copy is a record of its own with the same values: changing one changes
// nothing in the other.
func (w *Well) Copy() *Well {
	c := *w
	c.visit(&copier{})
	c.Extra, c.Plates = slices.Clone(w.Extra), slices.Clone(w.Plates)
	return &c
}

// copier gives the lists it is shown memory of their own.
type copier struct{ skipper }

func (copier) rows(_ string, r rowsRef) {
	parts := make([]visitable, r.len())
	for i := range parts {
		parts[i] = r.at(i)
	}
	if len(parts) > 0 {
		r.assign(parts)
	}
}

func (c copier) group(_ string, g visitable)   { g.visit(c) }
func (c copier) private(_ string, g visitable) { g.visit(c) }
