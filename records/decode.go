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

// LongestText is the longest text that one property may hold, in bytes.
const LongestText = maxText

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
	members, err := cut(raw, d.members)
	d.members = members
	switch {
	case err != nil:
		d.fault(Refusal, what, err.Error(), "give a JSON object")
	case d.open(0, what):
		into.visit(d)
		d.keep(extra)
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
	members []rawMember // of the whole record, the record itself first
	at      int         // the member that was found last
	path    trail
	faults  []Fault
}

// object is the one that is being read.
type object struct {
	from, to int    // where its members stand
	next     int    // behind the one found last: files keep an order
	has      uint64 // a bit for each name that it may have: most are absent
}

// nameBit is the same for equal names and mostly different for others.
func nameBit(name string) uint64 {
	n := len(name)
	if n == 0 {
		return 1
	}
	return 1 << ((uint(name[0])*5 + uint(name[n-1])*11 + uint(name[n/2])*3 + uint(n)) & 63)
}

// open begins to read the object at a place, or faults and tells that there
// is none.
func (d *decoder) open(at int, name string) bool {
	m := &d.members[at]
	if m.value[0] != '{' {
		d.fault(Refusal, name, "is not an object but "+kindOf(m.value), "give a JSON object")
		return false
	}
	d.object = object{from: at + 1, to: m.next, next: at + 1}
	for i := d.from; i < d.to; i = d.members[i].next {
		d.has |= nameBit(d.members[i].name)
	}
	return true
}

func (d *decoder) release() {
	const most = 1 << 12 // do not hold on to what one huge record needed
	if cap(d.members) > most {
		return
	}
	clear(d.members)
	d.members, d.path = d.members[:0], d.path[:0]
	d.object, d.faults = object{}, nil
	decoders.Put(d)
}

func (d *decoder) find(name string) (string, bool) { return d.findBit(name, nameBit(name)) }

func (d *decoder) findBit(name string, bit uint64) (string, bool) {
	if d.has&bit == 0 {
		return "", false
	}
	for i := d.next; i < d.to; i = d.members[i].next {
		if d.members[i].name == name && !d.members[i].used {
			return d.take(i)
		}
	}
	for i := d.from; i < d.next; i = d.members[i].next {
		if d.members[i].name == name && !d.members[i].used {
			return d.take(i)
		}
	}
	return "", false
}

func (d *decoder) take(i int) (string, bool) {
	m := &d.members[i]
	m.used = true
	d.at, d.next = i, m.next
	return m.value, !isNull(m.value)
}

func (d *decoder) fault(s Severity, name, message, mend string) {
	d.faults = append(d.faults, Fault{s, d.path.to(name), message, mend})
}

// keep puts what no visit asked for into extra.
func (d *decoder) keep(extra *[]Member) {
	for i := d.from; i < d.to; i = d.members[i].next {
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
	if raw[0] != '[' {
		d.fault(Refusal, name, "is not a list but "+kindOf(raw), "give a list of objects")
		return
	}
	first, end, n := d.at+1, d.members[d.at].next, 0
	for i := first; i < end; i = d.members[i].next {
		n++
	}
	r.resize(n)
	d.path = append(d.path, step{name, 0})
	for i, k := first, 0; i < end; i, k = d.members[i].next, k+1 {
		d.path[len(d.path)-1].index = k
		d.part(i, r.at(k))
	}
	d.path = d.path[:len(d.path)-1]
}

func (d *decoder) group(name string, g visitable) {
	if _, ok := d.find(name); ok {
		d.path = append(d.path, step{name, -1})
		d.part(d.at, g)
		d.path = d.path[:len(d.path)-1]
	}
}

func (d *decoder) private(name string, g visitable) { d.group(name, g) }

// part reads one object inside the record.
func (d *decoder) part(at int, v visitable) {
	outer := d.object
	if d.open(at, "") {
		v.visit(d)
		if k, ok := v.(keeper); ok {
			d.keep(k.kept())
		}
	}
	d.object = outer
}
