package server

import (
	"net/http"
	"net/url"
	"strings"

	"github.com/gorilla/mux"

	"tallybook/records"
)

// numberPage is the answer to a number that was read in the field: small, for
// a bad signal.
type numberPage struct {
	Base
	Number  string
	Heading string
	Answers []numberAnswer
	More    bool
	New     string // where what is stamped is recorded
}

// numberAnswer is a record that the number may lead to.
type numberAnswer struct{ Kind, Name, Href, Note string }

// numberHref is where a number that was read leads.
func numberHref(number string) string { return "/p/" + url.PathEscape(number) }

// numberAsked answers GET /p: the number is typed, and ?number= leads on.
func (s *Server) numberAsked(w http.ResponseWriter, r *http.Request) error {
	if n := strings.TrimSpace(r.URL.Query().Get("number")); n != "" {
		http.Redirect(w, r, numberHref(clipText(n, 200)), http.StatusSeeOther)
		return nil
	}
	return s.show(w, "platefield", numberPage{Base: s.base(r, "Read a plate"), Heading: "Read a plate"})
}

// numberRead answers GET /p/{number}: what a QR code on a plate leads to.
func (s *Server) numberRead(w http.ResponseWriter, r *http.Request) error {
	number := strings.TrimSpace(mux.Vars(r)["number"])
	// Somebody who types 40?7 into the address means the sign for an unread
	// digit, and no query.
	if q := r.URL.RawQuery; q != "" && !strings.ContainsAny(q, "=&") {
		if rest, err := url.PathUnescape(q); err == nil {
			number += "?" + rest
		}
	} else if r.URL.ForceQuery {
		number += "?"
	}
	found, err := s.desk.ReadNumber(r.Context(), s.actor(r), number)
	if err != nil {
		return err
	}
	switch {
	case found.Well != 0:
		http.Redirect(w, r, wellHref(found.Well), http.StatusSeeOther)
		return nil
	case found.Plate != 0:
		http.Redirect(w, r, plateHref(found.Plate), http.StatusSeeOther)
		return nil
	}
	p := numberPage{Base: s.base(r, "Number "+number), Number: number, Heading: "Number " + number, New: "/plates/new?number=" + queryEscape(number), More: found.More}
	status := http.StatusOK
	if len(found.Matches) == 0 {
		p.Heading, status = "Not known: "+number, http.StatusNotFound
	}
	for i := range found.Matches {
		p.Answers = append(p.Answers, answerOf(&found.Matches[i]))
	}
	return s.showAs(w, "platefield", p, status)
}

func answerOf(m *records.Match) numberAnswer {
	a := numberAnswer{Kind: orElse(kindWords[m.Kind], plainWord(m.Kind)), Name: orElse(m.Text, "no number"), Href: matchHref(m), Note: m.Note}
	return a
}
