package server

import (
	"errors"
	"net/http"
	"strconv"
	"strings"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/server/say"
)

// newPlatePage is the form of a plate that nobody has entered yet.
func newPlatePage() plateFormPage {
	return plateFormPage{Heading: "A plate seen", Sub: "Record what is stamped, and where it is. Which well it belongs to is decided at the desk.",
		Action: "/plates/new", Back: "/plates", Button: "Keep it", Caution: true, OfPlate: true}
}

// plateNew answers GET /plates/new. number and at may be given.
func (s *Server) plateNew(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	pl := &records.Plate{Number: clipText(strings.TrimSpace(q.Get("number")), 120), Seen: []records.PlateSighting{{Date: s.desk.Validation().Today}}}
	if t := q.Get("at"); t != "" {
		at, err := position.Parse(t)
		if err != nil {
			return &records.Error{Code: records.Invalid, Field: "at", Message: "the place of the plate: " + err.Error()}
		}
		pl.Seen[0].Located, pl.Seen[0].Lon, pl.Seen[0].Lat = true, at.At.Lon, at.At.Lat
	}
	p := newPlatePage()
	p.Form = plateFormOf(pl, unitsOf(r), 0)
	p.Form.Seen[0].New = true
	return s.plateFormShow(w, r, p, http.StatusOK)
}

// unitsIn is the system that a form was made in.
func unitsIn(r *http.Request) say.System {
	if in, ok := say.Parse(r.PostForm.Get("in")); ok {
		return in
	}
	return unitsOf(r)
}

const nothingSaved = "Nothing was saved: see what is marked."

// plateCreate answers POST /plates/new. A number that a plate has already is
// asked about: is it that plate, seen again, or another one?
func (s *Server) plateCreate(w http.ResponseWriter, r *http.Request) error {
	if err := readForm(w, r); err != nil {
		return err
	}
	ctx, actor, q, u := r.Context(), s.actor(r), r.PostForm, unitsIn(r)
	pl := &records.Plate{Seen: make([]records.PlateSighting, 1)}
	p := newPlatePage()
	form, wrong := readPlateForm(q, pl, u, 0, true)
	p.Form = form
	p.Form.Seen[0].New = true
	if wrong {
		p.Refused = nothingSaved
		return s.plateFormShow(w, r, p, http.StatusUnprocessableEntity)
	}
	if into := q.Get("into"); into != "" {
		return s.plateSeenInto(w, r, pl, into)
	}
	if pl.Number != "" && q.Get("another") == "" {
		var err error
		if p.Known, err = s.platesNumbered(r, pl.Number); err != nil {
			return err
		}
		if len(p.Known) > 0 {
			p.Refused = "Nothing was saved yet: there is a plate with this number."
			return s.plateFormShow(w, r, p, http.StatusConflict)
		}
	}
	dropEmpty(pl)
	faults, err := s.desk.KeepPlate(ctx, actor, pl, "")
	switch {
	case records.Refuses(faults):
		p.Warnings = p.Form.place(faults)
		p.Refused = nothingSaved
		return s.plateFormShow(w, r, p, http.StatusUnprocessableEntity)
	case err != nil:
		return err
	}
	return s.done(w, r, plateHref(pl.ID), said{Text: "Kept: plate " + plateName(pl) + "." + cares(faults), Undo: plateRemoveHref(pl)})
}

// cares are the doubts about what was kept.
func cares(faults []records.Fault) string {
	t := ""
	for _, x := range faults {
		t += " Take care: " + x.Message + "."
	}
	return t
}

// dropEmpty takes out the sightings that say nothing but the day.
func dropEmpty(pl *records.Plate) {
	kept := pl.Seen[:0]
	for _, x := range pl.Seen {
		if x.Located || x.Legible != "" || x.Note != "" || x.By != "" || !x.Date.IsZero() || len(x.Extra) > 0 {
			kept = append(kept, x)
		}
	}
	pl.Seen = kept
}

// platesNumbered are the plates that have a number, to the digit.
func (s *Server) platesNumbered(r *http.Request, number string) ([]plateKnown, error) {
	found, err := s.desk.NumbersLike(r.Context(), s.actor(r), number, 20)
	if err != nil {
		return nil, err
	}
	var out []plateKnown
	for _, m := range found {
		if m.PlateID == 0 || !sameText(m.Text, number) {
			continue
		}
		pl, err := s.desk.Plate(r.Context(), s.actor(r), m.PlateID)
		if err != nil {
			return nil, err
		}
		said := joinWords(pl.Authority, stampedWords(units{unitsOf(r)}, &pl.Stamped), m.Note)
		out = append(out, plateKnown{m.PlateID, m.Text, plateHref(m.PlateID), said})
	}
	return out, nil
}

// plateSeenInto adds what was seen to a plate that is known.
func (s *Server) plateSeenInto(w http.ResponseWriter, r *http.Request, seen *records.Plate, into string) error {
	id, err := strconv.ParseInt(into, 10, 64)
	if err != nil {
		return records.Errorf(records.Invalid, "%q is no plate", clipText(into, 20))
	}
	pl, err := s.desk.Plate(r.Context(), s.actor(r), id)
	if err != nil {
		return err
	}
	was := pl.Revision
	pl.Seen = append(pl.Seen, seen.Seen...)
	fillStamped(&pl.Stamped, &seen.Stamped)
	faults, err := s.desk.KeepPlate(r.Context(), s.actor(r), pl, "seen again")
	if err != nil {
		return err
	}
	return s.done(w, r, plateHref(id), said{Text: "Plate " + plateName(pl) + ": seen again." + cares(faults), Undo: plateRestoreHref(id, was, pl.Revision)})
}

// fillStamped takes over what was read this time and is not on record; what is
// on record stays.
func fillStamped(to, from *records.Stamped) {
	if to.Date.IsZero() {
		to.Date = from.Date
	}
	fill(&to.Depth, from.Depth)
	fill(&to.Casing, from.Casing)
	fill(&to.Diameter, from.Diameter)
	fill(&to.Yield, from.Yield)
	fill(&to.Static, from.Static)
	fill(&to.PumpDepth, from.PumpDepth)
	if to.Driller == "" {
		to.Driller = from.Driller
	}
}

func fill[T ~float64](to *records.Amount[T], from records.Amount[T]) {
	if !to.Known() {
		*to = from
	}
}

// plateEditPage is the form of a plate that is changed, or seen again.
func (s *Server) plateEditPage(r *http.Request, again bool) (plateFormPage, *records.Plate, error) {
	id, err := idOf(r)
	if err != nil {
		return plateFormPage{}, nil, err
	}
	pl, err := s.desk.Plate(r.Context(), s.actor(r), id)
	if err != nil {
		return plateFormPage{}, nil, err
	}
	path := "/plates/" + strconv.FormatInt(id, 10)
	p := plateFormPage{Heading: "Change plate " + plateName(pl), Sub: "What was seen. What was decided stays as it is.", Action: path + "/edit", Back: plateHref(id), Button: "Save", Changing: true, OfPlate: true, MoreSightings: true}
	if again {
		p.Heading, p.Sub, p.Action, p.Button = "Plate "+plateName(pl)+", seen again", "Where it is, and what can be read of it now.", path+"/seen", "Keep it"
		p.Changing, p.OfPlate, p.MoreSightings, p.Caution = false, false, false, true
	}
	return p, pl, nil
}

// plateEdit answers GET /plates/{id}/edit.
func (s *Server) plateEdit(w http.ResponseWriter, r *http.Request) error {
	p, pl, err := s.plateEditPage(r, false)
	if err != nil {
		return err
	}
	p.Form = plateFormOf(pl, unitsOf(r), 0)
	return s.plateFormShow(w, r, p, http.StatusOK)
}

// plateAgain answers GET /plates/{id}/seen.
func (s *Server) plateAgain(w http.ResponseWriter, r *http.Request) error {
	p, pl, err := s.plateEditPage(r, true)
	if err != nil {
		return err
	}
	from := len(pl.Seen)
	pl.Seen = append(pl.Seen, records.PlateSighting{Date: s.desk.Validation().Today})
	p.Form = plateFormOf(pl, unitsOf(r), from)
	p.Form.Seen[0].New = true
	return s.plateFormShow(w, r, p, http.StatusOK)
}

// plateSave answers POST /plates/{id}/edit.
func (s *Server) plateSave(w http.ResponseWriter, r *http.Request) error {
	return s.plateWrite(w, r, false)
}

// plateSeenSave answers POST /plates/{id}/seen.
func (s *Server) plateSeenSave(w http.ResponseWriter, r *http.Request) error {
	return s.plateWrite(w, r, true)
}

func (s *Server) plateWrite(w http.ResponseWriter, r *http.Request, again bool) error {
	if err := readForm(w, r); err != nil {
		return err
	}
	p, pl, err := s.plateEditPage(r, again)
	if err != nil {
		return err
	}
	q, u := r.PostForm, unitsIn(r)
	if pl.Revision, err = sightingRevision(q.Get("revision")); err != nil {
		return records.Errorf(records.Invalid, "%q is no revision of a plate; open it again and do it from there", clipText(q.Get("revision"), 20))
	}
	was, from := pl.Revision, 0
	if again {
		from = len(pl.Seen)
		for _, in := range []string{"at", "date", "legible"} { // another one was added since the form was made
			if q.Has("s" + strconv.Itoa(from) + "_" + in) {
				break
			}
			if in == "legible" {
				return records.Errorf(records.Conflict, "the plate was changed by somebody else meanwhile: open it again and enter what you saw there")
			}
		}
		pl.Seen = append(pl.Seen, records.PlateSighting{})
	}
	form, wrong := readPlateForm(q, pl, u, from, !again)
	p.Form = form
	p.Form.Revision = was
	if wrong {
		p.Refused = nothingSaved
		return s.plateFormShow(w, r, p, http.StatusUnprocessableEntity)
	}
	kept := pl.Seen[:0:0]
	for i := range pl.Seen {
		if q.Get("s"+strconv.Itoa(i)+"_out") == "" {
			kept = append(kept, pl.Seen[i])
		}
	}
	pl.Seen = kept
	why := p.Form.Why
	if again {
		why = "seen again"
	}
	faults, err := s.desk.KeepPlate(r.Context(), s.actor(r), pl, why)
	switch {
	case records.Refuses(faults):
		p.Warnings, p.Refused = p.Form.place(faults), nothingSaved
		return s.plateFormShow(w, r, p, http.StatusUnprocessableEntity)
	case records.CodeOf(err) == records.Conflict && err != nil:
		p.Refused = "Nothing was saved: somebody changed the plate meanwhile. What you typed stands below; open the plate anew to see theirs."
		return s.plateFormShow(w, r, p, http.StatusConflict)
	case err != nil:
		return err
	}
	words := "Changed: plate " + plateName(pl) + "."
	if again {
		words = "Plate " + plateName(pl) + ": seen again."
	}
	return s.done(w, r, plateHref(pl.ID), said{Text: words + cares(faults), Undo: plateRestoreHref(pl.ID, was, pl.Revision)})
}

func plateRemoveHref(pl *records.Plate) string {
	return "/plates/" + strconv.FormatInt(pl.ID, 10) + "/remove?revision=" + strconv.FormatInt(pl.Revision, 10)
}

func plateRestoreHref(id, revision, current int64) string {
	return "/plates/" + strconv.FormatInt(id, 10) + "/restore?revision=" + strconv.FormatInt(revision, 10) + "&current=" + strconv.FormatInt(current, 10)
}

// plateRemove takes a plate out.
func (s *Server) plateRemove(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	revision, err := plateRevision(r.URL.Query().Get("revision"))
	if err != nil {
		return err
	}
	if err := s.desk.RemovePlate(r.Context(), s.actor(r), id, revision, ""); err != nil {
		return err
	}
	return s.done(w, r, "/plates", said{Text: "The plate is taken out.", Undo: plateRestoreHref(id, revision, revision)})
}

// plateRestore makes an earlier state of what was seen the present one, or
// brings a plate back that was taken out.
func (s *Server) plateRestore(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	revision, err := plateRevision(r.URL.Query().Get("revision"))
	if err != nil {
		return err
	}
	current, err := plateRevision(r.URL.Query().Get("current"))
	if err != nil {
		return err
	}
	restored, err := s.desk.RestorePlate(r.Context(), s.actor(r), id, revision, current)
	var e *records.Error
	switch {
	case errors.As(err, &e) && e.Code == records.Conflict && e.Field == "uid": // pressed twice
		return records.Errorf(records.Conflict, "the plate is back already; look it up by its number")
	case err != nil:
		return err
	}
	pl, err := s.desk.Plate(r.Context(), s.actor(r), restored)
	if err != nil {
		return err
	}
	what := said{Text: "Plate " + plateName(pl) + " is as it was.", Undo: plateRemoveHref(pl)}
	if restored == id {
		what.Undo = plateRestoreHref(id, current, pl.Revision)
	}
	return s.done(w, r, plateHref(restored), what)
}
