package server

import (
	"fmt"
	"html/template"
	"net/http"
	"strconv"
	"strings"

	"github.com/google/uuid"
	"github.com/gorilla/mux"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/server/draw"
)

// editPage is the form of a whole record.
type editPage struct {
	Base
	Heading, Sub, Action, Back string
	Form                       *editForm
	Refused                    string
	Told                       string // what was just done to the form
	Drafts                     []editDraft
	KeptAt                     string // when this draft was kept; "" for none
	Rest                       []editFault
	Parts                      []editPart
	Column                     template.HTML
	DrawnFor                   string
	Map                        *editMap
	Paste                      string // what could not be read into rows
	Remove                     string // address that a form is sent to
	Attached                   *attachedView
}

// editDraft is a draft that somebody may go on with.
type editDraft struct{ Label, When, Href string }

// columnWidth is the width of the log beside its table, pixels.
const columnWidth = 330

// editNew answers GET /well/new.
func (s *Server) editNew(w http.ResponseWriter, r *http.Request) error {
	f, err := s.draftAsked(r, 0)
	if err != nil {
		return err
	}
	if f == nil {
		if f, err = s.emptyForm(r); err != nil {
			return err
		}
		if t := r.URL.Query().Get("at"); t != "" {
			at, err := position.Parse(t)
			if err != nil {
				return &records.Error{Code: records.Invalid, Field: "at", Message: "the place of the new record: " + err.Error()}
			}
			f.Typed["coordinates_given"], f.Typed["datum"], f.Typed["located_by"] = position.Format(at.At, position.DecimalDegrees), "WGS 84", "map"
		}
	}
	return s.editShow(w, r, f, editShown{})
}

// emptyForm is the form of a record that is not there yet. It bears the name
// that the record will have, so that the form sent twice makes one record.
func (s *Server) emptyForm(r *http.Request) (*editForm, error) {
	if err := s.desk.Permit(s.actor(r), desk.Edit); err != nil {
		return nil, err
	}
	uid, err := uuid.NewV7()
	if err != nil {
		return nil, err
	}
	f := &editForm{UID: uid.String(), In: unitsOf(r)}
	f.Typed = s.desk.TypedOf(s.actor(r), &records.Well{}, editUnit(units{f.In}))
	return f, nil
}

// editOpen answers GET /well/{id}/edit.
func (s *Server) editOpen(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	f, err := s.draftAsked(r, id)
	if err != nil {
		return err
	}
	if f == nil {
		f, err = s.formAsStored(r, id)
		switch {
		case records.CodeOf(err) == records.NotFound: // taken out, merged or back under another key
			return s.wellGone(w, r, id, err)
		case err != nil:
			return err
		}
	}
	return s.editShow(w, r, f, editShown{})
}

// formAsStored is the form of a record as it stands.
func (s *Server) formAsStored(r *http.Request, id int64) (*editForm, error) {
	actor := s.actor(r)
	if err := s.desk.Permit(actor, desk.Edit); err != nil {
		return nil, err
	}
	sheet, err := s.desk.Well(r.Context(), actor, id)
	if err != nil {
		return nil, err
	}
	f := &editForm{ID: id, Revision: sheet.Well.Revision, In: unitsOf(r)}
	f.Typed = s.desk.TypedOf(actor, sheet.Well, editUnit(units{f.In}))
	return f, nil
}

// draftAsked is the form of the draft that the address names; nil for none.
func (s *Server) draftAsked(r *http.Request, id int64) (*editForm, error) {
	t := r.URL.Query().Get("draft")
	if t == "" {
		return nil, nil
	}
	key, err := strconv.ParseInt(t, 10, 64)
	if err != nil {
		return nil, records.Errorf(records.NotFound, "there is no draft %q", clipText(t, 20))
	}
	d, err := s.desk.Draft(r.Context(), s.actor(r), key)
	switch {
	case err != nil:
		return nil, err
	case d.WellID != id:
		return nil, records.Errorf(records.NotFound, "draft %d is of another record; open it from the list of drafts", key)
	case d.Ended == records.DraftSaved:
		return nil, records.Errorf(records.Conflict, "a record was saved from this draft; open the record itself")
	case d.Ended != "":
		return nil, records.Errorf(records.Conflict, "this draft was discarded; it can be taken back only right after that")
	}
	return formOfDraft(d, unitsOf(r)), nil
}

// editShown is what a form is shown with beside what is typed.
type editShown struct {
	out     *desk.Edited // what came of it; nil: it is looked at first
	refused string
	told    string
	focus   string
	paste   string
	judged  bool // faults are told, also where nothing was typed yet
	status  int
}

// editShow writes the form.
func (s *Server) editShow(w http.ResponseWriter, r *http.Request, f *editForm, x editShown) error {
	ctx, actor := r.Context(), s.actor(r)
	if x.out == nil {
		out, err := s.desk.LookAtEdit(ctx, actor, f.edit())
		if err != nil {
			return err
		}
		x.out = out
	}
	p := editPage{Base: s.base(r, "Add a record"), Heading: "Add a record", Action: f.path(), Back: "/records", Form: f, Refused: x.refused, Told: x.told, Paste: x.paste,
		DrawnFor: themeOf(r).String()}
	if f.ID > 0 {
		p.Heading, p.Back = "Change "+f.name(), wellHref(f.ID)
		p.Remove = fmt.Sprintf("%s/remove?revision=%d", wellHref(f.ID), f.Revision)
		p.Sub = fmt.Sprintf("made from revision %d", f.Revision)
	}
	p.Title = p.Heading
	if r.Method == http.MethodPost { // its address cannot be asked for again
		p.Here = p.Back
	}
	v := editView{form: f, private: s.desk.Permit(actor, desk.SeePrivate) == nil, focus: x.focus, faults: sortFaults(x.out.Faults, &x.out.Reading, f.Typed)}
	if !x.judged && f.ID == 0 && f.DraftID == 0 {
		v.faults = editFaults{byField: map[string][]editFault{}} // nothing is wrong with a form that nobody filled in yet
	}
	if x.focus == "" && x.judged && v.faults.bad > 0 {
		v.focus = firstBad(&v)
	}
	p.Parts, p.Rest = v.parts(), v.faults.rest
	p.Column = s.typedColumn(x.out.Well, f, themeOf(r))
	p.Map = s.editMapOf(r, f, x.out.Well)
	if t := staleWords(x.out.Stale); t != "" && p.Told == "" {
		p.Told = t
	}
	var err error
	if p.Drafts, p.KeptAt, err = s.draftsBeside(r, f); err != nil {
		return err
	}
	if p.Attached, err = s.attachedTo(r, f.ID, wellHref(f.ID)+"/edit", true); err != nil && records.CodeOf(err) != records.NotFound { // taken out meanwhile
		return err
	}
	if x.status == 0 {
		x.status = http.StatusOK
	}
	return s.showAs(w, "edit", p, x.status)
}

// staleWords tells somebody who is typing that the record is another by now.
func staleWords(s *desk.Stale) string {
	switch {
	case s == nil:
		return ""
	case s.Gone:
		return orElse(s.By, "Somebody") + " took this record out meanwhile. When you save you are asked whether it comes back."
	}
	return orElse(s.By, "Somebody") + " saved this record meanwhile. When you save, both versions are brought together and shown."
}

// firstBad is the first field of the form that refuses the record.
func firstBad(v *editView) string {
	bad := func(f editField) bool {
		for _, x := range f.Faults {
			if x.Bad {
				return true
			}
		}
		return false
	}
	for _, p := range v.parts() {
		for _, f := range p.Fields {
			if bad(f) {
				return f.Name
			}
		}
		for _, l := range p.Lists {
			for _, row := range l.Rows {
				for _, f := range append(row.Cells, row.Aside...) {
					if bad(f) {
						return f.Name
					}
				}
			}
		}
	}
	return ""
}

// drawable says whether a record tells a depth that can be drawn.
func drawable(w *records.Well) bool {
	_, logged := w.LastLogged()
	_, cased := w.CasingSeat()
	return logged || cased || w.TotalDepth.Known() || w.Bedrock.Known() || len(w.Strikes) > 0
}

// typedColumn draws the log as it is typed; "" while there is nothing to draw.
func (s *Server) typedColumn(w *records.Well, f *editForm, theme draw.Theme) template.HTML {
	if !drawable(w) {
		return ""
	}
	data := draw.ColumnOf(w, records.DerivePicks(w, s.desk.Vocabulary()), s.desk.Vocabulary())
	o := columnOptions(f.In, theme, columnWidth)
	o.Prefix = "typed"
	return template.HTML(draw.Column(data, o)) //nolint:gosec // every text in it was escaped by package draw
}

// editPost answers the form, whatever its button says.
func (s *Server) editPost(w http.ResponseWriter, r *http.Request) error {
	if err := readForm(w, r); err != nil {
		return err
	}
	var id int64
	if mux.Vars(r)["id"] != "" {
		var err error
		if id, err = idOf(r); err != nil {
			return err
		}
	}
	f := readEditForm(r.PostForm, id, unitsOf(r))
	do := r.PostForm.Get("do")
	switch {
	case r.PostForm.Get(formMap+".x") != "":
		return s.editPick(w, r, f)
	case do == "save":
		return s.editSave(w, r, f)
	case do == "paste":
		return s.editPaste(w, r, f)
	case do == "check":
		return s.editShow(w, r, f, editShown{judged: true, told: "Checked and drawn. Nothing is saved yet."})
	case do == "rebase":
		return s.editRebase(w, r, f)
	case do == "form":
		return s.editShow(w, r, f, editShown{judged: true})
	case strings.HasPrefix(do, "map:"):
		return s.editShow(w, r, f, editShown{judged: f.ID > 0, focus: "coordinates_given"})
	}
	if list, row, ok := f.doRow(do); ok {
		focus := ""
		if columns := columnsOf(list); row >= 0 && len(columns) > 0 {
			focus = fmt.Sprintf("%s[%d].%s", list, row, columns[0].Name)
		}
		return s.editShow(w, r, f, editShown{focus: focus})
	}
	return s.editKeep(w, r, f)
}

// editSave saves the form.
func (s *Server) editSave(w http.ResponseWriter, r *http.Request, f *editForm) error {
	if f.ID == 0 && uuid.Validate(f.UID) != nil {
		return records.Errorf(records.Invalid, "the form lacks the name that the new record gets; go back, open it anew and type it again")
	}
	out, err := s.desk.SaveEdit(r.Context(), s.actor(r), f.edit())
	switch {
	case f.ID == 0 && records.CodeOf(err) == records.Conflict:
		id, err2 := s.desk.WellIDByUID(r.Context(), s.actor(r), f.UID)
		if err2 != nil {
			return err
		}
		return s.done(w, r, wellHref(id), said{Text: "This record was saved before, from the same form; nothing was written twice. Change it here if more was typed since."})
	case err != nil:
		return err
	case out.Saved:
		return s.editDone(w, r, f, out)
	case records.Refuses(out.Reading.Faults) || out.Stale == nil:
		return s.editShow(w, r, f, editShown{out: out, judged: true, status: http.StatusUnprocessableEntity, refused: "Nothing was saved: see what is marked. All that was typed stands below."})
	}
	return s.editMeet(w, r, f, out)
}

// editDone tells that the record was saved, with the way back.
func (s *Server) editDone(w http.ResponseWriter, r *http.Request, f *editForm, out *desk.Edited) error {
	id := out.Well.ID
	if id == 0 {
		id = f.ID
	}
	what := said{Text: "Saved: " + nameOf(out.Well) + "."}
	switch {
	case out.Already:
		what.Text = "It stands as you typed it: the same was saved just before."
	case out.Same:
		what.Text = "Nothing was changed, so nothing was written."
	case out.Was == 0:
		what.Undo = fmt.Sprintf("%s/remove?revision=%d", wellHref(id), out.Well.Revision)
	default:
		what.Undo = fmt.Sprintf("%s/edit/undo?revision=%d&current=%d", wellHref(id), out.Was, out.Well.Revision)
	}
	doubts := 0
	for _, x := range out.Faults {
		if x.Severity == records.Warning {
			doubts++
		}
	}
	if doubts > 0 && !out.Same {
		what.Text += " " + capital(count(doubts, "thing in it is", "things in it are")) + " doubtful: see below."
	}
	return s.done(w, r, wellHref(id), what)
}
