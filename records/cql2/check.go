package cql2

import (
	"fmt"
	"slices"
	"strings"

	"tallybook/records"
)

// Type is what a field holds.
type Type uint8

// The types; NoType is that of what is a condition itself.
const (
	NoType     Type = iota
	TextType        // a string
	NumberType      // a float64 or int64
	BoolType        // a bool
	DateType        // a string: a day, a month or a year (2004-06-15, 2004-06, 2004)
	TimeType        // a string: a moment, as Moment's Text
	PlaceType       // where the feature lies: a point or nothing
)

// String names the type as a message does.
func (t Type) String() string {
	return [...]string{"a condition", "a text", "a number", "TRUE or FALSE", "a date", "a time", "a place"}[t]
}

// isTime says whether it is a day or a moment.
func (t Type) isTime() bool { return t == DateType || t == TimeType }

// Field is one that a filter may name.
type Field struct {
	Name string
	Type Type
	// Of is the field that this one is another reading of, in Unit; "": it is
	// one of the collection's own.
	Of   string
	Unit records.Unit
}

// Read reads a filter and looks whether the fields allow what it says.
// Positions in it are those of crs; the zero CRS is longitude and latitude.
func Read(text string, fields []Field, crs CRS) (Expr, error) {
	x, err := Parse(text)
	if err != nil {
		return nil, err
	}
	c := &checker{text: text, fields: fields, crs: crs}
	if err := c.condition(x); err != nil {
		return nil, err
	}
	return x, nil
}

type checker struct {
	text   string
	fields []Field
	crs    CRS
}

func (c *checker) wrong(x Expr, mend, problem string, args ...any) *Error {
	return wrongAt(c.text, x.At(), mend, problem, args...)
}

// condition looks at what has to be true or false.
func (c *checker) condition(x Expr) *Error {
	switch x := x.(type) {
	case *And, *Or, *Not:
		for _, p := range parts(x) {
			if err := c.condition(p); err != nil {
				return err
			}
		}
		return nil
	case *Bool:
		return nil
	case *Compare:
		return c.alike(x.Op != "=" && x.Op != "<>", x.Left, x.Right)
	case *Between:
		return c.alike(true, x.Value, x.Low, x.High)
	case *In:
		return c.alike(false, parts(x)...)
	case *Like:
		return c.like(x)
	case *IsNull:
		if isCondition(x.Value) {
			return c.condition(x.Value)
		}
		_, err := c.typeOf(x.Value)
		return err
	case *Spatial:
		return c.spatial(x)
	case *Temporal:
		return c.temporal(x)
	}
	t, err := c.typeOf(x)
	if err != nil {
		return err
	}
	mend := "say what of it: =, <, LIKE, IS NULL"
	if t == BoolType {
		mend = "write = TRUE or = FALSE after it"
	}
	return c.wrong(x, mend, "this is %s and no condition", t)
}

func isCondition(x Expr) bool {
	switch x.(type) {
	case *And, *Or, *Not, *Compare, *Between, *In, *Like, *IsNull, *Spatial, *Temporal:
		return true
	}
	return false
}

// alike looks whether values can be compared with the first of them.
func (c *checker) alike(ordered bool, values ...Expr) *Error {
	var first Type
	for i, x := range values {
		t, err := c.typeOf(x)
		if err != nil {
			return err
		}
		switch _, isInterval := x.(*Interval); {
		case t == PlaceType:
			return c.wrong(x, "places are compared with S_INTERSECTS and its like", "a place stands in a comparison")
		case isInterval:
			return c.wrong(x, "times are compared with T_INTERSECTS and its like", "an interval stands in a comparison")
		case ordered && t == BoolType:
			return c.wrong(x, "write = TRUE or = FALSE", "TRUE and FALSE have no order")
		case t.isTime() && len(values) > MaxTimes:
			return c.wrong(x, "ask for intervals with T_INTERSECTS", "the list has more than %d times", MaxTimes)
		case i == 0:
			first = t
		case t != first && !(t.isTime() && first.isTime()):
			return c.unlike(values[0], first, x, t)
		}
	}
	return nil
}

// unlike says why two cannot be compared.
func (c *checker) unlike(a Expr, ta Type, b Expr, tb Type) *Error {
	if _, ok := b.(*Property); ok { // say what the field is
		a, ta, b, tb = b, tb, a, ta
	}
	mend := ""
	switch {
	case ta == TextType:
		mend = "write it in single quotes"
	case ta == NumberType && tb == TextType:
		mend = "write the number without quotes"
	case ta.isTime():
		mend = "write DATE('2004-06-15')"
	case ta == BoolType:
		mend = "write TRUE or FALSE"
	}
	if _, ok := a.(*Property); ok {
		return c.wrong(b, mend, "%s is %s, this is %s", c.text[a.At():endOfName(c.text, a.At())], ta, tb)
	}
	return c.wrong(b, mend, "%s is compared with %s", ta, tb)
}

func endOfName(s string, at int) int {
	for i, r := range s[at:] {
		if !goesOn(r) && r != '"' {
			return at + i
		}
	}
	return len(s)
}

// typeOf tells what a value is.
func (c *checker) typeOf(x Expr) (Type, *Error) {
	switch x := x.(type) {
	case *Property:
		return c.field(x)
	case *Text:
		return TextType, nil
	case *Number:
		return NumberType, nil
	case *Bool:
		return BoolType, nil
	case *Moment:
		if len(x.Text) == 10 {
			return DateType, nil
		}
		return TimeType, nil
	case *Interval:
		for _, end := range parts(x) {
			if p, ok := end.(*Property); ok {
				if t, err := c.field(p); err != nil {
					return 0, err
				} else if !t.isTime() {
					return 0, c.wrong(p, "", "%s is %s, and no end of an interval", p.Name, t)
				}
			}
		}
		return TimeType, nil
	case *Shape, *Box:
		return PlaceType, nil
	case *Fold:
		return TextType, c.need(TextType, x.Op+" takes", x.Value)
	case *Sum, *Minus:
		return NumberType, c.need(NumberType, "sums are made of numbers:", parts(x)...)
	}
	if isCondition(x) {
		return NoType, c.wrong(x, "compare fields and values", "a condition stands where a value should")
	}
	return NoType, c.wrong(x, "", "this has no place here")
}

func (c *checker) need(want Type, why string, values ...Expr) *Error {
	for _, x := range values {
		if t, err := c.typeOf(x); err != nil {
			return err
		} else if t != want {
			return c.wrong(x, "", "%s %s, this is %s", why, want, t)
		}
	}
	return nil
}

// field finds a field, or says which there are.
func (c *checker) field(p *Property) (Type, *Error) {
	for _, f := range c.fields {
		if f.Name == p.Name {
			return f.Type, nil
		}
	}
	names := make([]string, len(c.fields))
	for i, f := range c.fields {
		names[i] = f.Name
		if strings.EqualFold(f.Name, p.Name) {
			return 0, c.wrong(p, "write "+f.Name, "there is no field %s", clip(p.Name))
		}
	}
	slices.Sort(names)
	return 0, c.wrong(p, "there are "+strings.Join(names, ", "), "there is no field %s", clip(p.Name))
}

// like looks at a comparison with a pattern.
func (c *checker) like(x *Like) *Error {
	if err := c.need(TextType, "LIKE compares", x.Value, x.Pattern); err != nil {
		return err
	}
	pattern := x.Pattern
	for {
		fold, ok := pattern.(*Fold)
		if !ok {
			break
		}
		pattern = fold.Value
	}
	t, ok := pattern.(*Text)
	if !ok {
		return c.wrong(x.Pattern, "write it in single quotes: 'Bluff%'", "the pattern after LIKE is no text")
	}
	// Each is a place at which the comparison may begin again.
	if n := strings.Count(t.Value, "%"); n > maxWildcards {
		return c.wrong(t, "", "the pattern has %d signs %%, more than %d", n, maxWildcards)
	}
	return nil
}

const maxWildcards = 8

func (c *checker) spatial(x *Spatial) *Error {
	fields := 0
	for _, p := range parts(x) {
		t, err := c.typeOf(p)
		if err != nil {
			return err
		}
		if t != PlaceType {
			return c.wrong(p, "write S_INTERSECTS(geometry, BBOX(-38.8, 44.2, -38.7, 44.3))", "%s compares places, this is %s", x.Op, t)
		}
		if _, ok := p.(*Property); ok {
			fields++
			continue
		}
		if err := c.place(p); err != nil {
			return err
		}
	}
	if fields == 0 {
		return c.wrong(x, "name the field of the place in it", "%s compares two given places with each other", x.Op)
	}
	return nil
}

// place sets a given place into its coordinate reference system.
func (c *checker) place(x Expr) *Error {
	problem := ""
	switch x := x.(type) {
	case *Shape:
		x.Geometry, x.In, problem = c.crs.shape(x.Geometry)
	case *Box:
		x.Min, x.Max, x.In, problem = c.crs.box(x.Min, x.Max)
	}
	if problem != "" {
		return c.wrong(x, c.crs.order(), "%s", problem)
	}
	return nil
}

func (c *checker) temporal(x *Temporal) *Error {
	for _, p := range parts(x) {
		t, err := c.typeOf(p)
		if err != nil {
			return err
		}
		if !t.isTime() {
			return c.wrong(p, "write DATE('2004-06-15') or INTERVAL('2004-01-01', '..')", "%s compares times, this is %s", x.Op, t)
		}
	}
	return nil
}

// String is for messages of a program's own faults.
func (f Field) String() string { return fmt.Sprintf("%s (%s)", f.Name, f.Type) }
