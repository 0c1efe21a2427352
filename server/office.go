package server

import (
	"net/http"
	"slices"

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
	Lists           []listing
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
	ground, err := s.groundDoc(r)
	if err != nil {
		return err
	}
	p.Docs = append(p.Docs, ground)
	p.Docs = append(p.Docs, copiesDoc())
	return s.show(w, "office", p)
}

// listing is a list of the form to be read.
func (form *officeForm) listing(l *officeRows) listing {
	t := listing{Caption: capital(l.path)}
	for j := range l.fields {
		f := &l.fields[j]
		t.Heads = append(t.Heads, head{Text: f.head(form), Number: f.isFigure()})
	}
	for i := range form.rows[l.path] {
		r := row{}
		for j := range l.fields {
			f := &l.fields[j]
			r.Cells = append(r.Cells, cell{Text: f.chosen(form.typed[rowKey(l.path, i, f.path)])})
		}
		t.Rows = append(t.Rows, r)
	}
	if len(t.Rows) == 0 {
		return t
	}
	return t.tidy()
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
			t := form.said(f, f.path)
			if f.kind == asWords {
				t = form.typed[f.path] // whole
			}
			v.Facts.text(f.label, t)
		}
	})
	doc.sheet.lists(func(l *officeRows) {
		v.Lists = append(v.Lists, form.listing(l))
	})
	if n := len(revs); n > 0 {
		v.Facts.text("Earlier values kept", grouped(n))
	}
	return v, nil
}
