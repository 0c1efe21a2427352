package desk

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"

	"github.com/xuri/excelize/v2"

	"tallybook/records"
	"tallybook/records/importer"
)

// refusedTables keeps the rows that were refused, as they stood, a text for
// each table of the file, up to a bound.
type refusedTables struct {
	names  []string
	tables map[string]*refusedTable
	held   int
	over   bool
}

type refusedTable struct {
	all *refusedTables
	buf bytes.Buffer
	zip *gzip.Writer
}

// table is where the rows of a table go.
func (t *refusedTables) table(sheet string) io.Writer {
	if x := t.tables[sheet]; x != nil {
		return x.zip
	}
	x := &refusedTable{all: t}
	x.zip = newZip(x)
	if t.tables == nil {
		t.tables = map[string]*refusedTable{}
	}
	t.names, t.tables[sheet] = append(t.names, sheet), x
	return x.zip
}

// Write takes what is compressed.
func (x *refusedTable) Write(p []byte) (int, error) {
	if x.all.held += len(p); x.all.held > mostRefused {
		x.all.over = true
	}
	if x.all.over {
		x.buf.Reset()
		return len(p), nil
	}
	return x.buf.Write(p)
}

// end packs the tables, in the order in which they were begun. Each is
// compressed already.
func (t *refusedTables) end() ([]byte, error) {
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for _, name := range t.names {
		x := t.tables[name]
		if err := x.zip.Close(); err != nil {
			return nil, err
		}
		if t.over {
			continue
		}
		w, err := z.CreateHeader(&zip.FileHeader{Name: "table/" + name + ".txt", Method: zip.Store})
		if err != nil {
			return nil, err
		}
		if _, err := w.Write(x.buf.Bytes()); err != nil {
			return nil, err
		}
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	if t.over {
		return nil, nil
	}
	return out.Bytes(), nil
}

// refusedText is what was refused of one table, in the form of the file.
type refusedText struct{ sheet, text string }

func unpackRefused(packed []byte) ([]refusedText, error) {
	z, err := zip.NewReader(bytes.NewReader(packed), int64(len(packed)))
	if err != nil {
		return nil, records.WrapError(records.Internal, err, "the refused rows cannot be read")
	}
	var out []refusedText
	for _, f := range z.File {
		text, err := unpackTable(f)
		if err != nil {
			return nil, records.WrapError(records.Internal, err, "the refused rows cannot be read")
		}
		if len(text) > 0 {
			out = append(out, refusedText{strings.TrimSuffix(strings.TrimPrefix(f.Name, "table/"), ".txt"), string(text)})
		}
	}
	return out, nil
}

func unpackTable(f *zip.File) (text []byte, err error) {
	r, err := f.Open()
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, r.Close()) }()
	g, err := gzip.NewReader(r)
	if err != nil {
		return nil, err
	}
	return io.ReadAll(g) //nolint:gosec // our own, of a bounded length
}

// RefusedFile is the rows that were refused as a file that can be mended and
// sent again.
type RefusedFile struct {
	Name string
	Kind string // media type
	Data []byte
}

// Refused gives the rows that were kept out, as they stood: in the form of the
// file itself, a workbook's as a workbook with the same sheets. Where a table
// came with others in files of their own, it is an archive of them.
func (r *Report) Refused() (*RefusedFile, error) {
	switch {
	case r.withheld:
		return nil, records.Errorf(records.Forbidden, "the rows hold people's names; you may not see them")
	case r.About.Lost:
		return nil, records.Errorf(records.TooLarge, "so many rows were refused that they were not kept apart; they are in the file itself")
	case len(r.refused) == 0 || r.About.Kept == 0:
		return nil, records.Errorf(records.NotFound, "no row was refused")
	}
	tables, err := unpackRefused(r.refused)
	if err != nil {
		return nil, err
	}
	f := &RefusedFile{Name: r.About.Name}
	switch ext := strings.ToLower(path.Ext(f.Name)); {
	case r.About.Book:
		f.Kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
		if ext != ".xlsx" {
			f.Name += ".xlsx"
		}
		f.Data, err = bookOf(tables)
	case len(tables) > 1:
		f.Kind, f.Name = "application/zip", f.Name+".zip"
		f.Data, err = archiveOf(tables)
	case len(tables) == 1 && len(r.About.Heads) > 0:
		f.Kind, f.Data = "text/csv", []byte(tables[0].text)
	case len(tables) == 1:
		f.Kind, f.Data = "application/geo+json", []byte(tables[0].text)
	}
	return f, err
}

func archiveOf(tables []refusedText) ([]byte, error) {
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for i, t := range tables {
		w, err := z.Create(fmt.Sprintf("%d %s.csv", i+1, orWord(t.sheet, "wells")))
		if err != nil {
			return nil, err
		}
		if _, err := io.WriteString(w, t.text); err != nil {
			return nil, err
		}
	}
	err := z.Close()
	return out.Bytes(), err
}

func orWord(s, word string) string {
	if s == "" {
		return word
	}
	return s
}

// bookOf writes a workbook, a sheet for each table. Cells are texts: what
// stood there comes back to the letter.
func bookOf(tables []refusedText) (data []byte, err error) {
	f := excelize.NewFile()
	defer func() { err = errors.Join(err, f.Close()) }()
	for i, t := range tables {
		sheet := orWord(t.sheet, "wells")
		if i == 0 {
			err = f.SetSheetName(f.GetSheetName(0), sheet)
		} else {
			_, err = f.NewSheet(sheet)
		}
		if err != nil {
			return nil, err
		}
		if err := fillSheet(f, sheet, t.text); err != nil {
			return nil, err
		}
	}
	b, err := f.WriteToBuffer()
	if err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

func fillSheet(f *excelize.File, sheet, text string) error {
	w, err := f.NewStreamWriter(sheet)
	if err != nil {
		return err
	}
	c := csv.NewReader(strings.NewReader(text))
	c.FieldsPerRecord, c.LazyQuotes = -1, true
	for n := 1; ; n++ {
		row, err := c.Read()
		if errors.Is(err, io.EOF) {
			return w.Flush()
		}
		if err != nil {
			return err
		}
		values := make([]any, len(row))
		for i, v := range row {
			values[i] = v
		}
		if err := w.SetRow(fmt.Sprintf("A%d", n), values); err != nil {
			return err
		}
	}
}

// Head is the header of the table that a row of the report stands in, nil
// where it is a feature.
func (r *Report) Head(x *ReportRow) *importer.TableHead {
	for i := range r.About.Heads {
		if h := &r.About.Heads[i]; h.Sheet == x.Sheet || len(r.About.Heads) == 1 {
			return h
		}
	}
	return nil
}
