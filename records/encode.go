package records

import (
	"math"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json/jsontext"
)

// WriteOptions says what of a record is written.
type WriteOptions struct {
	Private bool // people's names, addresses and telephone numbers too
}

// AppendProperties appends the record's properties to dst as one JSON object,
// in the order of the profile, and after them what the model has no place
// for. What was given in numbers of the base unit comes back digit by digit;
// what was given otherwise stands beside the value as <name>_given and
// <name>_given_unit.
func (w *Well) AppendProperties(dst []byte, o WriteOptions) []byte {
	e := encoder{b: append(dst, '{'), withPrivate: o.Private}
	w.visit(&e)
	e.members(w.Extra)
	return append(e.b, '}')
}

// AppendPlate appends a plate's properties to dst as one JSON object.
func (p *Plate) AppendPlate(dst []byte) []byte {
	e := encoder{b: append(dst, '{'), withPrivate: true}
	e.part(p)
	return append(e.b, '}')
}

// part writes the properties of one object, and what it kept.
func (e *encoder) part(v visitable) {
	v.visit(e)
	if k, ok := v.(keeper); ok {
		e.members(*k.kept())
	}
}

func (e *encoder) members(ms []Member) {
	for _, m := range ms {
		e.name(m.Name)
		e.b = append(e.b, m.JSON...)
	}
}

// encoder writes the properties it is shown that hold something.
type encoder struct {
	b           []byte
	withPrivate bool
}

func (e *encoder) name(n string) {
	if last := e.b[len(e.b)-1]; last != '{' && last != '[' {
		e.b = append(e.b, ',')
	}
	e.b = append(appendString(e.b, n), ':')
}

// appendString appends s as a JSON string; invalid UTF-8 is replaced.
func appendString(b []byte, s string) []byte {
	out, err := jsontext.AppendQuote(b, s)
	if err != nil { // not UTF-8: write what can be read of it
		out, err = jsontext.AppendQuote(b, strings.ToValidUTF8(s, "\uFFFD"))
		if err != nil {
			panic("records: quoting valid UTF-8 failed: " + err.Error())
		}
	}
	return out
}

// appendNumber appends the shortest digits that read back as v. A number that
// JSON cannot hold is written as null; validation refuses it before it can be
// stored.
func appendNumber(b []byte, v float64) []byte {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return append(b, "null"...)
	}
	if a := math.Abs(v); a != 0 && (a < 1e-6 || a >= 1e21) {
		return strconv.AppendFloat(b, v, 'e', -1, 64)
	}
	return strconv.AppendFloat(b, v, 'f', -1, 64)
}

func (e *encoder) text(name string, p *string) {
	if *p != "" {
		e.name(name)
		e.b = appendString(e.b, *p)
	}
}

func (e *encoder) word(name string, p *string, _ words) { e.text(name, p) }

func (e *encoder) flag(name string, p **bool) {
	if *p != nil {
		e.name(name)
		e.b = strconv.AppendBool(e.b, **p)
	}
}

func (e *encoder) whole(name string, p *int) {
	if *p != 0 {
		e.name(name)
		e.b = strconv.AppendInt(e.b, int64(*p), 10)
	}
}

func (e *encoder) date(name string, p *Date) {
	if !p.IsZero() {
		e.name(name)
		e.b = append(p.append(append(e.b, '"')), '"')
	}
}

func (e *encoder) position(known *bool, lon, lat *float64) {
	if *known {
		e.name("lon")
		e.b = appendNumber(e.b, *lon)
		e.name("lat")
		e.b = appendNumber(e.b, *lat)
	}
}

func (e *encoder) amount(f *amountField, p amountRef) {
	a := p.load()
	if a.Qualifier == Missing {
		return
	}
	e.name(f.names[0])
	base := a.Given.Unit == f.dimension.Base()
	plain := base && IsJSONNumber(a.Given.Text)
	text := ""
	if plain {
		text = a.Given.Text
	}
	e.b = appendAsGiven(e.b, text, a.Value)
	if a.Qualifier == Between {
		e.name(f.high)
		e.b = appendAsGiven(e.b, a.Given.High, a.High)
	}
	if a.Qualifier != Exact {
		e.name(f.qualifier)
		e.b = appendString(e.b, a.Qualifier.String())
	}
	if a.Given.Text != "" && !plain {
		e.name(f.given)
		e.b = appendString(e.b, a.Given.Text)
		if !base {
			e.name(f.givenUnit)
			e.b = appendString(e.b, a.Given.Unit.Symbol())
		}
	}
}

// appendAsGiven writes a number in the digits in which it was given. Where
// they are not the value's (it was changed since), the value is written.
func appendAsGiven(b []byte, text string, v float64) []byte {
	if IsJSONNumber(text) {
		if given, err := strconv.ParseFloat(text, 64); err == nil && given == v {
			return append(b, text...)
		}
	}
	return appendNumber(b, v)
}

func (e *encoder) rows(name string, r rowsRef) {
	n := r.len()
	if n == 0 {
		return
	}
	e.name(name)
	e.b = append(e.b, '[')
	for i := range n {
		if i > 0 {
			e.b = append(e.b, ',')
		}
		e.b = append(e.b, '{')
		e.part(r.at(i))
		e.b = append(e.b, '}')
	}
	e.b = append(e.b, ']')
}

func (e *encoder) group(name string, g visitable) {
	mark := len(e.b)
	e.name(name)
	e.b = append(e.b, '{')
	open := len(e.b)
	e.part(g)
	if len(e.b) == open { // nothing in it
		e.b = e.b[:mark]
		return
	}
	e.b = append(e.b, '}')
}

func (e *encoder) private(name string, g visitable) {
	if e.withPrivate {
		e.group(name, g)
	}
}

// IsJSONNumber says whether s is a number as RFC 8259 section 6 writes one.
func IsJSONNumber(s string) bool {
	i := 0
	digits := func() bool {
		start := i
		for i < len(s) && s[i] >= '0' && s[i] <= '9' {
			i++
		}
		return i > start
	}
	if i < len(s) && s[i] == '-' {
		i++
	}
	zero := i < len(s) && s[i] == '0'
	start := i
	if !digits() || (zero && i-start > 1) {
		return false
	}
	if i < len(s) && s[i] == '.' {
		i++
		if !digits() {
			return false
		}
	}
	if i < len(s) && (s[i] == 'e' || s[i] == 'E') {
		i++
		if i < len(s) && (s[i] == '+' || s[i] == '-') {
			i++
		}
		if !digits() {
			return false
		}
	}
	return i == len(s)
}
