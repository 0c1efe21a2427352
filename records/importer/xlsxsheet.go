package importer

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"tallybook/records"
)

// maxColumns is how many columns a sheet has at most (ECMA-376 part 1,
// section 18.3.1.73 with the limits of its implementers).
const maxColumns = 16384

// bookRows reads the rows of one sheet (section 18.3) as a stream.
type bookRows struct {
	book    *workbook
	part    string
	r       io.ReadCloser
	d       *xml.Decoder
	merged  map[string]mergedTo // by its first cell
	carried map[int]carried     // the merges that are open, by column
	most    int                 // bytes that a row may hold
	line    int64
	raw     bookCell
	cells   []string
	// What was met on the way.
	uncounted int64 // formulas without a stored value
	counted   func(n int64)
}

// mergedTo is a merge over several rows that begins in a cell: its last row.
type mergedTo int64

// carried is the text of an open merge, and its last row.
type carried struct {
	text string
	last int64
}

// bookCell is a cell while it is read.
type bookCell struct {
	column   int
	kind     string
	style    int
	value    []byte // of <v>
	inline   []byte // of <is>
	formula  []byte
	hasValue bool
	size     int
}

// openSheet begins to read a sheet; counted is told of bytes read and may be
// nil.
func (b *workbook) openSheet(s bookSheet, rowBytes int, counted func(n int64)) (*bookRows, error) {
	merged, err := b.merges(s)
	if err != nil {
		return nil, err
	}
	r, err := b.openPart(s.part, maxBookBytes)
	if err != nil {
		if errors.Is(err, errPartMissing) {
			return nil, b.broken(s.part, err)
		}
		return nil, err
	}
	rows := &bookRows{book: b, part: s.part, r: r, merged: merged, carried: make(map[int]carried), most: rowBytes, counted: counted}
	rows.d = xml.NewDecoder(countTo{r, rows})
	return rows, nil
}

// countTo tells of the bytes that are read.
type countTo struct {
	r    io.Reader
	rows *bookRows
}

func (c countTo) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	if c.rows.counted != nil {
		c.rows.counted(int64(n))
	}
	return n, err
}

// Close ends reading.
func (b *bookRows) Close() error { return b.r.Close() }

// next reads on to the next row that holds something. Its cells are good until
// the next call; cut says that it was longer than may be held.
func (b *bookRows) next() (line int64, cells []string, cut bool, err error) {
	for {
		t, err := b.d.RawToken()
		if errors.Is(err, io.EOF) {
			return 0, nil, false, io.EOF
		}
		if err != nil {
			return 0, nil, false, b.book.broken(b.part, err)
		}
		start, ok := t.(xml.StartElement)
		if !ok || start.Name.Local != "row" {
			continue
		}
		b.line++
		if n, err := strconv.ParseInt(attribute(start, "r"), 10, 64); err == nil && n >= b.line && n < math.MaxInt32 {
			b.line = n
		}
		cut, err := b.row()
		if err != nil {
			return 0, nil, false, err
		}
		b.fillMerged()
		if cut || !blank(b.cells) {
			return b.line, b.cells, cut, nil
		}
	}
}

// row reads the cells of a row, to its end.
func (b *bookRows) row() (cut bool, err error) {
	b.cells = b.cells[:0]
	c := &b.raw
	column, held := -1, 0
	var into *[]byte
	inText, phonetic := false, 0
	for {
		t, err := b.d.RawToken()
		if err != nil {
			return cut, b.book.broken(b.part, noEOF(err))
		}
		switch t := t.(type) {
		case xml.StartElement:
			switch t.Name.Local {
			case "c":
				column++
				if at, ok := columnOf(attribute(t, "r")); ok {
					column = at
				}
				style, err := strconv.Atoi(attribute(t, "s"))
				if err != nil {
					style = -1
				}
				*c = bookCell{column: column, kind: attribute(t, "t"), style: style, value: c.value[:0], inline: c.inline[:0], formula: c.formula[:0]}
			case "v":
				into, c.hasValue = &c.value, true
			case "f":
				into = &c.formula
			case "rPh":
				phonetic++
			case "t":
				if inText = phonetic == 0; inText {
					into = &c.inline
				}
			}
		case xml.CharData:
			if into != nil {
				if held += len(t); held > b.most {
					cut = true
					continue
				}
				*into = append(*into, t...)
			}
		case xml.EndElement:
			into = nil
			switch t.Name.Local {
			case "rPh":
				phonetic--
			case "c":
				if c.column >= maxColumns {
					return cut, records.Errorf(records.Invalid, "%s: row %d has more than %d columns", b.book.name, b.line, maxColumns)
				}
				b.put(c.column, b.text(c))
			case "row":
				return cut, nil
			}
		}
	}
}

func noEOF(err error) error {
	if errors.Is(err, io.EOF) {
		return io.ErrUnexpectedEOF
	}
	return err
}

func (b *bookRows) put(column int, text string) {
	if text == "" && column >= len(b.cells) {
		return
	}
	for len(b.cells) <= column {
		b.cells = append(b.cells, "")
	}
	b.cells[column] = text
}

// text gives a cell's value as text.
func (b *bookRows) text(c *bookCell) string {
	switch c.kind {
	case "s":
		i, err := strconv.Atoi(strings.TrimSpace(string(c.value)))
		if text, ok := b.book.strings.at(i); err == nil && ok {
			return unescapeBook(text)
		}
		if !c.hasValue {
			return ""
		}
		return "#" + string(c.value) + " is no text of this workbook"
	case "inlineStr":
		return unescapeBook(string(c.inline))
	case "b":
		switch strings.TrimSpace(string(c.value)) {
		case "1":
			return "TRUE"
		case "0":
			return "FALSE"
		}
	case "str", "e", "d":
		return unescapeBook(string(c.value))
	}
	if !c.hasValue {
		if len(c.formula) > 0 {
			b.uncounted++
			return "=" + string(c.formula)
		}
		return ""
	}
	text := strings.TrimSpace(string(c.value))
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return text
	}
	style := plainNumber
	if c.style >= 0 && c.style < len(b.book.styles) {
		style = b.book.styles[c.style]
	}
	return style.written(v, b.book.from)
}

// columnOf reads the letters of a cell's name: A is 0.
func columnOf(ref string) (int, bool) {
	n := 0
	for i := range len(ref) {
		c := ref[i]
		switch {
		case c >= 'A' && c <= 'Z' && n < maxColumns:
			n = n*26 + int(c-'A') + 1
		case c >= '0' && c <= '9' && i > 0:
			return n - 1, n > 0 && n <= maxColumns
		default:
			return 0, false
		}
	}
	return 0, false
}

// unescapeBook turns the escapes _xHHHH_ of a text (section 22.9.2.19) into
// the characters that they stand for, and line breaks to line feeds.
func unescapeBook(s string) string {
	if !strings.Contains(s, "_x") {
		return strings.ReplaceAll(s, "\r\n", "\n")
	}
	var out strings.Builder
	for {
		k := strings.Index(s, "_x")
		if k < 0 || k+7 > len(s) {
			break
		}
		v, err := strconv.ParseUint(s[k+2:k+6], 16, 16)
		if err != nil || s[k+6] != '_' || v >= 0xd800 && v < 0xe000 || v == 0 {
			out.WriteString(s[:k+2])
			s = s[k+2:]
			continue
		}
		out.WriteString(s[:k])
		out.WriteRune(rune(v))
		s = s[k+7:]
	}
	out.WriteString(s)
	return strings.ReplaceAll(out.String(), "\r\n", "\n")
}

// merges finds the cells that are merged over several rows: they stand behind
// the rows in a sheet, so its text is passed over once, unread.
func (b *workbook) merges(s bookSheet) (map[string]mergedTo, error) {
	r, err := b.openPart(s.part, maxBookBytes)
	if err != nil {
		if errors.Is(err, errPartMissing) {
			return nil, b.broken(s.part, err)
		}
		return nil, err
	}
	defer r.Close()
	out := make(map[string]mergedTo)
	var tail []byte
	piece := make([]byte, 256<<10)
	for {
		n, err := r.Read(piece)
		tail = append(tail, piece[:n]...)
		tail = takeMerges(tail, out)
		if errors.Is(err, io.EOF) {
			return out, nil
		}
		if err != nil {
			return nil, b.broken(s.part, err)
		}
	}
}

// maxMerges bounds how many merges are kept.
const maxMerges = 100000

// takeMerges reads the merges that are whole in text and gives what is left.
func takeMerges(text []byte, out map[string]mergedTo) []byte {
	const sign = "mergeCell "
	s := string(text)
	for {
		k := strings.Index(s, sign)
		if k < 0 {
			return []byte(s[max(0, len(s)-len(sign)):])
		}
		end := strings.IndexByte(s[k:], '>')
		if end < 0 {
			if len(s)-k > 1000 {
				return nil
			}
			return []byte(s[k:])
		}
		element := s[k : k+end]
		s = s[k+end:]
		_, ref, _ := strings.Cut(element, "ref=")
		ref = strings.TrimLeft(ref, `"' `)
		if q := strings.IndexAny(ref, `"'/ `); q >= 0 {
			ref = ref[:q]
		}
		from, to, ok := strings.Cut(ref, ":")
		a, okA := rowOf(from)
		z, okZ := rowOf(to)
		if ok && okA && okZ && z > a && len(out) < maxMerges {
			out[from] = mergedTo(z)
		}
	}
}

// rowOf reads the row number of a cell's name.
func rowOf(ref string) (int64, bool) {
	n, err := strconv.ParseInt(strings.TrimLeft(ref, "ABCDEFGHIJKLMNOPQRSTUVWXYZ"), 10, 64)
	return n, err == nil && n > 0
}

// fillMerged writes what a cell merged over several rows says into each of
// them.
func (b *bookRows) fillMerged() {
	if len(b.merged) == 0 {
		return
	}
	for column, c := range b.carried {
		if b.line > c.last {
			delete(b.carried, column)
		} else if column >= len(b.cells) || b.cells[column] == "" {
			b.put(column, c.text)
		}
	}
	for column, text := range b.cells {
		if last, ok := b.merged[columnName(column)+strconv.FormatInt(b.line, 10)]; ok && text != "" {
			b.carried[column] = carried{text, int64(last)}
		}
	}
}

// columnName writes the letters of a column: 0 is A.
func columnName(i int) string {
	var letters []byte
	for i++; i > 0; i = (i - 1) / 26 {
		letters = append([]byte{byte('A' + (i-1)%26)}, letters...)
	}
	return string(letters)
}

// formulaNote says how many formulas had no value, "" for none.
func (b *bookRows) formulaNote() string {
	if b.uncounted == 0 {
		return ""
	}
	return fmt.Sprintf("%s without a stored value: open the workbook and save it again, so that they are worked out", count(int(b.uncounted), "formula"))
}
