package importer

import (
	"errors"
	"fmt"
	"io"
	"os"

	"tallybook/records"
)

// workbookAt looks at a workbook in a file.
func (l *Look) workbookAt(f *os.File, o *Options) error {
	info, err := f.Stat()
	if err != nil {
		return readError(o.Name, err)
	}
	b, err := openWorkbook(o.Name, f, info.Size())
	if err != nil {
		return err
	}
	return l.book(b, o)
}

// book looks at each sheet of a workbook: at its first rows, since a packed
// sheet cannot be entered in its middle.
func (l *Look) book(b *workbook, o *Options) error {
	l.Format, l.Layout = XLSX, fmt.Sprintf("a workbook of %s", count(len(b.sheets), "sheet"))
	for _, sheet := range b.sheets {
		if o.Sheet != "" && o.Sheet != sheet.name {
			continue
		}
		s, err := b.look(sheet, o)
		if err != nil {
			return err
		}
		l.Sheets = append(l.Sheets, *s)
	}
	if len(l.Sheets) == 0 {
		_, err := b.sheet(o.Sheet)
		return err
	}
	return nil
}

// look looks at one sheet.
func (b *workbook) look(sheet bookSheet, o *Options) (*SheetLook, error) {
	s := &SheetLook{Name: sheet.name}
	if sheet.hidden {
		s.Notes = append(s.Notes, "the sheet is hidden in the workbook")
	}
	most := o.limits().rowBytes
	head, err := b.head(sheet, most, 0)
	if err != nil {
		if records.CodeOf(err) == records.Invalid && errors.Is(err, errNoHeader) {
			s.Role, s.Why, s.Whole = Skip, "it is empty", true
			return s, nil
		}
		return nil, err
	}
	s.Header = head.at
	if len(head.names) > maxTableColumns {
		s.skip(fmt.Sprintf("it has %d columns, more than %d", len(head.names), maxTableColumns))
		return s, nil
	}
	for _, n := range head.names {
		s.Columns = append(s.Columns, ColumnLook{Name: n})
	}
	rows, err := b.openSheet(sheet, most, nil)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for s.Looked < bookLookRows {
		line, cells, _, err := rows.next()
		if errors.Is(err, io.EOF) {
			s.Whole = true
			break
		}
		if err != nil {
			return nil, err
		}
		if line > head.line {
			s.tally(cells)
		}
	}
	if n := rows.formulaNote(); n != "" {
		s.Notes = append(s.Notes, n)
	}
	return s, nil
}

// roles is the mapping of what was guessed of sheets and keys alone: the
// columns go by their names.
func (l *Look) roles() *Mapping {
	if l.Sheets[0].Role == "" {
		l.guessRoles()
	}
	m := &Mapping{Version: MappingVersion}
	for i := range l.Sheets {
		s := &l.Sheets[i]
		m.Sheets = append(m.Sheets, SheetMapping{Sheet: s.Name, Role: s.Role, Key: s.Key})
	}
	return m
}

// words say how the sheets were understood.
func (l *Look) words() []string {
	var out []string
	if len(l.Sheets) < 2 {
		return out
	}
	for i := range l.Sheets {
		s := &l.Sheets[i]
		if s.Role == Skip {
			out = append(out, fmt.Sprintf("sheet %q is not read: %s", s.Name, s.Why))
			continue
		}
		out = append(out, fmt.Sprintf("sheet %q is read as %s (%s), joined by %q", s.Name, s.Role.Label(), s.Why, s.Key))
	}
	return out
}
