package server

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/gorilla/mux"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/server/say"
)

// judgeSent is what every form of the page sends.
type judgeSent struct {
	id, revision int64
	q            url.Values
	state        judgeState
	u            say.System
}

func readJudge(w http.ResponseWriter, r *http.Request) (judgeSent, error) {
	var s judgeSent
	err := readForm(w, r)
	if err != nil {
		return s, err
	}
	if s.id, err = idOf(r); err != nil {
		return s, err
	}
	s.q = r.PostForm
	if s.revision, err = wellRevision(s.q, "revision"); err != nil {
		return s, err
	}
	if s.state, err = judgeStateOf(s.q); err != nil {
		return s, err
	}
	s.u = unitsOf(r)
	if in, ok := say.Parse(s.q.Get("in")); ok {
		s.u = in
	}
	return s, nil
}

// judged goes on after a form did its work.
func (s *Server) judged(w http.ResponseWriter, r *http.Request, sent judgeSent, did *desk.Judged, text, to string) error {
	for _, f := range did.Faults {
		text += " To be looked at: " + f.Message + "."
	}
	return s.done(w, r, to, said{Text: text, Undo: fmt.Sprintf("%s/edit/undo?revision=%d&current=%d", wellHref(sent.id), did.Was, did.Revision)})
}

// judgeRefused shows the page again where what was sent cannot be kept.
func (s *Server) judgeRefused(w http.ResponseWriter, r *http.Request, sent judgeSent, f judgeForm, err error) error {
	if records.CodeOf(err) != records.Invalid {
		return err
	}
	f.Fault, f.Revision = records.MessageOf(err), sent.revision
	return s.judgeShow(w, r, sent.id, sent.state, f, http.StatusUnprocessableEntity)
}

// pickAdd answers the form that adds an own pick.
func (s *Server) pickAdd(w http.ResponseWriter, r *http.Request) error {
	sent, err := readJudge(w, r)
	if err != nil {
		return err
	}
	get := func(name string) string { return strings.TrimSpace(sent.q.Get(name)) }
	form := judgeForm{Sent: "picks", Set: sent.state.set, By: sent.state.by, Of: ofChoices(get("of")), Depth: get("depth"), Reason: get("reason")}
	a, err := records.ParseAmount(form.Depth, records.DimLength, sent.u.LengthUnit())
	if err != nil {
		return s.judgeRefused(w, r, sent, form, &records.Error{Code: records.Invalid, Field: "depth", Message: "the depth: " + err.Error()})
	}
	p := records.OwnPick{Set: sent.state.set, Of: get("of"), Reason: form.Reason, By: sent.state.by,
		Depth: records.Amount[records.Depth]{Qualifier: a.Qualifier, Value: records.Depth(a.Value), High: records.Depth(a.High), Given: a.Given}}
	did, err := s.desk.AddPick(r.Context(), s.actor(r), sent.id, sent.revision, p)
	if err != nil {
		return s.judgeRefused(w, r, sent, form, err)
	}
	to, text := sent.state.href(sent.id), "Kept in the set “"+sent.state.set+"”."
	if get("then") == "next" {
		sheet, err := s.desk.Well(r.Context(), s.actor(r), sent.id)
		if err != nil {
			return err
		}
		if at, ok := placeOf(sheet.Well); ok && sent.state.from == nil {
			sent.state.from = &at
		}
		text = nameOf(sheet.Well) + ": kept in the set “" + sent.state.set + "”."
		if next := s.judgeNext(r, units{sent.u}, sheet.Well, sent.state); next.Href != "" {
			to = next.Href
		}
	}
	return s.judged(w, r, sent, did, text, to)
}

// markAdd answers the form that marks a log unreliable.
func (s *Server) markAdd(w http.ResponseWriter, r *http.Request) error {
	sent, err := readJudge(w, r)
	if err != nil {
		return err
	}
	about, reason := sent.q.Get("about"), strings.TrimSpace(sent.q.Get("doubt"))
	did, err := s.desk.MarkUnreliable(r.Context(), s.actor(r), sent.id, sent.revision, records.Doubt{About: about, Reason: reason, By: sent.state.by})
	if err != nil {
		return s.judgeRefused(w, r, sent, judgeForm{Sent: "unreliable", About: aboutChoices(about), Doubt: reason}, err)
	}
	return s.judged(w, r, sent, did, "Marked. What is marked stays in the record and is left out of surfaces, estimates, scores and sections.", sent.state.href(sent.id))
}

// pickRemove and markRemove take one out again.
func (s *Server) pickRemove(w http.ResponseWriter, r *http.Request) error {
	return s.judgeRemove(w, r, func(sent judgeSent, at int) (*desk.Judged, error) {
		return s.desk.DropPick(r.Context(), s.actor(r), sent.id, sent.revision, at)
	}, "The pick is taken out.")
}

func (s *Server) markRemove(w http.ResponseWriter, r *http.Request) error {
	return s.judgeRemove(w, r, func(sent judgeSent, at int) (*desk.Judged, error) {
		return s.desk.Unmark(r.Context(), s.actor(r), sent.id, sent.revision, at)
	}, "No longer marked: the log counts again.")
}

func (s *Server) judgeRemove(w http.ResponseWriter, r *http.Request, remove func(judgeSent, int) (*desk.Judged, error), text string) error {
	sent, err := readJudge(w, r)
	if err != nil {
		return err
	}
	at, err := strconv.Atoi(mux.Vars(r)["at"])
	if err != nil {
		return records.Errorf(records.NotFound, "there is no such pick or mark")
	}
	did, err := remove(sent, at)
	if err != nil {
		return err
	}
	return s.judged(w, r, sent, did, text, sent.state.href(sent.id))
}
