package server

import (
	"fmt"
	"math"
	"net/http"
	"net/url"
	"strconv"

	"tallybook/records"
	"tallybook/records/desk"
)

// pairsState is what the address of the pairs says.
type pairsState struct {
	show  desk.PairShow
	least int // in a hundred
	skip  int
}

// pairLeasts are the probabilities from which on pairs are listed, in a hundred.
var pairLeasts = [...]int{0, 50, 90, 99}

// usualLeast is the one that is shown unless the reader chooses another.
const usualLeast = 50

func parsePairs(q url.Values) (st pairsState, err error) {
	st = pairsState{show: desk.PairsOpen, least: usualLeast}
	switch show := desk.PairShow(q.Get("show")); show {
	case "":
	case desk.PairsOpen, desk.PairsAside, desk.PairsDecided:
		st.show = show
	default:
		return st, records.Errorf(records.Invalid, "show=%s: use open, aside or decided", clipText(string(show), 20))
	}
	for _, x := range []struct {
		name string
		most int
		to   *int
	}{{"least", 100, &st.least}, {"skip", math.MaxInt32, &st.skip}} {
		if t := q.Get(x.name); t != "" {
			if *x.to, err = strconv.Atoi(t); err != nil || *x.to < 0 || *x.to > x.most {
				return st, records.Errorf(records.Invalid, "%s=%s is no number from 0 to %d", x.name, clipText(t, 20), x.most)
			}
		}
	}
	return st, nil
}

// query is the state as an address has it, behind what else is asked.
func (st pairsState) query(q url.Values) string {
	if q == nil {
		q = url.Values{}
	}
	if st.show != desk.PairsOpen {
		q.Set("show", string(st.show))
	}
	if st.least != usualLeast {
		q.Set("least", strconv.Itoa(st.least))
	}
	if st.skip > 0 {
		q.Set("skip", strconv.Itoa(st.skip))
	}
	if len(q) == 0 {
		return ""
	}
	return "?" + q.Encode()
}

func (st pairsState) href() string { return "/duplicates" + st.query(nil) }

// pairHref is the address of a pair. The record that came in first stands
// first.
func (st pairsState) pairHref(a, b int64) string {
	st.skip, a, b = 0, min(a, b), max(a, b)
	return "/duplicates/pair" + st.query(url.Values{"a": {strconv.FormatInt(a, 10)}, "b": {strconv.FormatInt(b, 10)}})
}

// pairsPage lists the pairs.
type pairsPage struct {
	Base
	Search  pairSearch
	Shows   []sideChoice
	Leasts  []sideChoice
	None    string // why the list is empty
	Table   listing
	Begin   string // the first pair to be decided
	Earlier string
	Next    string
}

// pairSearch says how old the result is, and how far the next one.
type pairSearch struct {
	Working bool
	Far     string // how far, in words
	Last    string // of the latest search
	Note    string
	Stale   string
	Failed  string
	Button  string
}

// pairsAtOnce is how many pairs are listed on one page.
const pairsAtOnce = 50

// duplicatesHome answers /duplicates.
func (s *Server) duplicatesHome(w http.ResponseWriter, r *http.Request) error {
	st, err := parsePairs(r.URL.Query())
	if err != nil {
		return err
	}
	ctx, actor := r.Context(), s.actor(r)
	found, err := s.desk.PairState(ctx, actor)
	if err != nil {
		return err
	}
	l, err := s.desk.Pairs(ctx, actor, st.show, float64(st.least)/100)
	if err != nil {
		return err
	}
	p := pairsPage{Base: s.base(r, "Duplicates"), Search: searchSaid(&found)}
	for _, show := range []struct {
		label string
		is    desk.PairShow
		n     int
	}{{"to decide", desk.PairsOpen, l.Open}, {"set aside", desk.PairsAside, l.Aside}, {"decided", desk.PairsDecided, l.Decided}} {
		p.Shows = append(p.Shows, sideChoice{fmt.Sprintf("%s (%s)", show.label, grouped(show.n)), pairsState{show: show.is, least: st.least}.href(), show.is == st.show})
	}
	if st.show != desk.PairsDecided {
		for _, least := range pairLeasts {
			label := "any likelihood"
			if least > 0 {
				label = fmt.Sprintf("%d in 100 and more", least)
			}
			p.Leasts = append(p.Leasts, sideChoice{label, pairsState{show: st.show, least: least}.href(), least == st.least})
		}
	}
	if err := s.listPairs(r, st, l, &p); err != nil {
		return err
	}
	p.None = noPairs(st, l, &found)
	return s.show(w, "duplicates", p)
}

// noPairs says why there is nothing in the list.
func noPairs(st pairsState, l *desk.PairList, found *desk.PairState) string {
	switch {
	case len(l.Rows) > 0:
		return ""
	case st.show == desk.PairsDecided:
		return "Nothing was decided yet."
	case st.show == desk.PairsAside:
		return "Nothing is set aside."
	case found.Run.At.IsZero() && found.Working:
		return "The search is under way."
	case found.Run.At.IsZero():
		return "Nobody has searched yet."
	case l.Open > 0:
		return "No pair is so likely. Look at the less likely ones."
	}
	return "Nothing is left to decide."
}

func (s *Server) listPairs(r *http.Request, st pairsState, l *desk.PairList, p *pairsPage) error {
	rows := l.Rows
	if st.show == desk.PairsOpen && len(rows) > 0 {
		p.Begin = st.pairHref(rows[0].IDA, rows[0].IDB)
	}
	back := st
	if st.skip > 0 {
		back.skip = max(0, st.skip-pairsAtOnce)
		p.Earlier = back.href()
	}
	if len(rows) > st.skip+pairsAtOnce {
		back.skip = st.skip + pairsAtOnce
		p.Next = back.href()
	}
	rows = rows[min(st.skip, len(rows)):min(st.skip+pairsAtOnce, len(rows))]
	if st.show == desk.PairsDecided {
		return s.listDecided(r, rows, p)
	}
	var ids []int64
	for i := range rows {
		ids = append(ids, min(rows[i].IDA, rows[i].IDB), max(rows[i].IDA, rows[i].IDB))
	}
	sheets, err := s.desk.Wells(r.Context(), s.actor(r), ids)
	if err != nil {
		return err
	}
	u := units{unitsOf(r)}
	p.Table = listing{Heads: heads("pair", "one well", "apart", "#depths", "completed", "decided")}
	for i := range rows {
		a, b := sheets[2*i].Well, sheets[2*i+1].Well
		was := ""
		if rows[i].Reopened {
			was = "was: " + verdictWords[rows[i].Decision.Verdict] + "; a record has changed since"
		}
		p.Table.add("", cell{Text: nameOf(a) + " and " + nameOf(b), Href: st.pairHref(a.ID, b.ID)}, cell{Text: oneWellWords(rows[i].Probability)},
			cell{Text: apartWords(u, a, b)}, cell{Text: bothWords(u.Depth(a.TotalDepth), u.Depth(b.TotalDepth))},
			cell{Text: bothWords(a.Completed.String(), b.Completed.String())}, cell{Text: was, Class: "quiet"})
	}
	p.Table = p.Table.tidy()
	return nil
}

// listDecided lists what was decided. A record that was taken out is named by
// its history.
func (s *Server) listDecided(r *http.Request, rows []desk.PairRow, p *pairsPage) error {
	p.Table = listing{Heads: heads("pair", "decided", "when and by whom", "why", "it was likely", "")}
	for i := range rows {
		d := &rows[i].Decision
		names, ids, err := s.desk.PairNames(r.Context(), s.actor(r), d.A, d.B)
		if err != nil {
			return err
		}
		pair := cell{Text: names[0] + " and " + names[1]}
		act := cell{}
		switch d.Verdict {
		case records.PairDifferent:
			act = cell{Text: "look again", Href: pairsState{show: desk.PairsOpen, least: usualLeast}.pairHref(ids[0], ids[1])}
		default:
			act = cell{Text: "its history", Href: historyPath(ids[0])}
		}
		chance := ""
		if d.Probability > 0 {
			chance = oneWellWords(d.Probability)
		}
		p.Table.add("", pair, cell{Text: capital(verdictWords[d.Verdict])}, cell{Text: officeTime(d.At) + byWhom(d.By)}, cell{Text: d.Why, Class: "words"}, cell{Text: chance}, act)
	}
	return nil
}

// oneWellWords says a probability that two records are of one well.
func oneWellWords(p float64) string {
	switch {
	case p > 0.995:
		return "more than 99 in 100"
	case p < 0.01:
		return "less than 1 in 100"
	}
	return fmt.Sprintf("%.0f in 100", p*100)
}

// bothWords says what two records have, once where it is the same.
func bothWords(a, b string) string {
	switch {
	case a == b:
		return a
	case a == "":
		a = "—"
	case b == "":
		b = "—"
	}
	return a + " / " + b
}

// searchSaid says how old the latest search is, and how far the present one.
func searchSaid(st *desk.PairState) pairSearch {
	out := pairSearch{Working: st.Working, Button: "Search all records"}
	if st.Working {
		out.Far = "Searching"
		if st.Total > 0 {
			out.Far = fmt.Sprintf("Searching: %s of %s records compared", grouped(st.Done), grouped(st.Total))
		}
	}
	if st.Err != nil {
		out.Failed = "The last search came to nothing: " + records.MessageOf(st.Err)
	}
	if st.Run.At.IsZero() {
		return out
	}
	out.Button = "Search again"
	out.Last = fmt.Sprintf("Searched %s%s: %s, %s.", officeTime(st.Run.At), byWhom(st.Run.By),
		count(int(st.Run.Records), "record", "records"), count(int(st.Run.Pairs), "likely pair", "likely pairs"))
	out.Note = st.Run.Note
	if st.Changed > 0 {
		out.Stale = count(int(st.Changed), "record was", "records were") + " written or taken out since."
	}
	return out
}

// duplicatesSearch answers POST /duplicates/search.
func (s *Server) duplicatesSearch(w http.ResponseWriter, r *http.Request) error {
	if r.URL.Query().Get("stop") != "" {
		if err := s.desk.StopPairs(r.Context(), s.actor(r)); err != nil {
			return err
		}
		return s.done(w, r, "/duplicates", said{Text: "The search is stopped. What was found before stays."})
	}
	ended, err := s.desk.SearchPairs(r.Context(), s.actor(r))
	if err != nil && records.CodeOf(err) != records.Busy {
		return err
	}
	if ended != nil { // an office of usual size is searched at once
		select {
		case <-ended:
		case <-r.Context().Done():
		case <-s.soon():
		}
	}
	http.Redirect(w, r, "/duplicates", http.StatusSeeOther)
	return nil
}
