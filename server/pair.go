package server

import (
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// soon is how long a reader waits for work that goes on in the background.
func (s *Server) soon() <-chan time.Time { return time.After(2 * time.Second) }

// pairPage is two records to be decided.
type pairPage struct {
	Base
	A, B          mergeSide
	Chance        string // how likely it is that they are of one well
	Where         string // "3 of 41"
	List          string
	Previous      string
	Next          string
	State         map[string]string // hidden fields of the forms
	Merge         string            // addresses of the pages on which the two become one
	Works, Twin   string
	Reasons       []pairReason
	NotFound      bool // the search did not find the two
	Decided       string
	Reopened      bool
	Revision      int64
	Map           template.HTML
	MapHref       string
	NoMap         string
	Log           logDrawing
	LeftHead      string
	RightHead     string
	Changes       []sideChange
	More          string
	History       []string
	HistoryOfPair bool
}

// pairReason is what one field says.
type pairReason struct {
	Label, A, B string
	Sign        string // + for one well, − against it, · says nothing
	SignSaid    string
	Words       string
	Private     bool
	Bar         int // how much it says, in tenths of the strongest, 0 to 10
	Against     bool
}

// pairHome answers /duplicates/pair.
func (s *Server) pairHome(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	st, err := parsePairs(q)
	if err != nil {
		return err
	}
	var id [2]int64
	for i, name := range []string{"a", "b"} {
		if id[i], err = strconv.ParseInt(q.Get(name), 10, 64); err != nil || id[i] <= 0 {
			return records.Errorf(records.Invalid, "%s=%s is no record; open a pair from the list", name, clipText(q.Get(name), 20))
		}
	}
	sheet, err := s.desk.Pair(r.Context(), s.actor(r), id[0], id[1])
	if records.CodeOf(err) == records.NotFound && err != nil {
		return s.pairGone(w, r, st, id, err)
	}
	if err != nil {
		return err
	}
	p, err := s.pairPageOf(r, st, sheet)
	if err != nil {
		return err
	}
	return s.show(w, "pair", p)
}

// pairGone leads on where one of the two came back under another key.
func (s *Server) pairGone(w http.ResponseWriter, r *http.Request, st pairsState, id [2]int64, notFound error) error {
	var now [2]int64
	for i := range id {
		to, err := s.desk.WhereTo(r.Context(), s.actor(r), id[i])
		if err != nil {
			return notFound
		}
		now[i] = to
	}
	if now[0] == now[1] {
		http.Redirect(w, r, historyPath(now[0]), http.StatusSeeOther)
		return nil
	}
	http.Redirect(w, r, st.pairHref(now[0], now[1]), http.StatusSeeOther)
	return nil
}

func (s *Server) pairPageOf(r *http.Request, st pairsState, sheet *desk.PairSheet) (*pairPage, error) {
	a, b := sheet.A.Well, sheet.B.Well
	u := units{unitsOf(r)}
	p := &pairPage{Base: s.base(r, nameOf(a)+" and "+nameOf(b)), A: sideOf(a), B: sideOf(b), List: st.href(), Reopened: sheet.Reopened}
	p.LeftHead, p.RightHead = nameOf(a), nameOf(b)
	p.Revision, p.Decided = sheet.Decision.Revision, decisionWords(&sheet.Decision)
	p.NotFound = len(sheet.Found.Reasons) == 0
	if !p.NotFound {
		p.Chance = oneWellWords(sheet.Found.Probability)
		p.Reasons = pairReasons(u, a, b, sheet.Found.Reasons)
	}
	next, err := s.placeInList(r, st, a.ID, b.ID, p)
	if err != nil {
		return nil, err
	}
	back := st.href()
	if next != "" {
		back = next
	}
	first, later := a.ID, b.ID
	if a.Completed.Compare(b.Completed) > 0 && !b.Completed.IsZero() {
		first, later = b.ID, a.ID
	}
	p.Merge, p.Twin = mergeHref(a.ID, b.ID, "", "", back), mergeHref(a.ID, b.ID, records.MergedTwin, "", back)
	p.Works = mergeHref(first, later, records.MergedWorks, "", back)
	p.State = map[string]string{"a": strconv.FormatInt(a.ID, 10), "b": strconv.FormatInt(b.ID, 10), "revision": strconv.FormatInt(p.Revision, 10),
		"show": string(st.show), "least": strconv.Itoa(st.least)}
	s.drawPair(r, sheet, p)
	private := s.desk.Permit(s.actor(r), desk.SeePrivate) == nil
	for i, c := range visible(records.Diff(a, b), private) {
		if c.Field == "uid" {
			continue
		}
		if i >= mostChanges {
			p.More = "and more: see the two records"
			break
		}
		p.Changes = append(p.Changes, sideChangeOf(c))
	}
	for i := range sheet.History {
		if t := decisionWords(&sheet.History[i]); i > 0 && t != "" {
			p.History = append(p.History, t)
		}
	}
	return p, nil
}

// placeInList finds where a pair stands in the list, and its neighbours there.
func (s *Server) placeInList(r *http.Request, st pairsState, a, b int64, p *pairPage) (next string, err error) {
	l, err := s.desk.Pairs(r.Context(), s.actor(r), st.show, float64(st.least)/100)
	if err != nil || st.show == desk.PairsDecided {
		return "", err
	}
	at := -1
	for i := range l.Rows {
		if x := &l.Rows[i]; x.IDA == a && x.IDB == b || x.IDA == b && x.IDB == a {
			at = i
		}
	}
	href := func(i int) string { return st.pairHref(l.Rows[i].IDA, l.Rows[i].IDB) }
	if at < 0 {
		if len(l.Rows) > 0 {
			p.Next = href(0)
		}
		return p.Next, nil
	}
	p.Where = fmt.Sprintf("%s of %s to decide", grouped(at+1), grouped(len(l.Rows)))
	if st.show == desk.PairsAside {
		p.Where = fmt.Sprintf("%s of %s set aside", grouped(at+1), grouped(len(l.Rows)))
	}
	if at > 0 {
		p.Previous = href(at - 1)
	}
	if at+1 < len(l.Rows) {
		p.Next = href(at + 1)
		return p.Next, nil
	}
	return "", nil
}

// pairReasons set the fields in the reader's units beside what they say.
func pairReasons(u units, a, b *records.Well, reasons []records.PairReason) []pairReason {
	strongest := 1.0
	for i := range reasons {
		strongest = max(strongest, abs(reasons[i].Weight))
	}
	var out []pairReason
	for i := range reasons {
		f := &reasons[i]
		r := pairReason{Label: fieldOfPair(f.Name), A: pairSays(u, a, f.Name), B: pairSays(u, b, f.Name), Private: f.Private, Words: f.Level}
		if f.Name == "place" {
			r.Words = joinWords(apartWords(u, a, b), f.Level)
		}
		r.Bar, r.Against = int(abs(f.Weight)/strongest*10+0.5), f.Weight < 0
		switch {
		case f.Agreement == "missing":
			r.Sign, r.SignSaid, r.Bar = "·", "says nothing", 0
			r.Words = "one or both say nothing of it"
			if r.A == "" && r.B == "" {
				continue
			}
		case r.Bar == 0:
			r.Sign, r.SignSaid = "·", "says little"
		case f.Weight > 0:
			r.Sign, r.SignSaid = "+", "speaks for one well"
		default:
			r.Sign, r.SignSaid = "−", "speaks against one well"
		}
		out = append(out, r)
	}
	return out
}

func abs(v float64) float64 {
	if v < 0 {
		return -v
	}
	return v
}

func fieldOfPair(name string) string {
	switch name {
	case "depth":
		return "total depth"
	case "casing":
		return "casing to"
	case "pump":
		return "pump set at"
	case "static":
		return "static level"
	case "date":
		return "completed"
	case "diameter":
		return "casing"
	}
	return name
}

// pairSays is what a record says of a field that was compared.
func pairSays(u units, w *records.Well, name string) string {
	switch name {
	case "place":
		if at, ok := placeOf(w); ok {
			t := position.Format(at, position.DecimalDegrees)
			if l := u.Length(w.Place.Accuracy); l != "" {
				t += ", good to " + l
			}
			return t
		}
		return ""
	case "number":
		return joinWords(w.Number, permitOf(w))
	case "date":
		return say.Date(w.Completed)
	case "depth":
		return u.Depth(w.TotalDepth)
	case "casing":
		if seat, ok := w.CasingSeat(); ok {
			return u.Metres(float64(seat))
		}
		return ""
	case "pump":
		return u.Depth(w.Pump.SetDepth)
	case "static":
		return u.Level(w.StaticLevel)
	case "diameter":
		if n := len(w.Casing); n > 0 {
			return u.Diameter(w.Casing[n-1].Diameter)
		}
		return ""
	case "yield":
		return u.Yield(w.Yield)
	case "driller":
		return joinWords(w.Crew.Driller, w.Crew.Firm)
	case "owner":
		return w.Owner.Name
	}
	return ""
}

func permitOf(w *records.Well) string {
	if w.PermitNumber == "" {
		return ""
	}
	return "permit " + w.PermitNumber
}

// apartWords says how far apart two records lie.
func apartWords(u units, a, b *records.Well) string {
	x, okA := placeOf(a)
	y, okB := placeOf(b)
	if !okA || !okB {
		return ""
	}
	m, _ := position.Distance(x, y)
	if m < 0.1 {
		return "the same place"
	}
	return u.Distance(m)
}

// Sizes of the small map of a pair, pixels, and the least ground it shows.
const (
	pairMapW, pairMapH = 350.0, 280.0
	pairMapM           = 60.0
)

// drawPair draws where the two lie, and both logs.
func (s *Server) drawPair(r *http.Request, sheet *desk.PairSheet, p *pairPage) {
	u, theme := unitsOf(r), themeOf(r)
	a, b := sheet.A.Well, sheet.B.Well
	src := "/compare.svg?" + url.Values{"ids": {joinIDs([]int64{a.ID, b.ID})}, "units": {u.String()}}.Encode()
	var data []draw.ColumnData
	for _, sh := range []*desk.Sheet{sheet.A, sheet.B} {
		data = append(data, draw.ColumnOf(sh.Well, sh.Picks, s.desk.Vocabulary()))
	}
	drawn := draw.SideBySide(data, draw.Options{Prefix: "s", Units: u, Theme: theme, Width: float64(sideWidth(2))})
	p.Log = logDrawing{
		DrawnFor: theme.String(), Wide: template.HTML(drawn), //nolint:gosec // every text in it was escaped by package draw
		WideSrc: src, PrintSrc: src + "&theme=print&w=" + strconv.Itoa(leastSide), PrintAlt: "The two logs drawn side by side", Class: "side n2",
	}
	x, okA := placeOf(a)
	y, okB := placeOf(b)
	if !okA || !okB {
		p.NoMap = "Of at least one of the two the place is not known."
		return
	}
	p.MapHref = "/?at=" + queryEscape(latLon(x)) + "&tray=" + joinIDs([]int64{a.ID, b.ID})
	box := records.Bounds{West: min(x.Lon, y.Lon), East: max(x.Lon, y.Lon), South: min(x.Lat, y.Lat), North: max(x.Lat, y.Lat)}
	d := &draw.MapData{View: draw.FitView(box, pairMapW, pairMapH, 90, pairMapM), Metric: u == say.SI, Other: true,
		Title: nameOf(a) + " and " + nameOf(b) + ", " + apartWords(units{u}, a, b) + " apart"}
	for _, w := range []*records.Well{a, b} {
		at, _ := placeOf(w)
		d.Wells = append(d.Wells, draw.MapWell{ID: w.ID, Lon: at.Lon, Lat: at.Lat, Label: nameOf(w), Title: nameOf(w), Href: wellHref(w.ID), Known: true, Chosen: true})
	}
	p.Map = template.HTML(draw.Map(d, theme, "pm")) //nolint:gosec // every text in it was escaped by package draw
}
