package records

import (
	"strconv"
	"strings"
)

// Change is one property that differs between two states of a record.
type Change struct {
	Field   string // path of the property: strata[2].bottom_m; strata[3] for a whole row
	Was, Is string // in words; "" where there was or is nothing
	Private bool   // for those alone who may see people
}

// Diff tells what changed from a to b, in the order of the profile. Rows are
// compared from both ends of their list, so that a row put in or taken out in
// the middle is one change. A nil record is an empty one. Keys and revision
// numbers are not compared.
func Diff(a, b *Well) []Change {
	return diffNodes(nil, "", a.nodes(), b.nodes())
}

// DiffPlates tells what changed between two states of a plate's record; the
// decision to which well it belongs is not among its properties.
func DiffPlates(a, b *Plate) []Change {
	return diffNodes(nil, "", plateNodes(a), plateNodes(b))
}

// node is one property as words: a value, a group or a list.
type node struct {
	name   string
	value  string
	parts  []node   // of a group
	list   [][]node // of a list
	hidden bool
}

func (w *Well) nodes() []node {
	if w == nil {
		w = &Well{}
	}
	n := noder{}
	n.position(&w.Place.Located, &w.Place.Lon, &w.Place.Lat)
	w.visit(&n)
	n.members(w.Extra)
	return n.out
}

func plateNodes(p *Plate) []node {
	if p == nil {
		p = &Plate{}
	}
	n := noder{}
	n.part(p)
	return n.out
}

func diffNodes(out []Change, path string, a, b []node) []Change {
	// Both walks name the same properties in the same order; only what the
	// model has no place for, behind them, may differ.
	for i := 0; i < len(a) || i < len(b); i++ {
		switch {
		case i < len(a) && i < len(b) && a[i].name == b[i].name:
			out = diffNode(out, path, &a[i], &b[i])
		default:
			return diffMembers(out, path, a[min(i, len(a)):], b[min(i, len(b)):])
		}
	}
	return out
}

func diffMembers(out []Change, path string, a, b []node) []Change {
	was := make(map[string]*node, len(a))
	for i := range a {
		was[a[i].name] = &a[i]
	}
	for i := range b {
		n := &b[i]
		old, ok := was[n.name]
		if !ok {
			old = &node{}
		}
		delete(was, n.name)
		out = diffNode(out, path, old, n)
	}
	for i := range a {
		if was[a[i].name] != nil {
			out = append(out, Change{path + a[i].name, a[i].value, "", a[i].hidden})
		}
	}
	return out
}

func diffNode(out []Change, path string, a, b *node) []Change {
	name := path + b.name
	if a.value != b.value {
		out = append(out, Change{name, a.value, b.value, a.hidden || b.hidden})
	}
	out = diffNodes(out, name+".", a.parts, b.parts)
	return diffRows(out, name, a.list, b.list, b.hidden)
}

func diffRows(out []Change, name string, a, b [][]node, hidden bool) []Change {
	head := 0
	for head < len(a) && head < len(b) && sameNodes(a[head], b[head]) {
		head++
	}
	tail := 0
	for tail < len(a)-head && tail < len(b)-head && sameNodes(a[len(a)-1-tail], b[len(b)-1-tail]) {
		tail++
	}
	for i := head; i < len(a)-tail || i < len(b)-tail; i++ {
		at := name + "[" + strconv.Itoa(i) + "]"
		switch {
		case i >= len(a)-tail:
			out = append(out, Change{at, "", rowWords(b[i]), hidden})
		case i >= len(b)-tail:
			out = append(out, Change{at, rowWords(a[i]), "", hidden})
		default:
			out = diffNodes(out, at+".", a[i], b[i])
		}
	}
	return out
}

func sameNodes(a, b []node) bool { return len(diffNodes(nil, "", a, b)) == 0 }

// rowWords puts a whole row in words.
func rowWords(row []node) string {
	var parts []string
	for _, n := range row {
		if n.value != "" {
			parts = append(parts, n.name+" "+n.value)
		}
	}
	if len(parts) == 0 {
		return "an empty row"
	}
	return strings.Join(parts, ", ")
}

// noder turns the properties it is shown into words.
type noder struct {
	out    []node
	hidden bool
}

func (n *noder) add(name, value string) {
	n.out = append(n.out, node{name: name, value: value, hidden: n.hidden})
}

func (n *noder) text(name string, p *string)          { n.add(name, *p) }
func (n *noder) word(name string, p *string, _ words) { n.add(name, *p) }
func (n *noder) date(name string, p *Date)            { n.add(name, p.String()) }

func (n *noder) flag(name string, p **bool) {
	value := ""
	if *p != nil {
		value = strconv.FormatBool(**p)
	}
	n.add(name, value)
}

func (n *noder) whole(name string, p *int) {
	value := ""
	if *p != 0 {
		value = strconv.Itoa(*p)
	}
	n.add(name, value)
}

func (n *noder) position(known *bool, lon, lat *float64) {
	x, y := "", ""
	if *known {
		x, y = strconv.FormatFloat(*lon, 'f', -1, 64), strconv.FormatFloat(*lat, 'f', -1, 64)
	}
	n.add("lon", x)
	n.add("lat", y)
}

func (n *noder) amount(f *amountField, p amountRef) { n.add(f.names[0], amountWords(p.load(), f)) }

// amountWords writes a quantity so that two that differ in anything read
// differently: "12.20 m", "less than 0.063 L/s (given as "<1" gpm)".
func amountWords(a Amount[float64], f *amountField) string {
	if a.Qualifier == Missing {
		return ""
	}
	base := f.dimension.Base()
	given := a.Given.Text
	text := ""
	if a.Given.Unit == base && IsJSONNumber(given) {
		text, given = given, ""
	}
	number := string(appendAsGiven(nil, text, a.Value))
	s := map[Qualifier]string{About: "about ", LessThan: "less than ", GreaterThan: "more than ", Between: "between "}[a.Qualifier] + number
	if a.Qualifier == Between {
		s += " and " + string(appendAsGiven(nil, a.Given.High, a.High))
	}
	if base != NoUnit {
		s += " " + base.Symbol()
	}
	if given != "" {
		s += " (given as " + strconv.Quote(given)
		if a.Given.Unit != NoUnit {
			s += " " + a.Given.Unit.Symbol()
		}
		s += ")"
	}
	return s
}

func (n *noder) rows(name string, r rowsRef) {
	list := make([][]node, r.len())
	for i := range list {
		inner := noder{hidden: n.hidden}
		inner.part(r.at(i))
		list[i] = inner.out
	}
	n.out = append(n.out, node{name: name, list: list, hidden: n.hidden})
}

func (n *noder) group(name string, g visitable) {
	inner := noder{hidden: n.hidden}
	inner.part(g)
	n.out = append(n.out, node{name: name, parts: inner.out, hidden: n.hidden})
}

func (n *noder) private(name string, g visitable) {
	outer := n.hidden
	n.hidden = true
	n.group(name, g)
	n.hidden = outer
}

func (n *noder) part(v visitable) {
	v.visit(n)
	if k, ok := v.(keeper); ok {
		n.members(*k.kept())
	}
}

func (n *noder) members(ms []Member) {
	for _, m := range ms {
		n.add(m.Name, m.JSON)
	}
}
