package importer

import (
	"bytes"
	"errors"
	"io"
	"os"
	"strings"

	"tallybook/records"
)

// text looks at a file of text: a table or GeoJSON.
func (l *Look) text(f *os.File, sheet string, o Options) error {
	o.Mapping, o.Columns, o.Units = nil, nil, nil
	head := make([]byte, 64<<10)
	n, err := io.ReadFull(f, head)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return readError(o.Name, err)
	}
	head = head[:n]
	if err := otherKind(o.Name, head); err != nil {
		return err
	}
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return readError(o.Name, err)
	}
	encoding := encodingOf(head)
	s, rows, err := openLook(f, &o)
	if err != nil {
		return err
	}
	if sheet == "" {
		l.Format, l.Encoding, l.Layout = s.format, encoding, s.Layout()
	}
	if s.format != CSV {
		return l.features(s)
	}
	if encoding == "utf-8" {
		defer func() { // a later row may show what the first bytes did not
			if rows.other && sheet == "" {
				l.Encoding = Windows1252
			}
		}()
	}
	sl := SheetLook{Name: sheet, Header: rows.headerRow, Delimiter: string(rows.delimiter)}
	for _, h := range rows.header {
		sl.Columns = append(sl.Columns, ColumnLook{Name: h})
	}
	rows.read(&sl)
	if !sl.Whole && encoding != "utf-16" {
		if err := spread(f, rows, &sl); err != nil {
			return readError(o.Name, err)
		}
	}
	sl.Notes = append(sl.Notes, rows.notes...)
	l.Notes = append(l.Notes, s.notes...)
	l.Sheets = append(l.Sheets, sl)
	return nil
}

// encodingOf names the encoding of a text by its beginning.
func encodingOf(head []byte) string {
	if _, is := utf16Order(head); is {
		return "utf-16"
	}
	if i := bytes.LastIndexByte(head, '\n'); i >= 0 {
		head = head[:i] // a letter may be cut where the piece ends
	}
	row := Row{Raw: head}
	if text, ok := decodeText(&row, ""); ok && len(row.Faults) > 0 && len(text) > 0 {
		return Windows1252
	}
	return UTF8
}

// lookRows are the rows of a text table as a look reads them.
type lookRows struct {
	table     *table
	header    []string
	headerRow int
	delimiter byte
	encoding  string
	other     bool       // a row was not UTF-8
	frontGrid [][]string // the first rows below the header
	notes     []string
}

// openLook begins to read a text for a look. rows is nil for GeoJSON.
func openLook(r io.Reader, o *Options) (s *Source, rows *lookRows, err error) {
	s, w, err := openText(r, o)
	if err != nil {
		return nil, nil, err
	}
	first, strayLines := s.settleFormat(w, o)
	if s.format != CSV {
		return s, nil, s.openGeoJSON(w, o, first, strayLines)
	}
	t := beginTable(w, o)
	rows = &lookRows{table: t, encoding: o.Encoding}
	lines, err := rows.front(frontRows)
	if err != nil {
		return nil, nil, err
	}
	if len(lines) == 0 {
		return nil, nil, records.Errorf(records.Invalid, "%s holds no header: its first line must name the columns", o.Name)
	}
	rows.settle(lines)
	s.rows = t
	return s, rows, nil
}

// front cuts the first records, and tells the delimiter by them.
func (r *lookRows) front(most int) (lines [][]byte, err error) {
	for len(lines) < most {
		c, err := r.table.record()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
		if hint, ok := bytes.CutPrefix(bytes.ToLower(bytes.TrimSpace(c.raw)), []byte("sep=")); ok && len(hint) == 1 && len(lines) == 0 {
			r.table.delimiter = hint[0]
			continue
		}
		text, _ := r.decode(c.raw)
		lines = append(lines, bytes.Clone(text))
	}
	return lines, nil
}

// decode gives the text of a record.
func (r *lookRows) decode(raw []byte) ([]byte, bool) {
	row := Row{Raw: raw}
	text, ok := decodeText(&row, r.encoding)
	r.other = r.other || ok && len(row.Faults) > 0
	if !ok {
		return raw, false
	}
	return text, true
}

// settle tells delimiter and header by the first lines.
func (r *lookRows) settle(lines [][]byte) {
	if r.table.delimiter == 0 {
		r.table.delimiter = tellDelimiter(lines[0])
		if bytes.IndexByte(lines[0], r.table.delimiter) < 0 && len(lines) > 1 { // a title above the header
			r.table.delimiter = tellDelimiter(bytes.Join(lines[:min(len(lines), maxHeaderRow)], newline))
		}
	}
	r.delimiter = r.table.delimiter
	var grid [][]string
	for _, line := range lines {
		cells, _ := splitCells(line, r.delimiter)
		grid = append(grid, cells)
	}
	at := findHeader(grid)
	r.headerRow = at + 1
	r.header, _ = headerNames(grid, at)
	r.frontGrid = grid[at+1:]
}

// read tallies the first rows, and says whether they were all.
func (r *lookRows) read(s *SheetLook) {
	for _, cells := range r.frontGrid {
		s.tally(cells)
	}
	_, err := r.table.record()
	s.Whole = errors.Is(err, io.EOF)
}

// spread tallies rows from all over the file: those behind the first end of a
// line after each of some places. What does not have as many fields as the
// header is passed over, since a place may lie within a quoted field.
func spread(f *os.File, r *lookRows, s *SheetLook) error {
	info, err := f.Stat()
	if err != nil {
		return err
	}
	from := r.table.w.offset()
	piece := make([]byte, 64<<10)
	for k := range int64(spreadSpots) {
		at := from + (info.Size()-from)*k/spreadSpots
		n, err := f.ReadAt(piece, at)
		if err != nil && !errors.Is(err, io.EOF) {
			return err
		}
		text := piece[:n]
		last := errors.Is(err, io.EOF)
		for i := range spotRows + 1 {
			line, rest, found := bytes.Cut(text, newline)
			if !found && !last {
				break
			}
			text = rest
			if i == 0 && at > 0 {
				continue // the piece of a line
			}
			decoded, ok := r.decode(bytes.TrimSuffix(line, []byte{'\r'}))
			cells, problem := splitCells(decoded, r.delimiter)
			if ok && problem == "" && len(cells) == len(s.Columns) {
				s.tally(cells)
			}
		}
	}
	s.Spread = true
	return nil
}

// features looks at GeoJSON: its properties are the columns.
func (l *Look) features(s *Source) error {
	sl := SheetLook{Role: Wells, Why: "GeoJSON holds one well a feature", features: true}
	at := make(map[string]int)
	row := &Row{}
	for sl.Looked < frontRows {
		*row = Row{}
		err := s.split(row)
		if errors.Is(err, io.EOF) {
			sl.Whole = true
			break
		}
		if err != nil {
			if sl.Looked == 0 {
				return err
			}
			sl.Notes = append(sl.Notes, records.MessageOf(err))
			break
		}
		sl.Looked++
		eachProperty(row.Raw, func(name, value string) {
			i, known := at[name]
			if !known {
				if len(sl.Columns) >= maxLookColumns {
					return
				}
				i = len(sl.Columns)
				at[name] = i
				sl.Columns = append(sl.Columns, ColumnLook{Name: name})
			}
			sl.Columns[i].tally(value)
		})
	}
	l.Notes = append(l.Notes, s.notes...)
	l.Sheets = append(l.Sheets, sl)
	return nil
}

// maxLookColumns bounds the columns that are told of features.
const maxLookColumns = 500

// eachProperty calls fn with each property of a feature and its text.
func eachProperty(raw []byte, fn func(name, value string)) {
	var properties []byte
	if eachMember(raw, func(name, value []byte) {
		if string(name) == `"properties"` {
			properties = value
		}
	}) != nil || len(properties) == 0 || properties[0] != '{' {
		return
	}
	properties = bytes.Clone(properties)
	_ = eachMember(properties, func(name, value []byte) { // checked above
		text := string(value)
		switch {
		case text == "null":
			text = ""
		case strings.HasPrefix(text, `"`):
			text = unquote(value)
		}
		fn(unquote(name), text)
	})
}
