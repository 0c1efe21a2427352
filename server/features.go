package server

import (
	"net/http"

	"github.com/gorilla/mux"

	"tallybook/records"
	"tallybook/server/ogc"
)

// featuresPage is a page of the features service, in the house's look.
type featuresPage struct {
	Base
	Page   *ogc.Page
	Facts  facts
	Tables []listing
}

// newFeatures makes the features service over the desk.
func (s *Server) newFeatures() *ogc.Service {
	return ogc.New(ogc.Options{
		Source: s.desk, Actor: s.actor, Base: s.address, Note: s.note, Log: s.log, Theme: themeOf, Units: unitsOf,
		Show: s.showFeatures,
		Fail: func(w http.ResponseWriter, r *http.Request, status int, err error) {
			if records.CodeOf(err) == records.Forbidden {
				err = records.Errorf(records.NotFound, "there is nothing at this address")
			}
			s.failAs(w, r, status, err)
		},
	})
}

func (s *Server) showFeatures(w http.ResponseWriter, r *http.Request, p *ogc.Page) error {
	v := featuresPage{Base: s.base(r, p.Title), Page: p}
	for _, f := range p.Facts {
		v.Facts.add(f.Label, cell{Text: f.Text, Href: f.Href})
	}
	for _, t := range p.Tables {
		l := listing{Caption: t.Caption, Fold: t.Fold, Heads: heads(t.Heads...)}
		for _, cells := range t.Rows {
			out := make([]cell, len(cells))
			for i, c := range cells {
				out[i] = cell{Text: c.Text, Href: c.Href}
			}
			l.add("", out...)
		}
		v.Tables = append(v.Tables, l)
	}
	return s.showAs(w, "features", v, max(p.Status, http.StatusOK))
}

// underFeatures says whether an address is the service's: /ogc and what is
// below it, and not /ogcsomething.
func underFeatures(r *http.Request, _ *mux.RouteMatch) bool { return under(r.URL.Path, ogc.Root) }
