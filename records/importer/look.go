package importer

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"tallybook/records"
)

// Look is what a source shows of itself before anything is read from it: what
// kind it is, which tables it holds, and what their columns seem to mean.
type Look struct {
	Name     string // the source's name
	Format   Format
	Layout   string // how its rows stand in it, in words
	Encoding string // of text: utf-8, utf-16, windows-1252
	Bytes    int64
	Sheets   []SheetLook
	Notes    []string // what was taken for granted
}

// SheetLook is what one table shows of itself.
type SheetLook struct {
	Name      string // of the sheet; "" for the only table of a source
	Role      Role   // as it is guessed
	Why       string // what the guess stands on
	Key       string // the column that seems to tell which well a row belongs to, or ""
	Delimiter string // of a text table
	Header    int    // the row that names the columns, from 1; 0 for features
	Columns   []ColumnLook
	Head      [][]string // the first rows below the header, as they stand
	Looked    int64      // how many rows were looked at
	Whole     bool       // whether those are all that it holds
	Spread    bool       // whether rows from all over it were among them
	Notes     []string

	features bool // whether its rows are features
	joined   bool // whether the wells stand in another sheet
}

// ColumnLook is what one column shows of itself. Counts are of the rows that
// were looked at.
type ColumnLook struct {
	Name    string
	Samples []string // up to five different texts, in the order of the rows
	Filled  int64    // rows that have something in it
	Numbers int64    // of these, plain numbers
	Kind    string   // empty, number, date, yes or no, text, mixed
	// What it seems to mean: a field with its unit, datum and order of dates,
	// "" where nothing is guessed, and why.
	Field, Unit, Datum, Order string
	Why                       string

	again       int64 // rows whose text is that of the row before
	last        string
	least, most float64 // of the numbers
	// Dates that fit one order alone, and those that fit two.
	onlyMonthFirst, onlyDayFirst, twoWays int64
}

// What a look reads at most.
const (
	headRows     = 12   // shown as they stand
	frontRows    = 200  // looked at from the beginning
	spreadSpots  = 40   // places further on in a file
	spotRows     = 10   // rows looked at in each
	mostSamples  = 5    // texts shown of a column
	bookLookRows = 5000 // looked at in a sheet of a workbook, which has no spots
)

// LookAt looks at a file, and the files beside it that Options.With names: at
// its first rows and at some from all over it, however long it is. Options.Mapping
// is not needed, and not asked.
func LookAt(path string, o Options) (*Look, error) {
	info, err := os.Stat(path)
	switch {
	case os.IsNotExist(err):
		return nil, records.WrapError(records.NotFound, err, "there is no file %s", path)
	case err != nil:
		return nil, records.WrapError(records.Invalid, err, "%s cannot be opened", path)
	case info.IsDir():
		return nil, records.Errorf(records.Invalid, "%s is a folder; name a file in it", path)
	}
	if o.Name == "" {
		o.Name = filepath.Base(path)
	}
	l := &Look{Name: o.Name, Bytes: info.Size()}
	if err := l.at(path, "", o); err != nil {
		return nil, err
	}
	for _, w := range o.With {
		beside := o
		beside.Name, beside.Format = filepath.Base(w.Path), CSV
		if err := l.at(w.Path, w.Sheet, beside); err != nil {
			return nil, err
		}
	}
	l.guessRoles()
	for i := range l.Sheets {
		l.Sheets[i].noteTwins()
	}
	return l, nil
}

// noteTwins tells of columns that bear one name: until each has its own, the
// sheet cannot be taken in.
func (s *SheetLook) noteTwins() {
	first := map[string]int{}
	for i, c := range s.Columns {
		name := strings.TrimSpace(c.Name)
		if name == "" {
			continue
		}
		if j, twice := first[name]; twice {
			s.Notes = append(s.Notes, fmt.Sprintf("columns %d and %d are both named %q: give each its own name in the file, since it cannot be taken in like this", j+1, i+1, name))
			continue
		}
		first[name] = i
	}
}

// at looks at one file.
func (l *Look) at(path, sheet string, o Options) error {
	f, err := os.Open(path)
	if err != nil {
		return records.WrapError(records.NotFound, err, "%s cannot be opened", path)
	}
	defer f.Close()
	is, err := isArchive(f)
	if err != nil {
		return readError(o.Name, err)
	}
	if is && sheet == "" {
		return l.workbookAt(f, &o)
	}
	return l.text(f, sheet, o)
}

// tally adds a row of cells to the columns of a sheet.
func (s *SheetLook) tally(cells []string) {
	if blank(cells) {
		return
	}
	s.Looked++
	if len(s.Head) < headRows {
		s.Head = append(s.Head, append([]string(nil), cells...))
	}
	for i := range s.Columns {
		if i < len(cells) {
			s.Columns[i].tally(cells[i])
		}
	}
}
