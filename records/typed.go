package records

import (
	"sort"
	"strconv"
	"strings"
)

// Typed is a record as a form holds it: a text by the path of each field. The
// paths are those of the profile without units: total_depth, crew.driller,
// strata[2].top. Beside them stand
//
//	total_depth.unit    the unit of a bare number in that field
//	strata.top.unit     the unit of the bare numbers of a column
//	strata.rows         that the form holds the list
//	strata[2].was       the row of the base that this one came from, from 0
//
// A field that is not in it is left alone, and so is a list without its mark:
// what a form does not show survives.
type Typed map[string]string

// TypedOptions say how a record is put into a form and read from it.
type TypedOptions struct {
	Private bool                 // people's names and addresses too
	Unit    func(Dimension) Unit // of bare numbers where nothing else says it; nil: base units
}

func (o TypedOptions) unit(d Dimension) Unit {
	if o.Unit != nil {
		if u := o.Unit(d); u.Dimension() == d {
			return u
		}
	}
	return d.Base()
}

// The ends of the paths that are no fields of their own.
const (
	unitEnd = ".unit"
	rowsEnd = ".rows"
	wasEnd  = ".was"
)

// mostTypedRows is how many rows of a list a form holds; a longer list is left
// out of it and left alone.
const mostTypedRows = 300

// mostTypedInAll is how many rows all lists of a form hold together: a server
// reads no more than ten thousand fields, of which a row has up to thirteen.
const mostTypedInAll = 700

// Typed gives the record as a form shows it. Each quantity stands as it was
// given, in its own unit.
func (w *Well) Typed(o TypedOptions) Typed {
	t := writer{out: Typed{}, o: o}
	t.out["coordinates_given"] = placeText(&w.Place)
	w.visit(&t)
	return t.out
}

// placeText is the position as it was given, else in degrees.
func placeText(p *Place) string {
	switch {
	case p.Given != "" || !p.Located:
		return p.Given
	case p.LatText != "" && p.LonText != "":
		return p.LatText + ", " + p.LonText
	}
	return strconv.FormatFloat(p.Lat, 'f', -1, 64) + ", " + strconv.FormatFloat(p.Lon, 'f', -1, 64)
}

// typedSkips are properties that no form holds: the names by which a record is
// known everywhere, where it came from, files, which are attached by
// themselves, and what a consultant makes of the log, which has forms of its own.
var typedSkips = map[string]bool{"uid": true, "coordinates_given": true, "attachments": true, "provenance": true, "own_picks": true, "unreliable": true}

// writer puts the properties it is shown into a form.
type writer struct {
	out    Typed
	o      TypedOptions
	prefix string
	column map[string]Unit // of the list that is being written
	count  int             // rows so far
}

func (t *writer) text(name string, p *string) {
	if !typedSkips[t.prefix+name] {
		t.out[t.prefix+name] = oneBreak(*p)
	}
}

func (t *writer) word(name string, p *string, _ words) { t.text(name, p) }

func (t *writer) flag(name string, p **bool) { t.out[t.prefix+name] = flagText(*p) }

func flagText(p *bool) string {
	switch {
	case p == nil:
		return ""
	case *p:
		return "yes"
	}
	return "no"
}

func (t *writer) whole(name string, p *int) { t.out[t.prefix+name] = wholeText(*p) }

func wholeText(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

func (t *writer) date(name string, p *Date)          { t.out[t.prefix+name] = p.String() }
func (t *writer) position(*bool, *float64, *float64) {} // of a plate alone
func (t *writer) private(name string, g visitable) {
	if t.o.Private {
		t.group(name, g)
	}
}

func (t *writer) amount(f *amountField, p amountRef) {
	a := p.load()
	unit, inColumn := t.column[f.base]
	if !inColumn {
		unit = t.o.unit(f.dimension)
		if a.Given.Text != "" && a.Given.Unit.Dimension() == f.dimension {
			unit = a.Given.Unit
		}
		if f.dimension != DimNone {
			t.out[t.prefix+f.base+unitEnd] = unit.Symbol()
		}
	}
	t.out[t.prefix+f.base] = amountText(a, f.dimension, unit)
}

func (t *writer) group(name string, g visitable) {
	if typedSkips[name] {
		return
	}
	outer := t.prefix
	t.prefix += name + "."
	g.visit(t)
	t.prefix = outer
}

func (t *writer) rows(name string, r rowsRef) {
	if typedSkips[name] || r.len() > mostTypedRows || t.count+r.len() > mostTypedInAll {
		return
	}
	t.count += r.len()
	t.out[name+rowsEnd] = strconv.Itoa(r.len())
	t.column = columnUnits(r, t.o)
	for base, u := range t.column {
		if u != NoUnit {
			t.out[name+"."+base+unitEnd] = u.Symbol()
		}
	}
	outer := t.prefix
	for i := range r.len() {
		row := name + "[" + strconv.Itoa(i) + "]"
		t.out[row+wasEnd] = strconv.Itoa(i)
		t.prefix = row + "."
		r.at(i).visit(t)
	}
	t.prefix, t.column = outer, nil
}

// columnUnits gives each column of a list the unit that most of its numbers
// were given in.
func columnUnits(r rowsRef, o TypedOptions) map[string]Unit {
	seen := map[string]map[Unit]int{}
	c := &unitCounter{seen: seen}
	r.blank().visit(c)
	for i := range r.len() {
		r.at(i).visit(c)
	}
	out := map[string]Unit{}
	for base, counts := range seen {
		unit := o.unit(c.dims[base])
		most := 0
		for u := range unitCount { // in a fixed order, so that ties are settled alike
			if counts[u] > most {
				unit, most = u, counts[u]
			}
		}
		out[base] = unit
	}
	return out
}

// unitCounter counts in which units the quantities it is shown were given.
type unitCounter struct {
	skipper
	seen map[string]map[Unit]int
	dims map[string]Dimension
}

func (c *unitCounter) amount(f *amountField, p amountRef) {
	if c.dims == nil {
		c.dims = map[string]Dimension{}
	}
	c.dims[f.base] = f.dimension
	if c.seen[f.base] == nil {
		c.seen[f.base] = map[Unit]int{}
	}
	if a := p.load(); a.Given.Text != "" && a.Given.Unit.Dimension() == f.dimension {
		c.seen[f.base][a.Given.Unit]++
	}
}

// skipper passes over everything.
type skipper struct{}

func (skipper) text(string, *string)               {}
func (skipper) word(string, *string, words)        {}
func (skipper) flag(string, **bool)                {}
func (skipper) whole(string, *int)                 {}
func (skipper) date(string, *Date)                 {}
func (skipper) position(*bool, *float64, *float64) {}
func (skipper) amount(*amountField, amountRef)     {}
func (skipper) rows(string, rowsRef)               {}
func (skipper) group(string, visitable)            {}
func (skipper) private(string, visitable)          {}

// oneBreak writes line breaks as browsers send them back: as one sign.
func oneBreak(s string) string {
	if !strings.Contains(s, "\r") {
		return s
	}
	return strings.ReplaceAll(strings.ReplaceAll(s, "\r\n", "\n"), "\r", "\n")
}

// RowsOf lists the rows that a form holds of a list, in their order. Beyond a
// number that no form reaches, rows are not looked at.
func (t Typed) RowsOf(list string) []int {
	seen := map[int]bool{}
	for path := range t {
		rest, ok := strings.CutPrefix(path, list+"[")
		if !ok {
			continue
		}
		digits, _, ok := strings.Cut(rest, "]")
		if i, err := strconv.Atoi(digits); ok && err == nil && i >= 0 && i < 1e6 && strconv.Itoa(i) == digits {
			seen[i] = true
		}
	}
	out := make([]int, 0, len(seen))
	for i := range seen {
		out = append(out, i)
	}
	sort.Ints(out)
	return out
}

// Has says whether the form holds a list.
func (t Typed) Has(list string) bool {
	_, ok := t[list+rowsEnd]
	return ok
}
