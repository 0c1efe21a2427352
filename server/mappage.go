package server

import (
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"tallybook/records"
	"tallybook/records/snapshot"
	"tallybook/server/draw"
)

// mapPage is the home page.
type mapPage struct {
	Base
	Map       template.HTML // the drawing, made by package draw
	DrawnFor  string
	Words     string
	Shown, Of string
	Empty     bool // no wells at all
	Fields    []choice
	Shows     []choice
	Uses      []choice
	Mets      []choice
	Plates    []choice
	Picks     []choice // sets of own picks, and whether what is marked is taken in
	Marked    []choice
	Trust     trustView
	Form      filterForm
	Reach     string
	ReachUnit string
	NeedReach bool
	Contours  bool
	DepthUnit string
	FlowUnit  string
	Kept      []param // what the forms must not lose
	Moves     []move
	Download  string
	Review    string // how the ground varies in the view
	PrintSVG  string
	PickHref  string
	Pick      *pickView
	Query     string // of the drawing, for the script
	// Unfinished asks the script to fetch the drawing again: /map.svg waits for
	// the surface that the page did not wait for.
	Unfinished bool
	Panel      *panel
	Tray       *tray
	Reset      string // the map without filters
}

// choice is one entry of a control.
type choice struct {
	Value, Label string
	On           bool
}

type param struct{ Name, Value string }

// move is a link that moves the map, for those without a script.
type move struct{ Label, Sign, Href, Class string }

// pickView is the map as a picture that sends where it was clicked, for those
// without a script.
type pickView struct {
	Src  string
	W, H int
	Kept []param
	Back string
}

// mapHome answers /.
func (s *Server) mapHome(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	sizeFromCookie(r, q)
	st, err := s.parseMapState(q, unitsOf(r))
	if err != nil {
		return err
	}
	theme := themeOf(r)
	d, err := s.mapSoon(r.Context(), s.actor(r), st, theme)
	if err != nil {
		return err
	}
	p := mapPage{
		Base: s.base(r, "Map"), Map: template.HTML(d.SVG), //nolint:gosec // every text in it was escaped by package draw
		DrawnFor: theme.String(), Words: d.Words, Shown: grouped(d.Shown), Of: grouped(d.Of), Empty: d.Of == 0, Unfinished: d.Unfinished,
		Form: st.form, Contours: st.contours, DepthUnit: st.units.LengthUnit().Symbol(), FlowUnit: st.units.FlowUnit().Symbol(),
		Reach: trimFloat(st.reach, 2), ReachUnit: unitFor(st.field, st.units).Symbol(), NeedReach: st.surface == showChance,
	}
	s.controls(&p, st)
	p.Picks, p.Marked = trustChoices(s.desk.Picture(), st.filter.Trust)
	p.Trust = st.trustView(s.desk.Picture())
	p.Moves = moves(st)
	placed := *st
	placed.placed = true
	p.Query = placed.query().Encode()
	drawn := p.Query + "&w=" + trimFloat(st.view.W, 0) + "&h=" + trimFloat(st.view.H, 0)
	p.Download = "/map.svg?download=1&" + drawn
	p.Review = reviewOfView(st)
	p.PrintSVG = "/map.svg?theme=print&" + drawn
	p.PickHref = st.href(nil)
	p.PickHref += map[bool]string{true: "&pick=1", false: "?pick=1"}[strings.Contains(p.PickHref, "?")]
	p.Reset = st.href(func(n *mapState) { n.filter, n.form = noFilter() })
	if q.Get("pick") != "" {
		p.Pick = pickOf(st)
	}
	if st.at != nil {
		if p.Panel, err = s.scoutPanel(r, st, theme); err != nil {
			return err
		}
	}
	if p.Tray, err = s.trayOf(r, st); err != nil {
		return err
	}
	return s.show(w, "map", p)
}

// sizeFromCookie takes the window's size that the script left, so that the
// first drawing fits.
func sizeFromCookie(r *http.Request, q url.Values) {
	c, err := r.Cookie("size")
	if err != nil || q.Get("w") != "" {
		return
	}
	w, h, ok := strings.Cut(c.Value, "x")
	if !ok {
		return
	}
	if _, err := strconv.ParseUint(w, 10, 16); err != nil {
		return
	}
	if _, err := strconv.ParseUint(h, 10, 16); err != nil {
		return
	}
	q.Set("w", w)
	q.Set("h", h)
}

// controls fills the sentence whose words are the controls.
func (s *Server) controls(p *mapPage, st *mapState) {
	for _, f := range []choice{{"depth_to_bedrock", "depth to sound bedrock", false}, {"bedrock_elevation", "elevation of sound bedrock", false}, {"yield", "yield", false}, {"total_depth", "total depth", false}} {
		f.On = f.Value == st.field.String()
		p.Fields = append(p.Fields, f)
	}
	for _, c := range []choice{
		{"median", "the middle estimate", false}, {"range", "how wide the range is", false}, {"chance", "the chance of at least…", false},
		{"skill", "what neighbours add", false}, {"idw", "inverse distance", false},
		{"kriging", "ordinary kriging", false}, {"kriging-error", "the error that kriging states", false}, {"none", "the wells alone", false},
	} {
		if st.field == snapshot.BedrockElevation && !elevationShows[surfaceChoice(c.Value)] {
			continue
		}
		c.On = c.Value == string(st.surface)
		p.Shows = append(p.Shows, c)
	}
	p.Uses = append(p.Uses, choice{"", "any use", st.form.Use == ""})
	for _, u := range records.PurposeWords() {
		p.Uses = append(p.Uses, choice{u, strings.ReplaceAll(u, "_", " "), u == st.form.Use})
	}
	p.Mets = append(p.Mets, choice{"", "anything", st.form.Met == ""})
	for _, m := range s.desk.Vocabulary().All() {
		p.Mets = append(p.Mets, choice{m.Code, strings.ToLower(m.Label), m.Code == st.form.Met})
	}
	for _, c := range []choice{{"", "with or without a plate", false}, {"yes", "with a plate", false}, {"no", "without a plate", false}} {
		c.On = c.Value == st.form.Plate
		p.Plates = append(p.Plates, c)
	}
	for name, vs := range st.query() {
		switch name {
		case "lon", "lat", "mpp", "at", "tray", "line":
			p.Kept = append(p.Kept, param{name, vs[0]})
		}
	}
	sortParams(p.Kept)
}

func sortParams(ps []param) {
	for i := 1; i < len(ps); i++ {
		for j := i; j > 0 && ps[j].Name < ps[j-1].Name; j-- {
			ps[j], ps[j-1] = ps[j-1], ps[j]
		}
	}
}

// moves are the links that pan and zoom.
func moves(st *mapState) []move {
	to := func(v draw.View) string {
		return st.href(func(n *mapState) { n.placed, n.view = true, v })
	}
	v := st.view
	return []move{
		{"Closer", "+", to(v.Zoomed(v.W/2, v.H/2, 2)), "in"},
		{"Farther", "−", to(v.Zoomed(v.W/2, v.H/2, 0.5)), "out"},
		{"To the north", "↑", to(v.Moved(0, -v.H/3)), "n"},
		{"To the west", "←", to(v.Moved(-v.W/3, 0)), "w"},
		{"To the east", "→", to(v.Moved(v.W/3, 0)), "e"},
		{"To the south", "↓", to(v.Moved(0, v.H/3)), "s"},
		{"All wells", "⤢", st.href(func(n *mapState) { n.placed = false; n.at = nil }), "all"},
	}
}

// pickOf makes the map a picture that sends where it was clicked.
func pickOf(st *mapState) *pickView {
	q := st.query()
	q.Set("lon", trimFloat(st.view.Lon, 6))
	q.Set("lat", trimFloat(st.view.Lat, 6))
	q.Set("mpp", strconv.FormatFloat(st.view.MPerPixel, 'g', 6, 64))
	q.Set("w", trimFloat(st.view.W, 0))
	q.Set("h", trimFloat(st.view.H, 0))
	p := &pickView{Src: "/map.svg?" + q.Encode(), W: int(st.view.W), H: int(st.view.H), Back: st.href(nil)}
	for name, vs := range q {
		p.Kept = append(p.Kept, param{name, vs[0]})
	}
	sortParams(p.Kept)
	return p
}

// picked answers /pick: where the picture was clicked becomes the place asked
// about.
func (s *Server) picked(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	st, err := s.parseMapState(q, unitsOf(r))
	if err != nil {
		return err
	}
	x, okX, errX := numberOf(q, "p.x")
	y, okY, errY := numberOf(q, "p.y")
	if errX != nil || errY != nil || !okX || !okY || !st.placed {
		return records.Errorf(records.Invalid, "the click came without its place on the map")
	}
	lon, lat := st.view.Position(x, y)
	http.Redirect(w, r, st.href(func(n *mapState) { n.at = lonLat(lon, lat) }), http.StatusSeeOther)
	return nil
}

// tray is the wells chosen to be compared.
type tray struct {
	Items   []trayItem
	Compare string // "" while there are fewer than two
	Clear   string
}

type trayItem struct{ Label, Href, Remove string }

func (s *Server) trayOf(r *http.Request, st *mapState) (*tray, error) {
	if len(st.tray) == 0 {
		return nil, nil
	}
	labels, err := s.desk.Numbers(r.Context(), s.actor(r), st.tray)
	if err != nil {
		return nil, err
	}
	t := &tray{Clear: st.href(func(n *mapState) { n.tray = nil })}
	for i, id := range st.tray {
		t.Items = append(t.Items, trayItem{
			Label: labels[i], Href: fmt.Sprintf("/well/%d", id),
			Remove: st.href(func(n *mapState) { n.tray = without(n.tray, id) }),
		})
	}
	if len(st.tray) > 1 {
		q := url.Values{"ids": {joinIDs(st.tray)}}
		if st.at != nil {
			q.Set("at", trimFloat(st.at.Lat, 6)+","+trimFloat(st.at.Lon, 6))
			q.Set("order", "distance")
		}
		t.Compare = "/compare?" + q.Encode()
	}
	return t, nil
}

func without(ids []int64, id int64) []int64 {
	var out []int64
	for _, x := range ids {
		if x != id {
			out = append(out, x)
		}
	}
	return out
}
