package importer

import (
	"bytes"
	"fmt"
)

// quotes follows the quotation marks of a record.
type quotes struct {
	delimiter byte
	state     quoteState
	parted    int  // delimiters between fields
	bad       bool // something other than the delimiter stands behind a closing mark
}

type quoteState uint8

const (
	fieldStart quoteState = iota
	bareField
	quotedField
	closedField // behind a mark that closes the field, or is the first of two
)

func (q *quotes) open() bool { return q.state == quotedField }

func (q *quotes) feed(b []byte) {
	for _, c := range b {
		switch q.state {
		case fieldStart, bareField:
			switch {
			case c == q.delimiter:
				q.state = fieldStart
				q.parted++
			case c == '"' && q.state == fieldStart:
				q.state = quotedField
			case c != ' ':
				q.state = bareField
			}
		case quotedField:
			if c == '"' {
				q.state = closedField
			}
		case closedField:
			switch c {
			case '"':
				q.state = quotedField
			case q.delimiter:
				q.state = fieldStart
				q.parted++
			case ' ', '\r':
			default:
				q.bad = true
			}
		}
	}
}

// delimiters are those that are told by themselves, in order of preference.
var delimiters = [...]byte{',', ';', '\t', '|'}

// tellDelimiter takes the one that stands most often in the header outside of
// quotation marks.
func tellDelimiter(header []byte) byte {
	best, most := delimiters[0], 0
	for _, d := range delimiters {
		n, inside := 0, false
		for _, c := range header {
			switch {
			case c == '"':
				inside = !inside
			case c == d && !inside:
				n++
			}
		}
		if n > most {
			best, most = d, n
		}
	}
	return best
}

// splitCells cuts a record into its fields. problem is empty where that could
// be done.
func splitCells(text []byte, delimiter byte) (cells []string, problem string) {
	return appendCells(nil, text, delimiter)
}

func appendCells(cells []string, text []byte, delimiter byte) (_ []string, problem string) {
	for {
		start := 0
		if delimiter != ' ' {
			for start < len(text) && text[start] == ' ' {
				start++
			}
		}
		if start == len(text) || text[start] != '"' {
			cell, rest, more := bytes.Cut(text, []byte{delimiter})
			cells = append(cells, unguarded(string(cell)))
			if !more {
				return cells, ""
			}
			text = rest
			continue
		}
		cell, rest, ok := takeQuoted(text[start:])
		if !ok {
			return cells, fmt.Sprintf("field %d is opened with a quotation mark and not closed", len(cells)+1)
		}
		cells = append(cells, unguarded(cell))
		rest = bytes.TrimLeft(rest, " \r")
		if len(rest) == 0 {
			return cells, ""
		}
		if rest[0] != delimiter {
			return cells, fmt.Sprintf("%q follows the closing quotation mark of field %d", clip(string(rest)), len(cells))
		}
		text = rest[1:]
	}
}

// takeQuoted reads a field that begins with a quotation mark; two marks within
// it stand for one.
func takeQuoted(text []byte) (cell string, rest []byte, ok bool) {
	var b []byte
	text = text[1:]
	for {
		k := bytes.IndexByte(text, '"')
		if k < 0 {
			return "", nil, false
		}
		if k+1 < len(text) && text[k+1] == '"' {
			b = append(b, text[:k+1]...)
			text = text[k+2:]
			continue
		}
		if b == nil {
			return string(text[:k]), text[k+1:], true
		}
		return string(append(b, text[:k]...)), text[k+1:], true
	}
}
