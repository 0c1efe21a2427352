package server

import (
	"fmt"
	"html/template"
	"net/http"
	"strconv"

	"github.com/gorilla/mux"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/exchange"
	"tallybook/records/snapshot"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// Widths of the drawing of one log, pixels: for wide and narrow windows and
// for paper.
const (
	wideLog, narrowLog, paperLog = 940, 358, 760
	leastLog, mostLog            = 300, 2400
)

// nearestBeside is how many of the nearest wells a record is compared with.
const nearestBeside = 5

// wellPage is one record as a readable log.
type wellPage struct {
	Base
	Heading    string
	Sub        string
	Essentials []fact
	Alerts     []alert
	Back       string
	Edit       string // "" for those who may not
	Judge      string // own picks and marks; likewise
	MapHref    string
	Compare    string
	SVGHref    string
	GeoHref    string
	PrintHref  string // a plate of it
	Attached   *attachedView
	Log        logDrawing
	Written    bool // what was written is shown from the start
	Parts      []part
}

// alert is something to be noticed, with where it is told in full.
type alert struct{ Text, Href string }

// idOf reads the record number of an address.
func idOf(r *http.Request) (int64, error) {
	id, err := strconv.ParseInt(mux.Vars(r)["id"], 10, 64)
	if err != nil || id <= 0 {
		return 0, records.Errorf(records.NotFound, "there is no record %q", mux.Vars(r)["id"])
	}
	return id, nil
}

// wellByUID answers /well/{uid}: the public name leads to the record.
func (s *Server) wellByUID(w http.ResponseWriter, r *http.Request) error {
	// One that was taken out leads to its history: a plate outlives records.
	id, err := s.desk.HistoryID(r.Context(), s.actor(r), mux.Vars(r)["uid"])
	if err != nil {
		return err
	}
	to := wellHref(id)
	if r.URL.RawQuery != "" {
		to += "?" + r.URL.RawQuery
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

func wellHref(id int64) string { return "/well/" + strconv.FormatInt(id, 10) }

// nameOf is what a record is called: its number, else its permit, else its
// key here.
func nameOf(w *records.Well) string {
	switch {
	case w.Number != "":
		return w.Number
	case w.PermitNumber != "":
		return "permit " + w.PermitNumber
	}
	return "no. " + strconv.FormatInt(w.ID, 10)
}

// wellHome answers /well/{id}.
func (s *Server) wellHome(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	ctx, actor := r.Context(), s.actor(r)
	sheet, err := s.desk.Well(ctx, actor, id)
	if records.CodeOf(err) == records.NotFound && err != nil {
		return s.wellGone(w, r, id, err)
	}
	if err != nil {
		return err
	}
	revisions, err := s.desk.Revisions(ctx, actor, id)
	if err != nil {
		return err
	}
	copies, err := s.desk.CopiesOf(ctx, actor, id)
	if err != nil {
		return err
	}
	near, err := s.neighbours(r, sheet.Well)
	if err != nil {
		return err
	}
	u := units{unitsOf(r)}
	p := wellPage{
		Base: s.base(r, nameOf(sheet.Well)), Heading: nameOf(sheet.Well),
		Sub: wellSub(sheet.Well), Essentials: essentials(u, sheet), Back: backOf(r),
		SVGHref: wellHref(id) + "/column.svg?download=1&units=" + u.String(),
		GeoHref: wellHref(id) + ".geojson", PrintHref: printHref(sheet.Well),
		Log:     s.logOf(sheet, u.System, themeOf(r)),
		Written: r.URL.Query().Get("written") == "1",
	}
	if s.desk.Permit(actor, desk.Edit) == nil {
		p.Edit, p.Judge = wellHref(id)+"/edit", judgePath(id)
	}
	if at, ok := placeOf(sheet.Well); ok {
		p.MapHref = "/?at=" + queryEscape(latLon(at)) + "&tray=" + strconv.FormatInt(id, 10)
	}
	if len(near) > 0 {
		p.Compare = compareNear(sheet.Well, near)
	}
	p.Alerts = wellAlerts(sheet)
	private := s.desk.Permit(actor, desk.SeePrivate) == nil
	for _, part := range []part{
		doubtsPart(sheet.Faults),
		groundPart(u, sheet, s.desk.Vocabulary()),
		bedrockPart(u, sheet.Picks),
		ownPicksPart(u, sheet.Well),
		constructionPart(u, sheet.Well),
		waterPart(u, sheet.Well),
		qualityPart(u, sheet.Well),
		rodsPart(u, sheet.Well),
		worksPart(u, sheet.Well),
		platesPart(u, sheet.Well),
		placePart(u, sheet, private),
		nearPart(u, near),
		peoplePart(u, sheet.Well, private),
		sourcePart(sheet.Well, copies),
		historyPart(sheet.Well, revisions, private),
	} {
		if part.says() {
			p.Parts = append(p.Parts, part)
		}
	}
	if p.Attached, err = s.attachedTo(r, id, wellHref(id)+"#attached", false); err != nil {
		return err
	}
	return s.show(w, "well", p)
}

// placeOf is where a well stands.
func placeOf(w *records.Well) (position.LonLat, bool) {
	at := position.LonLat{Lon: w.Place.Lon, Lat: w.Place.Lat}
	return at, w.Place.Located && at.Valid() == nil
}

// latLon writes a position for an address.
func latLon(at position.LonLat) string { return trimFloat(at.Lat, 6) + "," + trimFloat(at.Lon, 6) }

// neighbours are the nearest other wells.
func (s *Server) neighbours(r *http.Request, w *records.Well) ([]neighbour, error) {
	at, ok := placeOf(w)
	if !ok {
		return nil, nil
	}
	found := s.desk.Picture().Nearest(at, nearestBeside, func(r snapshot.Row) bool { return r.ID() != w.ID })
	return s.named(r, found)
}

// neighbour is a near well with its number.
type neighbour struct {
	snapshot.Neighbour
	Name string
}

// named gives neighbours the names that people know them by.
func (s *Server) named(r *http.Request, found []snapshot.Neighbour) ([]neighbour, error) {
	ids := make([]int64, len(found))
	for i, n := range found {
		ids[i] = n.ID()
	}
	names, err := s.desk.Numbers(r.Context(), s.actor(r), ids)
	if err != nil {
		return nil, err
	}
	out := make([]neighbour, len(found))
	for i := range found {
		out[i] = neighbour{found[i], names[i]}
	}
	return out, nil
}

// compareNear is the address of a well beside its nearest.
func compareNear(w *records.Well, near []neighbour) string {
	ids := []int64{w.ID}
	for _, n := range near {
		ids = append(ids, n.ID())
	}
	return "/compare?ids=" + joinIDs(ids) + "&order=distance"
}

// logOf draws one log for a page.
func (s *Server) logOf(sheet *desk.Sheet, u say.System, theme draw.Theme) logDrawing {
	data := draw.ColumnOf(sheet.Well, sheet.Picks, s.desk.Vocabulary())
	drawn := func(width int) template.HTML {
		return template.HTML(draw.Column(data, columnOptions(u, theme, width))) //nolint:gosec // every text in it was escaped by package draw
	}
	src := func(width int) string {
		return fmt.Sprintf("%s/column.svg?units=%s&w=%d", wellHref(sheet.Well.ID), u, width)
	}
	return logDrawing{
		DrawnFor: theme.String(), Wide: drawn(wideLog), WideSrc: src(wideLog), Narrow: drawn(narrowLog), NarrowSrc: src(narrowLog),
		PrintSrc: src(paperLog) + "&theme=print", PrintAlt: "The log of " + nameOf(sheet.Well) + ", drawn; the tables say the same in words",
	}
}

// columnOptions are how a column of a width is drawn. The prefix names the
// width, so that two can share a page.
func columnOptions(u say.System, theme draw.Theme, width int) draw.Options {
	return draw.Options{Prefix: "c" + strconv.Itoa(width), Units: u, Theme: theme, Width: float64(width)}
}

// columnSVG answers /well/{id}/column.svg.
func (s *Server) columnSVG(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	width, err := widthOf(q.Get("w"), wideLog, leastLog, mostLog)
	if err != nil {
		return err
	}
	row, ok := s.desk.Picture().ByID(id)
	if !ok {
		return records.Errorf(records.NotFound, "there is no record %d", id)
	}
	u, theme := unitsOf(r), themeOf(r)
	name := ""
	if q.Get("download") != "" {
		name = fmt.Sprintf("log-%d.svg", id)
		theme = paperUnlessChosen(r, theme)
	}
	key := fmt.Sprintf("column %d %d %s %s %s %d", id, row.Digest().Revision, s.desk.Vocabulary().Version(), u, theme, width)
	data, etag, err := s.cache.get(key, func() ([]byte, error) {
		sheet, err := s.desk.Well(r.Context(), s.actor(r), id)
		if err != nil {
			return nil, err
		}
		return draw.Column(draw.ColumnOf(sheet.Well, sheet.Picks, s.desk.Vocabulary()), columnOptions(u, theme, width)), nil
	})
	if err != nil {
		return err
	}
	return sendSVG(w, r, data, etag, name)
}

// paperUnlessChosen is the theme of a drawing that is kept as a file: it will
// be looked at elsewhere, so it is on white unless the address says otherwise.
func paperUnlessChosen(r *http.Request, theme draw.Theme) draw.Theme {
	if _, ok := draw.ParseTheme(r.URL.Query().Get("theme")); ok {
		return theme
	}
	return draw.Print
}

// widthOf reads the width of a drawing.
func widthOf(text string, otherwise, least, most int) (int, error) {
	if text == "" {
		return otherwise, nil
	}
	v, err := strconv.Atoi(text)
	if err != nil || v <= 0 {
		return 0, records.Errorf(records.Invalid, "w=%s is no width in pixels", text)
	}
	return min(max(v, least), most), nil
}

// wellGeoJSON answers /well/{id}.geojson: one feature, without what is known
// of people.
func (s *Server) wellGeoJSON(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	actor := s.actor(r)
	if err := s.desk.Permit(actor, desk.GiveOut); err != nil {
		return err
	}
	sheet, err := s.desk.Well(r.Context(), actor, id)
	if err != nil {
		return err
	}
	sheet.Well.Attachments = nil // their names may say whose the well is
	data := exchange.AppendFeature(nil, sheet.Well, exchange.Options{Derived: s.desk.Vocabulary()})
	h := w.Header()
	h.Set("Content-Type", "application/geo+json")
	h.Set("Cache-Control", "no-cache")
	h.Set("Content-Disposition", fmt.Sprintf(`attachment; filename="well-%d.geojson"`, id))
	_, err = w.Write(append(data, '\n'))
	return ignoreGone(err)
}
