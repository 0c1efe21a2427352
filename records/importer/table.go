package importer

import (
	"bytes"
	"errors"
	"fmt"
	"io"

	"tallybook/records"
)

// table cuts a flat table (RFC 4180, and what is written in its name) into
// records. A quotation mark inside a field that does not begin with one is a
// letter like any other, since logs write 62'6".
type table struct {
	w         *window
	arena     arena
	limits    limits
	delimiter byte
	plan      *plan
	headerRaw []byte // as it stood
	notes     []string
	number    int64
	features  *featureDecoder
	repeats
}

// maxRecordLines bounds how far the partner of a quotation mark is looked for.
const maxRecordLines = 1000

// beginTable begins to read a table, whatever its header says.
func beginTable(w *window, o *Options) *table {
	for len(w.rest()) < windowSize && w.more() {
	}
	if bytes.IndexByte(w.rest(), '\n') < 0 && bytes.IndexByte(w.rest(), '\r') >= 0 {
		w.r = lineEnds{w.r}
		replaceCR(w.rest())
	}
	t := &table{w: w, limits: o.limits(), delimiter: o.Delimiter}
	t.features = &featureDecoder{source: o.Name, encoding: o.Encoding, limits: t.limits, validate: o.Validate}
	return t
}

// openTable reads the header and settles what each column means.
func openTable(w *window, o *Options, sheet *SheetMapping, use tableUse) (*table, error) {
	t := beginTable(w, o)
	cells, err := t.columnNames(o, sheet)
	if err != nil {
		return nil, err
	}
	t.plan, err = newPlan(cells, o, sheet, use)
	if err != nil {
		return nil, err
	}
	t.plan.semicolons = t.delimiter == ';'
	t.notes = append(t.notes, t.plan.notes...)
	return t, nil
}

// columnNames reads the header: the first line, or the one that the mapping
// names, with those above it kept for the file of refused rows.
func (t *table) columnNames(o *Options, sheet *SheetMapping) ([]string, error) {
	at := 1
	if sheet != nil && sheet.Header > 1 {
		at = sheet.Header
	}
	var grid [][]string
	for n := 1; n <= at; n++ {
		c, err := t.header(o.Name)
		if err != nil {
			return nil, err
		}
		if n > 1 {
			t.headerRaw = append(t.headerRaw, '\n')
		}
		t.headerRaw = append(t.headerRaw, c.raw...)
		row := Row{Raw: bytes.Clone(c.raw)}
		text, ok := decodeText(&row, o.Encoding)
		if !ok {
			return nil, records.Errorf(records.Invalid, "the header of %s %s", o.Name, row.Faults[0].String())
		}
		for _, f := range row.Faults {
			t.notes = append(t.notes, "the header "+f.String())
		}
		if t.delimiter == 0 && n == at {
			t.delimiter = tellDelimiter(text)
		}
		grid = append(grid, []string{string(text)})
	}
	for i := range grid {
		cells, problem := splitCells([]byte(grid[i][0]), t.delimiter)
		if problem != "" && i == at-1 {
			return nil, records.Errorf(records.Invalid, "the header of %s cannot be read: %s", o.Name, problem)
		}
		grid[i] = cells
	}
	if sheet == nil {
		return grid[at-1], nil
	}
	names, _ := headerNames(grid, at-1)
	return names, nil
}

// header cuts the line that names the columns.
func (t *table) header(name string) (cut, error) {
	for {
		c, err := t.record()
		switch {
		case errors.Is(err, io.EOF):
			return c, records.Errorf(records.Invalid, "%s holds no header: its first line must name the columns", name)
		case err != nil:
			return c, err
		case c.fault != "" || c.size > int64(len(c.raw)):
			return c, records.Errorf(records.Invalid, "the header of %s cannot be read: line %d %s", name, c.line, c.fault)
		}
		// A first line such as sep=; tells a spreadsheet the delimiter.
		hint, ok := bytes.CutPrefix(bytes.ToLower(bytes.TrimSpace(c.raw)), []byte("sep="))
		if !ok || len(hint) != 1 {
			return c, nil
		}
		t.delimiter = hint[0]
	}
}

func (t *table) split(row *Row) error {
	c, err := t.record()
	if err != nil {
		return err
	}
	t.number++
	row.Number, row.Line, row.Offset = t.number, c.line, c.offset
	row.Raw, row.Size = t.arena.keep(c.raw), c.size
	row.scanFault, row.scanMend = t.fault(&c)
	if !t.plan.ditto {
		return nil
	}
	// What repeats the row above is resolved here, where rows come in order.
	r := sheetRow{raw: row.Raw, fault: row.scanFault, mend: row.scanMend}
	if r.fault == "" {
		r.cells, r.fault, r.mend = t.cells(row)
	}
	t.resolve(t.plan, &r, t.delimiter)
	row.cells, row.scanFault, row.scanMend, row.again = r.cells, r.fault, r.mend, r.again
	return nil
}

// fault says why a record that was cut cannot be read, "" where it can.
func (t *table) fault(c *cut) (message, mend string) {
	switch {
	case c.size > int64(t.limits.rowBytes):
		return fmt.Sprintf("the row is %d bytes long, more than %d", c.size, t.limits.rowBytes), "attach long documents as files"
	case c.fault != "":
		return c.fault, "close it, or write every quotation mark within a quoted field twice"
	}
	return "", ""
}

// cells cuts a row into its fields, as many as the header has. What is to be
// said of its encoding goes to the row's faults.
func (t *table) cells(row *Row) (cells []string, fault, mend string) {
	text, ok := decodeText(row, t.features.encoding)
	if !ok {
		f := &row.Faults[len(row.Faults)-1]
		fault, mend = f.Message, f.Mend
		row.Faults = row.Faults[:len(row.Faults)-1]
		return nil, fault, mend
	}
	cells, problem := appendCells(make([]string, 0, len(t.plan.columns)+1), text, t.delimiter)
	if problem != "" {
		return nil, problem, "put a field that holds a quotation mark between quotes and write the mark twice"
	}
	if want := t.plan.inFile; len(cells) != want {
		return nil, fmt.Sprintf("has %s where the header names %d", count(len(cells), "field"), want), fmt.Sprintf("put a text that holds %q between quotes", t.delimiter)
	}
	return cells, "", ""
}

// cut is one record as it stands in the source.
type cut struct {
	raw          []byte // without the line's end; good until the next record
	size         int64
	line, offset int64
	fault        string
}

// record cuts the next record that is not blank.
func (t *table) record() (cut, error) {
	w := t.w
	for {
		if len(w.rest()) == 0 && !w.more() {
			if err := w.failed(); err != nil {
				return cut{}, readError("the file", err)
			}
			return cut{}, io.EOF
		}
		c := cut{line: w.line, offset: w.offset()}
		end, found := t.lineEnd(0)
		if end > t.limits.hold() {
			return t.longLine(c)
		}
		if len(bytes.Trim(w.rest()[:end], " \r")) == 0 {
			w.take(end + length(found))
			continue
		}
		if bytes.IndexByte(w.rest()[:end], '"') >= 0 {
			end, found, c.fault = t.quoted(end, found)
		}
		c.raw = bytes.TrimSuffix(w.rest()[:end], []byte{'\r'})
		c.size = int64(len(c.raw))
		w.take(end + length(found))
		return c, nil
	}
}

func length(newline bool) int {
	if newline {
		return 1
	}
	return 0
}

// lineEnd tells where the line that begins at rest()[from] ends, and whether
// a line feed ends it. It reads on as far as the limits allow.
func (t *table) lineEnd(from int) (end int, found bool) {
	for {
		if k := bytes.IndexByte(t.w.rest()[from:], '\n'); k >= 0 {
			return from + k, true
		}
		from = len(t.w.rest())
		if from > t.limits.hold() || !t.w.more() {
			return from, false
		}
	}
}

// longLine passes over a line that is too long to be held.
func (t *table) longLine(c cut) (cut, error) {
	c.raw = bytes.Clone(t.w.rest()[:cutBytes])
	for {
		k := bytes.IndexByte(t.w.rest(), '\n')
		if k >= 0 {
			c.size += int64(k)
			t.w.take(k + 1)
			return c, nil
		}
		c.size += int64(len(t.w.rest()))
		t.w.take(len(t.w.rest()))
		if !t.w.more() {
			return c, nil
		}
	}
}

// quoted follows quoted fields over the ends of lines. Where a field is not
// closed, or something stands behind its closing mark, only the line that
// begins the record is taken, so that no good line is lost with a bad one.
func (t *table) quoted(end int, found bool) (int, bool, string) {
	delimiter := t.delimiter
	if delimiter == 0 {
		delimiter = tellDelimiter(t.w.rest()[:end])
	}
	q := quotes{delimiter: delimiter}
	q.feed(t.w.rest()[:end])
	if !q.open() {
		return end, found, "" // what is wrong within one line is told when it is split
	}
	firstEnd, firstFound := end, found
	for n := 1; found && n < maxRecordLines && end < t.limits.rowBytes; n++ {
		q.feed([]byte{'\n'})
		from := end + 1
		if from == len(t.w.rest()) && !t.w.more() {
			break
		}
		end, found = t.lineEnd(from)
		q.feed(bytes.TrimSuffix(t.w.rest()[from:end], []byte{'\r'}))
		// Too many fields, or too few once it is closed: the mark that closes
		// it is likely to be another row's.
		if q.bad || t.plan != nil && q.parted >= t.plan.inFile || t.plan != nil && !q.open() && q.parted+1 != t.plan.inFile {
			break
		}
		if !q.open() {
			return end, found, ""
		}
	}
	return firstEnd, firstFound, "a field is opened with a quotation mark and not closed"
}

// lineEnds turns the carriage returns of an old file into line feeds.
type lineEnds struct{ r io.Reader }

func (l lineEnds) Read(p []byte) (int, error) {
	n, err := l.r.Read(p)
	replaceCR(p[:n])
	return n, err
}

func replaceCR(b []byte) {
	for i := range b {
		if b[i] == '\r' {
			b[i] = '\n'
		}
	}
}
