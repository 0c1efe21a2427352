package records

import "strings"

// slot is one property of a record for a merge: where it stands, and a key by
// which two states are the same. It is a value, a group, a list, or several
// that mean nothing without each other.
type slot struct {
	name    string
	hidden  bool
	key     string // equal exactly where the values are
	words   string
	leaf    any // *string, **bool, *int, *Date, amountRef or *Place
	word    bool
	parts   []slot
	coupled bool
	extra   *[]Member // what a group keeps
	rows    rowsRef
}

// coupledTo names the property that one belongs to.
var coupledTo = map[string]string{
	"coordinates_given": "lon", "datum": "lon",
	"vertical_datum": "ground_elevation_m",
	"unit":           "value",
}

// slots lists the properties of a well, its position first.
func (w *Well) slots() []slot {
	s := slotter{}
	s.out = append(s.out, positionSlot(&w.Place))
	w.visit(&s)
	return s.out
}

func positionSlot(p *Place) slot {
	s := slot{name: "lon", leaf: p}
	if p.Located {
		e := encoder{b: []byte{'{'}}
		e.position(&p.Located, &p.Lon, &p.Lat)
		s.key = string(e.b) + " " + p.LonText + " " + p.LatText
		n := noder{}
		n.position(&p.Located, &p.Lon, &p.Lat)
		s.words = "latitude " + n.out[1].value + ", longitude " + n.out[0].value
	}
	return s
}

// copy takes over the state of another slot of the same property.
func (s *slot) copy(from *slot) {
	switch p := s.leaf.(type) {
	case *string:
		*p = *from.leaf.(*string)
	case **bool:
		*p = *from.leaf.(**bool)
	case *int:
		*p = *from.leaf.(*int)
	case *Date:
		*p = *from.leaf.(*Date)
	case amountRef:
		p.store(from.leaf.(amountRef).load())
	case *positionRef:
		p.take(from.leaf.(*positionRef))
	case *Place:
		q := from.leaf.(*Place)
		p.Located, p.Lon, p.Lat, p.LonText, p.LatText = q.Located, q.Lon, q.Lat, q.LonText, q.LatText
	}
	for i := range s.parts {
		s.parts[i].copy(&from.parts[i])
	}
	if s.extra != nil {
		*s.extra = *from.extra
	}
	if s.rows != nil {
		s.rows.assign(everyRow(from.rows))
	}
}

func everyRow(r rowsRef) []visitable {
	out := make([]visitable, r.len())
	for i := range out {
		out[i] = r.at(i)
	}
	return out
}

// positionRef is a position inside a part of a record.
type positionRef struct {
	known    *bool
	lon, lat *float64
}

func (p *positionRef) take(q *positionRef) { *p.known, *p.lon, *p.lat = *q.known, *q.lon, *q.lat }

// slotter collects the properties it is shown.
type slotter struct {
	out    []slot
	hidden bool
}

// add notes a value. Where it belongs to one before it, the two become one.
func (s *slotter) add(x slot) {
	x.hidden = s.hidden
	owner := coupledTo[x.name]
	for i := range s.out {
		if o := &s.out[i]; owner != "" && o.name == owner {
			if !o.coupled {
				first := *o
				*o = slot{name: first.name, hidden: first.hidden, key: first.key, words: first.words, coupled: true, parts: []slot{first}}
			}
			o.parts = append(o.parts, x)
			o.key += "\x00" + x.key
			if x.words != "" {
				o.words = strings.TrimPrefix(o.words+", "+plainName(x.name)+" "+x.words, ", ")
			}
			return
		}
	}
	s.out = append(s.out, x)
}

func plainName(name string) string { return strings.ReplaceAll(name, "_", " ") }

// written is the key of a value: its JSON text.
func written(write func(e *encoder)) string {
	e := encoder{b: []byte{'{'}, withPrivate: true}
	write(&e)
	return string(e.b[1:])
}

func (s *slotter) text(name string, p *string) {
	s.add(slot{name: name, key: *p, words: *p, leaf: p})
}

func (s *slotter) word(name string, p *string, _ words) {
	s.add(slot{name: name, key: *p, words: plainName(*p), leaf: p, word: true})
}

func (s *slotter) flag(name string, p **bool) {
	words := ""
	if *p != nil {
		words = map[bool]string{true: "yes", false: "no"}[**p]
	}
	s.add(slot{name: name, key: words, words: words, leaf: p})
}

func (s *slotter) whole(name string, p *int) {
	n := noder{}
	n.whole(name, p)
	s.add(slot{name: name, key: n.out[0].value, words: n.out[0].value, leaf: p})
}

func (s *slotter) date(name string, p *Date) {
	s.add(slot{name: name, key: p.String(), words: p.String(), leaf: p})
}

func (s *slotter) position(known *bool, lon, lat *float64) {
	n := noder{}
	n.position(known, lon, lat)
	words := strings.Trim(n.out[1].value+", "+n.out[0].value, ", ")
	s.add(slot{name: "lon", key: words, words: words, leaf: &positionRef{known, lon, lat}})
}

func (s *slotter) amount(f *amountField, p amountRef) {
	key := written(func(e *encoder) { e.amount(f, p) })
	s.add(slot{name: f.names[0], key: key, words: amountWords(p.load(), f), leaf: p})
}

func (s *slotter) rows(name string, r rowsRef) {
	key := written(func(e *encoder) { e.rows(name, r) })
	s.add(slot{name: name, key: key, rows: r})
}

func (s *slotter) group(name string, g visitable) {
	inner := slotter{hidden: s.hidden}
	g.visit(&inner)
	x := slot{name: name, key: written(func(e *encoder) { e.part(g) }), parts: inner.out}
	if k, ok := g.(keeper); ok {
		x.extra = k.kept()
	}
	s.add(x)
}

func (s *slotter) private(name string, g visitable) {
	outer := s.hidden
	s.hidden = true
	s.group(name, g)
	s.hidden = outer
}

// coupleStrikes makes the strikes and the way in which their flows are to be
// read one property where any side changed the latter: a strike that one wrote
// down as a gain must not become a running total because another said so of
// the list.
func coupleStrikes(all ...*[]slot) {
	find := func(list []slot, name string) int {
		for i := range list {
			if list[i].name == name {
				return i
			}
		}
		return -1
	}
	as := find(*all[0], "strikes_as")
	if k := func(i int) string { return (*all[i])[as].key }; k(0) == k(1) && k(0) == k(2) {
		return
	}
	for _, list := range all {
		old := *list
		as, rows := find(old, "strikes_as"), find(old, "strikes")
		x := slot{name: "strikes", coupled: true, key: old[as].key + "\x00" + old[rows].key, parts: []slot{old[as], old[rows]},
			words: strings.TrimSpace(old[as].words + "\n" + rowsWords(old[rows].rows))}
		out := append([]slot(nil), old[:as]...)
		out = append(out, old[as+1:]...)
		out[find(out, "strikes")] = x
		*list = out
	}
}
