package importer

import (
	"bufio"
	"errors"
	"io"
	"strconv"

	"github.com/go-json-experiment/json/jsontext"

	"tallybook/records"
)

// Refusals writes the rows that were refused, in two files that go together:
//
// The rows file holds the rows alone, to the byte as they were and in the form
// of their source (a collection, a feature a line, a table with its header),
// so that it can be mended and taken in like the source itself.
//
// The reasons file says why, a JSON object a line in the same order:
//
//	{"row":17,"line":203,"byte":9120,"size":311,"reasons":[{"field":"total_depth_m","message":"…","mend":"…"}],"raw":"…"}
//
// raw is the row once more, as a text; bytes that are no UTF-8 are replaced
// there, and in a row too long to be held it is the beginning (size says how
// long it was, and "cut" is true; such a row is in the reasons file alone).
//
// Nothing is written to either before the first refusal, and Close ends both.
type Refusals struct {
	rows    *bufio.Writer
	reasons *bufio.Writer
	source  *Source
	count   int64
	whole   int64 // rows in the rows file
	err     error
}

// NewRefusals begins the refusals of a source. Either writer may be nil.
func NewRefusals(rows, reasons io.Writer, s *Source) *Refusals {
	r := &Refusals{source: s}
	if rows != nil {
		r.rows = bufio.NewWriterSize(rows, 64<<10)
	}
	if reasons != nil {
		r.reasons = bufio.NewWriterSize(reasons, 64<<10)
	}
	return r
}

// Count is how many refused rows have been written.
func (r *Refusals) Count() int64 { return r.count }

// Write writes a row if it is refused. Once writing has failed, it gives that
// error again.
func (r *Refusals) Write(row *Row) error {
	if !row.Refused() {
		return r.err
	}
	r.count++
	if r.reasons != nil {
		r.keep(r.reasons.Write(appendReasons(nil, row)))
	}
	if r.rows != nil && !row.Cut() {
		r.writeRow(row.Raw)
		r.whole++
	}
	return r.err
}

// Close ends the files and flushes them; it does not close the writers.
func (r *Refusals) Close() error {
	if r.rows != nil {
		if r.whole > 0 && r.source.framing == framedCollection {
			r.keep(r.rows.WriteString("\n]}\n"))
		}
		r.keep(0, r.rows.Flush())
	}
	if r.reasons != nil {
		r.keep(0, r.reasons.Flush())
	}
	return r.err
}

func (r *Refusals) keep(_ int, err error) {
	var known *records.Error
	switch {
	case err == nil || r.err != nil:
	case errors.As(err, &known): // the writer has the words: a full disk, say
		r.err = err
	default:
		r.err = records.WrapError(records.Internal, err, "the refused rows cannot be written")
	}
}

func (r *Refusals) writeRow(raw []byte) {
	before, after := "", "\n"
	switch {
	case r.source.format == CSV:
		if r.whole == 0 {
			r.keep(r.rows.Write(r.source.header))
			r.keep(r.rows.WriteString("\n"))
		}
	case r.source.framing == framedSequence:
		before = string(rune(recordSeparator))
	case r.source.framing == framedCollection:
		before, after = ",\n", ""
		if r.whole == 0 {
			before = `{"type":"FeatureCollection","features":[` + "\n"
		}
	}
	r.keep(r.rows.WriteString(before))
	r.keep(r.rows.Write(raw))
	r.keep(r.rows.WriteString(after))
}

func appendReasons(b []byte, row *Row) []byte {
	number := func(name string, v int64) {
		b = strconv.AppendInt(appendName(b, name), v, 10)
	}
	b = append(b, '{')
	number("row", row.Number)
	number("line", row.Line)
	number("byte", row.Offset)
	number("size", row.Size)
	if row.Cut() {
		b = append(appendName(b, "cut"), "true"...)
	}
	b = append(appendName(b, "reasons"), '[')
	first := true
	for _, f := range row.Faults {
		if f.Severity != records.Refusal {
			continue
		}
		if !first {
			b = append(b, ',')
		}
		first = false
		b = append(b, '{')
		for _, part := range [...]struct{ name, text string }{{"field", f.Field}, {"message", f.Message}, {"mend", f.Mend}} {
			if part.text != "" {
				b = appendText(appendName(b, part.name), []byte(part.text))
			}
		}
		b = append(b, '}')
	}
	b = append(b, ']')
	b = appendText(appendName(b, "raw"), row.Raw)
	return append(b, "}\n"...)
}

// appendText appends a JSON text; what is no UTF-8 in it is replaced, which is
// all that the error would say.
func appendText(b, text []byte) []byte {
	out, err := jsontext.AppendQuote(b, text)
	if err != nil {
		return out
	}
	return out
}
