package server

import (
	"net/http"

	"tallybook/records"
)

// officePage is the overview of what holds for the whole office.
type officePage struct {
	Base
	Docs []officeDocView
}

// officeDocView is one document of the office in a few lines.
type officeDocView struct {
	ID, Title, Lead string
	State           string
	Empty           string
	Facts           facts
	Faults          int
	Lacks           []string
	Open, File      string
	OpenLabel       string
	Begin           *officeLink
}

// officeHome answers /office.
func (s *Server) officeHome(w http.ResponseWriter, r *http.Request) error {
	p := officePage{Base: s.base(r, "Office")}
	docs := officeDocs()
	for i := range docs {
		v, err := s.officeDocView(r, &docs[i])
		if err != nil {
			return err
		}
		p.Docs = append(p.Docs, v)
	}
	return s.show(w, "office", p)
}

func (s *Server) officeDocView(r *http.Request, doc *officeDoc) (officeDocView, error) {
	v := officeDocView{ID: doc.word, Title: doc.title, Lead: doc.lead, Open: doc.path()}
	kept, err := doc.kept(r.Context(), s.desk, s.actor(r))
	if err != nil {
		return v, err
	}
	if kept.Revision == 0 {
		v.Empty, v.OpenLabel = doc.empty, doc.enter
		if doc.invent != nil {
			v.Begin = &officeLink{doc.begin, doc.path() + "?from=example"}
		}
		return v, nil
	}
	v.OpenLabel, v.File = "Look at it and change it", doc.path()+".json"
	v.State = "As set " + officeTime(kept.At) + byWhom(kept.By)
	for _, f := range kept.Faults {
		if f.Severity == records.Refusal {
			v.Faults++
		}
	}
	_, _, v.Lacks = doc.check([]byte(kept.Text))
	revs, err := s.desk.SettingRevisions(r.Context(), s.actor(r), doc.setting)
	if err != nil {
		return v, err
	}
	form, _ := doc.sheet.fill([]byte(kept.Text))
	for _, at := range []struct{ label, path string }{
		{"Name", "name"}, {"Note", "note"}, {"Currency", currencyPath}, {"Holds from", "valid_from"}, {"Holds to", "valid_to"}, {"Firm", "words.firm"}, {"Rule", "rule"},
	} {
		v.Facts.text(at.label, form.typed[at.path])
	}
	v.Facts.text("Units", unitsWords(form.units))
	doc.sheet.lists(func(l *officeRows) {
		if n := form.rows[l.path]; n > 0 {
			v.Facts.text(capital(l.path), count(n, "row", "rows"))
		}
	})
	if n := len(revs); n > 0 {
		v.Facts.text("Earlier values kept", grouped(n))
	}
	return v, nil
}
