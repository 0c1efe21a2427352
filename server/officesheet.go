package server

import (
	"encoding/json"
	"fmt"
	"net/url"
	"regexp"
	"strconv"
	"strings"

	"tallybook/records"
	"tallybook/records/scout"
)

// officeSheet describes the form of one document of the office: its parts, in
// the order in which they stand on the page.
type officeSheet struct {
	parts []officePart
}

// officePart is some fields under one heading, and at most one list of rows.
type officePart struct {
	id, title, lead string
	cautions        []string
	fields          []officeField
	rows            *officeRows
	after           []officeField // fields that stand below the rows
}

// officeRows is a list of the document.
type officeRows struct {
	path   string
	word   string // what one of them is called
	fields []officeField
}

// mostOfficeRows is how many rows of a list a form may hold.
const mostOfficeRows = 500

// officeForm is a document as it stands in the form, each value as typed.
type officeForm struct {
	sheet *officeSheet
	units scout.Units // that the figures are in, and the labels name
	typed map[string]string
	rows  map[string]int // how many of each list
}

// each visits every field that stands alone.
func (sh *officeSheet) each(fn func(p *officePart, f *officeField)) {
	for i := range sh.parts {
		p := &sh.parts[i]
		for j := range p.fields {
			fn(p, &p.fields[j])
		}
		for j := range p.after {
			fn(p, &p.after[j])
		}
	}
}

// lists visits every list.
func (sh *officeSheet) lists(fn func(l *officeRows)) {
	for i := range sh.parts {
		if l := sh.parts[i].rows; l != nil {
			fn(l)
		}
	}
}

func rowKey(list string, i int, field string) string { return fmt.Sprintf("%s.%d.%s", list, i, field) }

func (sh *officeSheet) blank(u scout.Units) *officeForm {
	return &officeForm{sheet: sh, units: u, typed: map[string]string{}, rows: map[string]int{}}
}

// fill reads a document into a form. ok is false where the text is no JSON
// object: nothing could be read then.
func (sh *officeSheet) fill(text []byte) (form *officeForm, ok bool) {
	top := map[string]json.RawMessage{}
	form = sh.blank(0)
	if json.Unmarshal(text, &top) != nil {
		return form, false
	}
	unitsField := officeField{path: unitsPath, kind: asWords}
	form.units = parseUnits(unitsField.shown(top[unitsPath]))
	groups := map[string]map[string]json.RawMessage{"": top}
	member := func(property string) json.RawMessage {
		group, name, nested := strings.Cut(property, ".")
		if !nested {
			return top[property]
		}
		if groups[group] == nil {
			inner := map[string]json.RawMessage{}
			if json.Unmarshal(top[group], &inner) != nil {
				inner = map[string]json.RawMessage{}
			}
			groups[group] = inner
		}
		return groups[group][name]
	}
	sh.each(func(_ *officePart, f *officeField) {
		form.set(f, f.path, member(f.property(form.units)))
	})
	sh.lists(func(l *officeRows) {
		var rows []json.RawMessage
		if json.Unmarshal(top[l.path], &rows) != nil {
			return
		}
		for i, raw := range rows[:min(len(rows), mostOfficeRows)] {
			row := map[string]json.RawMessage{}
			if json.Unmarshal(raw, &row) != nil {
				row = map[string]json.RawMessage{}
			}
			for j := range l.fields {
				f := &l.fields[j]
				form.set(f, rowKey(l.path, i, f.path), row[f.property(form.units)])
			}
			form.rows[l.path] = i + 1
		}
	})
	return form, true
}

func (form *officeForm) set(f *officeField, key string, raw json.RawMessage) {
	if f.kind == asLines {
		var words []string
		if json.Unmarshal(raw, &words) == nil {
			for _, w := range words {
				form.typed[key+"."+w] = "yes"
			}
		}
		return
	}
	if t := f.shown(raw); t != "" {
		form.typed[key] = t
	}
}

// unitsPath is the property that says the units of a table.
const unitsPath = "units"

func parseUnits(word string) scout.Units {
	for _, u := range []scout.Units{scout.US, scout.SI} {
		if u.String() == word {
			return u
		}
	}
	return 0
}

// read takes a form as it was sent. Rows in which nothing was typed are
// dropped; blanks says how many there were of each list.
func (sh *officeSheet) read(sent url.Values) (form *officeForm, blanks map[string]int) {
	form, blanks = sh.blank(parseUnits(sent.Get("was"))), map[string]int{}
	take := func(f *officeField, from, to string) bool {
		if f.kind == asLines {
			for _, c := range f.choices {
				if sent.Has(from + "." + c.Word) {
					form.typed[to+"."+c.Word] = "yes"
				}
			}
			return false
		}
		t := strings.TrimSpace(sent.Get(from))
		if t != "" {
			form.typed[to] = t
		}
		return t != ""
	}
	sh.each(func(_ *officePart, f *officeField) { take(f, f.path, f.path) })
	sh.lists(func(l *officeRows) {
		for i := range sentRows(sent, l.path) {
			any := false
			for j := range l.fields {
				f := &l.fields[j]
				any = take(f, rowKey(l.path, i, f.path), rowKey(l.path, form.rows[l.path], f.path)) || any
			}
			if any {
				form.rows[l.path]++
			} else {
				blanks[l.path]++
			}
		}
	})
	return form, blanks
}

// sentRows is how many rows of a list a form holds.
func sentRows(sent url.Values, list string) int {
	n := 0
	for name := range sent {
		rest, ok := strings.CutPrefix(name, list+".")
		if !ok {
			continue
		}
		digits, _, _ := strings.Cut(rest, ".")
		if i, err := strconv.Atoi(digits); err == nil && i >= n && i < mostOfficeRows {
			n = i + 1
		}
	}
	return n
}

// drop takes a row out.
func (form *officeForm) drop(list string, row int) {
	n := form.rows[list]
	if row < 0 || row >= n {
		return
	}
	form.sheet.lists(func(l *officeRows) {
		if l.path != list {
			return
		}
		for i := row; i < n; i++ {
			for j := range l.fields {
				key := rowKey(list, i, l.fields[j].path)
				delete(form.typed, key)
				if t, ok := form.typed[rowKey(list, i+1, l.fields[j].path)]; ok {
					form.typed[key] = t
				}
			}
		}
		form.rows[list] = n - 1
	})
}

// document writes the form as the text of a file. What cannot be read as what
// it is to be is left out and reported.
func (form *officeForm) document() (text []byte, faults []records.Fault) {
	currency := form.typed[currencyPath]
	top := map[string]json.RawMessage{}
	groups := map[string]map[string]json.RawMessage{}
	put := func(into map[string]json.RawMessage, f *officeField, key string) {
		property := f.property(form.units)
		if f.kind == asLines {
			if words := form.lines(f, key); len(words) > 0 {
				into[property] = mustJSON(words)
			}
			return
		}
		typed := form.typed[key]
		if typed == "" {
			return
		}
		raw, fault := f.raw(typed, form.units, currency)
		if fault != nil {
			fault.Field = key
			faults = append(faults, *fault)
			return
		}
		into[property] = raw
	}
	if form.units != 0 {
		top[unitsPath] = mustJSON(form.units.String())
	}
	form.sheet.each(func(_ *officePart, f *officeField) {
		group, name, nested := strings.Cut(f.path, ".")
		if !nested {
			put(top, f, f.path)
			return
		}
		if groups[group] == nil {
			groups[group] = map[string]json.RawMessage{}
		}
		inner := *f
		inner.path = name
		put(groups[group], &inner, f.path)
	})
	for name, inner := range groups {
		if len(inner) > 0 {
			top[name] = mustJSON(inner)
		}
	}
	form.sheet.lists(func(l *officeRows) {
		rows := make([]map[string]json.RawMessage, form.rows[l.path])
		for i := range rows {
			rows[i] = map[string]json.RawMessage{}
			for j := range l.fields {
				put(rows[i], &l.fields[j], rowKey(l.path, i, l.fields[j].path))
			}
		}
		if len(rows) > 0 {
			top[l.path] = mustJSON(rows)
		}
	})
	return mustJSON(top), faults
}

const currencyPath = "currency"

// lines are the words of a list that were chosen.
func (form *officeForm) lines(f *officeField, key string) []string {
	var words []string
	for _, c := range f.choices {
		if form.typed[key+"."+c.Word] != "" {
			words = append(words, c.Word)
		}
	}
	return words
}

// mustJSON writes what cannot fail to be written: texts, and values that are
// JSON already.
func mustJSON(v any) json.RawMessage {
	b, err := json.Marshal(v)
	if err != nil {
		panic("server: a form of texts and checked numbers cannot fail to be written: " + err.Error())
	}
	return b
}

var (
	rowIndex   = regexp.MustCompile(`\[(\d+)\]`)
	unitEnding = regexp.MustCompile(`_(ft|m|in|mm|gal|l|gpm|lps)$`)
	byLength   = regexp.MustCompile(`(^|\.|_)cents_per_(ft|m)$`)
)

// fieldKey is the field of the form that a fault of the document is about:
// 'drilling[2].to_ft' is 'drilling.2.to'.
func fieldKey(path string) string {
	if path == "sealing by length" {
		return "sealing_by_length"
	}
	key := rowIndex.ReplaceAllString(path, ".$1")
	if t := byLength.ReplaceAllString(key, "${1}by_length"); t != key {
		return t
	}
	return unitEnding.ReplaceAllString(key, "")
}
