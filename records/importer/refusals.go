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
// Where a source has several tables, a row says in "sheet" which it stands in,
// the rows file holds those of the first (the wells), and Others names files
// for those of the others: what goes with a refused well comes back with it.
//
// Nothing is written to either before the first refusal, and Close ends both.
type Refusals struct {
	rows    *bufio.Writer
	reasons *bufio.Writer
	source  *Source
	count   int64
	whole   int64 // rows in the rows file
	others  func(sheet string) (io.Writer, error)
	files   map[string]*bufio.Writer // of the other tables
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

// Others says where the rows of other tables go than the first: a file for
// each, with its header. open is called once for each table that has any.
func (r *Refusals) Others(open func(sheet string) (io.Writer, error)) {
	r.others, r.files = open, make(map[string]*bufio.Writer)
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
	if !row.Cut() {
		raw := row.Raw
		if row.again != nil {
			raw = row.again
		}
		r.writeIn(row.Sheet, raw)
	}
	for i := range row.Beside {
		r.writeIn(row.Beside[i].Sheet, row.Beside[i].Raw)
	}
	return r.err
}

// writeIn writes a row of a table to the file of that table.
func (r *Refusals) writeIn(sheet string, raw []byte) {
	if len(r.source.headers) == 0 || sheet == r.source.firstSheet() {
		if r.rows != nil {
			r.writeRow(raw)
			r.whole++
		}
		return
	}
	if r.others == nil {
		return
	}
	w := r.files[sheet]
	if w == nil {
		out, err := r.others(sheet)
		if err != nil {
			r.keep(0, err)
			return
		}
		w = bufio.NewWriterSize(out, 64<<10)
		r.files[sheet] = w
		r.keep(w.Write(r.source.headers[sheet]))
		r.keep(w.WriteString("\n"))
	}
	r.keep(w.Write(raw))
	r.keep(w.WriteString("\n"))
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
	for _, w := range r.files {
		r.keep(0, w.Flush())
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
	case r.source.header != nil:
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
	if row.Sheet != "" {
		b = appendText(appendName(b, "sheet"), []byte(row.Sheet))
	}
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
	if len(row.Beside) > 0 {
		number("beside", int64(len(row.Beside)))
	}
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
