package exchange

import (
	"bufio"
	"bytes"
	"io"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

	"tallybook/records"
)

// CSVSet writes wells as a set of tables: wells.csv, one well a row as CSV
// writes it, and one table for each list that any well has (strata.csv,
// casing.csv, strikes.csv and so on), one item a row in the order of the
// record. The first column of those, "uid", is the well's public name, which
// wells.csv has too: it joins them.
//
// Plates stand in tables of their own, and so do sightings of the ground: see
// otherTables. Who may see scans gets the list of those that records name as
// attachments.csv; the scans themselves are in no table. What does not stand in
// it are properties of the items that the model has no place for: GeoJSON
// carries those.
type CSVSet struct {
	create func(name string) (io.WriteCloser, error)
	o      Options
	wells  *CSV
	files  []io.WriteCloser
	parts  []*partTable
	others *otherTables
	beside map[string]*bufio.Writer // of the other tables
	buf    []byte
	err    error
}

// partTable is the table of one list.
type partTable struct {
	list    string
	columns []string
	types   []string // of each column, as the profile has it
	place   map[string]int
	cells   []string
	w       *bufio.Writer // nil until the first item
	rows    int64
}

// keyColumn joins the tables of a set.
const keyColumn = "uid"

// PartTables lists the lists of a well that a set of tables may have, in the
// order of the profile.
func PartTables() []string {
	var out []string
	for _, p := range newPartTables(true) {
		out = append(out, p.list)
	}
	return out
}

func newPartTables(private bool) []*partTable {
	var out []*partTable
	for _, p := range records.Profile() {
		list, name, in := strings.Cut(p.Name, "[].")
		if !in || strings.Contains(name, "[]") || p.Type == "list" || p.Type == "group" || list == "attachments" && !private || p.Private && !private {
			continue
		}
		if len(out) == 0 || out[len(out)-1].list != list {
			out = append(out, &partTable{list: list, columns: []string{keyColumn}, types: []string{"text"}, place: map[string]int{}})
		}
		t := out[len(out)-1]
		t.place[name] = len(t.columns)
		t.columns, t.types = append(t.columns, name), append(t.types, p.Type)
	}
	for _, t := range out {
		t.cells = make([]string, len(t.columns))
	}
	return out
}

// NewCSVSet begins a set. create makes the file of a table by its name; each
// is closed by Close.
func NewCSVSet(create func(name string) (io.WriteCloser, error), o Options) (*CSVSet, error) {
	s := &CSVSet{create: create, o: o, parts: newPartTables(o.Private), beside: map[string]*bufio.Writer{}}
	s.others = newOtherTables(o.Private, plain, guarded, s.otherRow)
	file, err := create("wells.csv")
	if err != nil {
		return nil, err
	}
	s.files = append(s.files, file)
	s.wells, err = NewCSV(file, nil, o)
	return s, err
}

// Count is how many wells have been written.
func (s *CSVSet) Count() int64 { return s.wells.Count() }

// LeftOut is how many extra properties were not written because their names
// say that they are about people.
func (s *CSVSet) LeftOut() int64 { return s.wells.LeftOut() }

// Rows is how many rows of a table have been written.
func (s *CSVSet) Rows(list string) int64 {
	if n, ok := s.others.count[list]; ok {
		return n
	}
	for _, t := range s.parts {
		if t.list == list {
			return t.rows
		}
	}
	return 0
}

// Write writes one well and its lists. Once writing has failed, it gives that
// error again.
func (s *CSVSet) Write(w *records.Well) error {
	if s.err != nil {
		return s.err
	}
	if s.err = s.wells.Write(w); s.err != nil {
		return s.err
	}
	s.buf = w.AppendProperties(s.buf[:0], records.WriteOptions{Private: s.o.Private})
	for _, m := range readMembers(s.buf) {
		for _, t := range s.parts {
			if t.list == m.Name && s.err == nil {
				s.err = s.items(t, w.UID, m.JSON)
			}
		}
	}
	for i := range w.Plates {
		if s.err == nil {
			s.err = s.others.plate(&w.Plates[i], w.UID)
		}
	}
	return s.err
}

// WritePlate writes a plate that is linked to no well.
func (s *CSVSet) WritePlate(p *records.Plate) error {
	if s.err == nil {
		s.err = s.others.plate(p, "")
	}
	return s.err
}

// WriteSighting writes a sighting of the ground.
func (s *CSVSet) WriteSighting(x *records.Sighting) error {
	if s.err == nil {
		s.err = s.others.sighting(x)
	}
	return s.err
}

// otherRow writes a row of a table beside the wells'.
func (s *CSVSet) otherRow(f *flatTable, _ *[2]float64) error {
	w := s.beside[f.name]
	if w == nil {
		file, err := s.create(f.name + ".csv")
		if err != nil {
			return err
		}
		s.files = append(s.files, file)
		w = bufio.NewWriterSize(file, 64<<10)
		s.beside[f.name] = w
		var names []string
		for _, c := range f.columns {
			names = append(names, c.Name)
		}
		if err := writeRow(w, names); err != nil {
			return err
		}
	}
	return writeRow(w, f.cells)
}

// items writes the items of one list.
func (s *CSVSet) items(t *partTable, uid, list string) error {
	return t.each(uid, list, func() error {
		if t.w == nil {
			file, err := s.create(t.list + ".csv")
			if err != nil {
				return err
			}
			s.files = append(s.files, file)
			t.w = bufio.NewWriterSize(file, 64<<10)
			if err := t.row(t.columns); err != nil {
				return err
			}
		}
		t.rows++
		return t.row(t.cells)
	}, plain)
}

// each fills the cells with one item of a list after another; say gives the
// text of a value.
func (t *partTable) each(uid, list string, fn func() error, say func(string) string) error {
	d := jsontext.NewDecoder(strings.NewReader(list))
	if _, err := d.ReadToken(); err != nil {
		return records.WrapError(records.Internal, err, "the list %s of the well %s cannot be read", t.list, uid)
	}
	for d.PeekKind() != ']' {
		item, err := d.ReadValue()
		if err != nil {
			return records.WrapError(records.Internal, err, "the list %s of the well %s cannot be read", t.list, uid)
		}
		clear(t.cells)
		t.cells[0] = uid
		for _, m := range readMembers(bytes.Clone(item)) {
			if i, ok := t.place[m.Name]; ok {
				t.cells[i] = say(m.JSON)
			}
		}
		if err := fn(); err != nil {
			return err
		}
	}
	return nil
}

func (t *partTable) row(cells []string) error { return writeRow(t.w, cells) }

func writeRow(w *bufio.Writer, cells []string) error {
	var b []byte
	for i, cell := range cells {
		if i > 0 {
			b = append(b, ',')
		}
		b = appendCell(b, cell)
	}
	if _, err := w.Write(append(b, "\r\n"...)); err != nil {
		return writeError(err)
	}
	return nil
}

// Close flushes the tables and closes their files.
func (s *CSVSet) Close() error {
	err := s.err
	if err == nil {
		err = s.wells.Close()
	}
	for _, t := range s.parts {
		if t.w == nil || err != nil {
			continue
		}
		if e := t.w.Flush(); e != nil {
			err = writeError(e)
		}
	}
	for _, w := range s.beside {
		if e := w.Flush(); e != nil && err == nil {
			err = writeError(e)
		}
	}
	for _, f := range s.files {
		if e := f.Close(); e != nil && err == nil {
			err = writeError(e)
		}
	}
	s.files = nil
	if err != nil && s.err == nil {
		s.err = err
	}
	return err
}
