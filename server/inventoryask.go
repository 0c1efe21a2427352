package server

import (
	"encoding/json"
	"net/http"
	"net/url"
	"strings"

	"github.com/paulmach/orb"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/review"
	"tallybook/server/say"
)

// inventoryAsk is the question of an inventory, all of it in the address: the
// wells around a place, within an outline, or within an area of the office's own
// layers.
type inventoryAsk struct {
	by      string // place, outline or area
	at      *position.LonLat
	atText  string // as typed
	radius  string // as typed, with its unit
	radiusM float64
	outline string // GeoJSON
	area    string // its name
	picks   string
	people  bool
	shape   orb.MultiPolygon
}

// The ways to say where.
const (
	byPlace   = "place"
	byOutline = "outline"
	byArea    = "area"
)

// asked says whether the address names a place at all.
func (a *inventoryAsk) asked() bool {
	return a.by == byPlace && a.atText != "" || a.by == byOutline && a.outline != "" || a.by == byArea && a.area != ""
}

// inventoryAskOf reads the address as far as it can be read; the error says what
// cannot.
func (s *Server) inventoryAskOf(r *http.Request, u say.System) (*inventoryAsk, error) {
	q := r.URL.Query()
	a := &inventoryAsk{by: q.Get("by"), atText: strings.TrimSpace(q.Get("at")), radius: strings.TrimSpace(q.Get("radius")), outline: strings.TrimSpace(q.Get("outline")),
		area: q.Get("area"), picks: q.Get(trustPicks), people: q.Get("people") == "1"}
	switch a.by {
	case byPlace, byOutline, byArea:
	case "":
		switch {
		case a.outline != "":
			a.by = byOutline
		case a.area != "":
			a.by = byArea
		default:
			a.by = byPlace
		}
	default:
		return a, records.Errorf(records.Invalid, "by=%s is no way to say where; use place, outline or area", clipText(a.by, 20))
	}
	if a.radius == "" {
		a.radius = usualRadius(u)
	}
	if !a.asked() {
		return a, nil
	}
	switch a.by {
	case byPlace:
		at, err := position.Parse(a.atText)
		if err != nil {
			return a, &records.Error{Code: records.Invalid, Field: "at", Message: "the place: " + err.Error()}
		}
		a.at = &at.At
		a.radiusM, err = u.ParseDistance(a.radius)
		return a, err
	case byOutline:
		shape, err := review.ParseOutline([]byte(a.outline))
		a.shape = shape
		return a, err
	}
	area, err := s.desk.AreaNamed(r.Context(), s.actor(r), a.area)
	if err == nil {
		a.shape = area.Shape
	}
	return a, err
}

// usualRadius is the radius where nobody says one: a figure that many rules ask
// wells to be looked for within (common practice, no source).
func usualRadius(u say.System) string {
	if u == say.SI {
		return "1 km"
	}
	return "0.5 mi"
}

// query is the question as an address.
func (a *inventoryAsk) query() url.Values {
	q := url.Values{}
	switch a.by {
	case byPlace:
		q.Set("at", a.atText)
		q.Set("radius", a.radius)
	case byOutline:
		q.Set("outline", a.outline)
	case byArea:
		q.Set("area", a.area)
	}
	if a.picks != "" {
		q.Set(trustPicks, a.picks)
	}
	if a.people {
		q.Set("people", "1")
	}
	return q
}

func (a *inventoryAsk) href(path string, u say.System) string {
	q := a.query()
	q.Set("units", u.String())
	return path + "?" + q.Encode()
}

// ask is the question as the desk is asked it.
func (a *inventoryAsk) ask() desk.InventoryAsk {
	q := desk.InventoryAsk{Picks: a.picks, Private: a.people, Outline: a.shape, Name: a.area}
	if a.at != nil {
		q.At, q.RadiusM = *a.at, a.radiusM
	}
	return q
}

// mostOutlineText is how long an outline may be in an address, bytes: longer ones
// are made a layer.
const mostOutlineText = 24 << 10

// inventoryOutline answers the form that sends an outline, pasted or as a file:
// it becomes part of the address, so that the list can be kept and sent on.
func (s *Server) inventoryOutline(w http.ResponseWriter, r *http.Request) error {
	const most = 4 << 20
	r.Body = http.MaxBytesReader(w, r.Body, most)
	if err := r.ParseMultipartForm(most); err != nil {
		return records.Errorf(records.Invalid, "the outline could not be read: send one file of at most 4 MB, or paste it")
	}
	text := strings.TrimSpace(r.PostForm.Get("outline"))
	if file, _, err := r.FormFile("file"); err == nil {
		var sent strings.Builder
		_, err := copyText(&sent, file)
		if cerr := file.Close(); err == nil {
			err = cerr
		}
		if err != nil {
			return err
		}
		if strings.TrimSpace(sent.String()) != "" {
			text = strings.TrimPrefix(strings.TrimSpace(sent.String()), "\ufeff")
		}
	}
	a := &inventoryAsk{by: byOutline, outline: text, picks: r.PostForm.Get(trustPicks), people: r.PostForm.Get("people") == "1"}
	shape, err := review.ParseOutline([]byte(text))
	if err == nil {
		a.outline, err = compactOutline(shape)
	}
	if records.CodeOf(err) == records.Invalid || records.CodeOf(err) == records.TooLarge {
		a.outline = clipText(text, mostOutlineText)
		return s.inventoryShow(w, r, a, err, http.StatusUnprocessableEntity)
	}
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/inventory?"+a.query().Encode(), http.StatusSeeOther)
	return nil
}

// compactOutline writes polygons as GeoJSON, to a centimetre.
func compactOutline(shape orb.MultiPolygon) (string, error) {
	rings := make([][][][2]json.Number, 0, len(shape))
	for _, p := range shape {
		var polygon [][][2]json.Number
		for _, ring := range p {
			var out [][2]json.Number
			for _, at := range ring {
				out = append(out, [2]json.Number{json.Number(trimFloat(at[0], 7)), json.Number(trimFloat(at[1], 7))})
			}
			polygon = append(polygon, out)
		}
		rings = append(rings, polygon)
	}
	b, err := json.Marshal(struct {
		Type        string               `json:"type"`
		Coordinates [][][][2]json.Number `json:"coordinates"`
	}{"MultiPolygon", rings})
	if err != nil {
		return "", records.WrapError(records.Invalid, err, "the outline holds something that is no position")
	}
	if len(b) > mostOutlineText {
		return "", records.Errorf(records.TooLarge, "the outline is too long for an address (%d positions or so): simplify it, or make it a layer of the office (tallybook layer) and choose it by its name", len(b)/24)
	}
	return string(b), nil
}
