package server

import (
	"regexp"
	"strconv"
	"strings"

	"tallybook/records"
	"tallybook/records/scout"
)

// officeFieldView is one control of the form.
type officeFieldView struct {
	ID, Name, Label string
	Does, Caution   string
	Value, Unit     string
	// One of these says what kind of control it is; none for a line of text.
	Number, Long, Date, Flag bool
	Wide                     bool         // what it does stands below it
	Options                  []optionView // of a choice
	Offered                  []string     // words offered for a line of text
	Lines                    []optionView // several may be chosen
	Faults                   []string
	Focus                    bool
}

// optionView is one thing that may be chosen.
type optionView struct {
	Value, Label string
	On           bool
}

// officePartView is a part of the form.
type officePartView struct {
	ID, Title, Lead string
	Cautions        []string
	Fields          []officeFieldView
	Rows            *officeRowsView
	After           []officeFieldView
}

// officeRowsView is a list of the form.
type officeRowsView struct {
	Path, Word string
	Heads      []head
	Rows       []officeRowView
	Faults     []string
}

// officeRowView is a row of the form; Row counts from nought, and a blank row
// has nothing to take out.
type officeRowView struct {
	Row    int
	Blank  bool
	Out    string // what taking it out is called
	Cells  []officeFieldView
	Own    []string // faults of the row as a whole
	Faults bool
}

// officeFaults are the faults of a form by the field they are about. Those that
// no field takes are said at its head.
type officeFaults struct {
	by    map[string][]records.Fault
	order []string
}

// faultsOf sorts faults by field. A fault of the form hides what follows from
// it in the same row: a price that cannot be read is not missing as well.
func faultsOf(ofForm, ofDocument []records.Fault) *officeFaults {
	o := &officeFaults{by: map[string][]records.Fault{}}
	add := func(key string, f records.Fault) {
		if o.by[key] == nil {
			o.order = append(o.order, key)
		}
		o.by[key] = append(o.by[key], f)
	}
	hidden := map[string]bool{}
	for _, f := range ofForm {
		add(f.Field, f)
		hidden[f.Field], hidden[rowOf(f.Field)] = true, true
	}
	for _, f := range ofDocument {
		key := fieldKey(f.Field)
		if f.Field == "" && f.Severity == records.Warning || hidden[key] {
			continue // what is missing is said apart
		}
		add(key, f)
	}
	return o
}

// rowOf is the row that a field stands in: 'drilling.2' of 'drilling.2.to'; the
// field itself where it stands alone.
func rowOf(key string) string {
	parts := strings.Split(key, ".")
	if len(parts) == 3 {
		return parts[0] + "." + parts[1]
	}
	return key
}

// take gives the faults of a field in words, each once.
func (o *officeFaults) take(key string, f *officeField) []string {
	if o == nil {
		return nil
	}
	var out []string
	for _, k := range o.order {
		if k != key && (f == nil || f.kind != asLines || !strings.HasPrefix(k, key+".")) {
			continue
		}
		for _, fault := range o.by[k] {
			out = append(out, officeFaultWords(fault, f))
		}
		delete(o.by, k)
	}
	return out
}

// rest are the faults that no field took.
func (o *officeFaults) rest() []string {
	if o == nil {
		return nil
	}
	var out []string
	for _, k := range o.order {
		for _, fault := range o.by[k] {
			words := officeFaultWords(fault, nil)
			if fault.Field != "" && !strings.Contains(words, fault.Field) {
				words = "“" + fault.Field + "” " + uncapital(words)
			}
			out = append(out, words)
		}
	}
	return out
}

var (
	fileRow   = regexp.MustCompile(`\b[a-z_]+\[(\d+)\]`)
	centsHead = regexp.MustCompile(`^(-?\d+) cents`)
)

// officeFaultWords says a fault as a person at the form reads it: without the
// names and the numbers of the file.
func officeFaultWords(f records.Fault, field *officeField) string {
	message, mend := f.Message, f.Mend
	message = fileRow.ReplaceAllStringFunc(message, func(t string) string {
		i, err := strconv.Atoi(fileRow.FindStringSubmatch(t)[1])
		if err != nil {
			return t
		}
		return "row " + strconv.Itoa(i+1)
	})
	message = centsHead.ReplaceAllStringFunc(message, func(t string) string {
		n, err := strconv.ParseInt(centsHead.FindStringSubmatch(t)[1], 10, 64)
		if err != nil {
			return t
		}
		return money(scout.Cents(n), "")
	})
	switch {
	case strings.HasPrefix(mend, "set cents_per_"):
		mend = "write its price, or take the row out"
	case strings.Contains(mend, "15.50 is 1550"):
		mend = "write it like 12.50"
	case strings.Contains(mend, `"us"`):
		mend = "choose feet or metres"
	case strings.Contains(mend, "0.06"):
		message, mend = "is no share from 0 to 100 %", "write 6 for 6 %"
	case strings.Contains(mend, "between quotes"):
		mend = "write it again"
	}
	words := capital(message)
	if field != nil && startsAsVerb(message) {
		words = field.label + " " + message
		if field.label == uncapital(field.label) { // a column's head
			words = "“" + field.label + "” " + message
		}
	}
	if mend != "" {
		words += ": " + mend
	}
	return words + "."
}

func startsAsVerb(t string) bool {
	first, _, _ := strings.Cut(t, " ")
	switch first {
	case "is", "are", "has", "names", "ends", "begins":
		return true
	}
	return false
}

// view sets the form out. extra is how many blank rows stand below each list,
// one where nothing is said; focus is the list whose last blank row is to be
// typed in.
func (form *officeForm) view(faults *officeFaults, extra map[string]int, focus string) []officePartView {
	var out []officePartView
	for i := range form.sheet.parts {
		p := &form.sheet.parts[i]
		v := officePartView{ID: "part-" + p.id, Title: p.title, Lead: p.lead, Cautions: p.cautions}
		for j := range p.fields {
			v.Fields = append(v.Fields, form.control(&p.fields[j], p.fields[j].path, faults))
		}
		for j := range p.after {
			v.After = append(v.After, form.control(&p.after[j], p.after[j].path, faults))
		}
		if p.rows != nil {
			v.Rows = form.rowsView(p.rows, faults, max(1, extra[p.rows.path]), focus == p.rows.path)
		}
		out = append(out, v)
	}
	return out
}

// head names a column, with the unit of its figures.
func (f *officeField) head(form *officeForm) string {
	if unit := f.said(form.units, form.typed[currencyPath]); unit != "" {
		return f.label + ", " + unit
	}
	return f.label
}

func (form *officeForm) rowsView(l *officeRows, faults *officeFaults, blanks int, focus bool) *officeRowsView {
	v := &officeRowsView{Path: l.path, Word: l.word}
	for j := range l.fields {
		f := &l.fields[j]
		v.Heads = append(v.Heads, head{Text: f.head(form), Number: f.isFigure()})
	}
	typed := form.rows[l.path]
	for i := range min(typed+blanks, mostOfficeRows) {
		row := officeRowView{Row: i, Blank: i >= typed, Out: "Take out " + l.word + " " + strconv.Itoa(i+1)}
		for j := range l.fields {
			f := &l.fields[j]
			c := form.control(f, rowKey(l.path, i, f.path), faults)
			c.Label = f.label + ", " + l.word + " " + strconv.Itoa(i+1)
			c.Focus = focus && j == 0 && i == typed+blanks-1
			row.Faults = row.Faults || len(c.Faults) > 0
			row.Cells = append(row.Cells, c)
		}
		row.Own = faults.take(l.path+"."+strconv.Itoa(i), &officeField{label: "This " + l.word})
		row.Faults = row.Faults || len(row.Own) > 0
		v.Rows = append(v.Rows, row)
	}
	v.Faults = faults.take(l.path, nil)
	return v
}

func (form *officeForm) control(f *officeField, key string, faults *officeFaults) officeFieldView {
	v := officeFieldView{
		ID: "f-" + strings.ReplaceAll(key, ".", "-"), Name: key, Label: f.label, Does: f.does, Caution: f.caution,
		Value: form.typed[key], Unit: f.said(form.units, form.typed[currencyPath]), Faults: faults.take(key, f),
	}
	v.Number = f.isFigure()
	switch f.kind {
	case asWords:
		v.Wide = !f.short
	case asLongWords:
		v.Long, v.Wide = true, true
	case asDate:
		v.Date = true
	case asFlag:
		v.Flag = true
	case asCoined:
		for _, c := range f.choices {
			v.Offered = append(v.Offered, c.Label)
		}
	case asLines:
		for _, c := range f.choices {
			v.Lines = append(v.Lines, optionView{c.Word, c.Label, form.typed[key+"."+c.Word] != ""})
		}
	case asChoice:
		known := false
		for _, c := range f.choices {
			known = known || c.Word == v.Value
			v.Options = append(v.Options, optionView{c.Word, c.Label, c.Word == v.Value})
		}
		if !known { // a word of somebody else's is kept
			v.Options = append(v.Options, optionView{v.Value, v.Value, true})
		}
	}
	return v
}
