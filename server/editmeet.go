package server

import (
	"fmt"
	"net/http"
	"sort"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
)

// editMeetPage shows what two people did to one record, side by side.
type editMeetPage struct {
	Base
	Name, Action, Open  string
	Form                *editForm
	Hidden              []param // all that was typed, to be sent again
	By, At              string
	Gone                bool
	Against             int64
	Clashes             []meetClash
	Apart               []meetChange
	Rest                []editFault // what refuses the record that they come to
	Unsettled           int
	Both                bool // a button saves
	NothingTheirs, Mine bool
}

// meetClash is something that both changed, each otherwise.
type meetClash struct {
	Field, Name       string
	Was, Mine, Theirs cell
	Options           []choice
	Settled           bool
}

// meetChange is something that one of them changed, which is taken.
type meetChange struct {
	Name    string
	Was, Is cell
	Mine    bool
}

// editMeet answers a form whose record somebody else saved meanwhile: both
// versions side by side, what does not clash brought together, what does to be
// chosen.
func (s *Server) editMeet(w http.ResponseWriter, r *http.Request, f *editForm, out *desk.Edited) error {
	st := out.Stale
	private := s.desk.Permit(s.actor(r), desk.SeePrivate) == nil
	p := editMeetPage{Base: s.base(r, "Somebody saved it meanwhile"), Name: nameOf(st.Base), Action: f.path(), Open: wellHref(f.ID), Form: f,
		By: orElse(st.By, "somebody"), At: st.At.UTC().Format("2 January 2006 15:04 UTC"), Gone: st.Gone, Against: st.Theirs.Revision}
	p.Here = p.Open
	if st.Gone {
		p.Against = desk.BringBack
	}
	clashed := map[string]bool{}
	for _, c := range st.Clashes {
		clashed[c.Field] = true
		if c.Private && !private {
			continue
		}
		m := meetClash{Field: c.Field, Name: capital(fieldWords(c.Field)), Was: wholeCell(c.Base), Mine: wholeCell(c.Ours), Theirs: wholeCell(c.Theirs), Settled: c.Side != records.Unchosen}
		if c.Field == "lon" {
			m.Name = "Position"
		}
		m.Options = []choice{{records.Ours.String(), "mine", c.Side == records.Ours}, {records.Theirs.String(), "theirs", c.Side == records.Theirs}}
		if c.Both && strings.ContainsAny(c.Ours+c.Theirs, " \n") { // words, not a number or a name
			m.Options = append(m.Options, choice{records.Both.String(), "both, theirs first", c.Side == records.Both})
		}
		p.Clashes = append(p.Clashes, m)
	}
	p.Unsettled = records.Unsettled(st.Clashes)
	if !st.Gone {
		mine, theirs := visible(records.Diff(st.Base, st.Ours), private), visible(records.Diff(st.Base, st.Theirs), private)
		p.Apart = apart(mine, theirs, clashed)
	}
	for _, x := range st.Faults {
		if x.Severity == records.Refusal {
			p.Rest = append(p.Rest, editFault{true, capital(fieldWords(x.Field)) + " " + faultText(x)})
		}
	}
	p.Both = len(p.Rest) == 0
	p.Hidden = hiddenFields(f)
	return s.showAs(w, "editmeet", p, http.StatusConflict)
}

// wholeCell is changeCell without leaving anything out: here people decide what
// stands.
func wholeCell(t string) cell {
	c := changeCell(t)
	if c.More == "" && t != "" {
		c.Text = t
	}
	return c
}

// apart are the changes that do not clash, theirs first, each once.
func apart(mine, theirs []records.Change, clashed map[string]bool) []meetChange {
	var out []meetChange
	seen := map[string]bool{}
	for _, side := range []struct {
		changes []records.Change
		mine    bool
	}{{theirs, false}, {mine, true}} {
		for _, c := range side.changes {
			key := fmt.Sprint(c)
			if clashed[c.Field] || inClash(c.Field, clashed) || seen[key] {
				continue
			}
			seen[key] = true
			out = append(out, meetChange{Name: capital(fieldWords(c.Field)), Was: wholeCell(c.Was), Is: wholeCell(c.Is), Mine: side.mine})
		}
	}
	return out
}

// inClash says whether a property is part of one that clashes: a row of a list
// that clashes as a whole, a part of a position.
func inClash(field string, clashed map[string]bool) bool {
	if clashed["lon"] && (field == "lat" || field == "coordinates_given" || field == "datum") {
		return true
	}
	for i := range field {
		if (field[i] == '[' || field[i] == '.') && clashed[field[:i]] {
			return true
		}
	}
	return clashed["strikes"] && field == "strikes_as" || clashed["ground_elevation_m"] && field == "vertical_datum"
}

// hiddenFields are all that was typed, in a fixed order.
func hiddenFields(f *editForm) []param {
	var out []param
	for name, t := range f.Typed {
		out = append(out, param{name, t})
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Name < out[j].Name })
	return out
}

// editRebase opens the form anew on what both versions come to, so that a
// person can go on from there: nothing that was typed is lost by it.
func (s *Server) editRebase(w http.ResponseWriter, r *http.Request, f *editForm) error {
	out, err := s.desk.LookAtEdit(r.Context(), s.actor(r), f.edit())
	if err != nil {
		return err
	}
	if out.Stale == nil || out.Stale.Gone {
		return s.editShow(w, r, f, editShown{out: out, judged: true})
	}
	next := &editForm{ID: f.ID, Revision: out.Stale.Theirs.Revision, In: f.In, Why: f.Why, DraftID: f.DraftID, DraftRevision: f.DraftRevision}
	next.Typed = s.desk.TypedOf(s.actor(r), out.Stale.Merged, editUnit(units{f.In}))
	told := "This is what both versions come to. Nothing is saved yet."
	if n := records.Unsettled(out.Stale.Clashes); n > 0 {
		told = "This is what both versions come to; where both changed the same and you did not choose, yours stands. Nothing is saved yet."
	}
	return s.editShow(w, r, next, editShown{judged: true, told: told})
}
