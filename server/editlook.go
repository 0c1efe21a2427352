package server

import (
	"encoding/json"
	"net/http"
	"strconv"
	"strings"

	"tallybook/records"
	"tallybook/server/say"
)

// editSeen is what a script is told of a form as it is typed.
type editSeen struct {
	Faults []seenFault `json:"faults"`
	Column string      `json:"column"` // SVG
	At     string      `json:"at"`     // the position as it was read; "" where there is none
	Bad    int         `json:"bad"`    // how many refuse the record
	Stale  string      `json:"stale"`  // said where somebody else saved meanwhile
}

// seenFault is a fault; field is "" where the form has none for it.
type seenFault struct {
	Field string `json:"field"`
	Bad   bool   `json:"bad"`
	Text  string `json:"text"`
}

// editLook answers POST /well/look: what is wrong with a form, and its log
// drawn. Nothing is written.
func (s *Server) editLook(w http.ResponseWriter, r *http.Request) error {
	if err := readForm(w, r); err != nil {
		return err
	}
	f := readEditForm(r.PostForm, postedID(r), unitsOf(r))
	out, err := s.desk.LookAtEdit(r.Context(), s.actor(r), f.edit())
	if err != nil {
		return err
	}
	faults := sortFaults(out.Faults, &out.Reading, f.Typed)
	seen := editSeen{Faults: []seenFault{}, Column: string(s.typedColumn(out.Well, f, themeOf(r))), Bad: faults.bad, Stale: staleWords(out.Stale)}
	for field, list := range faults.byField {
		for _, x := range list {
			seen.Faults = append(seen.Faults, seenFault{field, x.Bad, capital(inRow(field, x.Text))})
		}
	}
	for _, x := range faults.rest {
		seen.Faults = append(seen.Faults, seenFault{"", x.Bad, x.Text})
	}
	if at, ok := placeOf(out.Well); ok {
		seen.At = latLon(at)
	}
	return sendJSON(w, seen)
}

// inRow begins a fault of a field in a row with the name of its column.
func inRow(field, text string) string {
	list, _, _ := strings.Cut(field, "[")
	_, name, ok := strings.Cut(field, "].")
	for _, p := range columnsOf(list) {
		if ok && p.Name == name {
			return editLabel(p) + " " + text
		}
	}
	return text
}

// postedID is the record that a form posted by a script is of.
func postedID(r *http.Request) int64 {
	id, err := strconv.ParseInt(r.PostForm.Get("~id"), 10, 64)
	if err != nil || id < 0 {
		return 0
	}
	return id
}

func sendJSON(w http.ResponseWriter, v any) error {
	b, err := json.Marshal(v)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	_, err = w.Write(b)
	return ignoreGone(err)
}

// asJSON answers a script: an error becomes its words with their status.
func (s *Server) asJSON(h handler) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		err := h(w, r)
		if err == nil || r.Context().Err() != nil {
			return
		}
		if records.CodeOf(err) == records.Internal {
			s.log.Error("request failed", "path", r.URL.Path, "err", err)
		}
		b, _ := json.Marshal(map[string]string{"error": records.MessageOf(err)})
		w.Header().Set("Content-Type", "application/json")
		w.WriteHeader(say.Status(records.CodeOf(err)))
		if _, err := w.Write(b); err != nil {
			s.log.Debug("writing an answer", "err", err)
		}
	}
}
