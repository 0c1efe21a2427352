package server

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"tallybook/records"
	"tallybook/server/say"
)

// mostWhy is how long a reason may be, characters.
const mostWhy = 300

// decideForm is what every form that decides something of a forecast sends.
type decideForm struct {
	id       int64
	revision int64  // of the latest decision that the person saw
	back     string // where to go on to
	why      string
	values   url.Values
}

func decideFormOf(w http.ResponseWriter, r *http.Request) (*decideForm, error) {
	if err := readForm(w, r); err != nil {
		return nil, err
	}
	f := &decideForm{values: r.Form, why: strings.TrimSpace(r.Form.Get("why"))}
	if n := len([]rune(f.why)); n > mostWhy {
		return nil, records.Errorf(records.Invalid, "the reason has %d characters; go back and give it %d at most", n, mostWhy)
	}
	var err error
	if f.id, err = forecastID(r); err != nil {
		return nil, err
	}
	if f.revision, err = revisionOf(r.Form.Get("revision")); err != nil {
		return nil, err
	}
	f.back = forecastPath(f.id)
	if b := r.Form.Get("back"); localPath(b) {
		f.back = b
	}
	return f, nil
}

func revisionOf(t string) (int64, error) {
	n, err := strconv.ParseInt(t, 10, 64)
	if err != nil || n < 0 {
		return 0, records.Errorf(records.Invalid, "revision=%s names no decision; open the forecast again and decide there", clipText(t, 30))
	}
	return n, nil
}

// undo is where a form is sent to go back to what held before this decision.
func (f *decideForm) undo() string {
	return fmt.Sprintf("%s/undo?earlier=%d&revision=%d&back=%s", forecastPath(f.id), f.revision, f.revision+1, queryEscape(f.back))
}

// forecastWithdraw answers /forecast/{id}/withdraw: out of every score, or
// with in=1 back into them.
func (s *Server) forecastWithdraw(w http.ResponseWriter, r *http.Request) error {
	f, err := decideFormOf(w, r)
	if err != nil {
		return err
	}
	back := f.values.Get("in") == "1"
	if err := s.desk.WithdrawForecast(r.Context(), s.actor(r), f.id, f.revision, !back, f.why); err != nil {
		return err
	}
	text := "The forecast is withdrawn: it counts in no score."
	if back {
		text = "The forecast counts again."
	}
	return s.done(w, r, f.back, said{Text: text, Undo: f.undo()})
}

// forecastOutcome answers /forecast/{id}/outcome: which well shows what came.
// It is named by its public name (well=), or by its number as typed; is=no
// says of the one named that it is not the outcome, is=none that no well is.
func (s *Server) forecastOutcome(w http.ResponseWriter, r *http.Request) error {
	f, err := decideFormOf(w, r)
	if err != nil {
		return err
	}
	uid, is := f.values.Get("well"), f.values.Get("is")
	switch {
	case is == "none":
		if err := s.desk.LinkForecast(r.Context(), s.actor(r), f.id, f.revision, "", false, f.why); err != nil {
			return err
		}
		return s.done(w, r, f.back, said{Text: "No well is linked to the forecast any more.", Undo: f.undo()})
	case is == "no":
		label, err := s.desk.WellName(r.Context(), s.actor(r), uid)
		if err != nil {
			return err
		}
		if err := s.desk.RefuseOutcome(r.Context(), s.actor(r), f.id, f.revision, uid, f.why); err != nil {
			return err
		}
		return s.done(w, r, f.back, said{Text: label + " is not the outcome; it is not proposed again.", Undo: f.undo()})
	case uid == "":
		wells, err := s.desk.WellsNumbered(r.Context(), s.actor(r), f.values.Get("number"))
		if err != nil {
			return err
		}
		if len(wells) != 1 {
			return s.outcomeRefused(w, r, f.values.Get("number"), wells)
		}
		uid = wells[0].UID
	}
	label, err := s.desk.WellName(r.Context(), s.actor(r), uid)
	if err != nil {
		return err
	}
	if err := s.desk.LinkForecast(r.Context(), s.actor(r), f.id, f.revision, uid, f.values.Get("proposed") == "1", f.why); err != nil {
		return err
	}
	return s.done(w, r, f.back, said{Text: label + " is linked: the forecast is held against what was found there.", Undo: f.undo()})
}

// outcomeRefused shows the page again with what was typed and what is wrong
// with it, or the wells among which to choose.
func (s *Server) outcomeRefused(w http.ResponseWriter, r *http.Request, number string, wells []*records.Well) error {
	p, err := s.forecastPageOf(r)
	if err != nil {
		return err
	}
	p.Here = p.Path
	p.Came.Number = number
	switch {
	case strings.TrimSpace(number) == "":
		p.Came.Fault = "Type the number of the well that was drilled here."
	case len(wells) == 0:
		p.Came.Fault = "No well on record bears the number " + clipText(number, 60) + ". Look it up with Find, above, or enter the well first."
	default:
		p.Came.Fault = fmt.Sprintf("%d wells bear this number. Choose one:", len(wells))
		for _, x := range wells {
			v := proposalView{UID: x.UID, Label: wellLabel(x), Href: wellPath(x.ID), Said: placeGiven(x), Path: p.Path, Back: p.Path, Revision: p.Revision}
			p.Came.Several = append(p.Came.Several, v)
		}
	}
	return s.showAs(w, "forecast", p, http.StatusUnprocessableEntity)
}

// placeGiven says where a well stands, and when it was completed.
func placeGiven(x *records.Well) string {
	where := "on no map"
	if x.Place.Located {
		where = placeWords(x.Place.Lon, x.Place.Lat)
	}
	return joinWords(where, say.Date(x.Completed))
}

// forecastUndo answers /forecast/{id}/undo: back to what held after an
// earlier decision, or as the forecast was kept.
func (s *Server) forecastUndo(w http.ResponseWriter, r *http.Request) error {
	f, err := decideFormOf(w, r)
	if err != nil {
		return err
	}
	earlier, err := revisionOf(f.values.Get("earlier"))
	if err != nil {
		return err
	}
	if err := s.desk.UndoForecastDecision(r.Context(), s.actor(r), f.id, earlier, f.revision); err != nil {
		return err
	}
	return s.done(w, r, f.back, said{Text: "Undone.", Undo: f.undo()})
}
