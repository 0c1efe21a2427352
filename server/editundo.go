package server

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"tallybook/records"
)

// wellRevision reads a revision of a record from an address.
func wellRevision(q url.Values, name string) (int64, error) {
	n, err := strconv.ParseInt(q.Get(name), 10, 64)
	if err != nil || n <= 0 {
		return 0, records.Errorf(records.Invalid, "%q is no revision of a record; open the record and do it from there", clipText(q.Get(name), 20))
	}
	return n, nil
}

// editUndo makes the state before a change the present one again.
func (s *Server) editUndo(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	revision, err := wellRevision(r.URL.Query(), "revision")
	if err != nil {
		return err
	}
	current, err := wellRevision(r.URL.Query(), "current")
	if err != nil {
		return err
	}
	if err := s.desk.Restore(r.Context(), s.actor(r), id, revision, current); err != nil {
		return err
	}
	return s.done(w, r, wellHref(id), said{Text: "Taken back: the record stands as it did before.", Undo: fmt.Sprintf("%s/edit/undo?revision=%d&current=%d", wellHref(id), current, current+1)})
}

// editRemove takes a record out.
func (s *Server) editRemove(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	revision, err := wellRevision(r.URL.Query(), "revision")
	if err != nil {
		return err
	}
	plates, err := s.desk.RemoveRecord(r.Context(), s.actor(r), id, revision, "")
	switch {
	case records.CodeOf(err) == records.NotFound: // pressed twice: where it went tells
		return s.wellGone(w, r, id, err)
	case err != nil:
		return err
	}
	what := said{Text: "The record is taken out: it is on no map and in no estimate any more.", Undo: fmt.Sprintf("%s/back?revision=%d&plates=%s", wellHref(id), revision, joinIDs(plates))}
	if len(plates) > 0 {
		what.Text += " " + capital(count(len(plates), "plate is", "plates are")) + " linked to no record now."
	}
	return s.done(w, r, "/records", what)
}

// editBack brings back a record that was taken out, with its plates.
func (s *Server) editBack(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	revision, err := wellRevision(q, "revision")
	if err != nil {
		return err
	}
	var plates []int64
	for _, t := range strings.Split(q.Get("plates"), ",") {
		if n, err := strconv.ParseInt(t, 10, 64); err == nil && n > 0 {
			plates = append(plates, n)
		}
	}
	back, err := s.desk.BringBackRecord(r.Context(), s.actor(r), id, revision, plates)
	switch {
	case records.CodeOf(err) == records.Conflict: // pressed twice, or brought back by somebody else
		to, err2 := s.desk.WhereTo(r.Context(), s.actor(r), id)
		if err2 != nil {
			return err
		}
		if _, err2 := s.desk.Well(r.Context(), s.actor(r), to); err2 != nil {
			return err
		}
		return s.done(w, r, wellHref(to), said{Text: "The record is back already."})
	case err != nil:
		return err
	}
	sheet, err := s.desk.Well(r.Context(), s.actor(r), back)
	if err != nil {
		return err
	}
	return s.done(w, r, wellHref(back), said{Text: "The record is back, as it was.", Undo: fmt.Sprintf("%s/remove?revision=%d", wellHref(back), sheet.Well.Revision)})
}
