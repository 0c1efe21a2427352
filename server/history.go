package server

import (
	"fmt"
	"html/template"
	"net/http"
	"strconv"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// historyPage is everything that became of one record.
type historyPage struct {
	Base
	Heading, Sub string
	Well         string // address of the record; "" where it was taken out
	ID           int64
	Path         string
	Gone         *historyGone
	States       []historyState
	Left, Right  *historyState // those side by side; nil where there is one state alone
	LeftHead     string
	RightHead    string
	Changes      []sideChange
	More         string
	Log          logDrawing
	Merges       []historyMerge
	Outside      []outsideView
}

// historyGone says how a record ended.
type historyGone struct {
	Words, Why  string
	Into        string // address of the record that it was merged into
	IntoName    string
	Back, Split string // addresses of forms: to bring it back, to split the two again
}

// historyState is one state in the list.
type historyState struct {
	desk.HistoryState
	Title         string // "revision 3"
	When          string
	Now           bool
	OnLeft        bool
	OnRight       bool
	Changed       string // in a line, what it changed
	EndedBy       string // " by somebody" who ended it
	Restore       string // address of a form; "": it is the present state
	RestoreHidden string
}

// historyMerge is a record that was merged into this one.
type historyMerge struct {
	Words string
	Out   string // address of its own history
	Name  string
	Split string // address of a form; "" where it was split again
	Ended string
}

func historyPath(id int64) string { return wellHref(id) + "/history" }

// historyHome answers /well/{id}/history.
func (s *Server) historyHome(w http.ResponseWriter, r *http.Request) error {
	h, err := s.historyOf(r)
	if err != nil {
		return err
	}
	p := historyPage{Base: s.base(r, "History"), Path: historyPath(h.LastID)}
	p.Heading = "History of " + nameOf(h.States[0].Image)
	p.Title = p.Heading
	if h.ID != 0 {
		p.Well, p.ID = wellHref(h.ID), h.ID
	}
	s.sayGone(r, h, &p)
	if err := p.list(r, h, s.desk.Permit(s.actor(r), desk.SeePrivate) == nil); err != nil {
		return err
	}
	if p.Left != nil {
		s.drawStates(r, &p)
	}
	for i := range h.Merges {
		p.Merges = append(p.Merges, mergeSaid(&h.Merges[i]))
	}
	if p.Outside, err = s.outsideViews(r, h.LastID); err != nil {
		return err
	}
	return s.show(w, "history", p)
}

func (s *Server) historyOf(r *http.Request) (*desk.History, error) {
	id, err := idOf(r)
	if err != nil {
		return nil, err
	}
	return s.desk.History(r.Context(), s.actor(r), id)
}

// sayGone says how a record ended that is no longer there.
func (s *Server) sayGone(r *http.Request, h *desk.History, p *historyPage) {
	if h.Gone == nil {
		return
	}
	g := &historyGone{Words: "Taken out " + officeTime(h.Gone.Until) + byWhom(h.Gone.Ended), Why: h.Gone.EndedWhy}
	if h.Into != nil {
		g.Split = splitPath(h.Into.ID)
		if h.IntoID != 0 {
			g.Into, g.IntoName = wellHref(h.IntoID), s.numberOf(r, h.IntoID)
		}
	} else {
		g.Back = restoreStateHref(h.LastID, h.Gone, 0)
	}
	p.Gone = g
}

// numberOf is what a record is called, for a link.
func (s *Server) numberOf(r *http.Request, id int64) string {
	names, err := s.desk.Numbers(r.Context(), s.actor(r), []int64{id})
	if err != nil || len(names) == 0 {
		return "no. " + strconv.FormatInt(id, 10)
	}
	return names[0]
}

func restoreStateHref(id int64, st *desk.HistoryState, current int64) string {
	return fmt.Sprintf("%s/restore?key=%d&revision=%d&current=%d", historyPath(id), st.Key, st.Revision, current)
}

// list makes the list of states, and finds the two that stand side by side.
func (p *historyPage) list(r *http.Request, h *desk.History, private bool) error {
	current := int64(0)
	if h.ID != 0 {
		current = h.States[0].Revision
	}
	for i := range h.States {
		st := &h.States[i]
		v := historyState{HistoryState: *st, Title: fmt.Sprintf("revision %d", st.Revision), Now: i == 0 && h.ID != 0, EndedBy: byWhom(st.Ended)}
		v.When = stateSince(st, i+1 == len(h.States))
		if i+1 < len(h.States) {
			v.Changed = changedFields(visible(records.Diff(h.States[i+1].Image, st.Image), private))
			if h.States[i+1].Out {
				v.Title += ", brought back"
			}
		}
		if !v.Now && (h.Into == nil) {
			v.Restore = restoreStateHref(h.LastID, st, current)
		}
		p.States = append(p.States, v)
	}
	n := len(p.States)
	p.Sub = count(n, "state", "states")
	if n > 1 {
		p.Sub += ", the latest first"
	} else {
		p.Sub += ": as it was first written. Nobody has changed it"
		return nil
	}
	left, right := r.URL.Query().Get("left"), r.URL.Query().Get("right")
	if left == "" {
		left = p.States[1].Name()
	}
	if right == "" {
		right = p.States[0].Name()
	}
	for i := range p.States {
		st := &p.States[i]
		if st.OnLeft = st.Name() == left; st.OnLeft {
			p.Left = st
		}
		if st.OnRight = st.Name() == right; st.OnRight {
			p.Right = st
		}
	}
	if p.Left == nil || p.Right == nil {
		return records.Errorf(records.NotFound, "the record has no state %s; open its history and choose from the list", clipText(joinWords(left, right), 40))
	}
	p.LeftHead, p.RightHead = capital(p.Left.Title), capital(p.Right.Title)
	if p.Right.Now {
		p.RightHead += ", now"
	}
	changes := visible(records.Diff(p.Left.Image, p.Right.Image), private)
	for i, c := range changes {
		if i == mostChanges {
			p.More = "and " + count(len(changes)-i, "other difference", "other differences")
			break
		}
		p.Changes = append(p.Changes, sideChangeOf(c))
	}
	return nil
}

// stateSince says who made a state, and when.
func stateSince(st *desk.HistoryState, first bool) string {
	switch {
	case !st.Since.IsZero():
		return officeTime(st.Since) + byWhom(st.By)
	case first && st.Image.Provenance.Batch > 0:
		return fmt.Sprintf("as it came in with intake %d", st.Image.Provenance.Batch)
	case first:
		return "as it was first written"
	}
	return "brought back after it had been taken out"
}

// mostNamed is how many changed properties are named in a line.
const mostNamed = 4

// changedFields names in a line what a write changed.
func changedFields(changes []records.Change) string {
	if len(changes) == 0 {
		return "nothing that is shown here"
	}
	var names []string
	for _, c := range changes {
		f := c.Field
		if top, _, ok := strings.Cut(f, "["); ok {
			f = top
		}
		if n := fieldWords(f); len(names) == 0 || names[len(names)-1] != n {
			names = append(names, n)
		}
	}
	if len(names) > mostNamed {
		return strings.Join(names[:mostNamed], ", ") + " and " + strconv.Itoa(len(names)-mostNamed) + " more"
	}
	return strings.Join(names, ", ")
}

func mergeSaid(m *desk.HistoryMerge) historyMerge {
	out := historyMerge{Name: orElse(m.Number, "a record without a number"), Out: historyPath(m.WellID)}
	out.Words = mergeWays[m.How] + ", " + officeTime(m.At) + byWhom(m.By)
	if m.Why != "" {
		out.Words += ": " + m.Why
	}
	if m.SplitAt.IsZero() {
		out.Split = splitPath(m.ID)
	} else {
		out.Ended = "split again " + officeTime(m.SplitAt) + byWhom(m.SplitBy)
	}
	return out
}

// mergeWays say how a record went into another.
var mergeWays = map[string]string{
	records.MergedFields: "merged field by field", records.MergedWorks: "taken in as later works", records.MergedTwin: "taken out as a copy by mistake",
}

// drawStates draws the two states side by side.
func (s *Server) drawStates(r *http.Request, p *historyPage) {
	u, theme := unitsOf(r), themeOf(r)
	drawn := s.stateColumns(p, u, theme, sideWidth(2))
	src := fmt.Sprintf("%s.svg?left=%s&right=%s&units=%s", p.Path, p.Left.Name(), p.Right.Name(), u)
	p.Log = logDrawing{
		DrawnFor: theme.String(), Wide: template.HTML(drawn), //nolint:gosec // every text in it was escaped by package draw
		WideSrc: src, PrintSrc: src + "&theme=print&w=" + strconv.Itoa(leastSide),
		PrintAlt: "The two states drawn side by side; the table says in words what differs", Class: "side n2",
	}
}

func (s *Server) stateColumns(p *historyPage, u say.System, theme draw.Theme, width int) []byte {
	var data []draw.ColumnData
	for _, st := range []*historyState{p.Left, p.Right} {
		d := draw.ColumnOf(st.Image, records.DerivePicks(st.Image, s.desk.Vocabulary()), s.desk.Vocabulary())
		d.Number = capital(st.Title)
		if st.Now {
			d.Number += " (now)"
		}
		data = append(data, d)
	}
	return draw.SideBySide(data, draw.Options{Prefix: "s", Units: u, Theme: theme, Width: float64(width)})
}

// historySVG answers /well/{id}/history.svg: two states drawn.
func (s *Server) historySVG(w http.ResponseWriter, r *http.Request) error {
	h, err := s.historyOf(r)
	if err != nil {
		return err
	}
	width, err := widthOf(r.URL.Query().Get("w"), sideWidth(2), leastSide, mostSide)
	if err != nil {
		return err
	}
	p := historyPage{}
	if err := p.list(r, h, false); err != nil {
		return err
	}
	if p.Left == nil {
		return records.Errorf(records.NotFound, "the record has one state alone")
	}
	u, theme := unitsOf(r), themeOf(r)
	key := fmt.Sprintf("states %s %s %s %s %s %d", h.UID, p.Left.Name()+p.Left.Title, p.Right.Name()+p.Right.Title, s.desk.Vocabulary().Version(), u.String()+theme.String(), width)
	data, etag, err := s.cache.get(key, func() ([]byte, error) { return s.stateColumns(&p, u, theme, width), nil })
	if err != nil {
		return err
	}
	return sendSVG(w, r, data, etag, "")
}

// historyRestore answers /well/{id}/history/restore: an earlier state becomes
// the present one.
func (s *Server) historyRestore(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	var n [3]int64
	for i, name := range []string{"key", "revision", "current"} {
		if n[i], err = strconv.ParseInt(r.URL.Query().Get(name), 10, 64); err != nil || n[i] < 0 {
			return records.Errorf(records.Invalid, "%s=%s names no state of the record; open its history and restore from there", name, clipText(r.URL.Query().Get(name), 20))
		}
	}
	now, rev, err := s.desk.RestoreState(r.Context(), s.actor(r), id, n[0], n[1], n[2])
	if err != nil {
		return err
	}
	what := said{Text: fmt.Sprintf("%s is again as it was at revision %d.", s.numberOf(r, now), n[1])}
	if n[2] == 0 { // it had been taken out
		what.Text = s.numberOf(r, now) + " is back."
		what.Undo = fmt.Sprintf("%s/out?revision=%d", historyPath(now), rev)
	} else {
		what.Undo = fmt.Sprintf("%s/restore?key=%d&revision=%d&current=%d", historyPath(now), now, n[2], rev)
	}
	return s.done(w, r, historyPath(now), what)
}

// historyOut answers /well/{id}/history/out: the undo of bringing a record
// back takes it out again.
func (s *Server) historyOut(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	revision, err := strconv.ParseInt(r.URL.Query().Get("revision"), 10, 64)
	if err != nil {
		return records.Errorf(records.Invalid, "say which revision is to be taken out; open the record and do it from there")
	}
	name := s.numberOf(r, id)
	if err := s.desk.Remove(r.Context(), s.actor(r), id, revision, "taken out again"); err != nil {
		return err
	}
	gone := desk.HistoryState{Key: id, Revision: revision}
	return s.done(w, r, "/records/out", said{Text: name + " is taken out.", Undo: restoreStateHref(id, &gone, 0)})
}

// wellGone answers for a record that does not stand under its key: where it
// came back under another, or was merged, the reader is led there; where it
// was taken out, to its history.
func (s *Server) wellGone(w http.ResponseWriter, r *http.Request, id int64, notFound error) error {
	to, err := s.desk.WhereTo(r.Context(), s.actor(r), id)
	href := wellHref(to)
	if err != nil {
		if _, err := s.desk.History(r.Context(), s.actor(r), id); err != nil {
			return notFound
		}
		href = historyPath(id)
	}
	if r.URL.RawQuery != "" {
		href += "?" + r.URL.RawQuery
	}
	http.Redirect(w, r, href, http.StatusSeeOther)
	return nil
}
