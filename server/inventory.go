package server

import (
	"bytes"
	"fmt"
	"html/template"
	"io"
	"net/http"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// inventoryPage is every well of an area, as a table and a report.
type inventoryPage struct {
	Base
	Kinds []correctKind
	By    string
	Form  inventoryForm
	Fault string
	Found *inventoryView
}

// inventoryForm is the question as it was typed.
type inventoryForm struct {
	At, Radius, Outline string
	Areas, Picks        []choice
	MayPeople, People   bool // who may see people; whether they are asked for
}

// inventoryView is what was found.
type inventoryView struct {
	Heading, Sub string
	Log          logDrawing
	Within, May  listing
	Quality      listing
	NoQuality    string
	Settings     facts
	Notes        []string
	Cautions     []string
	CSV, QualityCSV,
	GeoJSON, SVG string
	Pick string // the first well's own picks, the others in turn
}

// copyText reads a text that was sent; its size is limited where it comes from.
func copyText(to io.Writer, from io.Reader) (int64, error) { return io.Copy(to, from) }

// inventoryHome answers /inventory.
func (s *Server) inventoryHome(w http.ResponseWriter, r *http.Request) error {
	a, err := s.inventoryAskOf(r, unitsOf(r))
	return s.inventoryShow(w, r, a, err, http.StatusOK)
}

// inventoryShow writes the page; fault says why there is no answer.
func (s *Server) inventoryShow(w http.ResponseWriter, r *http.Request, a *inventoryAsk, fault error, status int) error {
	u := units{unitsOf(r)}
	p := inventoryPage{Base: s.base(r, "All wells of an area"), By: a.by}
	p.Form = inventoryForm{At: a.atText, Radius: a.radius, Outline: a.outline, People: a.people, MayPeople: s.desk.Permit(s.actor(r), desk.SeePrivate) == nil}
	p.Form.Picks, _ = trustChoices(s.desk.Picture(), records.Trust{Picks: a.picks})
	areas, err := s.desk.Areas(r.Context(), s.actor(r))
	if err != nil {
		return err
	}
	for _, x := range areas {
		p.Form.Areas = append(p.Form.Areas, choice{x.Name, x.Name, x.Name == a.area})
	}
	for _, k := range [...][2]string{{byPlace, "around a place"}, {byOutline, "within an outline"}, {byArea, "within an area of the office’s own"}} {
		p.Kinds = append(p.Kinds, correctKind{Label: k[1], Href: "/inventory?by=" + k[0], On: k[0] == a.by})
	}
	if fault == nil && a.asked() {
		var inv *desk.Inventory
		if inv, fault = s.desk.Inventory(r.Context(), s.actor(r), a.ask()); fault == nil {
			if p.Found, err = s.inventoryViewOf(r, a, inv, u); err != nil {
				return err
			}
			p.Title = p.Found.Heading
		}
	}
	if fault != nil {
		switch records.CodeOf(fault) {
		case records.Invalid, records.NotFound, records.TooLarge:
			p.Fault, status = capital(records.MessageOf(fault))+".", http.StatusUnprocessableEntity
		default:
			return fault
		}
	}
	if r.Method == http.MethodPost { // its address cannot be asked for again
		p.Here = "/inventory?by=" + byOutline
	}
	return s.showAs(w, "inventory", p, status)
}

// inventoryOf answers the question of an address, for files of it.
func (s *Server) inventoryOf(r *http.Request) (*inventoryAsk, *desk.Inventory, error) {
	a, err := s.inventoryAskOf(r, unitsOf(r))
	if err != nil {
		return nil, nil, err
	}
	if !a.asked() {
		return nil, nil, records.Errorf(records.Invalid, "say of which place: at and radius, an outline, or an area")
	}
	inv, err := s.desk.Inventory(r.Context(), s.actor(r), a.ask())
	return a, inv, err
}

// inventoryFile answers /inventory.csv, /inventory.geojson and /inventory.svg.
func (s *Server) inventoryCSV(w http.ResponseWriter, r *http.Request) error {
	_, inv, err := s.inventoryOf(r)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	name := "wells.csv"
	switch of := r.URL.Query().Get("of"); of {
	case "", "wells":
		err = s.desk.InventoryCSV(r.Context(), s.actor(r), inv, &b)
	case "quality":
		name = "water-quality.csv"
		err = s.desk.InventoryQualityCSV(r.Context(), s.actor(r), inv, &b)
	default:
		return records.Errorf(records.Invalid, "of=%s is no table of an inventory; use wells or quality", clipText(of, 30))
	}
	if err != nil {
		return err
	}
	return sendFile(w, "text/csv; charset=utf-8; header=present", name, b.Bytes())
}

func (s *Server) inventoryGeoJSON(w http.ResponseWriter, r *http.Request) error {
	_, inv, err := s.inventoryOf(r)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := s.desk.InventoryGeoJSON(r.Context(), s.actor(r), inv, &b); err != nil {
		return err
	}
	return sendFile(w, "application/geo+json", "wells.geojson", b.Bytes())
}

func sendFile(w http.ResponseWriter, kind, name string, data []byte) error {
	h := w.Header()
	h.Set("Content-Type", kind)
	h.Set("Cache-Control", "no-cache")
	h.Set("Content-Disposition", fmt.Sprintf(`attachment; filename=%q`, name))
	_, err := w.Write(data)
	return ignoreGone(err)
}

func (s *Server) inventorySVG(w http.ResponseWriter, r *http.Request) error {
	a, inv, err := s.inventoryOf(r)
	if err != nil {
		return err
	}
	theme, name := themeOf(r), ""
	if r.URL.Query().Get("download") != "" {
		name, theme = "inventory.svg", paperUnlessChosen(r, theme)
	}
	u := units{unitsOf(r)}
	key := fmt.Sprintf("inventory %d %s %s", inv.Commit, theme, a.href("", u.System))
	data, etag, err := s.cache.get(key, func() ([]byte, error) { return s.inventoryMap(r, inv, u, theme) })
	if err != nil {
		return err
	}
	return sendSVG(w, r, data, etag, name)
}

// The size of the map of an inventory, pixels.
const inventoryW, inventoryH = 760.0, 520.0

// inventoryMap draws the area with its wells, numbered as in the table.
func (s *Server) inventoryMap(r *http.Request, inv *desk.Inventory, u units, theme draw.Theme) ([]byte, error) {
	layers, err := s.layers.of(r.Context(), s.desk, s.actor(r), s.desk.Picture().Commit())
	if err != nil {
		return nil, err
	}
	data := &draw.MapData{Layers: layers, Metric: u.System == say.SI, Area: &draw.MapArea{Rings: inventoryRings(&inv.Ask)}, Title: "Map of the area with its wells, numbered as in the table"}
	box := boxOfRings(data.Area.Rings)
	data.View = draw.FitView(box, inventoryW, inventoryH, 34, 200)
	if inv.Ask.RadiusM > 0 {
		data.Site = &draw.MapSite{Lon: inv.Ask.At.Lon, Lat: inv.Ask.At.Lat}
	}
	for i := range inv.Wells {
		w := &inv.Wells[i]
		acc, _ := w.Well.Place.Accuracy.Number()
		data.Area.Wells = append(data.Area.Wells, draw.MapAreaWell{Lon: w.Well.Place.Lon, Lat: w.Well.Place.Lat, Label: fmt.Sprint(i + 1), May: w.May, AccuracyM: float64(acc),
			Title: fmt.Sprintf("%d: %s, %s %s", i+1, nameOf(w.Well), u.Distance(w.DistanceM), say.Bearing(w.BearingDeg)), Href: wellHref(w.Well.ID)})
	}
	return draw.Map(data, theme, "inv"), nil
}

// inventoryRings are the borders of what was asked about.
func inventoryRings(ask *desk.InventoryAsk) [][][2]float64 {
	var out [][][2]float64
	if ask.RadiusM > 0 {
		const corners = 96
		var ring [][2]float64
		for i := range corners + 1 {
			at := position.Destination(ask.At, 360*float64(i)/corners, ask.RadiusM)
			ring = append(ring, [2]float64{at.Lon, at.Lat})
		}
		return append(out, ring)
	}
	for _, polygon := range ask.Outline {
		for _, r := range polygon {
			var ring [][2]float64
			for _, p := range r {
				ring = append(ring, [2]float64{p[0], p[1]})
			}
			out = append(out, ring)
		}
	}
	return out
}

// boxOfRings is around all of them; rings that jump the antimeridian give a box
// that does.
func boxOfRings(rings [][][2]float64) records.Bounds {
	first := rings[0][0]
	b := records.Bounds{West: first[0], East: first[0], South: first[1], North: first[1]}
	for _, ring := range rings {
		for _, p := range ring {
			lon := p[0]
			if lon-first[0] > 180 {
				lon -= 360
			} else if first[0]-lon > 180 {
				lon += 360
			}
			b.West, b.East, b.South, b.North = min(b.West, lon), max(b.East, lon), min(b.South, p[1]), max(b.North, p[1])
		}
	}
	return b
}

// inventoryLog is the map as a page shows it.
func (s *Server) inventoryLog(r *http.Request, a *inventoryAsk, inv *desk.Inventory, u units) (logDrawing, error) {
	theme := themeOf(r)
	svg, err := s.inventoryMap(r, inv, u, theme)
	src := a.href("/inventory.svg", u.System)
	return logDrawing{DrawnFor: theme.String(), Wide: template.HTML(svg), WideSrc: src, PrintSrc: src + "&theme=print", //nolint:gosec // escaped by package draw
		PrintAlt: "Map of the area with its wells, numbered as in the table", Class: "inventory-map"}, err
}
