package importer

import (
	"slices"
	"strings"

	"tallybook/records"
)

// FieldInfo is a field that a column may hold, for a form in which a person
// says so.
type FieldInfo struct {
	Name   string   // as a mapping writes it: total_depth, strata.top
	Part   string   // the part of a record that it belongs to, "" for the record itself
	Date   bool     // a date: its order may be said
	Units  []string // symbols of the units that it may be in
	Datum  bool     // a datum may be said
	Listed bool     // the part is a list, of which a table of wells gives the first
}

// Fields lists the fields that columns may hold, in the order of the profile.
func Fields() []FieldInfo {
	var out []FieldInfo
	for _, f := range tableFields() {
		if f.beside || f.kind == extraField {
			continue
		}
		info := FieldInfo{Name: f.name, Date: f.kind == dateField, Listed: f.list}
		if part, _, nested := strings.Cut(f.name, "."); nested {
			info.Part = part
		}
		if (f.kind == quantityField || f.kind == logField) && f.dimension.Base() != records.NoUnit {
			info.Units = unitSymbols(f.dimension)
		}
		info.Datum = checkDatum(f, "NAD83") == nil || checkDatum(f, "NAVD88") == nil
		out = append(out, info)
	}
	return out
}

// Fit tells how well a mapping fits what a look has seen: how many of the
// columns that it gives a meaning are there, of how many, and which are not.
func (m *Mapping) Fit(l *Look) (there, all int, missing []string) {
	for i := range m.Sheets {
		sm := &m.Sheets[i]
		if sm.Role == Skip {
			continue
		}
		var names []string
		for k := range l.Sheets {
			if m.SheetFor(l.Sheets[k].Name, len(l.Sheets) == 1) == sm {
				for _, c := range l.Sheets[k].Columns {
					names = append(names, c.Name)
				}
			}
		}
		for _, s := range sm.Splits {
			names = append(names, s.Into...)
		}
		for _, j := range sm.Joins {
			names = append(names, j.Into)
		}
		for _, c := range sm.Columns {
			if c.Field == "" {
				continue
			}
			all++
			if slices.ContainsFunc(names, func(n string) bool { return n == c.Column || plainName(n) == plainName(c.Column) }) {
				there++
			} else {
				missing = append(missing, c.Column)
			}
		}
	}
	return there, all, missing
}
