package server

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"github.com/gorilla/mux"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/importer"
)

// reportPage is the rehearsal of a file: how far it is, or what it says.
type reportPage struct {
	Base
	Head     sentHead
	Work     *workView
	Failed   string // why the work came to nothing
	Ready    bool   // there is a rehearsal
	Revision int64
	Columns  string // where they are mapped; "" for GeoJSON
	Counts   facts
	Verdict  string
	None     bool // no row would be accepted
	Report   *reportView
	Speaks   []string // what its rows speak for
}

// workView is what goes on.
type workView struct {
	What   string
	Said   string
	Share  int // of the file, percent; -1 where that is not known
	Cancel string
}

// reportView is a row report, filtered and by pages.
type reportView struct {
	Path         string
	Only         []jobsAt
	Causes       []causeRow
	Rows         []reportRow
	Shown        string
	Newer, Older string
	CSV, Refused string // where they are had as files; "" for nothing to have
	Kept         string
	Notes        []string
	Withheld     bool
	Filter       string // what the rows are filtered by, in words
	All          string // where they are not
}

type causeRow struct {
	Field, Href, Example, Mend, Rows string
	Refused, On                      bool
}

type reportRow struct {
	Row, Line string
	Refused   bool
	Faults    []reportFault
	Raw       string
	Sheet     string
	Cells     []asWasCell // the row by its columns; none: Raw is shown
	Well      string      // where the record is, "" for none
}

// asWasCell is a cell of the row as it stood.
type asWasCell struct {
	Column, Text string
	Wrong        bool // a fault names the column
}

type reportFault struct {
	Field, Message, Mend string
	Refused              bool
}

const rowsOnPage = 50

// intakeReport answers /intake/{token}/report.
func (s *Server) intakeReport(w http.ResponseWriter, r *http.Request) error {
	// First how the work stands, then what came of it: it may end in between.
	work, err := s.desk.IntakeWork(s.actor(r), mux.Vars(r)["token"])
	if err != nil {
		return err
	}
	f, gone, err := s.sentOf(w, r)
	if err != nil || gone {
		return err
	}
	p := &reportPage{Base: s.base(r, f.Name), Revision: f.Revision}
	if work != nil && !work.Over() {
		p.Head = sentHeadOf(f, f.Mapping != "", "Rehearse and accept")
		p.Work = workViewOf(work, p.Head.Path)
		w.Header().Set("Cache-Control", "no-store")
		return s.show(w, "intakereport", p)
	}
	l, err := s.desk.LookAtSent(r.Context(), s.actor(r), f.Token)
	if err != nil && records.CodeOf(err) == records.Internal {
		return err
	}
	table := l != nil && l.Sheets != nil && l.Format.String() != "geojson"
	p.Head = sentHeadOf(f, table, "Rehearse and accept")
	if table {
		p.Columns = p.Head.Path + "/columns"
	}
	if work != nil && work.Err != nil && work.Begun.After(rehearsedAt(f)) {
		p.Failed = failedWords(work)
	}
	if f.Rehearsed != nil {
		report, err := s.desk.SentReport(r.Context(), s.actor(r), f.Token)
		if err != nil {
			return err
		}
		p.tell(f)
		for _, why := range report.About.Speaks {
			p.Speaks = append(p.Speaks, capital(why))
		}
		if p.Report, err = reportViewOf(r, report, p.Head.Path); err != nil {
			return err
		}
	}
	return s.show(w, "intakereport", p)
}

func rehearsedAt(f *desk.Sent) (t time.Time) {
	if f.Rehearsed != nil {
		t = f.Rehearsed.At
	}
	return t
}

// failedWords says why the work came to nothing.
func failedWords(w *desk.IntakeWork) string {
	what := "The rehearsal"
	if w.Accept {
		what = "Taking it in"
	}
	if strings.Contains(w.Err.Error(), "context canceled") {
		return what + " was cancelled. Nothing was written."
	}
	return what + " broke off: " + records.MessageOf(w.Err) + ". Nothing was written."
}

func workViewOf(work *desk.IntakeWork, path string) *workView {
	v := &workView{What: "Rehearsing", Share: -1, Cancel: path + "/cancel"}
	if work.Accept {
		v.What = "Taking in"
	}
	v.Said = rowsWords(work.Rows) + " rows"
	if work.Size > 0 {
		v.Share = int(min(100, 100*work.Read/work.Size))
		v.Said += fmt.Sprintf(", %s of %s", bytesWords(work.Read), bytesWords(work.Size))
	}
	if work.Closing {
		v.Said += "; the last ones are being written"
		if !work.Accept {
			v.Said = rowsWords(work.Rows) + " rows; the report is being written"
		}
	}
	v.Said += ", begun " + work.Begun.Format("15:04:05")
	return v
}

// tell says what the rehearsal came to.
func (p *reportPage) tell(f *desk.Sent) {
	b := &f.Rehearsed.Tally
	p.Ready, p.None = true, b.Accepted == 0
	p.Counts = countFacts(b)
	switch {
	case b.Read == 0:
		p.Verdict = "The file holds no row."
	case b.Accepted == 0:
		p.Verdict = "No row would be accepted. Look at why below: often one column is mapped wrongly, and all rows say the same."
	case b.Refused == 0 && b.Warned == 0:
		p.Verdict = "Every row would be accepted."
	case b.Refused == 0:
		p.Verdict = "Every row would be accepted; some have something to look at."
	default:
		p.Verdict = fmt.Sprintf("%s of %s rows would be accepted. The others can be mended and sent again later.", rowsWords(b.Accepted), rowsWords(b.Read))
	}
	if b.Accepted > 0 && b.CopyOf != 0 && b.Changed+b.Clashes+b.Gone == 0 && b.Accepted == b.Same {
		p.Verdict = "The copy says nothing new."
	}
}

// countFacts are the counts of an intake.
func countFacts(b *records.Batch) facts {
	var f facts
	f.text("rows read", rowsWords(b.Read))
	accepted := cell{Text: rowsWords(b.Accepted), Class: "strong"}
	if b.Warned > 0 {
		accepted.More = rowsWords(b.Warned) + " of them with something to look at"
	}
	f.add("accepted", accepted)
	refused := cell{Text: rowsWords(b.Refused)}
	if b.Refused > 0 {
		refused.Class = "signal"
	}
	f.add("refused", refused)
	if b.CopyOf != 0 {
		f.text("new records", rowsWords(b.Accepted-b.Changed-b.Same))
		f.add("changed", cell{Text: rowsWords(b.Changed), More: "only what the office did not touch"})
		f.text("nothing new", rowsWords(b.Same))
		clash := cell{Text: rowsWords(b.Clashes), More: "the office's stands until somebody decides"}
		if b.Clashes > 0 {
			clash.Class = "signal"
		}
		f.add("said differently by the office", clash)
		f.add("gone from the copy", cell{Text: rowsWords(b.Gone), More: "only marked: nothing is taken out"})
	}
	return f
}

// reportViewOf shows a page of a row report.
func reportViewOf(r *http.Request, report *desk.Report, base string) (*reportView, error) {
	q := r.URL.Query()
	filter := desk.ReportFilter{Only: q.Get("only"), Field: q.Get("field"), Any: q.Has("field")}
	if filter.Only != "" && filter.Only != "refused" && filter.Only != "warned" {
		return nil, records.Errorf(records.Invalid, "only=%s is no kind of row; choose refused or warned", clipText(filter.Only, 30))
	}
	from := 0
	if t := q.Get("from"); t != "" {
		n, err := strconv.Atoi(t)
		if err != nil || n < 0 {
			return nil, records.Errorf(records.Invalid, "from=%s is no number of rows to leave out", clipText(t, 30))
		}
		from = n
	}
	rows, total, err := report.Rows(filter, from, rowsOnPage)
	if err != nil {
		return nil, err
	}
	v := &reportView{Path: r.URL.Path, Notes: report.About.Notes, Withheld: report.Withheld()}
	link := func(only string, field *string, from int) string {
		n := url.Values{}
		if only != "" {
			n.Set("only", only)
		}
		if field != nil {
			n.Set("field", *field)
		}
		if from > 0 {
			n.Set("from", strconv.Itoa(from))
		}
		if len(n) == 0 {
			return v.Path + "#rows"
		}
		return v.Path + "?" + n.Encode() + "#rows"
	}
	var field *string
	if filter.Any {
		field = &filter.Field
		v.Filter, v.All = fieldWords(filter.Field), link(filter.Only, nil, 0)
	}
	for _, only := range []struct{ word, label string }{{"", "all"}, {"refused", "refused"}, {"warned", "with something to look at"}} {
		v.Only = append(v.Only, jobsAt{Label: only.label, Href: link(only.word, field, 0), On: filter.Only == only.word})
	}
	for i := range report.About.Causes {
		c := &report.About.Causes[i]
		v.Causes = append(v.Causes, causeRow{Field: fieldWords(c.Field), Example: clipText(c.Example, 160), Mend: c.Mend, Rows: rowsWords(c.Rows), Refused: c.Refused,
			Href: link("", &c.Field, 0), On: filter.Any && filter.Field == c.Field})
	}
	for i := range rows {
		v.Rows = append(v.Rows, reportRowOf(&rows[i], report.Head(&rows[i])))
	}
	if total > 0 {
		v.Shown = fmt.Sprintf("%s to %s of %s rows", rowsWords(int64(from+1)), rowsWords(int64(min(from+rowsOnPage, total))), rowsWords(int64(total)))
	}
	if from > 0 {
		v.Newer = link(filter.Only, field, max(0, from-rowsOnPage))
	}
	if from+rowsOnPage < total {
		v.Older = link(filter.Only, field, from+rowsOnPage)
	}
	if report.About.Beyond > 0 {
		v.Notes = append(v.Notes, fmt.Sprintf("the report lists %s rows and had no room for %s more, which are counted above", rowsWords(report.About.Listed), rowsWords(report.About.Beyond)))
	}
	if report.About.Listed > 0 {
		v.CSV = base + "/report.csv"
	}
	if report.About.Kept > 0 && !report.About.Lost && !v.Withheld {
		v.Refused, v.Kept = base+"/refused", rowsWords(report.About.Kept)
	}
	return v, nil
}

func reportRowOf(x *desk.ReportRow, head *importer.TableHead) reportRow {
	row := reportRow{Row: rowsWords(x.Row), Refused: x.Refused, Raw: x.Raw}
	if x.Line > 0 {
		row.Line = rowsWords(x.Line)
	}
	row.Sheet = x.Sheet
	if head != nil && x.Raw != "" {
		row.asItWas(x, head)
	}
	if x.Well > 0 {
		row.Well = fmt.Sprintf("/well/%d", x.Well)
	}
	for _, f := range x.Faults {
		row.Faults = append(row.Faults, reportFault{Field: fieldWords(f.Field), Message: f.Message, Mend: f.Mend, Refused: f.Severity == records.Refusal})
	}
	return row
}

// asItWas sets the row out by its columns, those that hold something.
func (row *reportRow) asItWas(x *desk.ReportRow, head *importer.TableHead) {
	names, cells, ok := head.Cells(x.Raw)
	if !ok || len(cells) > len(names) {
		return
	}
	for i, text := range cells {
		if strings.TrimSpace(text) == "" {
			continue
		}
		c := asWasCell{Column: names[i], Text: text}
		for _, f := range x.Faults {
			c.Wrong = c.Wrong || strings.Contains(f.Field, `"`+names[i]+`"`)
		}
		row.Cells = append(row.Cells, c)
	}
}
