package importer

import (
	"io"

	"tallybook/records"
)

// splitter cuts a source into rows without understanding them. It gives io.EOF
// after the last row; after another error no further row can be found.
type splitter interface {
	split(row *Row) error
	decode(row *Row) // safe to call for several rows at once

}

// limits bound what one row may cost.
type limits struct {
	rowBytes int // a longer row is refused
	nesting  int // brackets nested deeper are refused
}

const (
	defaultRowBytes = 4 << 20
	defaultNesting  = 64

	// A refused row is held whole up to this many times the longest row that
	// is taken, so that the refusal file can give it back; beyond, only its
	// beginning is.
	holdFactor = 4
	cutBytes   = 4 << 10
)

func (l limits) hold() int { return holdFactor * l.rowBytes }

// syntaxError says where in the source reading had to end.
func (w *window) syntaxError(message, mend string) error {
	return &records.Error{
		Code:    records.Invalid,
		Message: atLine(w.line, w.column(), w.offset()) + ": " + message + "; " + mend,
	}
}

// readError says that the source itself failed.
func readError(name string, err error) error {
	return records.WrapError(records.Internal, err, "reading %s failed", name)
}

// value takes the JSON value that begins at the next byte. raw is what of it
// is held and is good until the next call to w; size is its whole length.
// Where the source ends inside the value, err is io.ErrUnexpectedEOF.
func (w *window) value(s *bracketScan, hold int) (raw []byte, size int64, err error) {
	s.reset()
	seen := 0
	var head []byte // the beginning of a value too long to hold
	for {
		n, done, ferr := s.feed(w.rest()[seen:])
		seen += n
		if ferr != nil {
			w.take(seen)
			return nil, 0, w.syntaxError(ferr.Error(), "mend the brackets there")
		}
		if head == nil && seen > hold {
			head = append(head, w.rest()[:min(seen, cutBytes)]...)
		}
		if head != nil {
			w.take(seen)
			size += int64(seen)
			seen = 0
		}
		if done || (!w.more() && s.scalar) {
			break
		}
		if w.err != nil && seen == len(w.rest()) {
			if err := w.failed(); err != nil {
				return nil, 0, err
			}
			return nil, 0, io.ErrUnexpectedEOF
		}
	}
	if head != nil {
		return head, size, nil
	}
	raw = w.rest()[:seen]
	w.take(seen)
	return raw, int64(seen), nil
}
