package server

import (
	"net/http"
	"slices"
	"strings"

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

// mostRowsSaid is how many rows of a list the overview says.
const mostRowsSaid = 8

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
	doc.sheet.each(func(_ *officePart, f *officeField) {
		if slices.Contains(doc.shown, f.path) {
			v.Facts.text(f.label, form.said(f, f.path))
		}
	})
	doc.sheet.lists(func(l *officeRows) {
		rows := form.rowsSaid(l)
		if more := len(rows) - mostRowsSaid; more > 1 {
			rows = append(rows[:mostRowsSaid:mostRowsSaid], "and "+count(more, "more", "more"))
		}
		v.Facts.add(capital(l.path), cell{Text: strings.Join(rows, "\n"), Class: "words"})
	})
	if n := len(revs); n > 0 {
		v.Facts.text("Earlier values kept", grouped(n))
	}
	return v, nil
}
