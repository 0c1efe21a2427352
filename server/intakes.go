package server

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"

	"github.com/gorilla/mux"

	"tallybook/records"
	"tallybook/records/desk"
)

func intakePath(id int64) string { return fmt.Sprintf("/intakes/%d", id) }

// intakesPage lists the files that were taken in.
type intakesPage struct {
	Base
	Table listing
	Empty bool
}

// intakesHome answers /intakes, the latest first.
func (s *Server) intakesHome(w http.ResponseWriter, r *http.Request) error {
	all, err := s.desk.Intakes(r.Context(), s.actor(r))
	if err != nil {
		return err
	}
	p := intakesPage{Base: s.base(r, "Files taken in"), Empty: len(all) == 0}
	p.Table = listing{Heads: heads("file", "when", "#read", "#accepted", "#refused", "what became of it")}
	for i := len(all) - 1; i >= 0; i-- {
		b := &all[i]
		class := ""
		if b.State != "published" {
			class = "gap"
		}
		p.Table.add(class, cell{Text: b.Source, Href: intakePath(b.ID)}, cell{Text: dayOf(b.StartedAt), More: "by " + b.By}, cell{Text: rowsWords(b.Read)},
			cell{Text: rowsWords(b.Accepted), More: moreWords(b)}, cell{Text: rowsWords(b.Refused)}, cell{Text: stateWords(b)})
	}
	return s.show(w, "intakes", p)
}

func moreWords(b *records.Batch) string {
	if b.Warned > 0 {
		return rowsWords(b.Warned) + " to look at"
	}
	return ""
}

func stateWords(b *records.Batch) string {
	switch {
	case b.State == "withdrawn":
		return "taken back"
	case b.State == "staged":
		return "not finished: nobody sees any of it"
	case b.CopyOf != 0:
		t := fmt.Sprintf("a later copy of intake %d", b.CopyOf)
		if b.Clashes > 0 {
			t += fmt.Sprintf(", %s to decide", count(int(b.Clashes), "record", "records"))
		}
		return t
	}
	return "in"
}

// intakeOnePage is one file that was taken in.
type intakeOnePage struct {
	Base
	Heading  string
	When     string
	Alert    string
	Counts   facts
	Standing facts
	Withdraw string // where a form takes it back; "" where it cannot be
	Held     string // why it cannot be
	Copies   []pageLink
	Copy     *copyView
	Report   *reportView
	NoReport string
	Mapping  string
}

// copyView is what a later copy said of records that were there.
type copyView struct {
	Only    []jobsAt
	Records []copyRow
	Older   string
	None    bool
}

type copyRow struct {
	Label, Href, Said string
	Gone              bool
	Changes           []string
	Clashes           []clashRow
}

// clashRow is a property that copy and office say differently.
type clashRow struct {
	ID, Label            string
	Before, Office, Copy string
	Path, Well, Field    string
	Chosen, By           string
	Whole                bool // it cannot be chosen here
}

const copiesOnPage = 25

// intakeOne answers /intakes/{id}.
func (s *Server) intakeOne(w http.ResponseWriter, r *http.Request) error {
	b, err := s.intakeOf(r)
	if err != nil {
		return err
	}
	ctx, actor := r.Context(), s.actor(r)
	p := &intakeOnePage{Base: s.base(r, b.Source), Heading: b.Source, When: fmt.Sprintf("Intake %d, %s, by %s", b.ID, timeWords(b.StartedAt), b.By), Counts: countFacts(b)}
	switch b.State {
	case "withdrawn":
		p.Alert = "It was taken back: its records are no longer here, but for those that somebody had worked on."
	case "staged":
		p.Alert = "It was not finished: nobody sees any of it, and the next intake clears it away."
	default:
		p.Withdraw = intakePath(b.ID) + "/withdraw"
	}
	if err := s.intakeStanding(r, b, p); err != nil {
		return err
	}
	report, err := s.desk.IntakeReport(ctx, actor, b.ID)
	switch {
	case records.CodeOf(err) == records.NotFound && err != nil:
		p.NoReport = "No row report was kept of this intake."
	case err != nil:
		return err
	default:
		if p.Report, err = reportViewOf(r, report, intakePath(b.ID)); err != nil {
			return err
		}
		if p.Mapping = report.About.Named; p.Mapping != "" {
			p.Standing.text("read by the mapping", p.Mapping)
		}
	}
	if b.CopyOf != 0 {
		if err := s.copyViewOf(r, b, p); err != nil {
			return err
		}
	}
	return s.show(w, "intakeone", p)
}

func (s *Server) intakeOf(r *http.Request) (*records.Batch, error) {
	id, err := strconv.ParseInt(mux.Vars(r)["id"], 10, 64)
	if err != nil {
		return nil, records.Errorf(records.NotFound, "there is no intake %s", mux.Vars(r)["id"])
	}
	return s.desk.Intake(r.Context(), s.actor(r), id)
}

// intakeStanding says what became of the records, and of which source the
// intake is one copy.
func (s *Server) intakeStanding(r *http.Request, b *records.Batch, p *intakeOnePage) error {
	there, written, err := s.desk.IntakeStanding(r.Context(), s.actor(r), b.ID)
	if err != nil {
		return err
	}
	came := b.Accepted - b.Changed - b.Same
	p.Standing.text("records that came in", rowsWords(came))
	p.Standing.text("still here", rowsWords(there))
	if written > 0 {
		p.Standing.text("worked on since", rowsWords(written))
	}
	if came > there {
		p.Standing.text("taken out", rowsWords(came-there))
	}
	all, err := s.desk.Intakes(r.Context(), s.actor(r))
	if err != nil {
		return err
	}
	for i := range all {
		o := &all[i]
		if o.ID == b.CopyOf {
			p.Copies = append(p.Copies, pageLink{Label: fmt.Sprintf("It is a later copy of intake %d, “%s”", o.ID, o.Source), Href: intakePath(o.ID)})
		}
		if o.CopyOf == b.ID && o.State == "published" {
			p.Copies = append(p.Copies, pageLink{Label: fmt.Sprintf("Intake %d, “%s”, is a later copy of it", o.ID, o.Source), Href: intakePath(o.ID)})
			p.Withdraw, p.Held = "", fmt.Sprintf("It cannot be taken back before intake %d, its later copy, is.", o.ID)
		}
	}
	return nil
}

// copyViewOf lists what a later copy said of records that were there.
func (s *Server) copyViewOf(r *http.Request, b *records.Batch, p *intakeOnePage) error {
	q := r.URL.Query()
	only := q.Get("copy")
	if only != "" && only != "changed" && only != "clashes" && only != "gone" {
		return records.Errorf(records.Invalid, "copy=%s is no kind of record; choose changed, clashes or gone", clipText(only, 30))
	}
	after, err := strconv.ParseInt(orElse(q.Get("after"), "0"), 10, 64)
	if err != nil {
		return records.Errorf(records.Invalid, "after=%s is no record", clipText(q.Get("after"), 30))
	}
	list, more, err := s.desk.CopyRecords(r.Context(), s.actor(r), b.ID, only, after, copiesOnPage)
	if err != nil {
		return err
	}
	path := intakePath(b.ID)
	v := &copyView{None: len(list) == 0}
	for _, o := range []struct{ word, label string }{{"", "all"}, {"changed", "changed"}, {"clashes", "said differently"}, {"gone", "gone from the copy"}} {
		v.Only = append(v.Only, jobsAt{Label: o.label, Href: path + "?copy=" + o.word + "#copy", On: only == o.word})
	}
	for i := range list {
		v.Records = append(v.Records, copyRowOf(&list[i], path, b.State == "published"))
	}
	if more {
		v.Older = path + "?" + url.Values{"copy": {only}, "after": {strconv.FormatInt(list[len(list)-1].WellID, 10)}}.Encode() + "#copy"
	}
	p.Copy = v
	return nil
}

func copyRowOf(c *desk.CopyRecord, path string, standing bool) copyRow {
	row := copyRow{Label: c.Label, Href: fmt.Sprintf("/well/%d", c.WellID), Gone: c.Gone}
	switch {
	case c.Out:
		row.Said, row.Href = "taken out since", ""
	case c.Gone:
		row.Said = "the copy has it no longer"
	case c.Wrote > 0:
		row.Said = fmt.Sprintf("row %s, written as revision %d", rowsWords(c.Row), c.Wrote)
	default:
		row.Said = fmt.Sprintf("row %s, the record stands as it was", rowsWords(c.Row))
	}
	clashing := map[string]bool{}
	for i, x := range c.Clashes {
		clashing[x.Field] = true
		k := clashRow{ID: fmt.Sprintf("clash-%d-%d", c.WellID, i), Label: fieldWords(x.Field), Before: x.Before, Office: x.Office, Copy: x.Copy,
			Well: strconv.FormatInt(c.WellID, 10), Field: x.Field, Chosen: x.Chosen, By: x.By, Whole: x.Field == "" || c.Out || !standing, Path: path + "/clash"}
		row.Clashes = append(row.Clashes, k)
	}
	for _, ch := range c.Changes {
		if clashing[ch.Field] {
			continue
		}
		row.Changes = append(row.Changes, fmt.Sprintf("%s: %s → %s", fieldWords(ch.Field), orElse(clipText(ch.Was, 80), "nothing"), orElse(clipText(ch.Is, 80), "nothing")))
	}
	return row
}

// intakeClash takes what was decided of a property.
func (s *Server) intakeClash(w http.ResponseWriter, r *http.Request) error {
	b, err := s.intakeOf(r)
	if err != nil {
		return err
	}
	if err := readForm(w, r); err != nil {
		return err
	}
	f := r.PostForm
	if len(f) == 0 || f.Get("well") == "" {
		f = r.URL.Query() // the way back of what was just done
	}
	well, err := strconv.ParseInt(f.Get("well"), 10, 64)
	if err != nil {
		return records.Errorf(records.Invalid, "%q is no record", clipText(f.Get("well"), 20))
	}
	field, choice := f.Get("field"), f.Get("choice")
	if err := s.desk.DecideClash(r.Context(), s.actor(r), b.ID, well, field, choice); err != nil {
		return err
	}
	what := said{Text: "The decision was taken back."}
	if choice != "" {
		what.Text = "The office's " + fieldWords(field) + " stands."
		if choice == "copy" {
			what.Text = capital(fieldWords(field)) + " is now as the copy has it."
		}
		what.Undo = intakePath(b.ID) + "/clash?" + url.Values{"well": {f.Get("well")}, "field": {field}, "choice": {""}}.Encode()
	}
	return s.done(w, r, intakePath(b.ID)+"?copy=clashes#copy", what)
}

// intakeWithdraw takes an intake back.
func (s *Server) intakeWithdraw(w http.ResponseWriter, r *http.Request) error {
	b, err := s.intakeOf(r)
	if err != nil {
		return err
	}
	if err := readForm(w, r); err != nil {
		return err
	}
	back, err := s.desk.Withdraw(r.Context(), s.actor(r), b.ID)
	if err != nil {
		return err
	}
	text := fmt.Sprintf("“%s” was taken back: %s taken out", b.Source, count(int(back.Removed), "record", "records"))
	if back.Back > 0 {
		text += fmt.Sprintf(", %s set back to what they were", count(int(back.Back), "record", "records"))
	}
	if back.Left > 0 {
		text += fmt.Sprintf(", %s left because somebody had worked on them", count(int(back.Left), "record", "records"))
	}
	return s.done(w, r, intakePath(b.ID), said{Text: text + ". Sent again, the file comes in anew."})
}
