package server

import (
	"net/http"

	"tallybook/records/desk"
	"tallybook/server/ogc"
)

// deskPage is the records desk: what a clerk does, one line each.
type deskPage struct {
	Base
	Tasks []deskTask
}

// deskTask is one thing that is done with records.
type deskTask struct {
	Label, Href, Lead string
	Sign              string // what waits there, "" for nothing
}

// recordsTasks are the pages of the records desk, in the order of the work.
// Each has a line of its own, so that a new one is a line more.
func (s *Server) recordsTasks() []deskTask {
	return []deskTask{
		// taking in
		{Label: "Take a file in", Href: "/intake", Lead: "A spreadsheet, a table or GeoJSON: look at it, say what its columns mean, rehearse, accept."},
		{Label: "Files taken in", Href: "/intakes", Lead: "What came in, by whom, with which rows left out; take one back as a whole."},
		// editing
		{Label: "Add a record", Href: "/well/new", Lead: "Type a log in: place, ground, casing, water, and all the rest."},
		{Label: "Drafts", Href: "/drafts", Lead: "What you have begun and not saved yet."},
		// duplicates
		{Label: "Duplicates", Href: "/duplicates", Lead: "Pairs of records that are likely of one well: merge them, say that they are two, or set them aside."},
		{Label: "Taken out", Href: "/records/out", Lead: "Records that were taken out, each as it last stood: look at it, bring it back, split what was merged."},
		// plates
		{Label: "Plates", Href: "/plates", Lead: "The tags on the wellheads: which record each belongs to, and those seen in the field."},
		// plates to print
		{Label: "Print plates", Href: "/plates/print", Lead: "Many at once, at true size, with a code that leads to the record; one alone is printed from its own page."},
		// finding and correcting
		{Label: "Find", Href: "/find", Lead: "A number, or words written in logs, remarks and names."},
		{Label: "Correct many", Href: "/correct", Lead: "A wrong unit, datum, name or word in many records: seen before, changed as one, undone as one."},
		// the consultant's judgement
		{Label: "All wells of an area", Href: "/inventory", Lead: "Within a distance of a place or within an outline: a table with water quality, a map, and a report to print."},
		{Label: "Marked unreliable", Href: "/unreliable", Lead: "Logs that are not to be relied on, in what and why; they are left out of surfaces, estimates and scores."},
		// the features API
		{Label: "For GIS", Href: ogc.Root + "?f=html", Lead: "Connect your GIS to these records by one address, look through the layers, take one as a file."},
	}
}

// recordsPaths are the first parts of the addresses that belong to the desk.
var recordsPaths = []string{
	"/records", "/intake", "/intakes", "/drafts", "/duplicates", "/merge", "/plates", "/correct",
	"/unreliable", "/inventory",
	ogc.Root,
}

// recordsDesk answers /records.
func (s *Server) recordsDesk(w http.ResponseWriter, r *http.Request) error {
	p := deskPage{Base: s.base(r, "Records"), Tasks: s.recordsTasks()}
	for i := range p.Tasks {
		var err error
		if p.Tasks[i].Sign, err = s.waiting(r, p.Tasks[i].Href); err != nil {
			return err
		}
	}
	return s.show(w, "recordsdesk", p)
}

// waiting says what waits on a page of the desk; "" for nothing.
func (s *Server) waiting(r *http.Request, page string) (string, error) {
	ctx, actor := r.Context(), s.actor(r)
	switch page {
	case "/drafts":
		drafts, err := s.desk.Drafts(ctx, actor)
		if err != nil || len(drafts) == 0 {
			return "", err
		}
		return count(len(drafts), "draft", "drafts"), nil
	case "/duplicates":
		list, err := s.desk.Pairs(ctx, actor, desk.PairsOpen, usualLeast)
		if err != nil || len(list.Rows) == 0 {
			return "", err
		}
		return count(len(list.Rows), "pair", "pairs") + " to decide", nil
	}
	return "", nil
}
