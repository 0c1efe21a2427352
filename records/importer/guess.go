package importer

import (
	"fmt"
	"slices"
	"strings"

	"tallybook/records"
)

// Guess proposes a mapping for what a look has seen: by the names of sheets
// and columns and what stands in them. It is for a person to look through; the
// look says beside each column why.
func Guess(l *Look) *Mapping {
	m := &Mapping{Version: MappingVersion}
	for i := range l.Sheets {
		s := &l.Sheets[i]
		sm := SheetMapping{Sheet: s.Name, Role: s.Role, Key: s.Key}
		if s.Header > 1 {
			sm.Header = s.Header
		}
		if s.Role != Skip {
			for k := range s.Columns {
				c := &s.Columns[k]
				sm.Columns = append(sm.Columns, ColumnMapping{Column: c.Name, Field: c.Field, Unit: c.Unit, Datum: c.Datum, Order: c.Order})
			}
		}
		m.Sheets = append(m.Sheets, sm)
	}
	return m
}

// guessRoles guesses what the sheets are and what their columns mean.
func (l *Look) guessRoles() {
	wells := -1
	for i := range l.Sheets {
		s := &l.Sheets[i]
		if s.Role == "" {
			s.guessRole(len(l.Sheets) == 1)
		}
		if s.Role != Wells {
			continue
		}
		if wells < 0 || l.wellness(i) > l.wellness(wells) {
			if wells >= 0 {
				l.Sheets[wells].skip("another sheet looks more like the wells")
			}
			wells = i
		} else {
			s.skip("another sheet looks more like the wells")
		}
	}
	if wells < 0 && len(l.Sheets) > 1 { // parts of nothing
		l.Notes = append(l.Notes, "no sheet looks like the wells themselves; say which is")
	}
	l.guessKeys(wells)
	for i := range l.Sheets {
		l.Sheets[i].joined = wells >= 0 && i != wells
		l.Sheets[i].guessColumns()
	}
}

func (s *SheetLook) skip(why string) { s.Role, s.Why = Skip, why }

// wellness counts the columns that belong to a well as a whole.
func (l *Look) wellness(i int) int {
	n := 0
	for k := range l.Sheets[i].Columns {
		if f, _, _ := guessField(Wells, l.Sheets[i].Columns[k].Name); f.name != "" && !f.list {
			n++
		}
	}
	return n
}

// guessRole goes by the sheet's name, then by what its columns could be. The
// only table of a source is of wells, by itself or row by row with a part.
func (s *SheetLook) guessRole(alone bool) {
	if len(s.Columns) == 0 {
		s.skip("it is empty")
		return
	}
	if alone {
		s.Role, s.Why = Wells, "it is the only table"
		if s.fits(Wells) > 0 {
			s.Why = "its columns are those of wells"
			if s.repeatedParts() {
				s.Role, s.Why = StrataRows, "it has the wells' columns and, row by row, their strata"
			}
		}
		return
	}
	name := plainName(s.Name)
	for _, w := range sheetWords {
		if strings.Contains(name, w.piece) && s.fits(w.role) > 0 {
			s.Role, s.Why = w.role, fmt.Sprintf("by its name, %q", s.Name)
			return
		}
	}
	best, most := Role(""), 0
	for _, r := range Roles() {
		if n := s.fits(r); r != Skip && n > most {
			best, most = r, n
		}
	}
	if most > 1 || s.Name == "" && most > 0 {
		s.Role, s.Why = best, "by its columns"
		return
	}
	s.skip("none of its columns is known")
}

// fits counts the columns that are known for a role.
func (s *SheetLook) fits(r Role) int {
	n := 0
	seen := make(map[string]bool)
	for i := range s.Columns {
		f, _, ok := guessField(r, s.Columns[i].Name)
		if !ok || seen[f.name] || r != Wells && !strings.HasPrefix(f.name, string(r)+".") {
			continue
		}
		seen[f.name] = true
		n++
	}
	return n
}

// repeatedParts says whether the table looks like strata with the columns of
// their well on every row: an interval and a description in each, and a key
// that several rows in a row have.
func (s *SheetLook) repeatedParts() bool {
	seen := make(map[string]bool)
	for i := range s.Columns {
		if f, _, ok := guessField(StrataRows, s.Columns[i].Name); ok {
			seen[f.name] = true
		}
	}
	if !seen["strata.top"] || !seen["strata.bottom"] || !seen["strata.description"] {
		return false
	}
	key := s.keyAmong(nil)
	return key >= 0 && s.Columns[key].again > 0
}

// keyAmong is the likeliest key column that all of the others have too; -1
// for none.
func (s *SheetLook) keyAmong(others []*SheetLook) int {
	for _, word := range keyWords {
		for i := range s.Columns {
			if plainName(s.Columns[i].Name) != word {
				continue
			}
			if !slices.ContainsFunc(others, func(o *SheetLook) bool { return o.columnNamed(word) < 0 }) {
				return i
			}
		}
	}
	return -1
}

func (s *SheetLook) columnNamed(plain string) int {
	for i := range s.Columns {
		if plainName(s.Columns[i].Name) == plain {
			return i
		}
	}
	return -1
}

// guessKeys finds the column that joins the sheets.
func (l *Look) guessKeys(wells int) {
	var others []*SheetLook
	for i := range l.Sheets {
		if s := &l.Sheets[i]; i != wells && s.Role != Skip {
			others = append(others, s)
		}
	}
	if wells < 0 {
		if len(others) == 1 {
			if k := others[0].keyAmong(nil); k >= 0 {
				others[0].Key = others[0].Columns[k].Name
			}
		}
		return
	}
	w := &l.Sheets[wells]
	if len(others) == 0 {
		return
	}
	if k := w.keyAmong(others); k >= 0 {
		w.Key = w.Columns[k].Name
		plain := plainName(w.Key)
		for _, s := range others {
			s.Key = s.Columns[s.columnNamed(plain)].Name
		}
		return
	}
	if k := w.keyAmong(nil); k >= 0 { // named otherwise in some
		w.Key = w.Columns[k].Name
		for _, s := range others {
			if k := s.keyAmong(nil); k >= 0 {
				s.Key = s.Columns[k].Name
			}
		}
	}
	for _, s := range append(others, w) {
		if s.Key == "" {
			s.Notes = append(s.Notes, "no column could be told that says which well a row belongs to; choose one")
		}
	}
}

// guessField guesses the field of a column by its name, in a sheet of a role.
func guessField(r Role, name string) (f field, unit records.Unit, ok bool) {
	fields := knownFields()
	plain := plainName(strings.NewReplacer("#", " no ", "№", " no ").Replace(name))
	if f, unit, ok = namedField(fields, r, plain); ok {
		return f, unit, true
	}
	// A unit or a datum behind the name: TD (ft), X NAD83.
	for i := len(plain) - 1; i > 0; i-- {
		if plain[i] != '_' {
			continue
		}
		stem, tail := plain[:i], plain[i+1:]
		f, _, ok := namedField(fields, r, stem)
		if !ok {
			continue
		}
		if f.kind == quantityField {
			if u, isUnit := unitOf(f.dimension, tail); isUnit {
				return f, u, true
			}
		}
		if positionFields[f.name] && datumIn(tail) != "" {
			return f, records.NoUnit, true
		}
	}
	return field{}, records.NoUnit, false
}

// namedField finds the field of a whole name.
func namedField(fields []field, r Role, plain string) (field, records.Unit, bool) {
	if r != Wells {
		if name, ok := partField(r, plain); ok {
			return fieldAndUnit(fields, name)
		}
		for _, f := range fields {
			if tail, ok := strings.CutPrefix(f.name, string(r)+"."); ok && tail == plain {
				return f, records.NoUnit, true
			}
		}
	}
	if f, u, ok := fieldAndUnit(fields, plain); ok {
		return f, u, true
	}
	if name, ok := guessWords[plain]; ok {
		return fieldAndUnit(fields, name)
	}
	return field{}, records.NoUnit, false
}

// partField finds the field of a part, also where the part's own name stands
// before it (casing_from).
func partField(r Role, plain string) (string, bool) {
	words := partWords[r]
	if name, ok := words[plain]; ok {
		return string(r) + "." + name, true
	}
	for _, before := range []string{string(r), strings.TrimSuffix(string(r), "s"), "strat", "stratum", "layer", "water", "level"} {
		if tail, ok := strings.CutPrefix(plain, before+"_"); ok {
			if name, ok := words[tail]; ok {
				return string(r) + "." + name, true
			}
		}
	}
	return "", false
}
