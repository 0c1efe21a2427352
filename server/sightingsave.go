package server

import (
	"net/http"
	"strconv"

	"github.com/gorilla/mux"

	"tallybook/records"
)

// sightingSave answers the form, of a new sighting and of one that is changed.
func (s *Server) sightingSave(w http.ResponseWriter, r *http.Request) error {
	if err := readForm(w, r); err != nil {
		return err
	}
	ctx, actor := r.Context(), s.actor(r)
	see := &records.Sighting{Method: "map"}
	changing := mux.Vars(r)["id"] != ""
	if changing {
		id, err := idOf(r)
		if err != nil {
			return err
		}
		if see, err = s.desk.Sighting(ctx, actor, id); err != nil {
			return err
		}
		if see.Revision, err = sightingRevision(r.PostForm.Get("revision")); err != nil {
			return err
		}
	}
	u := unitsOf(r)
	f := readSighting(r.PostForm, see, u)
	if len(f.Faults) > 0 {
		f.place(nil)
		return s.sightingShow(w, r, see, f, "Nothing was saved: see what is marked.", nil, http.StatusUnprocessableEntity)
	}
	was := see.Revision
	faults, err := s.desk.SaveSighting(ctx, actor, see, f.Why)
	switch {
	case records.Refuses(faults):
		rest := f.place(faults)
		return s.sightingShow(w, r, see, f, "Nothing was saved: see what is marked.", rest, http.StatusUnprocessableEntity)
	case records.CodeOf(err) == records.Conflict:
		return s.sightingShow(w, r, see, f, "Nothing was saved: somebody changed it meanwhile. What you typed stands below; open the sighting anew to see theirs.", nil, http.StatusConflict)
	case err != nil:
		return err
	}
	what := said{Text: "Kept: " + sightingWords(see, u) + ".", Undo: removeHref(see)}
	if changing {
		what = said{Text: "Changed: " + sightingWords(see, u) + ".", Undo: restoreHref(see.ID, was, see.Revision)}
	}
	for _, x := range faults {
		what.Text += " Take care: " + x.Message + "."
	}
	return s.done(w, r, sightingPath(see.ID), what)
}

func removeHref(see *records.Sighting) string {
	return sightingPath(see.ID) + "/remove?revision=" + strconv.FormatInt(see.Revision, 10)
}

// sightingRevision reads the revision that somebody saw.
func sightingRevision(t string) (int64, error) {
	n, err := strconv.ParseInt(t, 10, 64)
	if err != nil || n <= 0 {
		return 0, records.Errorf(records.Invalid, "%q is no revision of a sighting; open it again and do it from there", clipText(t, 20))
	}
	return n, nil
}

// sightingRemove takes a sighting out.
func (s *Server) sightingRemove(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	revision, err := sightingRevision(r.URL.Query().Get("revision"))
	if err != nil {
		return err
	}
	if err := s.desk.RemoveSighting(r.Context(), s.actor(r), id, revision, ""); err != nil {
		return err
	}
	return s.done(w, r, sightingPath(id), said{Text: "Taken out: no estimate goes by it any more.", Undo: restoreHref(id, revision, revision)})
}

// sightingRestore makes an earlier state the present one, or brings back one
// that was taken out.
func (s *Server) sightingRestore(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	ctx, actor := r.Context(), s.actor(r)
	revision, err := sightingRevision(r.URL.Query().Get("revision"))
	if err != nil {
		return err
	}
	current, err := sightingRevision(r.URL.Query().Get("current"))
	if err != nil {
		return err
	}
	restored, err := s.desk.RestoreSighting(ctx, actor, id, revision, current)
	if err != nil {
		return err
	}
	see, err := s.desk.Sighting(ctx, actor, restored)
	if err != nil {
		return err
	}
	what := said{Text: "Restored: " + sightingWords(see, unitsOf(r)) + ".", Undo: removeHref(see)}
	if restored == id {
		what.Undo = restoreHref(id, current, see.Revision)
	}
	return s.done(w, r, sightingPath(restored), what)
}
