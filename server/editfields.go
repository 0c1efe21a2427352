package server

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"

	"tallybook/records"
)

// editPart is a part of the form under a name.
type editPart struct {
	ID, Title, Lead string
	Fields          []editField
	Lists           []editList
	Place, Ground   bool // the map stands in it; the drawing of the log does
}

// editField is a field: what is typed, and what is wrong with it.
type editField struct {
	ID, Name, Label, Hint string
	Value                 string
	Class                 string // figure, date, words
	Long                  bool
	Unit                  *editUnitChoice
	Options               []choice
	Faults                []editFault
	Focus                 bool
	Across                bool
	Private               bool // left off paper
}

// editUnitChoice is the choice of the unit beside a field, or of a column.
type editUnitChoice struct {
	ID, Name, Label string
	Short           string // the column alone
	Options         []choice
}

// editFault is something wrong: Bad refuses the record, else it is doubtful.
type editFault struct {
	Bad  bool
	Text string
}

// editList is a list with its rows.
type editList struct {
	Path, Title, One, An string
	Lead                 string
	Table                bool
	Columns              []editColumn
	Rows                 []editRow
	Blank                editRow // for a script to copy; its number is '#'
	Units                []editUnitChoice
	AsideLabel           string // what the second line of a row holds; "" for none
	AsideOn              bool
	Faults               []editFault
	TooLong              string
}

// editColumn is the head of a column.
type editColumn struct {
	Label, Class string
	Unit         *editUnitChoice
}

// editRow is a row of a list.
type editRow struct {
	Number, Was, Said string // from 0; the row of the base; 'stratum 3'
	Cells, Aside      []editField
	Faults            []editFault
	Blank             bool
}

// editFaults are the faults by field of the form; rest have none.
type editFaults struct {
	byField map[string][]editFault
	rest    []editFault
	bad     int
}

// sortFaults puts faults beside the fields of a form.
func sortFaults(faults []records.Fault, r *records.Reading, t records.Typed) editFaults {
	out := editFaults{byField: map[string][]editFault{}}
	seen := map[string]bool{}
	for _, x := range faults {
		f := editFault{Bad: x.Severity == records.Refusal, Text: faultText(x)}
		field := r.Field(x.Field)
		if seen[field+f.Text] {
			continue
		}
		seen[field+f.Text] = true
		if f.Bad {
			out.bad++
		}
		if _, ok := t[field]; !ok && !t.Has(field) && !rowField(field) {
			if x.Field != "" {
				f.Text = capital(fieldWords(x.Field)) + " " + f.Text
			}
			out.rest = append(out.rest, f)
			continue
		}
		out.byField[field] = append(out.byField[field], f)
	}
	return out
}

// rowField says whether a field of the form is a row of a list, or in one.
func rowField(field string) bool {
	list, rest, isRow := strings.Cut(field, "[")
	_, name, inRow := strings.Cut(rest, "].")
	return isRow && slices.Contains(editLists(), list) && (!inRow || slices.ContainsFunc(columnsOf(list), func(p editProp) bool { return p.Name == name }))
}

func faultText(x records.Fault) string {
	t := x.Message
	if x.Mend != "" {
		t += ": " + x.Mend
	}
	return strings.TrimSuffix(propertyName.ReplaceAllStringFunc(t, func(name string) string {
		if propertyNames()[name] {
			return strings.ReplaceAll(withoutUnit(name), "_", " ")
		}
		return name
	}), ".") + "."
}

// propertyName is what a name of a property in a sentence looks like, and
// propertyNames are those that there are.
var propertyName = regexp.MustCompile(`\b[a-z]+(?:_[a-z]+)+\b`)

var propertyNames = sync.OnceValue(func() map[string]bool {
	out := map[string]bool{}
	for _, p := range records.Profile() {
		out[p.Name[strings.LastIndexByte(p.Name, '.')+1:]] = true
	}
	return out
})

// editView builds the view of a form.
type editView struct {
	form    *editForm
	private bool
	faults  editFaults
	focus   string // the field that has the keyboard; "" for none
}

func fieldID(name string) string {
	return "e-" + strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '_', r == '#':
			return r
		case r == ']':
			return -1
		}
		return '-'
	}, name)
}

func (v *editView) parts() []editPart {
	var out []editPart
	for _, plan := range plannedParts() {
		p := editPart{ID: plan.id, Title: plan.title, Lead: plan.lead, Place: plan.id == "place", Ground: plan.id == "ground"}
		for _, name := range plan.fields {
			for _, prop := range propsOf(name) {
				if !prop.Private || v.private {
					p.Fields = append(p.Fields, sentences(v.field(prop, prop.Path, editLabel(prop))))
				}
			}
		}
		for _, list := range plan.lists {
			p.Lists = append(p.Lists, v.list(list))
		}
		out = append(out, p)
	}
	return out
}

// sentences begins each fault of a field as one.
func sentences(f editField) editField {
	out := make([]editFault, len(f.Faults))
	for i, x := range f.Faults {
		out[i] = editFault{x.Bad, capital(x.Text)}
	}
	f.Faults = out
	return f
}

// field is one field of the form.
func (v *editView) field(p editProp, name, label string) editField {
	f := editField{ID: fieldID(name), Name: name, Label: label, Hint: editHints[p.Path], Value: v.form.Typed[name], Faults: v.faults.byField[name], Focus: name == v.focus, Private: p.Private}
	switch {
	case p.Quantity != nil:
		f.Class = "figure"
		if p.List == "" && p.Quantity.Dimension != records.DimNone {
			f.Unit = v.unit(p, name, label)
		}
	case p.Type == "whole":
		f.Class = "figure"
	case p.Type == "date":
		f.Class = "date"
	case p.Type == "word":
		f.Options = wordChoices(p.Words, f.Value)
	case p.Type == "flag":
		for _, w := range []string{"", "yes", "no"} {
			f.Options = append(f.Options, choice{w, orElse(w, "not said"), w == f.Value})
		}
	default:
		f.Class = "words"
		f.Across = slices.Contains(editLong, p.Path)
		f.Long = f.Across || strings.Contains(f.Value, "\n")
	}
	return f
}

// wordChoices are the words of a closed list, and the one that stands there
// though it is none of them.
func wordChoices(list []string, now string) []choice {
	out := []choice{{"", "not said", now == ""}}
	found := now == ""
	for _, w := range list {
		out = append(out, choice{w, plainWord(w), w == now})
		found = found || w == now
	}
	if !found {
		out = append(out, choice{now, clipText(now, 60), true})
	}
	return out
}

// unit is the choice of a unit; of a column it bears the column's name.
func (v *editView) unit(p editProp, name, label string) *editUnitChoice {
	c := &editUnitChoice{ID: fieldID(name + ".unit"), Name: name + ".unit", Label: "Unit of " + uncapital(label)}
	now := v.form.Typed[c.Name]
	if now == "" {
		now = editUnit(units{v.form.In})(p.Quantity.Dimension).Symbol()
	}
	for _, u := range p.Quantity.Units {
		c.Options = append(c.Options, choice{u.Symbol(), strings.NewReplacer("m3", "m³", "ft3", "ft³").Replace(u.Symbol()), u.Symbol() == now})
	}
	return c
}

// fewRows is how many empty rows a list begins with in a new record.
var fewRows = map[string]int{"strata": 3, "casing": 1, "strikes": 1}

func (v *editView) list(list string) editList {
	l := editList{Path: list, Title: editTitle(list), Lead: editLeads[list], One: editOne(list), Faults: v.faults.byField[list]}
	if l.An = "a"; list == "casing" || list == "grout" { // stuff, not a thing
		l.An = ""
	}
	if !v.form.Typed.Has(list) && v.form.ID > 0 {
		l.TooLong = "There are more rows than a form holds; they stay as they are."
		return l
	}
	columns := columnsOf(list)
	aside := editAside[list]
	l.Table = len(columns)-len(aside) <= mostTableColumns
	for _, p := range columns {
		c := editColumn{Label: editLabel(p)}
		if p.Quantity != nil {
			c.Class = "figure"
			if p.Quantity.Dimension != records.DimNone {
				c.Unit = v.unit(p, list+"."+p.Name, editTitle(list)+", "+c.Label)
				c.Unit.Short = c.Label
				l.Units = append(l.Units, *c.Unit)
			}
		}
		if p.Type == "text" {
			c.Class = "words"
		}
		if !slices.Contains(aside, p.Name) {
			l.Columns = append(l.Columns, c)
		} else {
			l.AsideLabel = strings.TrimPrefix(l.AsideLabel+", "+c.Label, ", ")
		}
	}
	rows := v.form.Typed.RowsOf(list)
	for _, i := range rows {
		l.Rows = append(l.Rows, v.row(list, columns, strconv.Itoa(i), i))
	}
	blanks := 0
	if v.form.ID == 0 {
		blanks = fewRows[list] - len(rows)
	}
	if list == "strata" && (len(l.Rows) == 0 || !l.Rows[len(l.Rows)-1].Blank) {
		blanks = max(blanks, 1)
	}
	next := 0
	if n := len(rows); n > 0 {
		next = rows[n-1] + 1
	}
	for range blanks {
		l.Rows = append(l.Rows, v.row(list, columns, strconv.Itoa(next), next))
		next++
	}
	l.Blank = v.row(list, columns, "#", -1)
	for _, r := range l.Rows {
		for _, c := range r.Aside {
			l.AsideOn = l.AsideOn || c.Value != "" || len(c.Faults) > 0
		}
	}
	return l
}

func (v *editView) row(list string, columns []editProp, number string, i int) editRow {
	at := list + "[" + number + "]"
	r := editRow{Number: number, Was: v.form.Typed[at+".was"], Said: editOne(list) + " #", Faults: v.faults.byField[at], Blank: true}
	if i >= 0 {
		r.Said = fmt.Sprintf("%s %d", editOne(list), i+1)
	}
	for _, p := range columns {
		f := v.field(p, at+"."+p.Name, r.Said+", "+editLabel(p))
		f.Hint = ""
		r.Blank = r.Blank && f.Value == ""
		for _, x := range f.Faults {
			x.Text = capital(editLabel(p)) + " " + x.Text
			r.Faults = append(r.Faults, x)
		}
		if slices.Contains(editAside[list], p.Name) {
			f.Hint = editLabel(p) // the second line names its fields
			r.Aside = append(r.Aside, f)
		} else {
			r.Cells = append(r.Cells, f)
		}
	}
	return r
}

// rowOfList is a row with what its list says of it, for a template.
type rowOfList struct {
	List    string
	Table   bool
	Columns []editColumn
	Span    []struct{} // as many as a line has cells
	Row     editRow
}

// With puts a row beside what its list says of it.
func (l editList) With(r editRow) rowOfList {
	return rowOfList{List: l.Path, Table: l.Table, Columns: l.Columns, Span: make([]struct{}, len(l.Columns)+1), Row: r}
}
