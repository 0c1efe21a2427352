package server

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/gorilla/mux"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/importer"
)

// intakePage is where a file is chosen, and where those wait that were sent.
type intakePage struct {
	Base
	Fault   string
	Most    string // the largest file that is taken
	Waiting []waitingFile
}

// waitingFile is a file that was sent and not accepted yet.
type waitingFile struct {
	Name, Href, Said, Drop string
}

// intakeStep is one of the steps that a file goes through.
type intakeStep struct {
	Label, Href string
	On, Open    bool
}

// sentHead is what every page of a file that was sent says above.
type sentHead struct {
	Name  string
	Path  string
	Said  string // how large it is, when it came and from whom
	Steps []intakeStep
}

func sentPath(token string) string { return "/intake/" + token }

// sentHeadOf is the head of the pages of a file; on is the step that is shown.
func sentHeadOf(f *desk.Sent, table bool, on string) sentHead {
	path := sentPath(f.Token)
	h := sentHead{Name: f.Name, Path: path, Said: fmt.Sprintf("%s, sent %s by %s", bytesWords(f.Size), timeWords(f.At), f.By)}
	steps := []intakeStep{{Label: "Look", Href: path, Open: true}}
	if table {
		steps = append(steps, intakeStep{Label: "Columns", Href: path + "/columns", Open: true})
	}
	steps = append(steps, intakeStep{Label: "Rehearse and accept", Href: path + "/report", Open: true})
	for i := range steps {
		steps[i].On = steps[i].Label == on
	}
	h.Steps = steps
	return h
}

// bytesWords says the size of a file.
func bytesWords(n int64) string {
	switch {
	case n >= 10<<20:
		return fmt.Sprintf("%d MB", n>>20)
	case n >= 1<<20:
		return fmt.Sprintf("%.1f MB", float64(n)/(1<<20))
	case n >= 1<<10:
		return fmt.Sprintf("%d kB", n>>10)
	}
	return fmt.Sprintf("%d bytes", n)
}

func timeWords(t time.Time) string { return dayOf(t) + " " + t.Format("15:04") }

// rowsWords writes a number of rows so that it can be read.
func rowsWords(n int64) string { return grouped(int(n)) }

// intakeHome answers /intake.
func (s *Server) intakeHome(w http.ResponseWriter, r *http.Request) error {
	return s.intakeChoose(w, r, "", 0)
}

func (s *Server) intakeChoose(w http.ResponseWriter, r *http.Request, fault string, status int) error {
	waiting, err := s.desk.SentFiles(r.Context(), s.actor(r))
	if err != nil {
		return err
	}
	p := intakePage{Base: s.base(r, "Take a file in"), Fault: fault, Most: bytesWords(desk.MostSent)}
	for _, f := range waiting {
		said := bytesWords(f.Size) + ", sent " + timeWords(f.At) + " by " + f.By
		if f.Rehearsed != nil {
			said += ", rehearsed"
		}
		p.Waiting = append(p.Waiting, waitingFile{Name: f.Name, Href: sentPath(f.Token), Said: said, Drop: sentPath(f.Token) + "/drop"})
	}
	if status != 0 {
		w.WriteHeader(status)
	}
	return s.show(w, "intake", p)
}

// sendingTime is how long a file may take to arrive.
const sendingTime = 30 * time.Minute

// intakeSend takes a file that is sent. It goes to disk as it arrives.
func (s *Server) intakeSend(w http.ResponseWriter, r *http.Request) error {
	c := http.NewResponseController(w)
	until := time.Now().Add(sendingTime)
	if err := errors.Join(c.SetReadDeadline(until), c.SetWriteDeadline(until)); err != nil {
		s.log.Debug("a file that is sent has the usual time to arrive", "err", err)
	}
	r.Body = http.MaxBytesReader(w, r.Body, desk.MostSent+1<<20)
	parts, err := r.MultipartReader()
	if err != nil {
		return s.intakeChoose(w, r, "No file came: choose one, then send it.", http.StatusBadRequest)
	}
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			return s.intakeChoose(w, r, "No file came: choose one, then send it.", http.StatusBadRequest)
		}
		if err != nil {
			return s.intakeChoose(w, r, "The file did not arrive whole; send it again.", http.StatusBadRequest)
		}
		if part.FormName() != "file" {
			continue
		}
		if part.FileName() == "" {
			return s.intakeChoose(w, r, "No file was chosen: choose one, then send it.", http.StatusBadRequest)
		}
		f, err := s.desk.Receive(r.Context(), s.actor(r), part.FileName(), part)
		if err != nil {
			if code := records.CodeOf(err); code != records.Internal {
				return s.intakeChoose(w, r, capital(records.MessageOf(err))+".", statusOf(code))
			}
			return err
		}
		http.Redirect(w, r, sentPath(f.Token), http.StatusSeeOther)
		return nil
	}
}

// sentOf is the file that an address names; where it is in already, where it
// went.
func (s *Server) sentOf(w http.ResponseWriter, r *http.Request) (*desk.Sent, bool, error) {
	f, err := s.desk.SentFile(r.Context(), s.actor(r), mux.Vars(r)["token"])
	if err != nil {
		return nil, false, err
	}
	if f.Batch != 0 {
		return nil, true, s.intakeIn(w, r, f)
	}
	return f, false, nil
}

// justNow is how long what was done is told of with its undo.
const justNow = time.Minute

// intakeIn sends the reader on to what a file became, and where that was just
// now offers to take it back.
func (s *Server) intakeIn(w http.ResponseWriter, r *http.Request, f *desk.Sent) error {
	work, err := s.desk.IntakeWork(s.actor(r), f.Token)
	if err != nil {
		return err
	}
	if work == nil || time.Since(work.Ended) > justNow {
		http.Redirect(w, r, intakePath(f.Batch), http.StatusSeeOther)
		return nil
	}
	return s.done(w, r, intakePath(f.Batch), said{Text: "“" + clipText(f.Name, 80) + "” was taken in.", Undo: intakePath(f.Batch) + "/withdraw"})
}

// lookPage shows what a file is.
type lookPage struct {
	Base
	Head     sentHead
	Fault    string // why it cannot be read
	Mend     bool
	Facts    facts
	Notes    []string
	Sheets   []sheetView
	Table    bool
	Revision int64
	CopyOf   []copyChoice
	Next     string // the button's words
}

// sheetView is one table of the file, its first rows as they stand.
type sheetView struct {
	ID, Title, Lead string
	Notes           []string
	Columns         listing
	Heads           []string
	Rows            [][]string
}

// copyChoice is an intake that the file may be a later copy of.
type copyChoice struct {
	ID, Label, Said string
	On              bool
}

// intakeLook answers /intake/{token}: the file as it stands.
func (s *Server) intakeLook(w http.ResponseWriter, r *http.Request) error {
	f, gone, err := s.sentOf(w, r)
	if err != nil || gone {
		return err
	}
	l, err := s.desk.LookAtSent(r.Context(), s.actor(r), f.Token)
	if err != nil && records.CodeOf(err) == records.Internal {
		return err
	}
	p := lookPage{Base: s.base(r, f.Name), Revision: f.Revision, Table: l != nil && l.Format != importer.GeoJSON, Next: "Go on to the columns"}
	p.Head = sentHeadOf(f, p.Table, "Look")
	if err != nil {
		p.Fault = capital(records.MessageOf(err)) + "."
		return s.show(w, "intakelook", p)
	}
	if !p.Table {
		p.Next = "Go on to the rehearsal"
	}
	p.Facts.text("what it is", formatWords(l))
	p.Facts.text("how its rows stand", l.Layout)
	p.Facts.text("written as", l.Encoding)
	p.Facts.text("size", bytesWords(l.Bytes))
	p.Notes = l.Notes
	for i := range l.Sheets {
		p.Sheets = append(p.Sheets, sheetViewOf(&l.Sheets[i], i))
	}
	if err := s.copyChoices(r, f, &p); err != nil {
		return err
	}
	return s.show(w, "intakelook", p)
}

func formatWords(l *importer.Look) string {
	switch {
	case l.Format == importer.GeoJSON:
		return "GeoJSON"
	case l.Format == importer.CSV:
		return "a table of text (CSV)"
	}
	return "a workbook (" + strings.ToUpper(l.Format.String()) + ")"
}

// sheetViewOf shows a table.
func sheetViewOf(sh *importer.SheetLook, i int) sheetView {
	v := sheetView{ID: fmt.Sprintf("sheet-%d", i+1), Title: orElse(sh.Name, "The table"), Notes: sh.Notes}
	if sh.Header == 0 && sh.Name == "" {
		v.Title = "The features"
	}
	features := sh.Header == 0
	v.Lead = "Taken for: " + sh.Role.Label()
	if features {
		v.Lead = "Each feature is a well"
	} else if sh.Why != "" {
		v.Lead += ", " + sh.Why
	}
	rows := count(int(sh.Looked), "row", "rows")
	switch {
	case sh.Whole:
		v.Lead += ". It holds " + rows + "."
	case sh.Spread:
		v.Lead += fmt.Sprintf(". %s were looked at, from all over it.", capital(rows))
	default:
		v.Lead += fmt.Sprintf(". The first %s were looked at.", rows)
	}
	v.Columns = listing{Heads: heads("column", "such as", "#filled", "seems to be", "why")}
	for k := range sh.Columns {
		c := &sh.Columns[k]
		v.Heads = append(v.Heads, c.Name)
		filled := ""
		if sh.Looked > 0 {
			filled = fmt.Sprintf("%d %%", (100*c.Filled+sh.Looked/2)/sh.Looked)
		}
		v.Columns.add("", cell{Text: c.Name, Class: "strong"}, cell{Text: clipText(strings.Join(c.Samples, " · "), 90), Class: "quiet"}, cell{Text: filled},
			cell{Text: meaningWords(c, features), More: c.Kind}, cell{Text: c.Why, Class: "quiet"})
	}
	for _, row := range sh.Head {
		cells := make([]string, len(sh.Columns))
		for k := range cells {
			if k < len(row) {
				cells[k] = clipText(row[k], 60)
			}
		}
		v.Rows = append(v.Rows, cells)
	}
	return v
}

// meaningWords says what a column seems to mean.
func meaningWords(c *importer.ColumnLook, feature bool) string {
	if feature && knownProperty(c.Name) {
		return fieldWords(c.Name)
	}
	if c.Field == "" {
		return "not known: kept as it stands"
	}
	in := strings.TrimSpace(strings.Join([]string{c.Unit, c.Datum, c.Order}, " "))
	if in != "" {
		in = ", " + strings.Join(strings.Fields(in), " ")
	}
	return fieldSaid(c.Field) + in
}

// copyChoices offers the intakes that the file may be a later copy of.
func (s *Server) copyChoices(r *http.Request, f *desk.Sent, p *lookPage) error {
	before, err := s.desk.CameBefore(r.Context(), s.actor(r), f)
	if err != nil || len(before) == 0 {
		return err
	}
	p.CopyOf = []copyChoice{{ID: "0", Label: "New: its wells are not here yet", On: f.CopyOf == 0}}
	const most = 8
	for i := range before {
		b := &before[i]
		if i >= most && b.Batch.ID != f.CopyOf {
			continue
		}
		c := copyChoice{ID: strconv.FormatInt(b.Batch.ID, 10), Label: "A later copy of “" + b.Batch.Source + "”", On: b.Batch.ID == f.CopyOf,
			Said: fmt.Sprintf("intake %d, %s, %s", b.Batch.ID, dayOf(b.Batch.StartedAt), count(int(b.Batch.Accepted), "row accepted", "rows accepted"))}
		switch {
		case b.Same:
			c.Said += "; this very file came in then"
		case b.Named:
			c.Said += "; its name is alike"
		}
		p.CopyOf = append(p.CopyOf, c)
	}
	return nil
}

// intakeKind takes whether the file is new or a later copy.
func (s *Server) intakeKind(w http.ResponseWriter, r *http.Request) error {
	f, gone, err := s.sentOf(w, r)
	if err != nil || gone {
		return err
	}
	if err := readForm(w, r); err != nil {
		return err
	}
	of, err := strconv.ParseInt(orElse(r.PostForm.Get("copy_of"), "0"), 10, 64)
	if err != nil || of < 0 {
		return records.Errorf(records.Invalid, "%q is no intake", clipText(r.PostForm.Get("copy_of"), 20))
	}
	if of != f.CopyOf {
		m, err := mappingOf(f)
		if err != nil {
			return err
		}
		if _, err := s.desk.ChooseSent(r.Context(), s.actor(r), f.Token, f.Revision, m, f.Named, of); err != nil {
			return err
		}
	}
	to := sentPath(f.Token) + "/columns"
	if r.PostForm.Get("table") == "" {
		to = sentPath(f.Token) + "/report"
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// mappingOf is the mapping that was chosen of a file, nil for none.
func mappingOf(f *desk.Sent) (*importer.Mapping, error) {
	if f.Mapping == "" {
		return nil, nil
	}
	return importer.ReadMapping([]byte(f.Mapping))
}

// intakeAct answers the buttons of a file that was sent.
func (s *Server) intakeAct(w http.ResponseWriter, r *http.Request) error {
	token, act := mux.Vars(r)["token"], mux.Vars(r)["act"]
	ctx, actor := r.Context(), s.actor(r)
	if err := readForm(w, r); err != nil {
		return err
	}
	var err error
	switch act {
	case "rehearse":
		err = s.desk.RehearseSent(ctx, actor, token)
	case "accept":
		revision, perr := strconv.ParseInt(r.PostForm.Get("revision"), 10, 64)
		if perr != nil {
			return records.Errorf(records.Invalid, "the form does not say which rehearsal is accepted; go back and look at it again")
		}
		err = s.desk.AcceptSent(ctx, actor, token, revision)
	case "cancel":
		err = s.desk.CancelWork(actor, token)
	case "drop":
		f, ferr := s.desk.SentFile(ctx, actor, token)
		if ferr != nil {
			return ferr
		}
		if err = s.desk.DropSent(ctx, actor, token); err == nil {
			return s.done(w, r, "/intake", said{Text: "“" + f.Name + "” was dropped; nothing of it was taken in."})
		}
	}
	if err != nil {
		return err
	}
	http.Redirect(w, r, sentPath(token)+"/report", http.StatusSeeOther)
	return nil
}
