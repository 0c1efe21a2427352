package records

import "strings"

// SearchText is what is written in a record, to be searched: open to all who
// may look at records, and private, for those who may see people. What the
// model has no place for counts as private, since nobody knows what it holds.
func (w *Well) SearchText() (open, private string) {
	t := texter{}
	w.visit(&t)
	t.hidden = true
	t.members(w.Extra)
	return t.said.String(), t.secret.String()
}

// texter gathers the texts of a record, a line each.
type texter struct {
	said, secret strings.Builder
	hidden       bool
}

func (t *texter) add(s string) {
	if s == "" {
		return
	}
	b := &t.said
	if t.hidden {
		b = &t.secret
	}
	b.WriteString(s)
	b.WriteByte('\n')
}

// notSearched are texts that nobody looks for by a word in them.
var notSearched = map[string]bool{"uid": true, "sha256": true, "source_id": true, "datum": true, "vertical_datum": true}

func (t *texter) text(name string, p *string) {
	if !notSearched[name] {
		t.add(*p)
	}
}

func (t *texter) word(_ string, p *string, _ words)  { t.add(strings.ReplaceAll(*p, "_", " ")) }
func (t *texter) flag(string, **bool)                {}
func (t *texter) whole(string, *int)                 {}
func (t *texter) date(string, *Date)                 {}
func (t *texter) position(*bool, *float64, *float64) {}
func (t *texter) amount(_ *amountField, _ amountRef) {}
func (t *texter) group(_ string, g visitable)        { t.part(g) }

func (t *texter) rows(_ string, r rowsRef) {
	for i := range r.len() {
		t.part(r.at(i))
	}
}

func (t *texter) private(_ string, g visitable) {
	outer := t.hidden
	t.hidden = true
	t.part(g)
	t.hidden = outer
}

func (t *texter) part(v visitable) {
	v.visit(t)
	if k, ok := v.(keeper); ok {
		outer := t.hidden
		t.hidden = true
		t.members(*k.kept())
		t.hidden = outer
	}
}

func (t *texter) members(ms []Member) {
	for _, m := range ms {
		t.add(m.JSON)
	}
}
