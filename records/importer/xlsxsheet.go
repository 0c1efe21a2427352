package importer

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"

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

// formulaNote says how many formulas had no value, "" for none.
func (b *bookRows) formulaNote() string {
	if b.uncounted == 0 {
		return ""
	}
	return fmt.Sprintf("%s without a stored value: open the workbook and save it again, so that they are worked out", count(int(b.uncounted), "formula"))
}
