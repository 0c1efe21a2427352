package server

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"time"

	"github.com/gorilla/mux"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/server/say"
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
				return s.intakeChoose(w, r, capital(records.MessageOf(err))+".", say.Status(code))
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
		if f.Batch != 0 { // in another tab: what is in is not dropped, but taken back
			return s.done(w, r, intakePath(f.Batch), said{Text: "“" + clipText(f.Name, 80) + "” was accepted meanwhile; below stands what became of it."})
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
