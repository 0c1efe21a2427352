package records

import (
	"strconv"
	"strings"
)

// Side says whose state of a property a merge takes where both changed it.
type Side uint8

// The sides. Where nobody chose, ours stands meanwhile.
const (
	Unchosen Side = iota
	Ours
	Theirs
	Both // one below the other: where Clash.Both allows it
)

var sideWords = [...]string{"", "ours", "theirs", "both"}

// String gives the side's word, as forms send it.
func (s Side) String() string {
	if int(s) < len(sideWords) {
		return sideWords[s]
	}
	return ""
}

// ParseSide reads the words that String writes.
func ParseSide(s string) (Side, bool) {
	for i, w := range sideWords {
		if w == s {
			return Side(i), true
		}
	}
	return Unchosen, false
}

// Clash is a property that both sides changed, each otherwise.
type Clash struct {
	Field              string // as in Change; "lon" for the whole position with how it was given
	Base, Ours, Theirs string // in words; "" where there was or is nothing
	Private            bool   // for those alone who may see people
	Both               bool   // whether both can be kept: texts and lists can
	Side               Side   // what was chosen; Unchosen: ours stands meanwhile
}

// Merge3 brings together two states of a record that were made from the same
// one. What one side alone changed is taken from it; what both changed alike
// is taken once; what both changed otherwise is a clash, in which choose, asked
// by field, says whose state stands (nil: nobody chose). A nil base is an
// empty record: then what only one side has is taken, and all else in which
// they differ clashes.
//
// Lists are merged row by row: rows that one side put in, changed or took out
// where the other left them alone, and the cells of a row that both changed
// apart. Where that cannot be told, the whole list is one clash. Values that
// mean nothing without each other (a position and its datum, a result and its
// unit) are one property.
//
// Keys, uid, revision, plates and the place in an intake are theirs: the
// state that is stored.
func Merge3(base, ours, theirs *Well, choose func(field string) Side) (*Well, []Clash) {
	if base == nil {
		base = &Well{}
	}
	out := *theirs
	m := merger{choose: choose}
	b, o, t, d := base.slots(), ours.slots(), theirs.slots(), out.slots()
	coupleStrikes(&b, &o, &t, &d)
	m.slots("", b, o, t, d)
	out.Extra = m.members("", base.Extra, ours.Extra, theirs.Extra, false)
	return &out, m.clashes
}

// Unsettled counts the clashes in which nobody chose.
func Unsettled(clashes []Clash) int {
	n := 0
	for i := range clashes {
		if clashes[i].Side == Unchosen {
			n++
		}
	}
	return n
}

type merger struct {
	choose  func(string) Side
	clashes []Clash
}

// clash notes a clash and tells whose state stands.
func (m *merger) clash(c Clash) Side {
	if m.choose != nil {
		c.Side = m.choose(c.Field)
	}
	if c.Side == Both && !c.Both || c.Side > Both {
		c.Side = Unchosen
	}
	m.clashes = append(m.clashes, c)
	if c.Side == Unchosen {
		return Ours
	}
	return c.Side
}

// slots merges properties into d, which holds theirs.
func (m *merger) slots(path string, b, o, t, d []slot) {
	for i := range d {
		m.slot(path+d[i].name, &b[i], &o[i], &t[i], &d[i])
	}
}

func (m *merger) slot(path string, b, o, t, d *slot) {
	switch {
	case o.key == t.key || b.key == o.key: // alike, or theirs alone changed
	case b.key == t.key:
		d.copy(o)
	case d.rows != nil:
		m.rows(path, b, o, t, d)
	case d.parts != nil && !d.coupled:
		m.slots(path+".", b.parts, o.parts, t.parts, d.parts)
		if d.extra != nil {
			*d.extra = m.members(path+".", *b.extra, *o.extra, *t.extra, d.hidden)
		}
	default:
		text, isText := d.leaf.(*string)
		side := m.clash(Clash{Field: path, Base: b.words, Ours: o.words, Theirs: t.words, Private: d.hidden, Both: isText && !d.word && o.words != "" && t.words != ""})
		switch side {
		case Ours:
			d.copy(o)
		case Both:
			*text = t.words + "\n" + o.words
		}
	}
}

// members merges what the model has no place for, by name.
func (m *merger) members(path string, b, o, t []Member, hidden bool) []Member {
	if sameMembers(o, t) || sameMembers(b, o) {
		return t
	}
	if sameMembers(b, t) {
		return o
	}
	find := func(ms []Member, name string) string {
		for i := range ms {
			if ms[i].Name == name {
				return ms[i].JSON
			}
		}
		return ""
	}
	var out []Member
	seen := map[string]bool{}
	for _, list := range [][]Member{b, t, o} {
		for _, x := range list {
			if seen[x.Name] {
				continue
			}
			seen[x.Name] = true
			was, mine, yours := find(b, x.Name), find(o, x.Name), find(t, x.Name)
			value := yours
			if mine != yours && was == yours {
				value = mine
			} else if mine != yours && was != mine {
				if m.clash(Clash{Field: path + x.Name, Base: was, Ours: mine, Theirs: yours, Private: hidden}) == Ours {
					value = mine
				}
			}
			if value != "" {
				out = append(out, Member{x.Name, value})
			}
		}
	}
	return out
}

func sameMembers(a, b []Member) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

// rowsWords puts a list in words, a line a row, quantities as they were given.
func rowsWords(r rowsRef) string {
	var lines []string
	for i := range r.len() {
		t := teller{}
		r.at(i).visit(&t)
		if k, ok := r.at(i).(keeper); ok {
			for _, m := range *k.kept() {
				t.add(m.Name, m.JSON)
			}
		}
		words := strings.Join(t.out, ", ")
		if words == "" {
			words = "an empty row"
		}
		lines = append(lines, strconv.Itoa(i+1)+". "+words)
	}
	return strings.Join(lines, "\n")
}

// teller puts the properties of a row in words for a person.
type teller struct {
	skipper
	out []string
}

func (t *teller) add(name, value string) {
	if value != "" {
		t.out = append(t.out, plainName(name)+" "+value)
	}
}

func (t *teller) text(name string, p *string)          { t.add(name, *p) }
func (t *teller) word(name string, p *string, _ words) { t.add(name, plainName(*p)) }
func (t *teller) flag(name string, p **bool)           { t.add(name, flagText(*p)) }
func (t *teller) whole(name string, p *int)            { t.add(name, wholeText(*p)) }
func (t *teller) date(name string, p *Date)            { t.add(name, p.String()) }

func (t *teller) amount(f *amountField, p amountRef) {
	base := f.dimension.Base()
	value := amountText(p.load(), f.dimension, base)
	if value != "" && base != NoUnit && !strings.ContainsAny(strings.ToLower(value), "abcdefghijklmnopqrstuvwxyz'\"") {
		value += " " + base.Symbol()
	}
	t.add(f.base, value)
}
