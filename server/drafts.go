package server

import (
	"fmt"
	"net/http"
	"strconv"
	"time"

	"github.com/google/uuid"

	"tallybook/records"
)

// draftsPage lists what somebody has begun and not saved.
type draftsPage struct {
	Base
	Drafts []draftLine
}

// draftLine is one draft.
type draftLine struct{ Title, Of, When, Href, Discard string }

// draftHref is where a draft is gone on with.
func draftHref(d *records.Draft) string {
	path := "/well/new"
	if d.WellID > 0 {
		path = wellHref(d.WellID) + "/edit"
	}
	return fmt.Sprintf("%s?draft=%d", path, d.ID)
}

// keptWords says when a draft was kept.
func keptWords(at time.Time) string { return at.UTC().Format("2 January 2006 15:04 UTC") }

// draftsHome answers /drafts.
func (s *Server) draftsHome(w http.ResponseWriter, r *http.Request) error {
	drafts, err := s.desk.Drafts(r.Context(), s.actor(r))
	if err != nil {
		return err
	}
	p := draftsPage{Base: s.base(r, "Drafts")}
	for _, d := range drafts {
		line := draftLine{Title: d.Title, Of: "a record that is not there yet", When: "kept " + keptWords(d.KeptAt), Href: draftHref(d),
			Discard: fmt.Sprintf("/draft/%d/discard?revision=%d", d.ID, d.Revision)}
		if d.WellID > 0 {
			line.Of = fmt.Sprintf("changes to a record, from its revision %d", d.WellRevision)
		}
		p.Drafts = append(p.Drafts, line)
	}
	return s.show(w, "drafts", p)
}

// draftsBeside are the other drafts that this person has of the form's record,
// and when the form's own was kept.
func (s *Server) draftsBeside(r *http.Request, f *editForm) (beside []editDraft, keptAt string, err error) {
	drafts, err := s.desk.Drafts(r.Context(), s.actor(r))
	if err != nil {
		return nil, "", err
	}
	for _, d := range drafts {
		switch {
		case d.ID == f.DraftID:
			keptAt = keptWords(d.KeptAt)
		case d.WellID == f.ID && f.DraftID == 0:
			beside = append(beside, editDraft{Label: d.Title, When: keptWords(d.KeptAt), Href: draftHref(d)})
		}
	}
	return beside, keptAt, nil
}

// keepDraft keeps the form as a draft.
func (s *Server) keepDraft(r *http.Request, f *editForm) (*records.Draft, error) {
	if f.ID == 0 && uuid.Validate(f.UID) != nil {
		return nil, records.Errorf(records.Invalid, "the form lacks the name that the new record gets; open it anew")
	}
	d := &records.Draft{ID: f.DraftID, Revision: f.DraftRevision, WellID: f.ID, WellRevision: f.Revision, Title: f.name(), Typed: f.kept()}
	if d.ID == 0 {
		d.Revision = 0
	}
	if err := s.desk.KeepDraft(r.Context(), s.actor(r), d); err != nil {
		return nil, err
	}
	f.DraftID, f.DraftRevision = d.ID, d.Revision
	return d, nil
}

// editKeep keeps the form as a draft, asked for by its button, and goes on
// with it at an address of its own.
func (s *Server) editKeep(w http.ResponseWriter, r *http.Request, f *editForm) error {
	d, err := s.keepDraft(r, f)
	if records.CodeOf(err) == records.Conflict {
		return s.editShow(w, r, f, editShown{judged: true, status: http.StatusConflict, refused: "Not kept: " + records.MessageOf(err) + ". What is typed stands below; save it here to see both versions."})
	}
	if err != nil {
		return err
	}
	return s.done(w, r, draftHref(d), said{Text: "Kept as a draft. It stands under Drafts until it is saved or discarded."})
}

// draftAnswer is what a script is told of a draft that was kept.
type draftAnswer struct {
	ID       int64  `json:"id"`
	Revision int64  `json:"revision"`
	At       string `json:"at"`
	Href     string `json:"href"`
}

// draftKeep answers POST /draft for a script.
func (s *Server) draftKeep(w http.ResponseWriter, r *http.Request) error {
	if err := readForm(w, r); err != nil {
		return err
	}
	f := readEditForm(r.PostForm, postedID(r), unitsOf(r))
	d, err := s.keepDraft(r, f)
	if err != nil {
		return err
	}
	return sendJSON(w, draftAnswer{d.ID, d.Revision, keptWords(d.KeptAt), draftHref(d)})
}

// draftEnd discards a draft, or takes one that was discarded back.
func (s *Server) draftEnd(how string) handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		id, err := idOf(r)
		if err != nil {
			return err
		}
		revision, err := strconv.ParseInt(r.URL.Query().Get("revision"), 10, 64)
		if err != nil {
			return records.Errorf(records.Invalid, "the address names no revision of the draft; do it from the list of drafts")
		}
		if err := s.desk.EndDraft(r.Context(), s.actor(r), id, revision, how); err != nil {
			return err
		}
		if how == "" {
			return s.done(w, r, "/drafts", said{Text: "The draft is back."})
		}
		return s.done(w, r, "/drafts", said{Text: "The draft is discarded.", Undo: fmt.Sprintf("/draft/%d/reopen?revision=%d", id, revision)})
	}
}
