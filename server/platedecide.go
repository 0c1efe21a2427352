package server

import (
	"encoding/json"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
)

// plateUndo is the address that takes back what was decided as one.
func plateUndo(done *desk.PlateDone, back string) string {
	return "/plates/undo?act=" + queryEscape(done.Act) + "&back=" + queryEscape(back)
}

// plateRevision reads the revision of the latest decision that somebody saw.
func plateRevision(t string) (int64, error) {
	n, err := strconv.ParseInt(t, 10, 64)
	if err != nil || n < 0 {
		return 0, records.Errorf(records.Invalid, "%q is no revision of a decision; open the plate again and decide it there", clipText(t, 20))
	}
	return n, nil
}

// plateDecide answers the buttons of the desk, and goes on to the next plate.
func (s *Server) plateDecide(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	if err := readForm(w, r); err != nil {
		return err
	}
	ctx, actor, q := r.Context(), s.actor(r), r.PostForm
	show := showOf(q)
	kinds, err := plateKindsOf(show)
	if err != nil {
		return err
	}
	c := desk.PlateCall{PlateID: id, Why: strings.TrimSpace(q.Get("why"))}
	if c.Revision, err = plateRevision(q.Get("revision")); err != nil {
		return err
	}
	b, err := s.desk.PlateBoard(ctx, actor)
	if err != nil {
		return err
	}
	before, after, _, _ := b.Around(id, kinds) // where the reader goes on
	pl, err := s.desk.Plate(ctx, actor, id)
	if err != nil {
		return err
	}
	done, words, err := s.decidePlate(r, c, q)
	if err != nil {
		return err
	}
	to := "/plates?show=" + show
	stays := strings.HasPrefix(q.Get("do"), "refuse-") || q.Get("do") == "open"
	switch {
	case stays:
		to = plateDeskHref(id, show)
	case after != 0:
		to = plateDeskHref(after, show)
	case before != 0:
		to = plateDeskHref(before, show)
	}
	return s.done(w, r, to, said{Text: "Plate " + plateName(pl) + " " + words + ".", Undo: plateUndo(done, plateDeskHref(id, show))})
}

// decidePlate does what a button says: link-12, refuse-12, later, no_record,
// open, or number with a record's number typed.
func (s *Server) decidePlate(r *http.Request, c desk.PlateCall, q url.Values) (done *desk.PlateDone, words string, err error) {
	ctx, actor := r.Context(), s.actor(r)
	do, well, _ := strings.Cut(q.Get("do"), "-")
	switch do {
	case "link", "refuse":
		if c.WellID, err = strconv.ParseInt(well, 10, 64); err != nil {
			return nil, "", records.Errorf(records.Invalid, "%q names no record; open the plate again and press the button there", clipText(well, 20))
		}
	case "number":
		if c.WellID, err = s.wellNumbered(r, q.Get("number")); err != nil {
			return nil, "", err
		}
		do = "link"
	}
	name := ""
	if c.WellID != 0 {
		sheet, err := s.desk.Well(ctx, actor, c.WellID)
		if err != nil {
			return nil, "", err
		}
		name = nameOf(sheet.Well)
	}
	switch do {
	case "link":
		done, err = s.desk.LinkPlates(ctx, actor, []desk.PlateCall{c})
		return done, "is linked to record " + name, err
	case "refuse":
		done, err = s.desk.RefusePlate(ctx, actor, c)
		return done, "is not that of record " + name + "; the two are not proposed again", err
	case records.PlateLater:
		done, err = s.desk.SetPlate(ctx, actor, c, do)
		return done, "is set aside until something new is known", err
	case records.PlateNoRecord:
		done, err = s.desk.SetPlate(ctx, actor, c, do)
		return done, "is said to have no record", err
	case records.PlateOpen:
		done, err = s.desk.SetPlate(ctx, actor, c, do)
		return done, "is open again", err
	}
	return nil, "", records.Errorf(records.Invalid, "%q is nothing that can be decided of a plate", clipText(q.Get("do"), 30))
}

// wellNumbered finds the one record that bears a number.
func (s *Server) wellNumbered(r *http.Request, number string) (int64, error) {
	if strings.TrimSpace(number) == "" {
		return 0, &records.Error{Code: records.Invalid, Field: "number", Message: "type the number of the record that the plate belongs to, then press the button beside it"}
	}
	found, err := s.desk.NumbersLike(r.Context(), s.actor(r), number, 50)
	if err != nil {
		return 0, err
	}
	var wells []records.Match
	for _, m := range found {
		if m.Kind == "well_number" {
			wells = append(wells, m)
		}
	}
	switch len(wells) {
	case 0:
		return 0, records.Errorf(records.NotFound, "no record has the number %q; look it up first, and link the plate to the number that it has here", clipText(number, 40))
	case 1:
		return wells[0].WellID, nil
	}
	return 0, records.Errorf(records.Conflict, "%s have the number %q: give the rest of it", count(len(wells), "record", "records"), clipText(number, 40))
}

// platesUndo takes back what was decided as one.
func (s *Server) platesUndo(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	back := q.Get("back")
	if !localPath(back) {
		back = "/plates"
	}
	done, err := s.desk.UndoPlates(r.Context(), s.actor(r), q.Get("act"))
	if err != nil {
		return err
	}
	text := "Undone: the plate is as it was before."
	if n := len(done.Plates); n > 1 {
		text = "Undone: " + count(n, "plate is", "plates are") + " as they were before."
	}
	return s.done(w, r, back, said{Text: text, Undo: plateUndo(done, back)})
}

// reasonsKept are the reasons of a decision as they stood, in words.
func reasonsKept(d *records.PlateDecision) []string {
	if d.Reasons == "" {
		return nil
	}
	var found []desk.PlateCandidate
	if json.Unmarshal([]byte(d.Reasons), &found) != nil {
		return []string{"they cannot be read"}
	}
	var out []string
	for i := range found {
		c := &found[i]
		line := "record " + orElse(c.Number, c.WellUID) + ", " + sureWords(c.Probability)
		var words []string
		for _, f := range c.Fields {
			if f.Agreement != "missing" && f.Words != "" {
				words = append(words, f.Words)
			}
		}
		if len(words) > 0 {
			line += ": " + strings.Join(words, "; ")
		}
		out = append(out, line)
	}
	return out
}

// platesConfirmPage is the list of the links that are likely enough to be made
// many at once.
type platesConfirmPage struct {
	Base
	Lead, Expected string
	Rows           []plateConfirmRow
	More           string // there are more than are listed
}

type plateConfirmRow struct {
	Value string // plate, revision, well
	plateRow
}

// mostConfirmed is how many links are confirmed at once: as many as somebody
// still looks at.
const mostConfirmed = 100

// platesConfirm answers GET /plates/confirm.
func (s *Server) platesConfirm(w http.ResponseWriter, r *http.Request) error {
	b, err := s.desk.PlateBoard(r.Context(), s.actor(r))
	if err != nil {
		return err
	}
	var list []desk.PlateEntry
	for i := range b.Entries {
		if b.Entries[i].Kind == desk.PlateLikely {
			list = append(list, b.Entries[i])
		}
	}
	p := platesConfirmPage{Base: s.base(r, "Likely links")}
	if len(list) > mostConfirmed {
		p.More = "The first " + grouped(mostConfirmed) + " of " + grouped(len(list)) + "; the others follow when these are done."
		list = list[:mostConfirmed]
	}
	wrong := 0.0
	for i := range list {
		wrong += 1 - list[i].Probability
	}
	if len(list) > 0 {
		p.Lead = "Each of these is at least " + sureWords(list[len(list)-1].Probability) + " sure. Take the tick off what you doubt; it stays to be decided."
		p.Expected = "If all are linked, " + expectedWords(wrong) + " expected to be wrong."
	}
	rows, err := s.plateRows(r, list, "likely")
	if err != nil {
		return err
	}
	for i, row := range rows {
		e := &list[i]
		p.Rows = append(p.Rows, plateConfirmRow{strings.Join([]string{strconv.FormatInt(e.ID, 10), strconv.FormatInt(e.Revision, 10), strconv.FormatInt(e.Best, 10)}, "-"), row})
	}
	return s.show(w, "platesconfirm", p)
}

// expectedWords says how many links are expected to be wrong.
func expectedWords(n float64) string {
	switch {
	case n < 0.05:
		return "less than one in twenty such lists has a link that is"
	case n < 0.95:
		return trimFloat(n, 1) + " of a link is"
	}
	return "about " + count(int(n+0.5), "link is", "links are")
}

// platesConfirmed makes the links that were left ticked, as one.
func (s *Server) platesConfirmed(w http.ResponseWriter, r *http.Request) error {
	if err := readForm(w, r); err != nil {
		return err
	}
	var calls []desk.PlateCall
	for _, t := range r.PostForm["link"] {
		parts := strings.Split(t, "-")
		var n [3]int64
		for i := range n {
			var err error
			if len(parts) != len(n) {
				err = strconv.ErrSyntax
			} else {
				n[i], err = strconv.ParseInt(parts[i], 10, 64)
			}
			if err != nil {
				return records.Errorf(records.Invalid, "%q names no link; open the list again and confirm it there", clipText(t, 40))
			}
		}
		calls = append(calls, desk.PlateCall{PlateID: n[0], Revision: n[1], WellID: n[2], Why: "confirmed in a list of likely links"})
	}
	if len(calls) == 0 {
		return records.Errorf(records.Invalid, "no link was left ticked: there is nothing to do")
	}
	done, err := s.desk.LinkPlates(r.Context(), s.actor(r), calls)
	if err != nil {
		return err
	}
	return s.done(w, r, "/plates", said{Text: capital(count(len(calls), "plate is", "plates are")) + " linked.", Undo: plateUndo(done, "/plates")})
}
