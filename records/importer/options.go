package importer

import (
	"tallybook/records"
)

// Options say how a source is to be read. The zero value tells everything by
// the content.
type Options struct {
	// Name is the source's name: it goes into errors and into the public names
	// of records without one. Open takes the file's base name where it is
	// empty.
	Name   string
	Format Format
	// Encoding is "", UTF8 or Windows1252.
	Encoding string

	// Columns says which column of a table holds a field (FIELD: COLUMN), and
	// Units in which unit a field's numbers are (FIELD: UNIT, "ft", "gpm"…; for
	// a date the order of its parts, "ymd", "mdy" or "dmy").
	Columns map[string]string
	Units   map[string]string
	// Mapping says what sheets and columns mean, in more detail than Columns
	// and Units; nil: columns are told by their names.
	Mapping *Mapping
	// Sheet is the sheet of a workbook that is read alone; "" is all that the
	// mapping names, or that look like parts of wells.
	Sheet string
	// With are tables in files of their own that go with the first: its wells'
	// strata, casing and so on, joined by the key that the mapping names.
	With []Beside
	// TempDir is where rows are put aside while several tables are joined; ""
	// is the system's folder for temporary files.
	TempDir string
	// Delimiter parts the fields of a table; 0 is told by its first line.
	Delimiter byte

	// RowBytes and Nesting bound one row: a longer or deeper one is refused.
	// 0 is 4 MiB, and 64 levels of brackets.
	RowBytes int
	Nesting  int

	// Validate says against what each record and plate is held.
	Validate records.ValidateOptions
}

// sheetMapping is what the mapping says of a table, nil where there is no
// mapping.
func (o *Options) sheetMapping(name string, alone bool) (*SheetMapping, error) {
	if o.Mapping == nil {
		return nil, nil
	}
	if err := o.Mapping.Check(); err != nil {
		return nil, err
	}
	s := o.Mapping.SheetFor(name, alone)
	if s == nil {
		return nil, records.Errorf(records.Invalid, "the mapping says nothing of %s", o.Name)
	}
	return s, nil
}

// Beside is a table in a file of its own.
type Beside struct {
	Sheet string // the name by which a mapping knows it, or its role
	Path  string
}

func (o *Options) limits() limits {
	l := limits{rowBytes: o.RowBytes, nesting: o.Nesting}
	if l.rowBytes <= 0 {
		l.rowBytes = defaultRowBytes
	}
	if l.nesting <= 0 {
		l.nesting = defaultNesting
	}
	return l
}
