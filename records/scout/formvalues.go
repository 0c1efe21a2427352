package scout

import (
	"fmt"
	"math"
	"strconv"

	"github.com/go-json-experiment/json/jsontext"

	"tallybook/records"
)

// price is whole cents; nothing else can be added up to the cent.
func (f *form) price(name string, p *Price) {
	if f.write != nil {
		if p.Set {
			f.put(name, strconv.AppendInt(nil, int64(p.Cents), 10))
		}
		return
	}
	text, v, ok := f.digits(name)
	switch {
	case !ok:
	case v != math.Trunc(v):
		f.fault(name, text+" is no whole number of cents", "write cents: 15.50 is 1550")
	case math.Abs(v) > maxCents:
		f.fault(name, text+" cents is more than any job costs", "check the digits")
	default:
		*p = Of(Cents(v))
	}
}

// perLength is a price by the foot or the metre, as the table's units say.
func (f *form) perLength(what string, p *Price) {
	name := "cents_per_" + f.in.Of(records.DimLength).Suffix()
	if what != "" {
		name = what + "_" + name
	}
	f.price(name, p)
}

func (f *form) units(name string, p *Units) {
	word := p.String()
	f.text(name, &word)
	switch word {
	case "":
	case US.String():
		*p = US
	case SI.String():
		*p = SI
	default:
		f.fault(name, fmt.Sprintf("%q names no units", clip(word)), `write "us" (prices by the foot) or "si" (by the metre)`)
	}
	f.in = *p
}

func (f *form) date(name string, p *records.Date) {
	word := p.String()
	f.text(name, &word)
	if f.write != nil || word == "" {
		return
	}
	d, err := records.ParseDate(word)
	if err != nil {
		f.fault(name, fmt.Sprintf("%q is no date", clip(word)), "write year-month-day: 2026-04-01")
		return
	}
	*p = d
}

// anyGround is the word for rates that hold wherever no other does.
const anyGround = "any"

func (f *form) class(name string, p *records.Class) {
	word := p.String()
	if *p == records.ClassUnknown {
		word = anyGround
	}
	if f.write == nil {
		word = ""
	}
	f.text(name, &word)
	if f.write != nil {
		return
	}
	switch word {
	case "", anyGround:
		*p = records.ClassUnknown
	case records.ClassSoil.String(), records.ClassTransition.String(), records.ClassRock.String():
		if c, err := records.ParseClass(word); err == nil {
			*p = c
		}
	default:
		f.fault(name, fmt.Sprintf("%q is no ground that is charged for", clip(word)), `write "soil", "transition", "rock" or "any"`)
	}
}

func (f *form) kinds(name string, p *[]LineKind) {
	if f.write != nil {
		if len(*p) > 0 {
			b := []byte{'['}
			for i, k := range *p {
				if i > 0 {
					b = append(b, ',')
				}
				b = appendQuoted(b, k.String())
			}
			f.put(name, append(b, ']'))
		}
		return
	}
	for i, v := range f.rows(name) {
		at := fmt.Sprintf("%s[%d]", name, i)
		word, err := jsontext.AppendUnquote(nil, v)
		k, ok := ParseLineKind(string(word))
		if err != nil || !ok || k == LineTax {
			f.fault(at, kindOf(v)+" names no line that can be taxed", "write the kind of a line: drilling, casing, pump_set, …")
			continue
		}
		*p = append(*p, k)
	}
}

// rows gives the elements of a list that is being read.
func (f *form) rows(name string) []jsontext.Value {
	v, ok := f.take(name)
	if !ok {
		return nil
	}
	if v.Kind() != '[' {
		f.fault(name, "is "+kindOf(v)+" where a list belongs", "write it between [ and ]")
		return nil
	}
	var out []jsontext.Value
	for _, e := range elements(v) {
		if len(out) == maxRows {
			f.fault(name, fmt.Sprintf("has more than %d rows", maxRows), "leave out what is not needed")
			break
		}
		out = append(out, e)
	}
	return out
}

// quantity is an amount whose name bears its unit. What was read comes back
// digit by digit.
func quantity[T ~float64](f *form, name string, d records.Dimension, p *records.Amount[T]) {
	unit := f.in.Of(d)
	if d != records.DimNone {
		name += "_" + unit.Suffix()
	}
	if f.write != nil {
		if v, ok := p.Number(); ok && finite(float64(v)) {
			if p.Given.Unit == unit && records.IsJSONNumber(p.Given.Text) {
				f.put(name, []byte(p.Given.Text))
			} else {
				f.put(name, appendNumber(nil, unit.FromBase(float64(v))))
			}
		}
		return
	}
	if text, v, ok := f.digits(name); ok {
		*p = records.Amount[T]{Qualifier: records.Exact, Value: T(unit.ToBase(v)), Given: records.Given{Text: text, Unit: unit}}
	}
}

// list is a list of objects.
func list[T any](f *form, name string, p *[]T, visit func(*T, *form)) {
	if f.write != nil {
		if len(*p) > 0 {
			b := []byte{'['}
			for i := range *p {
				if i > 0 {
					b = append(b, ',')
				}
				b = appendObject(b, f.in, func(g *form) { visit(&(*p)[i], g) })
			}
			f.put(name, append(b, ']'))
		}
		return
	}
	for i, v := range f.rows(name) {
		var row T
		f.sheet.object(fmt.Sprintf("%s[%d]", f.at(name), i), v, f.in, func(g *form) { visit(&row, g) })
		*p = append(*p, row)
	}
}

// group is an object within the object.
func group[T any](f *form, name string, p *T, visit func(*T, *form)) {
	if f.write != nil {
		if b := appendObject(nil, f.in, func(g *form) { visit(p, g) }); len(b) > len("{}") {
			f.put(name, b)
		}
		return
	}
	if v, ok := f.take(name); ok {
		f.sheet.object(f.at(name), v, f.in, func(g *form) { visit(p, g) })
	}
}

func appendObject(dst []byte, in Units, visit func(*form)) []byte {
	dst = append(dst, '{')
	visit(&form{in: in, write: &dst})
	return append(dst, '}')
}
