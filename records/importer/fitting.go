package importer

import (
	"fmt"
	"slices"
)

// Applied gives what of the mapping a source can take, and says in words what
// does not fit: columns and sheets that the source does not have, and columns
// of the source that the mapping does not name, which are kept as they stand.
// The mapping itself is not changed.
func (m *Mapping) Applied(l *Look) (fits *Mapping, told []string) {
	fits = &Mapping{Version: m.Version, Name: m.Name}
	taken := make(map[*SheetMapping]bool)
	for i := range l.Sheets {
		s := &l.Sheets[i]
		of := m.SheetFor(s.Name, i == 0 && (l.Format != XLSX || len(l.Sheets) == 1))
		if of == nil {
			told = append(told, fmt.Sprintf("%s: the mapping says nothing of it; it is not read", s.title()))
			fits.Sheets = append(fits.Sheets, SheetMapping{Sheet: s.Name, Role: Skip})
			continue
		}
		if taken[of] {
			continue
		}
		taken[of] = true
		one, words := of.applied(s)
		fits.Sheets = append(fits.Sheets, one)
		told = append(told, words...)
	}
	for i := range m.Sheets {
		if s := &m.Sheets[i]; !taken[s] && s.Role != Skip {
			told = append(told, fmt.Sprintf("%s of the mapping is not there", s.title()))
		}
	}
	return fits, told
}

func (s *SheetLook) title() string {
	if s.Name == "" {
		return "the table"
	}
	return fmt.Sprintf("sheet %q", s.Name)
}

// applied is Applied for one sheet.
func (s *SheetMapping) applied(l *SheetLook) (SheetMapping, []string) {
	out, made := *s, make(map[string]bool)
	out.Sheet = l.Name
	if out.Role == Skip {
		return out, nil
	}
	out.Columns, out.Splits, out.Joins = nil, nil, nil
	var told []string
	missing := func(what, name string) {
		told = append(told, fmt.Sprintf("%s: %s %q, which is not there", l.title(), what, name))
	}
	there := func(name string) bool { return made[plainName(name)] || l.columnNamed(plainName(name)) >= 0 }
	for _, split := range s.Splits {
		if !there(split.Column) {
			missing("the mapping cuts the column", split.Column)
			continue
		}
		out.Splits = append(out.Splits, split)
		for _, name := range split.Into {
			made[plainName(name)] = true
		}
	}
	for _, join := range s.Joins {
		if k := slices.IndexFunc(join.Columns, func(c string) bool { return !there(c) }); k >= 0 {
			missing("the mapping joins the column", join.Columns[k])
			continue
		}
		out.Joins = append(out.Joins, join)
		made[plainName(join.Into)] = true
	}
	named := make(map[string]bool)
	for _, c := range s.Columns {
		named[plainName(c.Column)] = true
		if !there(c.Column) {
			if c.Field != "" {
				missing(fmt.Sprintf("the mapping takes %s from the column", c.Field), c.Column)
			}
			continue
		}
		out.Columns = append(out.Columns, c)
	}
	for i := range l.Columns {
		if name := l.Columns[i].Name; !named[plainName(name)] {
			told = append(told, fmt.Sprintf("%s: the column %q is not named in the mapping and is kept as it stands", l.title(), name))
		}
	}
	return out, told
}
