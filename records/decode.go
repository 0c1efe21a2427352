package records

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"sync"

	"github.com/go-json-experiment/json/jsontext"
)

// maxText is the longest text that one property may hold, in bytes: a
// description of sixty-four thousand letters is a file in the wrong place.
const maxText = 64 << 10

// ParseProperties reads a record's properties from a JSON object into w and
// tells every fault it finds on the way; what can be read is read even so.
// Properties that the model has no place for are kept in w.Extra. raw must be
// valid JSON (RFC 8259, no duplicate names), as a jsontext.Decoder ensures;
// it is copied once and not kept. It does not judge what the values mean: see
// Well.Validate.
func (w *Well) ParseProperties(raw []byte) []Fault {
	return parseObject(string(raw), w, &w.Extra, "properties")
}

// ParsePlate reads a plate's properties from a JSON object, as
// ParseProperties does a well's.
func (p *Plate) ParsePlate(raw []byte) []Fault {
	return parseObject(string(raw), p, &p.Extra, "plate")
}

func parseObject(raw string, into visitable, extra *[]Member, what string) []Fault {
	d, ok := decoders.Get().(*decoder)
	if !ok {
		d = new(decoder)
	}
	if d.open(raw) {
		into.visit(d)
		d.keep(extra)
	} else {
		d.faults[0].Field = what
	}
	faults := d.faults
	d.release()
	return faults
}

// decoders holds readers for reuse; they carry nothing from one record to the
// next.
var decoders sync.Pool

// decoder fills the properties it is shown from the members of one object,
// and those of the objects within it in turn.
type decoder struct {
	object
	members []rawMember // of all objects now being read, the innermost last
	parts   []string    // of all lists now being read
	path    trail
	faults  []Fault
}

// object is the one that is being read.
type object struct {
	from int    // where its members begin
	next int    // where the last one was found: files keep an order
	has  uint64 // a bit for each name that it may have: most are absent
}

// nameBit is the same for equal names and mostly different for others.
func nameBit(name string) uint64 {
	n := len(name)
	if n == 0 {
		return 1
	}
	return 1 << ((uint(name[0])*5 + uint(name[n-1])*11 + uint(name[n/2])*3 + uint(n)) & 63)
}

// open begins to read an object, or faults and tells that there is none.
func (d *decoder) open(raw string) bool {
	from := len(d.members)
	members, err := splitObject(raw, d.members)
	d.members = members
	if err != nil {
		d.members = d.members[:from]
		d.fault(Refusal, "", "is "+err.Error(), "give a JSON object")
		return false
	}
	d.object = object{from: from, next: from}
	for i := from; i < len(members); i++ {
		d.has |= nameBit(members[i].name)
	}
	return true
}

func (d *decoder) release() {
	const most = 1 << 9 // do not hold on to what one huge record needed
	if cap(d.members) > most || cap(d.parts) > most {
		return
	}
	clear(d.members[:cap(d.members)])
	clear(d.parts[:cap(d.parts)])
	d.members, d.parts, d.path = d.members[:0], d.parts[:0], d.path[:0]
	d.object, d.faults = object{}, nil
	decoders.Put(d)
}

func (d *decoder) find(name string) (string, bool) { return d.findBit(name, nameBit(name)) }

func (d *decoder) findBit(name string, bit uint64) (string, bool) {
	if d.has&bit == 0 {
		return "", false
	}
	for i := d.next; i < len(d.members); i++ {
		if d.members[i].name == name && !d.members[i].used {
			return d.take(i)
		}
	}
	for i := d.from; i < d.next; i++ {
		if d.members[i].name == name && !d.members[i].used {
			return d.take(i)
		}
	}
	return "", false
}

func (d *decoder) take(i int) (string, bool) {
	m := &d.members[i]
	m.used = true
	d.next = i + 1
	return m.value, !isNull(m.value)
}

func (d *decoder) fault(s Severity, name, message, mend string) {
	d.faults = append(d.faults, Fault{s, d.path.to(name), message, mend})
}

// keep puts what no visit asked for into extra.
func (d *decoder) keep(extra *[]Member) {
	for i := d.from; i < len(d.members); i++ {
		if m := &d.members[i]; !m.used {
			*extra = append(*extra, Member{m.name, oneLine(m.value)})
		}
	}
}

// oneLine gives a value's JSON text without line breaks between its tokens.
func oneLine(raw string) string {
	if !strings.ContainsAny(raw, "\n\r") {
		return raw
	}
	v := jsontext.Value(raw)
	if err := v.Compact(); err != nil {
		return raw
	}
	return string(v)
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
		s = raw // a number or a truth value where words were meant: keep its digits
	}
	if len(s) > maxText {
		d.fault(Refusal, name, fmt.Sprintf("holds %d bytes, more than %d", len(s), maxText), "attach long documents as files")
		return
	}
	*p = s
}

func (d *decoder) word(name string, p *string, _ words) { d.text(name, p) }

func (d *decoder) flag(name string, p **bool) {
	raw, ok := d.find(name)
	if !ok {
		return
	}
	switch raw {
	case "true", `"true"`, `"yes"`, "1", `"1"`:
		v := true
		*p = &v
	case "false", `"false"`, `"no"`, "0", `"0"`:
		v := false
		*p = &v
	default:
		d.fault(Refusal, name, clip(raw, 40)+" is neither true nor false", "write true, false or leave it out")
	}
}

func (d *decoder) whole(name string, p *int) {
	raw, ok := d.find(name)
	if !ok {
		return
	}
	v, err := strconv.Atoi(raw)
	if err != nil {
		d.fault(Refusal, name, clip(raw, 40)+" is not a whole number", "write it in digits alone")
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
		s = raw // a bare year
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
	vx, errX := strconv.ParseFloat(x, 64)
	vy, errY := strconv.ParseFloat(y, 64)
	if errX != nil || errY != nil || math.Abs(vx) > 180 || math.Abs(vy) > 90 {
		d.fault(Refusal, "lon", "lon and lat are not a position in degrees", "give both as numbers, WGS 84")
		return
	}
	*known, *lon, *lat = true, vx, vy
}

func (d *decoder) rows(name string, r rowsRef) {
	raw, ok := d.find(name)
	if !ok {
		return
	}
	from := len(d.parts)
	parts, err := splitArray(raw, d.parts)
	d.parts = parts
	if err != nil {
		d.parts = d.parts[:from]
		d.fault(Refusal, name, "is "+err.Error(), "give a list of objects")
		return
	}
	n := len(parts) - from
	r.resize(n)
	d.path = append(d.path, step{name, 0})
	for i := range n {
		d.path[len(d.path)-1].index = i
		d.part(d.parts[from+i], r.at(i))
	}
	d.path = d.path[:len(d.path)-1]
	d.parts = d.parts[:from]
}

func (d *decoder) group(name string, g visitable) {
	if raw, ok := d.find(name); ok {
		d.path = append(d.path, step{name, -1})
		d.part(raw, g)
		d.path = d.path[:len(d.path)-1]
	}
}

func (d *decoder) private(name string, g visitable) { d.group(name, g) }

// part reads one object inside the record.
func (d *decoder) part(raw string, v visitable) {
	outer := d.object
	if d.open(raw) {
		v.visit(d)
		if k, ok := v.(keeper); ok {
			d.keep(k.kept())
		}
		d.members = d.members[:d.from]
	}
	d.object = outer
}
