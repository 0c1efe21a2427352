package records

import "slices"

// Property describes one property of the GeoJSON profile.
type Property struct {
	// Name is the property's path: number, crew.driller, strata[].top_m.
	Name string
	// Type is text, word (of a closed list, others are kept), flag, whole,
	// date, number, list (of objects) or group (an object).
	Type string
	// Unit is the symbol of the unit of a number, "" where there is none.
	Unit string
	// Words lists the words of a closed list.
	Words []string
	// Private properties are written only for those who may see people.
	Private bool
	// Beside is the property that this one qualifies or says how it was
	// given; "" for a property of its own.
	Beside string
	// Quantity tells under which other names the number is read.
	Quantity *AmountField
}

// AmountField is one quantity of the profile: the names under which it is
// read, each with its unit, and those of what stands beside it. Names bear
// the path of the list or group: strata[].top_m.
type AmountField struct {
	Base      string // the name without a unit: strata[].top
	Dimension Dimension
	Names     []string // the first is the one that is written
	Units     []Unit   // the unit of each name
	High      string   // the upper end where the qualifier is between
	Qualifier string
	Given     string // as it was given, where that is not the number itself
	GivenUnit string
	Signed    bool // whether it may be below zero
	Private   bool
}

// Profile describes every property of a well, in the order in which they are
// written. Documentation and column names come from here.
func Profile() []Property {
	var w Well
	l := lister{}
	w.visit(&l)
	return l.out
}

// PlateProfile describes every property of a plate.
func PlateProfile() []Property {
	var p Plate
	l := lister{}
	p.visit(&l)
	return l.out
}

// SightingProfile describes every property of a sighting.
func SightingProfile() []Property {
	var s Sighting
	l := lister{}
	s.visit(&l)
	return l.out
}

// AmountFields lists the quantities of a well with the units that each may be
// given in.
func AmountFields() []AmountField {
	var out []AmountField
	for _, p := range Profile() {
		if p.Quantity != nil {
			out = append(out, *p.Quantity)
		}
	}
	return out
}

// lister writes down the properties it is shown.
type lister struct {
	prefix string
	hidden bool
	out    []Property
}

func (l *lister) add(p Property) {
	p.Name, p.Private = l.prefix+p.Name, l.hidden
	l.out = append(l.out, p)
}

func (l *lister) text(name string, _ *string) { l.add(Property{Name: name, Type: "text"}) }
func (l *lister) word(name string, _ *string, list words) {
	l.add(Property{Name: name, Type: "word", Words: slices.Clone(list)})
}
func (l *lister) flag(name string, _ **bool) { l.add(Property{Name: name, Type: "flag"}) }
func (l *lister) whole(name string, _ *int)  { l.add(Property{Name: name, Type: "whole"}) }
func (l *lister) date(name string, _ *Date)  { l.add(Property{Name: name, Type: "date"}) }

func (l *lister) position(*bool, *float64, *float64) {
	l.add(Property{Name: "lon", Type: "number", Unit: "degrees"})
	l.add(Property{Name: "lat", Type: "number", Unit: "degrees"})
}

func (l *lister) amount(f *amountField, _ amountRef) {
	q := &AmountField{
		Base: l.prefix + f.base, Dimension: f.dimension, Units: slices.Clone(f.units),
		High: l.prefix + f.high, Qualifier: l.prefix + f.qualifier,
		Given: l.prefix + f.given, GivenUnit: l.prefix + f.givenUnit,
		Signed: f.anySign, Private: l.hidden,
	}
	var symbols []string
	for i, n := range f.names {
		q.Names = append(q.Names, l.prefix+n)
		symbols = append(symbols, f.units[i].Symbol())
	}
	base := f.dimension.Base().Symbol()
	main := q.Names[0]
	l.add(Property{Name: f.names[0], Type: "number", Unit: base, Quantity: q})
	l.add(Property{Name: f.high, Type: "number", Unit: base, Beside: main})
	l.add(Property{Name: f.qualifier, Type: "word", Words: slices.Clone(qualifierWords[1:]), Beside: main})
	l.add(Property{Name: f.given, Type: "text", Beside: main})
	if f.dimension != DimNone {
		l.add(Property{Name: f.givenUnit, Type: "word", Words: symbols, Beside: main})
	}
}

func (l *lister) rows(name string, r rowsRef) {
	l.add(Property{Name: name, Type: "list"})
	l.inside(name+"[].", r.blank())
}

func (l *lister) group(name string, g visitable) {
	l.add(Property{Name: name, Type: "group"})
	l.inside(name+".", g)
}

func (l *lister) inside(prefix string, g visitable) {
	outer := l.prefix
	l.prefix += prefix
	g.visit(l)
	l.prefix = outer
}

func (l *lister) private(name string, g visitable) {
	outer := l.hidden
	l.hidden = true
	l.group(name, g)
	l.hidden = outer
}
