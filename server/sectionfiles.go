package server

import (
	"bytes"
	"io"
	"net/http"

	"tallybook/records"
	"tallybook/records/desk"
)

// sectionFile answers with a file made of a section.
func (s *Server) sectionFile(name, kind string, write func(*desk.Section, io.Writer) error) handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		actor := s.actor(r)
		if err := s.desk.Permit(actor, desk.GiveOut); err != nil {
			return err
		}
		st, err := s.parseSection(sectionQuery(r), unitsOf(r))
		if err != nil {
			return err
		}
		sec, err := s.desk.Section(r.Context(), actor, st.ask())
		if err != nil {
			return err
		}
		var b bytes.Buffer
		if err := write(sec, &b); err != nil {
			return err
		}
		h := w.Header()
		h.Set("Content-Type", kind)
		h.Set("Cache-Control", "no-cache")
		h.Set("Content-Disposition", `attachment; filename="`+name+`"`)
		_, err = w.Write(b.Bytes())
		return ignoreGone(err)
	}
}

// sectionCSV answers /section.csv: the wells, or with of=line the ground along
// the line.
func (s *Server) sectionCSV(w http.ResponseWriter, r *http.Request) error {
	const kind = "text/csv; charset=utf-8; header=present"
	switch of := sectionQuery(r).Get("of"); of {
	case "", "wells":
		return s.sectionFile("section.csv", kind, (*desk.Section).WriteWellsCSV)(w, r)
	case "line":
		return s.sectionFile("section-line.csv", kind, (*desk.Section).WriteLineCSV)(w, r)
	default:
		return records.Errorf(records.Invalid, "of=%s is no table of a section; use wells or line", clipText(of, 30))
	}
}

// sectionGeoJSON answers /section.geojson: the line.
func (s *Server) sectionGeoJSON(w http.ResponseWriter, r *http.Request) error {
	return s.sectionFile("section-line.geojson", "application/geo+json", (*desk.Section).WriteLine)(w, r)
}
