package server

import (
	"fmt"
	"net/url"
	"strconv"
	"strings"

	"tallybook/records/importer"
)

// columnsSent is what the form of columns said.
type columnsSent struct {
	mapping *importer.Mapping
	faults  map[sheetColumn]string
	typed   map[sheetColumn]typedColumn // where it could not be understood
}

type sheetColumn struct {
	sheet  int
	column string
}

type typedColumn struct{ holds, in string }

// mostFormParts bounds the lines of the form that are read.
const mostFormParts = 4000

// readColumns reads the form of columns, for the tables of a file.
func readColumns(f url.Values, l *importer.Look) *columnsSent {
	out := &columnsSent{mapping: &importer.Mapping{Version: importer.MappingVersion}, faults: map[sheetColumn]string{}, typed: map[sheetColumn]typedColumn{}}
	for i := range l.Sheets {
		prefix := fmt.Sprintf("s%d.", i)
		sm := importer.SheetMapping{Sheet: l.Sheets[i].Name, Role: importer.Role(f.Get(prefix + "role")), Key: f.Get(prefix + "key")}
		if sm.Role == "" {
			sm.Role = importer.Wells
		}
		if n, err := strconv.Atoi(strings.TrimSpace(f.Get(prefix + "header"))); err == nil {
			sm.Header = n
		}
		if sm.Role != importer.Skip {
			sm.Splits, sm.Joins = readSplits(f, prefix), readJoins(f, prefix)
			setSheetRules(&sm, f.Get(prefix+"rules"))
			out.columns(f, prefix, i, &sm)
		}
		out.mapping.Sheets = append(out.mapping.Sheets, sm)
	}
	return out
}

func (s *columnsSent) columns(f url.Values, prefix string, sheet int, sm *importer.SheetMapping) {
	for n := range mostFormParts {
		at := fmt.Sprintf("%sc%d.", prefix, n)
		name := f.Get(at + "column")
		if name == "" {
			return
		}
		if f.Has(at+"made") && !madeColumn(sm, name) {
			continue // what made it was taken out
		}
		c, fault := readColumn(name, f.Get(at+"holds"), f.Get(at+"in"))
		setColumnRules(&c, f.Get(at+"rules"))
		c.Unknown, c.Ditto = readList(f.Get(at+"unknown")), f.Get(at+"ditto") != ""
		if fault != "" {
			k := sheetColumn{sheet, name}
			s.faults[k], s.typed[k] = fault, typedColumn{f.Get(at + "holds"), f.Get(at + "in")}
		}
		sm.Columns = append(sm.Columns, c)
	}
}

func madeColumn(sm *importer.SheetMapping, name string) bool {
	for _, x := range sm.Splits {
		for _, n := range x.Into {
			if n == name {
				return true
			}
		}
	}
	for _, x := range sm.Joins {
		if x.Into == name {
			return true
		}
	}
	return false
}

// readColumn reads what was typed for one column.
func readColumn(name, holds, in string) (importer.ColumnMapping, string) {
	c := importer.ColumnMapping{Column: name}
	switch heldKey(holds) {
	case "", heldKey(keptColumn), "kept":
		return c, ""
	case heldKey(outColumn), "leave out":
		c.LeaveOut = true
		return c, ""
	}
	f, ok := intakeFields()[heldKey(holds)]
	if !ok {
		return c, fmt.Sprintf("“%s” is none of the fields: choose one from the list, or leave it empty to keep the column as it stands.", clipText(holds, 60))
	}
	c.Field = f.Name
	rest := strings.TrimSpace(in)
	if f.Date {
		c.Order = rest
		return c, ""
	}
	if len(f.Units) > 0 {
		word, after, _ := strings.Cut(rest, " ")
		if !f.Datum {
			word, after = rest, ""
		}
		c.Unit, rest = word, strings.TrimSpace(after)
	}
	if f.Datum {
		c.Datum = rest
	} else if rest != "" && len(f.Units) == 0 {
		return c, fmt.Sprintf("%s has no unit: leave “in” empty.", fieldSaid(f.Name))
	}
	return c, ""
}

// readList reads a list with commas between.
func readList(typed string) []string {
	var out []string
	for p := range strings.SplitSeq(typed, ",") {
		if p = strings.TrimSpace(p); p != "" {
			out = append(out, p)
		}
	}
	return out
}

func readSplits(f url.Values, prefix string) []importer.ColumnSplit {
	var out []importer.ColumnSplit
	for n := range mostFormParts {
		at := fmt.Sprintf("%sx%d.", prefix, n)
		if !f.Has(at + "column") {
			break
		}
		x := importer.ColumnSplit{Column: strings.TrimSpace(f.Get(at + "column")), By: f.Get(at + "by"), Pattern: f.Get(at + "pattern"), Into: readList(f.Get(at + "into"))}
		if x.Column != "" {
			out = append(out, x)
		}
	}
	return out
}

func readJoins(f url.Values, prefix string) []importer.ColumnJoin {
	var out []importer.ColumnJoin
	for n := range mostFormParts {
		at := fmt.Sprintf("%sj%d.", prefix, n)
		if !f.Has(at + "columns") {
			break
		}
		x := importer.ColumnJoin{Columns: readList(f.Get(at + "columns")), With: f.Get(at + "with"), Into: strings.TrimSpace(f.Get(at + "into"))}
		if len(x.Columns) > 0 {
			out = append(out, x)
		}
	}
	return out
}
