package importer

import (
	"bytes"
	"errors"
	"fmt"
	"io"

	"tallybook/records"
)

// features is what the splitters of GeoJSON share.
type features struct {
	w       *window
	scan    bracketScan
	arena   arena
	limits  limits
	decoder *featureDecoder
	number  int64
}

func (f *features) decode(row *Row) { f.decoder.decode(row) }

// fill gives the row its bytes.
func (f *features) fill(row *Row, raw []byte, size int64) {
	row.Raw, row.Size, row.depth = f.arena.keep(raw), size, f.scan.deepest
	if size > int64(f.limits.rowBytes) {
		row.scanFault = fmt.Sprintf("the feature is %d bytes long, more than %d", size, f.limits.rowBytes)
		row.scanMend = "attach long documents as files"
	}
}

// ended is the error of a file that stops too early.
func (f *features) ended(where string) error {
	if err := f.w.failed(); err != nil {
		return f.sourceError(err)
	}
	return f.w.syntaxError("the file ends "+where, "it was cut off: fetch or write it again")
}

func (f *features) sourceError(err error) error {
	var e *records.Error
	if errors.As(err, &e) {
		return err
	}
	return readError("the file", err)
}

// atEnd is io.EOF, or why the source could not be read to its end.
func (f *features) atEnd() error {
	if err := f.w.failed(); err != nil {
		return f.sourceError(err)
	}
	return io.EOF
}

// values cuts features that follow one another with white space between them:
// a single feature written over several lines, or several.
type values struct{ features }

func (v *values) split(row *Row) error {
	next, ok := v.w.space()
	if !ok {
		return v.atEnd()
	}
	if next != '{' {
		return v.w.syntaxError(fmt.Sprintf("%q stands where a feature belongs", next), "write one feature a line, or a FeatureCollection")
	}
	v.number++
	row.Number, row.Line, row.Offset = v.number, v.w.line, v.w.offset()
	raw, size, err := v.w.value(&v.scan, v.limits.hold())
	if errors.Is(err, io.ErrUnexpectedEOF) {
		return v.ended(fmt.Sprintf("inside feature %d, which begins on line %d, byte %d", row.Number, row.Line, row.Offset))
	}
	if err != nil {
		return v.sourceError(err)
	}
	v.fill(row, raw, size)
	return nil
}

// lines cuts features that are parted by a byte: a line feed for
// newline-delimited features, the record separator (0x1E) for a JSON text
// sequence (RFC 7464, and RFC 8142 for GeoJSON). A bad piece is a refused row
// and the next begins behind the next separator.
type lines struct {
	features
	separator byte
}

const recordSeparator = 0x1e

func (l *lines) split(row *Row) error {
	for {
		if len(l.w.rest()) == 0 && !l.w.more() {
			return l.atEnd()
		}
		line, start := l.w.line, l.w.offset()
		raw, size, err := l.piece()
		if err != nil {
			return l.sourceError(err)
		}
		trimmed := bytes.TrimLeft(raw, " \t\r\n")
		lead := raw[:len(raw)-len(trimmed)]
		cut := size - int64(len(raw))
		if cut == 0 {
			trimmed = bytes.TrimRight(trimmed, " \t\r\n")
		}
		if len(trimmed) == 0 {
			continue
		}
		l.number++
		row.Number, row.Line, row.Offset = l.number, line+int64(bytes.Count(lead, newline)), start+int64(len(lead))
		l.scan.deepest = 0
		l.fill(row, trimmed, int64(len(trimmed))+cut)
		return nil
	}
}

// piece takes what stands before the next separator, and the separator.
func (l *lines) piece() (raw []byte, size int64, err error) {
	seen := 0
	var head []byte
	for {
		k := bytes.IndexByte(l.w.rest()[seen:], l.separator)
		done := k >= 0
		if done {
			seen += k
		} else {
			seen = len(l.w.rest())
		}
		if head == nil && seen > l.limits.hold() {
			head = append(head, l.w.rest()[:cutBytes]...)
		}
		if head != nil {
			l.w.take(seen)
			size += int64(seen)
			seen = 0
		}
		if done || !l.w.more() {
			if err := l.w.failed(); err != nil && !done {
				return nil, 0, err
			}
			break
		}
	}
	skip := 0
	if seen < len(l.w.rest()) {
		skip = 1
	}
	if head != nil {
		l.w.take(skip)
		return head, size, nil
	}
	raw = l.w.rest()[:seen]
	l.w.take(seen + skip)
	return raw, int64(seen), nil
}
