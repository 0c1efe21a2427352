package server

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
)

// platesPage is the desk: all plates, a line each, in the order of the work.
type platesPage struct {
	Base
	Progress     string // '37 of 212 to decide'
	Kinds        []jobsAt
	Lead         string
	Rows         []plateRow
	None         string
	Empty        bool
	Newer, Older string
	Begin        string // where the first of the list is decided
	Confirm      string // how many links can be confirmed at once; "" for none
	Match        plateMatchView
}

// plateMatchView tells how old the matching is, and how one is got on with.
type plateMatchView struct {
	Running bool
	Words   string
	Done    string // share, for the bar: whole numbers of Of
	Of      string
	Again   bool // it may be made anew
	Alert   bool
}

// plateRow is a plate in a line.
type plateRow struct {
	Name, Href, Stamped string
	Where               string // what it is linked to, or may belong to
	WhereHref           string
	Chance, Percent     string
	Note                string
	Signal              bool // the note is to be noticed
}

// platesOnPage is how many plates are listed at once.
const platesOnPage = 50

// plateKindsShown are the words of the filter, in the order in which they stand.
var plateKindsShown = [...]struct{ word, label, lead string }{
	{"waiting", "to decide", "Plates that nobody has decided yet, the surest first. Open one, look at its reasons, and say."},
	{"likely", "likely", "For these one record is so likely that they may be linked many at once, after a look at the list."},
	{"unsure", "unsure", "For these a record may be the one, and somebody has to look."},
	{"none", "no candidate", "No record is likely to be theirs: it may not be in the file, or what is stamped was misread."},
	{"doubtful", "doubtful links", "These are linked, and another record fits better. Two of them may have been exchanged."},
	{"aside", "set aside", "Put off. A new sighting, a change of a record that was looked at, or a better record brings them back by itself."},
	{"decided", "decided", "Linked to a record, or said to have none."},
}

// plateKindsOf is the filter of a word.
func plateKindsOf(word string) (func(desk.PlateKind) bool, error) {
	if word == "waiting" {
		return desk.PlateKind.Waits, nil
	}
	k, ok := desk.ParsePlateKind(word)
	if !ok {
		return nil, records.Errorf(records.Invalid, "show=%s is no sort of plate; choose one of the list", clipText(word, 30))
	}
	return func(x desk.PlateKind) bool { return x == k }, nil
}

// showOf is which plates the reader looks at.
func showOf(q url.Values) string { return orElse(q.Get("show"), "waiting") }

// platesHome answers /plates.
func (s *Server) platesHome(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	show := showOf(q)
	kinds, err := plateKindsOf(show)
	if err != nil {
		return err
	}
	from, err := pageFrom(q.Get("from"))
	if err != nil {
		return err
	}
	b, err := s.desk.PlateBoard(r.Context(), s.actor(r))
	if err != nil {
		return err
	}
	p := platesPage{Base: s.base(r, "Plates"), Empty: len(b.Entries) == 0}
	p.Progress = plateProgressWords(b)
	if p.Match, err = s.plateMatching(r, b); err != nil {
		return err
	}
	for _, k := range plateKindsShown {
		at := jobsAt{Label: k.label, Href: "/plates?show=" + k.word, On: k.word == show}
		is, err := plateKindsOf(k.word)
		if err != nil {
			return err
		}
		n := 0
		for kind, c := range b.Counts {
			if is(desk.PlateKind(kind)) {
				n += c
			}
		}
		at.Count = grouped(n)
		if at.On {
			p.Lead = k.lead
		}
		if n > 0 || at.On || k.word == "waiting" {
			p.Kinds = append(p.Kinds, at)
		}
	}
	var of []desk.PlateEntry
	for i := range b.Entries {
		if kinds(b.Entries[i].Kind) {
			of = append(of, b.Entries[i])
		}
	}
	if n := b.Counts[desk.PlateLikely]; n > 0 && (show == "waiting" || show == "likely") {
		p.Confirm = count(n, "likely link", "likely links")
	}
	switch {
	case p.Empty:
	case len(of) == 0 && show == "waiting" && p.Match.Running:
		p.None = "The plates are being matched with the records; they are listed when that is done."
	case len(of) == 0 && show == "waiting":
		p.None = "Everything is decided."
	case len(of) == 0:
		p.None = "There is none of this sort."
	default:
		p.Begin = plateDeskHref(of[0].ID, show)
	}
	page := of[min(from, len(of)):min(from+platesOnPage, len(of))]
	if from > 0 {
		p.Newer = "/plates?show=" + show + "&from=" + strconv.Itoa(max(0, from-platesOnPage))
	}
	if from+platesOnPage < len(of) {
		p.Older = "/plates?show=" + show + "&from=" + strconv.Itoa(from+platesOnPage)
	}
	if p.Rows, err = s.plateRows(r, page, show); err != nil {
		return err
	}
	return s.show(w, "plates", p)
}

// pageFrom reads where a list goes on.
func pageFrom(t string) (int, error) {
	if t == "" {
		return 0, nil
	}
	n, err := strconv.Atoi(t)
	if err != nil || n < 0 {
		return 0, records.Errorf(records.Invalid, "from=%s is no place in the list", clipText(t, 20))
	}
	return n, nil
}

// plateProgressWords says how far the work is.
func plateProgressWords(b *desk.PlateBoard) string {
	if len(b.Entries) == 0 {
		return "No plate is on record yet"
	}
	return grouped(b.Waiting()) + " of " + count(len(b.Entries), "plate", "plates") + " to decide"
}

func plateDeskHref(id int64, show string) string {
	to := "/plates/" + strconv.FormatInt(id, 10)
	if show != "" && show != "waiting" {
		to += "?show=" + queryEscape(show)
	}
	return to
}

// plateMatching says how the matching stands.
func (s *Server) plateMatching(r *http.Request, b *desk.PlateBoard) (plateMatchView, error) {
	v := plateMatchView{}
	at, err := s.desk.PlateProgress(r.Context(), s.actor(r))
	if err != nil {
		return v, err
	}
	switch {
	case at.Running:
		v.Running, v.Words = true, "Matching the plates with the records"
		if at.Of > 0 {
			v.Done, v.Of = strconv.Itoa(at.Done), strconv.Itoa(at.Of)
			v.Words += ": " + grouped(at.Done) + " of " + count(at.Of, "plate", "plates") + " compared"
		}
	case at.Failed != "":
		v.Words, v.Again, v.Alert = "The latest matching failed: "+at.Failed, true, true
	case b.Run == nil:
		v.Words, v.Again = "The plates have not been matched with the records yet", len(b.Entries) > 0
	case at.Wells+at.Plates > 0:
		v.Words = "Matched " + b.Run.At.Format("2 January 15:04") + "; since then " + newsWords(at) + " written"
		v.Again, v.Alert = true, true
	}
	return v, nil
}

// newsWords counts what was written since the matching.
func newsWords(at desk.PlateProgress) string {
	var parts []string
	if at.Wells > 0 {
		parts = append(parts, count(int(at.Wells), "record", "records"))
	}
	if at.Plates > 0 {
		parts = append(parts, count(int(at.Plates), "plate", "plates"))
	}
	verb := " were"
	if at.Wells+at.Plates == 1 {
		verb = " was"
	}
	return strings.Join(parts, " and ") + verb
}

// platesMatch begins to match all plates anew.
func (s *Server) platesMatch(w http.ResponseWriter, r *http.Request) error {
	if err := s.desk.MatchPlates(r.Context(), s.actor(r)); err != nil {
		return err
	}
	http.Redirect(w, r, "/plates", http.StatusSeeOther)
	return nil
}

// plateRows puts plates in lines.
func (s *Server) plateRows(r *http.Request, list []desk.PlateEntry, show string) ([]plateRow, error) {
	ctx, actor, u := r.Context(), s.actor(r), units{unitsOf(r)}
	out := make([]plateRow, 0, len(list))
	for i := range list {
		e := &list[i]
		pl, err := s.desk.Plate(ctx, actor, e.ID)
		if records.CodeOf(err) == records.NotFound && err != nil {
			continue // taken out since
		}
		if err != nil {
			return nil, err
		}
		row := plateRow{Name: plateName(pl), Href: plateDeskHref(e.ID, show), Stamped: stampedWords(u, &pl.Stamped)}
		well := e.Best
		if e.WellID != 0 {
			well = e.WellID
		}
		if well != 0 {
			names, err := s.desk.Numbers(ctx, actor, []int64{well})
			if err != nil && records.CodeOf(err) != records.NotFound {
				return nil, err
			}
			if err == nil {
				row.Where, row.WhereHref = names[0], wellHref(well)
			}
		}
		if e.Best != 0 {
			row.Chance, row.Percent = chanceWords(e.Probability), sureWords(e.Probability)
		}
		row.Note, row.Signal = plateNote(e)
		out = append(out, row)
	}
	return out, nil
}

// plateNote says in a few words where a plate stands.
func plateNote(e *desk.PlateEntry) (string, bool) {
	switch {
	case e.Swapped != 0:
		return "linked; it and another plate may have been exchanged", true
	case e.Kind == desk.PlateDoubtful:
		return "linked; another record fits better", true
	case e.State == records.PlateLinked:
		return "linked", false
	case e.State == records.PlateNoRecord:
		return "no record exists", false
	case e.State == records.PlateLater:
		return "set aside", false
	case e.Renewed:
		return "was set aside; there is something new", true
	case e.Taken:
		return "another plate is linked to that record", true
	case e.Best == 0:
		return "no record is likely", false
	}
	return "", false
}

// chanceWords puts a probability in words. The steps are ours, no source.
func chanceWords(p float64) string {
	switch {
	case p >= 0.995:
		return "almost certain"
	case p >= 0.95:
		return "very likely"
	case p >= 0.8:
		return "likely"
	case p >= 0.5:
		return "more likely than not"
	case p >= 0.2:
		return "possible"
	case p >= 0.05:
		return "unlikely"
	}
	return "very unlikely"
}

// sureWords writes a probability as a percentage that never says 0 or 100.
func sureWords(p float64) string {
	switch {
	case p > 0.999:
		return "over 99.9 %"
	case p < 0.001:
		return "under 0.1 %"
	case p >= 0.1 && p <= 0.9:
		return strconv.FormatFloat(p*100, 'f', 0, 64) + " %"
	}
	return strconv.FormatFloat(p*100, 'f', 1, 64) + " %"
}
