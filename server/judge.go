package server

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// judgePage is where a consultant enters what they make of a log: own picks,
// and what of it is not to be relied on.
type judgePage struct {
	Base
	Heading, Sub string
	Back         string
	Log          logDrawing
	Bedrock      part // as the log says
	Picks        []ownPickView
	Marks        []markView
	Sets         []string // of picks, as the browser offers them
	Form         judgeForm
	Next         judgeNext
}

// ownPickView is one own pick, with the way to take it out.
type ownPickView struct {
	Of, Set, Reason, Who string
	Depth                cell
	Remove               string
}

// markView is one mark.
type markView struct{ About, Reason, Who, Remove string }

// judgeForm is the two forms as they were filled in.
type judgeForm struct {
	Path     string
	Revision int64
	Keep     []param // that go on to the next well
	Unit, In string
	Set, By  string
	Of       []choice
	Depth    string
	Reason   string
	About    []choice
	Doubt    string
	Fault    string // what was wrong, and of which form
	Sent     string // picks or unreliable: which form was sent
}

// judgeNext leads from well to well, outwards from a place.
type judgeNext struct {
	Label, Href string
	Sub         string
}

// judgeState is what goes along from well to well: the set that is being
// picked, by whom, and the place from which wells are taken in turn.
type judgeState struct {
	set, by string
	from    *position.LonLat
}

func judgeStateOf(q url.Values) (judgeState, error) {
	st := judgeState{set: strings.Join(strings.Fields(q.Get("set")), " "), by: strings.TrimSpace(q.Get("by"))}
	if t := strings.TrimSpace(q.Get("from")); t != "" {
		r, err := position.Parse(t)
		if err != nil {
			return st, &records.Error{Code: records.Invalid, Field: "from", Message: "the place that wells are taken from: " + err.Error()}
		}
		st.from = &r.At
	}
	return st, nil
}

func (st *judgeState) href(id int64) string {
	q := url.Values{}
	for _, p := range st.params() {
		q.Set(p.Name, p.Value)
	}
	if len(q) == 0 {
		return judgePath(id)
	}
	return judgePath(id) + "?" + q.Encode()
}

func (st *judgeState) params() []param {
	var out []param
	if st.set != "" {
		out = append(out, param{"set", st.set})
	}
	if st.by != "" {
		out = append(out, param{"by", st.by})
	}
	if st.from != nil {
		out = append(out, param{"from", latLon(*st.from)})
	}
	return out
}

func judgePath(id int64) string { return wellHref(id) + "/judge" }

// judgeHome answers /well/{id}/judge.
func (s *Server) judgeHome(w http.ResponseWriter, r *http.Request) error {
	st, err := judgeStateOf(r.URL.Query())
	if err != nil {
		return err
	}
	id, err := idOf(r)
	if err != nil {
		return err
	}
	return s.judgeShow(w, r, id, st, judgeForm{}, http.StatusOK)
}

// judgeShow writes the page, with a form as it was sent.
func (s *Server) judgeShow(w http.ResponseWriter, r *http.Request, id int64, st judgeState, sent judgeForm, status int) error {
	if err := s.desk.Permit(s.actor(r), desk.Edit); err != nil {
		return err
	}
	sheet, err := s.desk.Well(r.Context(), s.actor(r), id)
	if err != nil {
		return err
	}
	u := units{unitsOf(r)}
	well := sheet.Well
	if at, ok := placeOf(well); ok && st.from == nil {
		st.from = &at
	}
	p := judgePage{
		Base: s.base(r, "Own picks of "+nameOf(well)), Heading: nameOf(well), Sub: wellSub(well), Back: wellHref(id),
		Log: s.logOf(sheet, u.System, themeOf(r)), Bedrock: bedrockPart(u, sheet.Picks), Sets: s.desk.Picture().PickSetNames(), Form: sent,
	}
	p.Bedrock.ID, p.Bedrock.Title = "says", "What the log says of bedrock"
	p.Picks = ownPickViews(u, well)
	for i := range well.Unreliable {
		m := &well.Unreliable[i]
		p.Marks = append(p.Marks, markView{About: capital(draw.DoubtPhrase(m.About)), Reason: m.Reason, Who: joinWords(m.By, say.Date(m.Date)), Remove: wellHref(id) + "/unreliable/" + strconv.Itoa(i) + "/remove"})
	}
	f := &p.Form
	f.Path, f.Keep, f.Unit, f.In = wellHref(id), st.params(), u.LengthUnit().Symbol(), u.String()
	if f.Revision == 0 {
		f.Revision = well.Revision
	}
	if f.Set == "" {
		f.Set = st.set
	}
	if f.By == "" {
		f.By = st.by
	}
	if len(f.Of) == 0 {
		f.Of = ofChoices("")
	}
	if len(f.About) == 0 {
		f.About = aboutChoices("")
	}
	p.Next = s.judgeNext(r, u, well, st)
	if r.Method == http.MethodPost { // its address cannot be asked for again
		p.Here = st.href(id)
	}
	return s.showAs(w, "judge", p, status)
}

func ownPickViews(u units, w *records.Well) []ownPickView {
	var out []ownPickView
	for i := range w.OwnPicks {
		o := &w.OwnPicks[i]
		v := ownPickView{Of: pickOfWords(o.Of), Set: o.Set, Reason: o.Reason, Who: joinWords(o.By, say.Date(o.Date)), Depth: u.depth(o.Depth),
			Remove: wellHref(w.ID) + "/picks/" + strconv.Itoa(i) + "/remove"}
		out = append(out, v)
	}
	return out
}

func pickOfWords(of string) string {
	switch of {
	case records.PickBedrock:
		return "sound bedrock"
	case records.PickStrike:
		return "water"
	}
	return plainWord(of)
}

func ofChoices(now string) []choice {
	if now == "" {
		now = records.PickBedrock
	}
	var out []choice
	for _, of := range records.OwnPickWords() {
		out = append(out, choice{of, capital(pickOfWords(of)), of == now})
	}
	return out
}

func aboutChoices(now string) []choice {
	var out []choice
	for _, a := range records.DoubtWords() {
		out = append(out, choice{a, capital(draw.DoubtPhrase(a)), a == now})
	}
	return out
}

// judgeNext finds the next well outwards from the place, that has no pick of
// bedrock in the set yet: so that many are picked in a row.
func (s *Server) judgeNext(r *http.Request, u units, w *records.Well, st judgeState) judgeNext {
	if st.from == nil {
		return judgeNext{}
	}
	here := 0.0
	if at, ok := placeOf(w); ok {
		here, _ = position.Distance(*st.from, at)
	}
	key := records.KeyOf(w.UID)
	found := s.desk.Picture().Nearest(*st.from, 1, func(row snapshot.Row) bool {
		if row.ID() == w.ID || row.OwnBedrock(st.set).Qualifier != records.Missing {
			return false
		}
		lon, lat, _ := row.Position()
		m, _ := position.Distance(*st.from, position.LonLat{Lon: lon, Lat: lat})
		const same = 0.01 // metres: at one place, ties go by key
		return m > here+same || m > here-same && row.Key() > key
	})
	named, err := s.named(r, found)
	if err != nil || len(named) == 0 {
		return judgeNext{Sub: "No farther well is without a pick in this set."}
	}
	n := named[0]
	return judgeNext{Label: n.Name, Href: st.href(n.ID()), Sub: u.Distance(n.DistanceM) + " " + say.Bearing(n.BearingDeg) + " of where you began"}
}
