package server

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"tallybook/records"
	"tallybook/records/desk"
)

// wordsView is the part of what was found that holds the words typed.
type wordsView struct {
	Sub     string
	Hits    []wordsHit
	Next    string // the next page
	Behind  string // what is not searched yet
	Query   string
	From    string
	To      string
	Class   string
	Plate   bool
	Classes []choice
	Filter  bool // something is left out by what was chosen
}

// wordsHit is one record with the passage that holds a word.
type wordsHit struct {
	Href, Number, About string
	Pieces              []desk.Piece
}

// Any says whether there is something to show.
func (v *wordsView) Any() bool { return v != nil && (len(v.Hits) > 0 || v.Filter) }

// wordsPage is how many are listed at a time.
const wordsPage = 20

// wordsAsk is what is asked of the words.
type wordsAsk struct {
	desk.WordsAsk
	narrowed bool // a filter or a further page is asked for
}

func wordsAskOf(q url.Values) (a wordsAsk, err error) {
	a.Text, a.Limit = strings.TrimSpace(q.Get("q")), wordsPage
	for _, part := range []struct {
		name string
		into *int
	}{{"from", &a.FromYear}, {"to", &a.ToYear}} {
		t := strings.TrimSpace(q.Get(part.name))
		if t == "" {
			continue
		}
		if *part.into, err = strconv.Atoi(t); err != nil || *part.into < 1000 || *part.into > 9999 {
			return a, records.Errorf(records.Invalid, "%s=%s is no year; write one such as 1987", part.name, clipText(t, 20))
		}
	}
	switch a.Class = q.Get("class"); a.Class {
	case "", "soil", "transition", "rock", "void", "unknown":
	default:
		return a, records.Errorf(records.Invalid, "class=%s is none; there are soil, transition, rock, void and unknown", clipText(a.Class, 20))
	}
	a.Plate = q.Get("plate") == "1"
	if t := q.Get("before"); t != "" {
		if a.Before, err = strconv.ParseInt(t, 10, 64); err != nil || a.Before < 0 {
			return a, records.Errorf(records.Invalid, "before=%s leads to no page", clipText(t, 20))
		}
	}
	a.narrowed = a.FromYear > 0 || a.ToYear > 0 || a.Class != "" || a.Plate || a.Before > 0
	return a, nil
}

func (a *wordsAsk) href(before int64) string {
	q := url.Values{"q": {a.Text}}
	set := func(name, value string, is bool) {
		if is {
			q.Set(name, value)
		}
	}
	set("from", strconv.Itoa(a.FromYear), a.FromYear > 0)
	set("to", strconv.Itoa(a.ToYear), a.ToYear > 0)
	set("class", a.Class, a.Class != "")
	set("plate", "1", a.Plate)
	set("before", strconv.FormatInt(before, 10), before > 0)
	return "/find?" + q.Encode()
}

// wordsView looks for the words; nil where the text holds none.
func (s *Server) wordsView(r *http.Request, ask wordsAsk) (*wordsView, error) {
	if len(desk.SearchedWords(ask.Text)) == 0 {
		return nil, nil
	}
	found, err := s.desk.FindWords(r.Context(), s.actor(r), ask.WordsAsk)
	if err != nil {
		return nil, err
	}
	v := &wordsView{Query: ask.Text, Class: ask.Class, Plate: ask.Plate, Filter: ask.narrowed}
	for _, c := range []choice{{"", "any ground", false}, {"rock", "rock", false}, {"transition", "weathered rock", false}, {"soil", "soil", false}, {"void", "an opening", false}} {
		c.On = c.Value == ask.Class
		v.Classes = append(v.Classes, c)
	}
	year := func(y int) string {
		if y == 0 {
			return ""
		}
		return strconv.Itoa(y)
	}
	v.From, v.To = year(ask.FromYear), year(ask.ToYear)
	v.Sub = count(int(found.Count), "record holds", "records hold") + " it"
	if found.Count >= records.MostCounted {
		v.Sub = "More than " + grouped(records.MostCounted) + " records hold it"
	}
	u := units{unitsOf(r)}
	for i := range found.Hits {
		h := &found.Hits[i]
		v.Hits = append(v.Hits, wordsHit{Href: wellHref(h.Well.ID), Number: nameOf(h.Well), About: aboutWell(u, h.Well), Pieces: h.Passage})
	}
	if found.Next > 0 {
		v.Next = ask.href(found.Next)
	}
	if found.Behind > 0 {
		v.Behind = count(int(found.Behind), "record is", "records are") + " still being read and may be missing here"
		if found.Behind >= records.MostCounted {
			v.Behind = "More than " + grouped(records.MostCounted) + " records are still being read and may be missing here"
		}
	}
	return v, nil
}

// aboutWell says in a line what a record is of: its depth, its yield and when it
// was drilled.
func aboutWell(u units, w *records.Well) string {
	var out []string
	if w.TotalDepth.Known() {
		out = append(out, u.Depth(w.TotalDepth))
	}
	if w.Yield.Known() {
		out = append(out, u.Flow(w.Yield))
	}
	if w.Completed.Year > 0 {
		out = append(out, strconv.Itoa(w.Completed.Year))
	}
	return strings.Join(out, " · ")
}
