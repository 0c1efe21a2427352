package importer

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"tallybook/records"
)

// wellParts is what other rows add to the record of a well: items of its
// lists, ready as JSON, and where each came from.
type wellParts struct {
	lists []partList
	own   map[Role]bool // lists whose first item is of the well's own row

	pending []pendingPart // rows of which items are to be made
}

// pendingPart is a row of which an item is to be made.
type pendingPart struct {
	cells   []string
	varying []int // columns that the well's rows do not agree on
	from    partOrigin
}

// order brings the rows of each list in the order of their depths, where all
// of them have one that is a plain number: files list them as they come.
func (w *wellParts) order() {
	plain := make(map[Role]bool)
	depth := make([]float64, len(w.pending))
	for i := range w.pending {
		role := w.pending[i].from.plan.role
		v, ok := w.pending[i].depth()
		depth[i] = v
		if before, seen := plain[role]; !seen || before {
			plain[role] = ok
		}
	}
	at := make([]int, len(w.pending))
	for i := range at {
		at[i] = i
	}
	slices.SortStableFunc(at, func(a, b int) int {
		x, y := w.pending[a].from.plan.role, w.pending[b].from.plan.role
		if x != y || !plain[x] {
			return strings.Compare(string(x), string(y))
		}
		return cmp.Compare(depth[a], depth[b])
	})
	sorted := make([]pendingPart, len(at))
	for i, k := range at {
		sorted[i] = w.pending[k]
	}
	w.pending = sorted
}

// depth is the number at which a part begins.
func (p *pendingPart) depth() (float64, bool) {
	role := string(p.from.plan.role) + "."
	for i := range p.from.plan.columns {
		c := &p.from.plan.columns[i]
		if i < len(p.cells) && (c.field == role+"top" || c.field == role+"from" || c.field == "strikes.depth") {
			v, err := strconv.ParseFloat(strings.TrimSpace(p.cells[i]), 64)
			return v, err == nil
		}
	}
	return 0, false
}

// make makes the items of the rows. What is wrong with one is told of the
// well, with the row that it stands in.
func (w *wellParts) make(row *Row) {
	if w == nil {
		return
	}
	for i := range w.pending {
		part := &w.pending[i]
		before := len(row.Faults)
		p := part.from.plan
		cells := p.expand(row, slices.Clone(part.cells))
		item, any := p.item(row, cells, part.varying)
		for k := range row.Faults[before:] {
			f := &row.Faults[before+k]
			f.Field += part.from.words("")
		}
		if !any {
			continue
		}
		l := w.list(p.role)
		if len(l.items) > 0 {
			l.items = append(l.items, ',')
		}
		l.items = append(l.items, item...)
		l.from = append(l.from, part.from)
	}
}

type partList struct {
	role  Role
	items []byte // JSON objects with commas between them
	from  []partOrigin
}

// partOrigin is the row that an item was made of.
type partOrigin struct {
	sheet string
	line  int64
	plan  *plan
}

// list is the list of a role, made where there is none.
func (w *wellParts) list(role Role) *partList {
	for i := range w.lists {
		if w.lists[i].role == role {
			return &w.lists[i]
		}
	}
	w.lists = append(w.lists, partList{role: role})
	return &w.lists[len(w.lists)-1]
}

// of is the items of a role, nil for none.
func (w *wellParts) of(role Role) []byte {
	if w == nil {
		return nil
	}
	for i := range w.lists {
		if w.lists[i].role == role {
			return w.lists[i].items
		}
	}
	return nil
}

// rest writes the lists of which the well's own row says nothing.
func (w *wellParts) rest(out []byte, p *plan) []byte {
	if w == nil {
		return out
	}
	for i := range w.lists {
		l := &w.lists[i]
		if len(l.items) == 0 || p.hasList(string(l.role)) {
			continue
		}
		out = append(appendName(out, string(l.role)), '[')
		out = append(append(out, l.items...), ']')
	}
	return out
}

func (p *plan) hasList(name string) bool {
	for i := range p.groups {
		if p.groups[i].name == name && p.groups[i].list {
			return true
		}
	}
	return false
}

// name says where the row stands that a fault is about, and whether it is one
// of those.
func (w *wellParts) name(f *records.Fault) bool {
	if w == nil {
		return false
	}
	if strings.Contains(f.Field, "(sheet ") || strings.Contains(f.Field, "(row ") {
		return true
	}
	for i := range w.lists {
		l := &w.lists[i]
		rest, ok := strings.CutPrefix(f.Field, string(l.role)+"[")
		if !ok {
			continue
		}
		number, tail, ok := strings.Cut(rest, "]")
		k, err := strconv.Atoi(number)
		if w.own[l.role] {
			k--
		}
		if !ok || err != nil || k < 0 || k >= len(l.from) {
			return false
		}
		o := &l.from[k]
		f.Field += o.words(strings.TrimPrefix(tail, "."))
		return true
	}
	return false
}

// words names the row, and the column that gives the property.
func (o *partOrigin) words(property string) string {
	where := fmt.Sprintf(" (sheet %q, row %d", o.sheet, o.line)
	if o.sheet == "" {
		where = fmt.Sprintf(" (row %d", o.line)
	}
	for i := range o.plan.columns {
		c := &o.plan.columns[i]
		if c.property == property && c.mapped && strings.HasPrefix(c.field, string(o.plan.role)+".") {
			return fmt.Sprintf("%s, column %q)", where, c.name)
		}
	}
	return where + ")"
}

// item writes what a row gives to its well's list, and says whether it gives
// anything. varying are columns that the well's rows do not agree on.
func (p *plan) item(row *Row, cells []string, varying []int) (item []byte, any bool) {
	out := []byte{'{'}
	for i := range p.groups {
		g := &p.groups[i]
		if g.name != string(p.role) {
			continue
		}
		for _, k := range g.columns {
			out = p.property(out, row, &p.columns[k], cells[k])
		}
	}
	for _, k := range varying {
		if text := cells[k]; strings.TrimSpace(text) != "" {
			name := p.columns[k].property
			for p.inItem[name] {
				name += "_column"
			}
			out = append(appendName(out, name), quote(text)...)
		}
	}
	return append(out, '}'), len(out) > 1
}
