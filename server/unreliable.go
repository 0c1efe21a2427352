package server

import (
	"fmt"
	"net/http"
	"strings"

	"tallybook/records"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// markedWords says what of a log is marked; "" where nothing is.
func markedWords(w *records.Well) string {
	if len(w.Unreliable) == 0 {
		return ""
	}
	var of []string
	for i := range w.Unreliable {
		of = append(of, draw.DoubtPhrase(w.Unreliable[i].About))
	}
	return "Marked unreliable: " + strings.Join(of, ", ") + ". Left out of surfaces, estimates and scores"
}

// ownPicksPart is what a consultant made of the log.
func ownPicksPart(u units, w *records.Well) part {
	p := part{ID: "own", Title: "Own picks and doubts"}
	l := listing{Caption: "Picked beside the driller's log", Heads: heads("of", "#depth", "set", "why", "who")}
	for _, v := range ownPickViews(u, w) {
		l.add("", cell{Text: v.Of}, v.Depth, cell{Text: v.Set}, cell{Text: v.Reason, Class: "words"}, cell{Text: v.Who})
	}
	p.list(l)
	m := listing{Caption: "Marked unreliable", Heads: heads("what", "why", "who")}
	for i := range w.Unreliable {
		d := &w.Unreliable[i]
		m.add("", cell{Text: capital(draw.DoubtPhrase(d.About)), Class: "signal"}, cell{Text: d.Reason, Class: "words"}, cell{Text: joinWords(d.By, say.Date(d.Date))})
	}
	p.list(m)
	if len(w.Unreliable) > 0 {
		p.Notes = append(p.Notes, "What is marked stays in the record as it was written. It is left out of surfaces, estimates, scores and sections unless it is asked for.")
	}
	return p
}

// unreliablePage lists the logs of which something is marked.
type unreliablePage struct {
	Base
	Sub         string
	Table       listing
	Newer, Next string
}

// markedAtOnce is how many are listed on one page.
const markedAtOnce = 100

// unreliableHome answers /unreliable.
func (s *Server) unreliableHome(w http.ResponseWriter, r *http.Request) error {
	skip, err := readSkip(r)
	if err != nil {
		return err
	}
	list, all, err := s.desk.Marked(r.Context(), s.actor(r), skip, markedAtOnce)
	if err != nil {
		return err
	}
	p := unreliablePage{Base: s.base(r, "Marked unreliable"), Sub: "No log is marked"}
	if all > 0 {
		p.Sub = count(all, "log is", "logs are") + " marked. What is marked stays in the record and is left out of surfaces, estimates, scores and sections, unless it is asked for"
	}
	p.Table = listing{Heads: heads("record", "what", "why", "who")}
	for i := range list {
		for j := range list[i].Marks {
			m := &list[i].Marks[j]
			who := cell{Text: joinWords(m.By, say.Date(m.Date))}
			what := cell{Text: capital(draw.DoubtPhrase(m.About)), Class: "signal"}
			rec := cell{}
			if j == 0 {
				rec = cell{Text: nameOf(list[i].Well), Href: wellHref(list[i].Well.ID), More: wellSub(list[i].Well)}
			}
			p.Table.add("", rec, what, cell{Text: m.Reason, Class: "words"}, who)
		}
	}
	p.Table = p.Table.tidy()
	if skip > 0 {
		p.Newer = fmt.Sprintf("/unreliable?skip=%d", max(0, skip-markedAtOnce))
	}
	if skip+len(list) < all {
		p.Next = fmt.Sprintf("/unreliable?skip=%d", skip+len(list))
	}
	return s.show(w, "unreliable", p)
}
