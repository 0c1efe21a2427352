package importer

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"tallybook/records"
)

// sheetRow is one row of a table, whatever it stands in.
type sheetRow struct {
	line, offset, size int64
	raw                []byte   // as it stood; a row of a workbook as CSV
	cells              []string // one for each column of the header; nil where the row cannot be read
	loose              []string // of a row that cannot be read: the fields that it seems to have
	fault, mend        string   // why it cannot
	faults             []records.Fault
	again              []byte // the row with its dittos written out, nil where it is raw
}

// sheetReader gives the rows of a table in their order; io.EOF ends them. What
// it gives stays good.
type sheetReader interface {
	next() (sheetRow, error)
	Close() error
}

// tablePart is one table of a source: a sheet, or a file.
type tablePart struct {
	name    string // of the sheet, "" for the only table
	mapping *SheetMapping
	plan    *plan
	key     int    // the column that says which well a row belongs to, -1 for none
	header  []byte // as it stood
	notes   []string
	open    func(counted func(n int64)) (sheetReader, error)
	size    int64 // bytes that a reading takes, as counted tells them
}

// fileRows reads the rows of a text table for a source of several tables.
type fileRows struct {
	table *table
	f     io.Closer
	repeats
}

func (r *fileRows) Close() error { return r.f.Close() }

func (r *fileRows) next() (sheetRow, error) {
	c, err := r.table.record()
	if err != nil {
		return sheetRow{}, err
	}
	s := sheetRow{line: c.line, offset: c.offset, size: c.size, raw: r.table.arena.keep(c.raw)}
	s.fault, s.mend = r.table.fault(&c)
	if s.fault == "" {
		row := Row{Raw: s.raw, Offset: s.offset}
		s.cells, s.fault, s.mend = r.table.cells(&row)
		s.faults = row.Faults
	}
	if s.cells == nil && int64(len(s.raw)) == s.size {
		s.loose, _ = splitCells(s.raw, r.table.delimiter)
	}
	r.resolve(r.table.plan, &s, r.table.delimiter)
	return s, nil
}

// sheetRows reads the rows of a sheet of a workbook.
type sheetRows struct {
	rows *bookRows
	plan *plan
	most int
	repeats
}

func (r *sheetRows) Close() error { return r.rows.Close() }

func (r *sheetRows) next() (sheetRow, error) {
	line, cells, cut, err := r.rows.next()
	if err != nil {
		return sheetRow{}, err
	}
	s := sheetRow{line: line}
	want := r.plan.inFile
	if n := len(trimCells(cells)); n > want {
		s.fault, s.mend = fmt.Sprintf("has %s where the header names %d", count(n, "field"), want), "give the column a name in the header, or empty the cell"
	}
	if cut {
		s.fault, s.mend = fmt.Sprintf("the row is longer than %d bytes", r.most), "attach long documents as files"
	}
	s.cells = make([]string, max(want, len(cells)))
	copy(s.cells, cells)
	s.raw = appendCSV(nil, s.cells, ',')
	s.size = int64(len(s.raw))
	if cut {
		s.size = int64(r.most) + 1 // it is not whole
	}
	if s.fault != "" {
		s.cells, s.loose = nil, s.cells
	}
	r.resolve(r.plan, &s, ',')
	return s, nil
}

// trimCells leaves out the empty cells at the end.
func trimCells(cells []string) []string {
	for len(cells) > 0 && strings.TrimSpace(cells[len(cells)-1]) == "" {
		cells = cells[:len(cells)-1]
	}
	return cells
}

// appendCSV writes cells as a record of RFC 4180.
func appendCSV(out []byte, cells []string, delimiter byte) []byte {
	for i, c := range cells {
		if i > 0 {
			out = append(out, delimiter)
		}
		if c == "" || strings.IndexByte(c, delimiter) < 0 && !strings.ContainsAny(c, "\"\r\n") && c[0] != ' ' && c[len(c)-1] != ' ' {
			out = append(out, c...)
			continue
		}
		out = append(out, '"')
		out = append(out, strings.ReplaceAll(c, `"`, `""`)...)
		out = append(out, '"')
	}
	return out
}

// tableFile makes a part of a text table in a file.
func tableFile(path, sheet string, o *Options, m *SheetMapping, use tableUse) (*tablePart, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, records.WrapError(records.NotFound, err, "there is no file %s", path)
	}
	inner := *o
	inner.Name = filepath.Base(path)
	begin := func(counted func(n int64)) (*fileRows, error) {
		f, err := os.Open(path)
		if err != nil {
			return nil, records.WrapError(records.NotFound, err, "%s cannot be opened", path)
		}
		s, w, err := openText(countOn{f, counted}, &inner)
		if err == nil {
			if _, _ = s.settleFormat(w, &inner); s.format != CSV {
				err = records.Errorf(records.Invalid, "%s is GeoJSON; what is joined by a key must be a table", inner.Name)
			}
		}
		var t *table
		if err == nil {
			t, err = openTable(w, &inner, m, use)
		}
		if err != nil {
			f.Close()
			return nil, err
		}
		return &fileRows{table: t, f: f}, nil
	}
	r, err := begin(nil)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	t := r.table
	p := &tablePart{name: sheet, mapping: m, plan: t.plan, header: bytes.Clone(t.headerRaw), notes: t.notes, size: info.Size()}
	p.open = func(counted func(n int64)) (sheetReader, error) { return begin(counted) }
	return p, nil
}

// countOn tells of the bytes that are read.
type countOn struct {
	r       io.Reader
	counted func(n int64)
}

func (c countOn) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	if c.counted != nil {
		c.counted(int64(n))
	}
	return n, err
}

// tableSheet makes a part of a sheet of a workbook.
func tableSheet(b *workbook, sheet bookSheet, o *Options, m *SheetMapping, use tableUse) (*tablePart, error) {
	most := o.limits().rowBytes
	at := 0
	if m != nil {
		at = m.Header
	}
	head, err := b.head(sheet, most, at)
	if err != nil {
		return nil, err
	}
	plan, err := newPlan(head.names, o, m, use)
	if err != nil {
		return nil, records.WrapError(records.CodeOf(err), err, "sheet %q: %s", sheet.name, records.MessageOf(err))
	}
	p := &tablePart{name: sheet.name, mapping: m, plan: plan, header: head.raw, notes: plan.notes}
	if f := b.files[strings.ToLower(sheet.part)]; f != nil {
		p.size = int64(f.UncompressedSize64)
	}
	p.open = func(counted func(n int64)) (sheetReader, error) {
		rows, err := b.openSheet(sheet, most, counted)
		if err != nil {
			return nil, err
		}
		for { // to behind the header
			line, _, _, err := rows.next()
			if errors.Is(err, io.EOF) || err == nil && line >= head.line {
				break
			}
			if err != nil {
				rows.Close()
				return nil, err
			}
		}
		return &sheetRows{rows: rows, plan: plan, most: most}, nil
	}
	return p, nil
}

// bookHead is the header of a sheet.
type bookHead struct {
	names []string
	raw   []byte // as CSV, with the row above where the names need it
	line  int64  // its row in the sheet
	at    int    // which of the rows that hold something it is, from 1
}

var errNoHeader = errors.New("no header")

// head finds the header of a sheet: the row that is asked for, else the one
// that looks like it.
func (b *workbook) head(sheet bookSheet, most, asked int) (bookHead, error) {
	rows, err := b.openSheet(sheet, most, nil)
	if err != nil {
		return bookHead{}, err
	}
	defer rows.Close()
	var grid [][]string
	var lines []int64
	for len(grid) < maxHeaderRow {
		line, cells, _, err := rows.next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return bookHead{}, err
		}
		grid, lines = append(grid, append([]string(nil), trimCells(cells)...)), append(lines, line)
	}
	if len(grid) == 0 || asked > len(grid) {
		return bookHead{}, records.WrapError(records.Invalid, errNoHeader, "sheet %q holds no header: a row of it must name the columns", sheet.name)
	}
	at := asked - 1
	if asked == 0 {
		at = findHeader(grid)
	}
	h := bookHead{line: lines[at], at: at + 1}
	h.names, _ = headerNames(grid, at)
	if asked <= 1 {
		h.raw = appendCSV(nil, h.names, ',')
		return h, nil
	}
	for i := range at { // the rows above it too, so that a file of refused rows is read alike
		h.raw = append(appendCSV(h.raw, widen(grid[i], len(h.names)), ','), '\n')
	}
	h.raw = appendCSV(h.raw, grid[at], ',')
	return h, nil
}

func widen(cells []string, n int) []string {
	for len(cells) < n {
		cells = append(cells, "")
	}
	return cells
}

// readAllRows calls fn with every row of a part.
func (p *tablePart) readAllRows(ctx context.Context, counted func(n int64), fn func(*sheetRow) error) error {
	r, err := p.open(counted)
	if err != nil {
		return err
	}
	defer r.Close()
	for n := 0; ; n++ {
		if n%1000 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		row, err := r.next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		if err := fn(&row); err != nil {
			return err
		}
	}
}
