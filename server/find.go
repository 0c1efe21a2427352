package server

import (
	"net/http"
	"strings"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
)

// mostFound is how many matches are listed.
const mostFound = 60

// longestSought is the longest text that is looked for, bytes.
const longestSought = 300

// foundPage lists what a text matches, or says what can be typed.
type foundPage struct {
	Base
	Query    string
	Heading  string
	Sub      string
	Doubt    string // why the text was not taken for a position
	Suggest  string // what may have been meant
	MeantRef string
	List     listing
	More     bool // there are more matches than are listed
	Help     bool // what can be typed is told
	Words    *wordsView
}

// find answers /find: one field for positions, numbers and names.
func (s *Server) find(w http.ResponseWriter, r *http.Request) error {
	q := strings.TrimSpace(r.URL.Query().Get("q"))
	p := foundPage{Base: s.base(r, "Find"), Query: q, Heading: "Find", Help: true}
	if q == "" {
		return s.show(w, "found", p)
	}
	if len(q) > longestSought {
		return records.Errorf(records.Invalid, "that is too long to look for: type a position, a number or a name")
	}
	ask, err := wordsAskOf(r.URL.Query())
	if err != nil {
		return err
	}
	f, err := s.desk.Find(r.Context(), s.actor(r), q, mostFound+1)
	if err != nil {
		return err
	}
	if p.Words, err = s.wordsView(r, ask); err != nil {
		return err
	}
	if ask.narrowed { // the reader is among the words already
		f = desk.Found{}
	}
	if to := straightTo(q, &f); to != "" {
		http.Redirect(w, r, to, http.StatusSeeOther)
		return nil
	}
	if len(f.Matches) == 0 { // else it was meant for one of them
		p.Doubt = capital(f.Doubt)
	}
	if f.Suggest != nil {
		p.Suggest, p.MeantRef = position.Format(*f.Suggest, position.DecimalDegrees), "/?at="+queryEscape(latLon(*f.Suggest))
	}
	if len(f.Matches) == 0 && p.Words.Any() {
		p.Help = false
		p.Heading, p.Sub = "“"+clipText(q, 80)+"” as written", p.Words.Sub
		return s.show(w, "found", p)
	}
	if len(f.Matches) == 0 {
		p.Title, p.Heading = "Not found", "Nothing found for “"+clipText(q, 80)+"”"
		p.Sub = "Looked among the office's own records and layers; nothing is looked up elsewhere"
		return s.show(w, "found", p)
	}
	p.Help = false
	if len(f.Matches) > mostFound {
		f.Matches, p.More = f.Matches[:mostFound], true
	}
	n := len(f.Matches)
	if f.Position != nil {
		n++
	}
	p.Heading = "Several answer to “" + clipText(q, 80) + "”"
	if !p.Words.Any() {
		p.Words = nil
	}
	p.List = foundListing(&f)
	p.Sub = count(n, "match", "matches")
	if p.More {
		p.Sub = "The first " + p.Sub + "; type more of it to narrow them down"
	}
	return s.show(w, "found", p)
}

// straightTo is where a text leads when there is no doubt, "" otherwise.
func straightTo(q string, f *desk.Found) string {
	if f.Position != nil && len(f.Matches) == 0 {
		return "/?at=" + queryEscape(latLon(f.Position.At))
	}
	if f.Position != nil {
		return "" // a number that reads as a position: the reader says which
	}
	exact := make([]records.Match, 0, 1)
	for _, m := range f.Matches {
		if sameText(m.Text, q) {
			exact = append(exact, m)
		}
	}
	if len(exact) == 0 {
		exact = f.Matches
	}
	to := ""
	for _, m := range exact {
		t := matchHref(&m)
		if to != "" && t != to {
			return ""
		}
		to = t
	}
	return to
}

// sameText compares as the search does: without spaces, hyphens, stops and
// the case of letters.
func sameText(a, b string) bool {
	bare := strings.NewReplacer(" ", "", "-", "", ".", "")
	return strings.EqualFold(bare.Replace(strings.TrimSpace(a)), bare.Replace(strings.TrimSpace(b)))
}

// matchHref is the page of a match.
func matchHref(m *records.Match) string {
	switch {
	case m.WellID != 0:
		return wellHref(m.WellID)
	case m.PlateID != 0:
		return plateHref(m.PlateID)
	case m.Known:
		return "/?at=" + queryEscape(latLon(position.LonLat{Lon: m.Lon, Lat: m.Lat}))
	}
	return ""
}

var kindWords = map[string]string{
	"well_number": "well", "permit_number": "permit", "plate": "plate", "parcel": "parcel", "uid": "public name", "place_name": "name on the map",
}

func foundListing(f *desk.Found) listing {
	l := listing{Heads: heads("what", "found", "of", "where")}
	if f.Position != nil {
		at := f.Position.At
		l.add("", cell{Text: "position"}, cell{Text: position.Format(at, position.DecimalDegrees), Href: "/?at=" + queryEscape(latLon(at))},
			cell{Text: f.Position.Note}, cell{})
	}
	for i := range f.Matches {
		m := &f.Matches[i]
		kind, ok := kindWords[m.Kind]
		if !ok {
			kind = plainWord(m.Kind)
		}
		where := cell{Text: "place not known", Class: "quiet"}
		if m.Known {
			at := position.LonLat{Lon: m.Lon, Lat: m.Lat}
			where = cell{Text: position.Format(at, position.DecimalDegrees), Href: "/?at=" + queryEscape(latLon(at))}
		}
		l.add("", cell{Text: kind}, cell{Text: orElse(m.Text, "no number"), Href: matchHref(m)}, cell{Text: m.Note}, where)
	}
	return l.tidy()
}
