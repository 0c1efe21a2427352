package records

import (
	"bytes"
	"fmt"
	"math"
	"strconv"

	"github.com/go-json-experiment/json/jsontext"
)

// maxText is the longest text that one property may hold, in bytes: a
// description of sixty-four thousand letters is a file in the wrong place.
const maxText = 64 << 10

// ParseProperties reads a record's properties from a JSON object into w and
// tells every fault it finds on the way; what can be read is read even so.
// Properties that the model has no place for are kept in w.Extra. raw must be
// valid JSON (RFC 8259, no duplicate names), as a jsontext.Decoder ensures.
// It does not judge what the values mean: see Well.Validate.
func (w *Well) ParseProperties(raw []byte) []Fault {
	members, err := splitObject(raw, make([]rawMember, 0, 32))
	if err != nil {
		return []Fault{{Refusal, "properties", err.Error(), "give the record's properties as a JSON object"}}
	}
	d := decoder{members: members}
	w.visit(&d)
	d.keep(&w.Extra)
	return d.faults
}

// ParsePlate reads a plate's properties from a JSON object, as
// ParseProperties does a well's.
func (p *Plate) ParsePlate(raw []byte) []Fault {
	members, err := splitObject(raw, nil)
	if err != nil {
		return []Fault{{Refusal, "plate", err.Error(), "give the plate as a JSON object"}}
	}
	d := decoder{members: members}
	p.visit(&d)
	d.keep(&p.Extra)
	return d.faults
}

// oneLine gives a value's JSON text without line breaks between its tokens.
func oneLine(raw []byte) string {
	if bytes.IndexByte(raw, '\n') < 0 && bytes.IndexByte(raw, '\r') < 0 {
		return string(raw)
	}
	v := jsontext.Value(bytes.Clone(raw))
	if err := v.Compact(); err != nil {
		return string(raw)
	}
	return string(v)
}

// decoder fills the properties it is shown from the members of one object.
type decoder struct {
	members []rawMember
	next    int    // where the last one was found: files keep an order
	path    string // "strata[2]." before the names of this object
	faults  []Fault
}

func (d *decoder) find(name string) ([]byte, bool) {
	n := len(d.members)
	for k := range n {
		i := d.next + k
		if i >= n {
			i -= n
		}
		if d.members[i].name == name && !d.members[i].used {
			d.members[i].used = true
			d.next = i + 1
			if isNull(d.members[i].value) {
				return nil, false
			}
			return d.members[i].value, true
		}
	}
	return nil, false
}

func (d *decoder) fault(s Severity, name, message, mend string) {
	d.faults = append(d.faults, Fault{s, d.path + name, message, mend})
}

// keep puts what no visit asked for into extra.
func (d *decoder) keep(extra *[]Member) {
	for _, m := range d.members {
		if !m.used {
			*extra = append(*extra, Member{m.name, oneLine(m.value)})
		}
	}
}

func (d *decoder) text(name string, p *string) {
	raw, ok := d.find(name)
	if !ok {
		return
	}
	s, err := unquote(raw)
	if err != nil {
		switch raw[0] {
		case '{', '[':
			d.fault(Refusal, name, "is "+kindOf(raw)+" where a text belongs", "write it between quotes")
			return
		}
		s = string(raw) // a number or a truth value where words were meant: keep its digits
	}
	if len(s) > maxText {
		d.fault(Refusal, name, fmt.Sprintf("holds %d bytes, more than %d", len(s), maxText), "attach long documents as files")
		return
	}
	*p = s
}

func (d *decoder) word(name string, p *string, list words) {
	d.text(name, p)
	if *p != "" && !list.has(*p) {
		d.fault(Warning, name, fmt.Sprintf("%q is not one of the words used here", clip(*p, 40)),
			fmt.Sprintf("kept as it came; the words are %v", []string(list)))
	}
}

func (d *decoder) flag(name string, p **bool) {
	raw, ok := d.find(name)
	if !ok {
		return
	}
	switch string(raw) {
	case "true", `"true"`, `"yes"`, "1", `"1"`:
		v := true
		*p = &v
	case "false", `"false"`, `"no"`, "0", `"0"`:
		v := false
		*p = &v
	default:
		d.fault(Refusal, name, clip(string(raw), 40)+" is neither true nor false", "write true, false or leave it out")
	}
}

func (d *decoder) whole(name string, p *int) {
	raw, ok := d.find(name)
	if !ok {
		return
	}
	v, err := strconv.Atoi(string(raw))
	if err != nil {
		d.fault(Refusal, name, clip(string(raw), 40)+" is not a whole number", "")
		return
	}
	*p = v
}

func (d *decoder) date(name string, p *Date) {
	raw, ok := d.find(name)
	if !ok {
		return
	}
	s, err := unquote(raw)
	if err != nil {
		s = string(raw) // a bare year
	}
	if s == "" {
		return
	}
	v, err := ParseDate(s)
	if err != nil {
		d.fault(Refusal, name, err.Error(), "write the date as 2004-06-15, or only the year or month that is known")
		return
	}
	*p = v
}

func (d *decoder) position(known *bool, lon, lat *float64) {
	x, okX := d.find("lon")
	y, okY := d.find("lat")
	if !okX && !okY {
		return
	}
	vx, errX := strconv.ParseFloat(string(x), 64)
	vy, errY := strconv.ParseFloat(string(y), 64)
	if errX != nil || errY != nil || math.Abs(vx) > 180 || math.Abs(vy) > 90 {
		d.fault(Refusal, "lon", "lon and lat are not a position in degrees", "give both as numbers, WGS 84")
		return
	}
	*known, *lon, *lat = true, vx, vy
}

func (d *decoder) amount(f *amountField, p amountRef) {
	var got Amount[float64]
	var usedName string
	for i, name := range f.names {
		raw, ok := d.find(name)
		if !ok {
			continue
		}
		if usedName != "" {
			d.fault(Refusal, name, "stands beside "+usedName+": one quantity in two units", "keep the one that was written down")
			continue
		}
		usedName = name
		a, err := amountFromJSON(raw, f.dimension, f.units[i])
		if err != nil {
			d.fault(Refusal, name, err.Error(), "give a number, or a bound such as <1 or 50+")
			continue
		}
		got = a
	}
	d.givenOf(f, &got, usedName)
	d.qualify(f, &got)
	if got.Qualifier != Missing {
		p.store(got)
	}
}

// givenOf restores what was given where it stands beside the value, and
// derives the value from it where it stands alone.
func (d *decoder) givenOf(f *amountField, got *Amount[float64], usedName string) {
	var text, symbol string
	if raw, ok := d.find(f.given); ok {
		text, _ = unquote(raw)
	}
	if raw, ok := d.find(f.givenUnit); ok {
		symbol, _ = unquote(raw)
	}
	if text == "" {
		return
	}
	unit := f.dimension.Base()
	if symbol != "" {
		u, ok := f.dimension.UnitBySymbol(symbol)
		if !ok {
			d.fault(Refusal, f.givenUnit, fmt.Sprintf("%q is not a unit of this quantity", clip(symbol, 20)), "")
			return
		}
		unit = u
	}
	a, err := ParseAmount(text, f.dimension, unit)
	switch {
	case err != nil && usedName == "":
		d.fault(Refusal, f.given, err.Error(), "")
		return
	case usedName == "":
		*got = a
		return
	case err == nil && a.Known() && !near(a.Value, got.Value):
		d.fault(Warning, f.given, fmt.Sprintf("%q does not agree with %s, which is used", clip(text, 40), usedName), "correct the one that is wrong")
	}
	got.Given = Given{Text: text, Unit: unit}
}

// qualify applies the qualifier that stands beside the value.
func (d *decoder) qualify(f *amountField, got *Amount[float64]) {
	if raw, ok := d.find(f.high); ok {
		h, err := strconv.ParseFloat(string(raw), 64)
		if err != nil {
			d.fault(Refusal, f.high, clip(string(raw), 40)+" is not a number", "")
			return
		}
		got.High = h
	}
	raw, ok := d.find(f.qualifier)
	if !ok {
		return
	}
	s, _ := unquote(raw)
	q, known := ParseQualifier(s)
	switch {
	case !known || (q == Missing && got.Qualifier != Missing):
		d.fault(Refusal, f.qualifier, fmt.Sprintf("%s is not a qualifier", clip(string(raw), 40)),
			"use exact, about, less_than, greater_than or between")
	case got.Qualifier == Missing && q != Missing:
		d.fault(Refusal, f.qualifier, "qualifies a value that is not there", "give "+f.names[0])
	default:
		got.Qualifier = q
	}
}

func near(a, b float64) bool {
	return math.Abs(a-b) <= 1e-6*math.Max(1, math.Max(math.Abs(a), math.Abs(b)))
}

// amountFromJSON reads a number, or a text as people write quantities.
func amountFromJSON(raw []byte, dim Dimension, unit Unit) (Amount[float64], error) {
	switch raw[0] {
	case '"':
		s, err := unquote(raw)
		if err != nil {
			return Amount[float64]{}, err
		}
		return ParseAmount(s, dim, unit)
	case '{', '[', 't', 'f':
		return Amount[float64]{}, fmt.Errorf("is %s where a number belongs", kindOf(raw))
	}
	text := string(raw)
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsInf(v, 0) {
		return Amount[float64]{}, fmt.Errorf("%s is not a number that can be held", clip(text, 40))
	}
	return Amount[float64]{Qualifier: Exact, Value: unit.ToBase(v), Given: Given{Text: text, Unit: unit}}, nil
}

func (d *decoder) rows(name string, r rowsRef) {
	raw, ok := d.find(name)
	if !ok {
		return
	}
	parts, err := splitArray(raw, nil)
	if err != nil {
		d.fault(Refusal, name, "is "+err.Error(), "give a list of objects")
		return
	}
	r.resize(len(parts))
	var scratch [16]rawMember
	for i, part := range parts {
		d.part(fmt.Sprintf("%s%s[%d]", d.path, name, i), part, r.at(i), scratch[:0])
	}
}

func (d *decoder) group(name string, g visitable) {
	if raw, ok := d.find(name); ok {
		d.part(d.path+name, raw, g, nil)
	}
}

func (d *decoder) private(name string, g visitable) { d.group(name, g) }

// part reads one object inside the record.
func (d *decoder) part(path string, raw []byte, v visitable, scratch []rawMember) {
	members, err := splitObject(raw, scratch)
	if err != nil {
		d.faults = append(d.faults, Fault{Refusal, path, "is " + err.Error(), "give an object"})
		return
	}
	inner := decoder{members: members, path: path + "."}
	v.visit(&inner)
	if k, ok := v.(keeper); ok {
		inner.keep(k.kept())
	}
	d.faults = append(d.faults, inner.faults...)
}
