package desk

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"regexp"
	"sort"
	"unicode/utf8"

	"tallybook/records"
	"tallybook/records/importer"
)

// What a row report holds at most: the rest is counted. The rows that were
// refused are kept whole beside it, up to a bound of their own.
const (
	mostReport  = 64 << 20  // bytes, before they are compressed
	mostRefused = 256 << 20 // bytes, compressed
	mostRaw     = 4 << 10   // bytes of one row that are shown
	mostCauses  = 60
)

// ReportRow is a row of a file with something to tell: it was refused, or
// taken in with something to look at.
type ReportRow struct {
	Row     int64           `json:"row"`
	Line    int64           `json:"line,omitempty"`
	Sheet   string          `json:"sheet,omitempty"`
	Refused bool            `json:"refused,omitempty"`
	Well    int64           `json:"well,omitempty"` // the record that it became
	Faults  []records.Fault `json:"faults"`
	Raw     string          `json:"raw,omitempty"` // as it stood, the beginning where it is long
}

// Cause is a sort of fault, and how many rows have it.
type Cause struct {
	Field   string // without the numbers of rows in it; "" for the row itself
	Refused bool
	Example string // what one of them says
	Mend    string
	Rows    int64
}

// IntakeAbout says what a file was and what is wrong with its rows.
type IntakeAbout struct {
	Layout  string               `json:"layout,omitempty"`
	Notes   []string             `json:"notes,omitempty"`
	Mapping string               `json:"mapping,omitempty"` // the mapping by which it was read, JSON
	Named   string               `json:"named,omitempty"`   // its name, where it has one
	Causes  []Cause              `json:"causes,omitempty"`
	Speaks  []string             `json:"speaks,omitempty"`  // what its rows together speak for, and nobody decided
	Listed  int64                `json:"listed"`            // rows in the report
	Beyond  int64                `json:"beyond,omitempty"`  // rows that it had no room for
	Kept    int64                `json:"kept"`              // refused rows that are kept as they stood
	Name    string               `json:"file,omitempty"`    // what the refused rows are called as a file
	Lost    bool                 `json:"no_room,omitempty"` // there were too many refused rows to keep them
	Heads   []importer.TableHead `json:"heads,omitempty"`   // of its tables
	Book    bool                 `json:"book,omitempty"`    // it is a workbook, and its refused rows come back as one
}

// refusedName begins the names of files of refused rows.
const refusedName = "refused rows of "

// reportWriter gathers the row report of an intake or of a rehearsal.
type reportWriter struct {
	about    IntakeAbout
	rows     bytes.Buffer
	zip      *gzip.Writer
	src      *importer.Source
	refused  *refusedTables
	refusals *importer.Refusals
	size     int
	causes   map[causeKey]*Cause
}

type causeKey struct {
	field, mend string
	refused     bool
}

func newReportWriter(src *importer.Source, name string) *reportWriter {
	w := &reportWriter{causes: map[causeKey]*Cause{}, refused: &refusedTables{}}
	w.zip, w.src = newZip(&w.rows), src
	w.about.Heads, w.about.Book = src.Heads(), src.Format() == importer.XLSX
	notes, proposals := saidOf(src)
	for _, p := range proposals {
		w.about.Speaks = append(w.about.Speaks, p.Why)
	}
	main := ""
	if len(w.about.Heads) > 0 {
		main = w.about.Heads[0].Sheet
	}
	w.refusals = importer.NewRefusals(w.refused.table(main), nil, src)
	w.refusals.Others(func(sheet string) (io.Writer, error) { return w.refused.table(sheet), nil })
	w.about.Layout, w.about.Notes, w.about.Name = src.Layout(), notes, refusedName+name
	return w
}

func newZip(w io.Writer) *gzip.Writer {
	z, err := gzip.NewWriterLevel(w, gzip.BestSpeed)
	if err != nil {
		panic(err) // only for a level that is none
	}
	return z
}

var (
	rowNumbers = regexp.MustCompile(`\[\d+\]`)
	figures    = regexp.MustCompile(`-?\d+(\.\d+)?`) // by which alone mends of one sort differ
)

// add takes a row with faults; well is the record that it became, 0 for none.
func (w *reportWriter) add(r *importer.Row, well int64) error {
	if r.Refused() {
		w.about.Kept++
		if err := w.refusals.Write(r); err != nil {
			return err
		}
	}
	w.count(r)
	if w.size > mostReport {
		w.about.Beyond++
		return nil
	}
	raw := r.Raw
	if len(raw) > mostRaw {
		raw = raw[:mostRaw]
		for len(raw) > 0 && !utf8.Valid(raw[max(0, len(raw)-utf8.UTFMax):]) && utf8.RuneStart(raw[len(raw)-1]) {
			raw = raw[:len(raw)-1]
		}
	}
	line, err := json.Marshal(ReportRow{Row: r.Number, Line: r.Line, Sheet: r.Sheet, Refused: r.Refused(), Well: well, Faults: r.Faults, Raw: string(raw)})
	if err != nil {
		return err
	}
	w.about.Listed++
	w.size += len(line) + 1
	_, err = w.zip.Write(append(line, '\n'))
	return err
}

// count counts the row's causes, each once.
func (w *reportWriter) count(r *importer.Row) {
	seen := map[causeKey]bool{}
	for _, f := range r.Faults {
		k := causeKey{rowNumbers.ReplaceAllString(f.Field, ""), figures.ReplaceAllString(f.Mend, "0"), f.Severity == records.Refusal}
		if seen[k] {
			continue
		}
		seen[k] = true
		c := w.causes[k]
		if c == nil {
			if len(w.causes) >= mostCauses {
				continue
			}
			c = &Cause{Field: k.field, Refused: k.refused, Example: f.Message, Mend: f.Mend}
			w.causes[k] = c
		}
		c.Rows++
	}
}

// end gives what is kept.
func (w *reportWriter) end() (*records.IntakeReport, *IntakeAbout, error) {
	if err := errors.Join(w.refusals.Close(), w.zip.Close()); err != nil {
		return nil, nil, err
	}
	refused, err := w.refused.end()
	if err != nil {
		return nil, nil, err
	}
	w.about.Lost = w.refused.over
	for _, t := range w.src.Tables() {
		if t.Role != importer.Wells {
			w.about.Notes = append(w.about.Notes, fmt.Sprintf("%s: %d rows of %s, of which %d went with their wells and %d have none", orWord(t.Sheet, "the table"), t.Rows, t.Role.Label(), t.WithWell, t.Alone))
		}
	}
	w.about.Causes = make([]Cause, 0, len(w.causes))
	for _, c := range w.causes {
		w.about.Causes = append(w.about.Causes, *c)
	}
	sort.Slice(w.about.Causes, func(i, j int) bool {
		a, b := &w.about.Causes[i], &w.about.Causes[j]
		switch {
		case a.Refused != b.Refused:
			return a.Refused
		case a.Rows != b.Rows:
			return a.Rows > b.Rows
		case a.Field != b.Field:
			return a.Field < b.Field
		}
		return a.Mend < b.Mend
	})
	about, err := json.Marshal(w.about)
	return &records.IntakeReport{About: about, Rows: w.rows.Bytes(), Refused: refused}, &w.about, err
}

// ReportFilter says which rows of a report are asked for.
type ReportFilter struct {
	Only  string // "refused", "warned"; "" for both
	Field string // those alone with a fault in this field, as Cause names it; "" for any
	Any   bool   // a Field of "" is meant: faults of the row itself
}

func (f *ReportFilter) takes(r *ReportRow) bool {
	if f.Only == "refused" && !r.Refused || f.Only == "warned" && r.Refused {
		return false
	}
	if f.Field == "" && !f.Any {
		return true
	}
	for i := range r.Faults {
		if rowNumbers.ReplaceAllString(r.Faults[i].Field, "") == f.Field {
			return true
		}
	}
	return false
}

// readReport hands out the rows of a report that a filter takes.
func readReport(packed []byte, f ReportFilter, fn func(*ReportRow) error) error {
	if len(packed) == 0 {
		return nil
	}
	z, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		return records.WrapError(records.Internal, err, "the row report cannot be read")
	}
	b := bufio.NewReaderSize(z, 64<<10)
	for {
		line, err := b.ReadBytes('\n')
		if len(line) > 1 {
			var r ReportRow
			if err := json.Unmarshal(line, &r); err != nil {
				return records.WrapError(records.Internal, err, "the row report cannot be read")
			}
			if f.takes(&r) {
				if err := fn(&r); err != nil {
					return err
				}
			}
		}
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return records.WrapError(records.Internal, err, "the row report cannot be read")
		}
	}
}

// Report is a row report, of a rehearsal or of an intake that was accepted.
type Report struct {
	About    IntakeAbout
	packed   []byte
	refused  []byte
	withheld bool // the actor may not see private things
}

// Withheld says whether the rows themselves are not shown to the actor.
func (r *Report) Withheld() bool { return r.withheld }

// Rows gives a page of the rows that a filter takes, and how many it takes.
func (r *Report) Rows(f ReportFilter, from, most int) (rows []ReportRow, total int, err error) {
	err = r.Each(f, func(x *ReportRow) error {
		if total >= from && len(rows) < most {
			rows = append(rows, *x)
		}
		total++
		return nil
	})
	return rows, total, err
}

// Each hands out the rows that a filter takes.
func (r *Report) Each(f ReportFilter, fn func(*ReportRow) error) error {
	return readReport(r.packed, f, func(x *ReportRow) error {
		if r.withheld {
			x.Raw = ""
		}
		return fn(x)
	})
}

// report makes a Report of what was kept.
func (d *Desk) report(actor records.Actor, kept *records.IntakeReport) (*Report, error) {
	r := &Report{packed: kept.Rows, refused: kept.Refused, withheld: d.Permit(actor, SeePrivate) != nil}
	if err := json.Unmarshal(kept.About, &r.About); err != nil {
		return nil, records.WrapError(records.Internal, err, "the row report cannot be read")
	}
	if r.withheld { // an example says what stood in the file
		for i := range r.About.Causes {
			r.About.Causes[i].Example = ""
		}
	}
	return r, nil
}
