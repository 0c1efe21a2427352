package server

import (
	"context"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"strconv"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// Widths of the drawing of logs side by side, pixels.
const (
	wideSide            = 1180
	leastSide, mostSide = 300, 3200
)

// leastCompared is the fewest wells that can be compared.
const leastCompared = 2

// sideOrder is the order in which logs stand side by side.
type sideOrder string

// The orders, as they stand in addresses.
const (
	asGiven    sideOrder = "given"
	byDistance sideOrder = "distance"
	alongLine  sideOrder = "line"
)

// sideState is everything that the address of a comparison says.
type sideState struct {
	ids   []int64
	hang  draw.Hang
	order sideOrder
	at    *position.LonLat  // the site; nil: distances are from the first well
	along []position.LonLat // the line of a section, to order along; nil: the one closest to the wells
	back  string
}

func parseSide(q url.Values) (*sideState, error) {
	st := &sideState{order: asGiven}
	var err error
	if st.ids, err = idsOf(q.Get("ids")); err != nil {
		return nil, err
	}
	if len(st.ids) < leastCompared {
		return nil, records.Errorf(records.Invalid, "it takes two wells at least to stand side by side, and at most %d: choose them on the map or from a well's nearest", mostTray)
	}
	switch h := q.Get("hang"); h {
	case "", "ground":
	case "sea":
		st.hang = draw.HangSeaLevel
	default:
		return nil, records.Errorf(records.Invalid, "hang=%s is nothing that logs hang on; use ground or sea", clipText(h, 40))
	}
	switch o := sideOrder(q.Get("order")); o {
	case "":
	case asGiven, byDistance, alongLine:
		st.order = o
	default:
		return nil, records.Errorf(records.Invalid, "order=%s is no order; use given, distance or line", clipText(string(o), 40))
	}
	if t := q.Get("at"); t != "" {
		r, err := position.Parse(t)
		if err != nil {
			return nil, &records.Error{Code: records.Invalid, Field: "at", Message: err.Error()}
		}
		st.at = &r.At
	}
	if st.along, err = parseLine(q.Get("line")); err != nil {
		return nil, err
	}
	if b := q.Get("back"); localPath(b) {
		st.back = b
	}
	return st, nil
}

// href is the address of the comparison after a change; path is /compare or
// /compare.svg.
func (st *sideState) href(path string, change func(*sideState)) string {
	c := *st
	if change != nil {
		change(&c)
	}
	q := url.Values{"ids": {joinIDs(c.ids)}}
	if c.hang == draw.HangSeaLevel {
		q.Set("hang", "sea")
	}
	if c.order != asGiven {
		q.Set("order", string(c.order))
	}
	if c.at != nil {
		q.Set("at", latLon(*c.at))
	}
	if len(c.along) > 0 {
		q.Set("line", lineText(c.along))
	}
	if c.back != "" && path == "/compare" {
		q.Set("back", c.back)
	}
	return path + "?" + q.Encode()
}

// side is a comparison made ready: the wells in their order.
type side struct {
	*sideState
	wells []sideWell
	from  string // what distances are from, in words; "" where there is no place
	line  *wellLine
	odd   []string // what must be said: wells without a place or an elevation
	said  []string // what is to be known besides
	key   string   // names the revisions, for the cache
}

// sideWell is one well of a comparison.
type sideWell struct {
	sheet  *desk.Sheet
	at     position.LonLat
	placed bool
	away   bool // whether distance and bearing hold
	distM  float64
	bearDg float64
}

// compared reads the wells and puts them in order.
func (s *Server) compared(ctx context.Context, actor records.Actor, st *sideState) (*side, error) {
	sheets, err := s.desk.Wells(ctx, actor, st.ids)
	if err != nil {
		return nil, err
	}
	c := &side{sideState: st}
	for _, sh := range sheets {
		w := sideWell{sheet: sh}
		w.at, w.placed = placeOf(sh.Well)
		c.wells = append(c.wells, w)
		c.key += fmt.Sprintf(" %d.%d", sh.Well.ID, sh.Well.Revision)
		if w.readGround() {
			c.key += fmt.Sprintf(" %d %v %q %q", sh.Ground.GridID, sh.Ground.ElevationM, sh.Ground.Grid, sh.Ground.Datum)
		}
	}
	c.measure()
	c.arrange()
	return c, nil
}

// measure gives each well its distance from the site, else from the first.
func (c *side) measure() {
	var from position.LonLat
	first := -1
	switch {
	case c.at != nil:
		from, c.from = *c.at, "the site"
	case c.wells[0].placed:
		from, c.from, first = c.wells[0].at, nameOf(c.wells[0].sheet.Well), 0
	default:
		return
	}
	for i := range c.wells {
		if w := &c.wells[i]; w.placed && i != first {
			w.distM, w.bearDg = position.Distance(from, w.at)
			w.away = true
		}
	}
}

// data is what the drawing shows of each well.
func (c *side) data(g draw.Grounds) []draw.ColumnData {
	out := make([]draw.ColumnData, len(c.wells))
	for i := range c.wells {
		w := &c.wells[i]
		out[i] = draw.ColumnOf(w.sheet.Well, w.sheet.Picks, g)
		if d := &out[i]; !d.HasElevation && w.readGround() {
			g := &w.sheet.Ground
			d.HasElevation, d.ElevationM, d.VertDatum, d.GroundFrom = true, g.ElevationM, g.Datum, g.Grid
		}
		if w.away {
			out[i].HasPlace, out[i].DistanceM, out[i].BearingDeg = true, w.distM, w.bearDg
		}
	}
	return out
}

// drawSide draws a comparison. Picks are joined only along a line.
func (s *Server) drawSide(c *side, u say.System, theme draw.Theme, width int) []byte {
	return draw.SideBySide(c.data(s.desk.Vocabulary()), draw.Options{
		Prefix: "s", Units: u, Theme: theme, Width: float64(width), Hang: c.hang, Join: c.line != nil,
	})
}

// comparePage is two to eight logs on one scale.
type comparePage struct {
	Base
	Sub     string
	Back    string
	Hang    []sideChoice
	Order   []sideChoice
	Odd     []string
	Told    []string
	Log     logDrawing
	Table   listing
	Add     string // adds the nearest well that is not here
	AddName string
	SVGHref string
	MapHref string
}

// sideChoice is one of several ways, as a link.
type sideChoice struct {
	Label, Href string
	On          bool
}

// compareHome answers /compare.
func (s *Server) compareHome(w http.ResponseWriter, r *http.Request) error {
	st, err := parseSide(r.URL.Query())
	if err != nil {
		return err
	}
	c, err := s.compared(r.Context(), s.actor(r), st)
	if err != nil {
		return err
	}
	u, theme := units{unitsOf(r)}, themeOf(r)
	p := comparePage{Base: s.base(r, "Side by side"), Sub: c.sub(u), Back: st.back, Odd: c.odd, Told: c.said, Table: c.table(u)}
	src := st.href("/compare.svg", nil) + "&units=" + u.String()
	drawn := s.drawSide(c, u.System, theme, sideWidth(len(c.wells)))
	p.Log = logDrawing{
		DrawnFor: theme.String(), Wide: template.HTML(drawn), //nolint:gosec // every text in it was escaped by package draw
		WideSrc: src, PrintSrc: src + "&theme=print&w=" + strconv.Itoa(leastSide),
		PrintAlt: "The logs drawn side by side; the table says the same in figures", Class: "side n" + strconv.Itoa(len(c.wells)),
	}
	p.SVGHref = src + "&download=1"
	p.MapHref = "/?tray=" + joinIDs(st.ids)
	if st.at != nil {
		p.MapHref += "&at=" + queryEscape(latLon(*st.at))
	}
	p.choices(c)
	if err := s.addNearest(r, c, &p); err != nil {
		return err
	}
	return s.show(w, "compare", p)
}

// sideWidth is how wide the drawing is on a page: three logs stand no farther
// apart than their words need.
func sideWidth(n int) int { return min(wideSide, 60+n*360) }

func (p *comparePage) choices(c *side) {
	hang := func(label string, h draw.Hang) sideChoice {
		return sideChoice{label, c.href("/compare", func(n *sideState) { n.hang = h }), c.hang == h}
	}
	order := func(label string, o sideOrder) sideChoice {
		return sideChoice{label, c.href("/compare", func(n *sideState) { n.order = o }), c.order == o}
	}
	p.Hang = []sideChoice{hang("ground level", draw.HangGround), hang("sea level", draw.HangSeaLevel)}
	p.Order = []sideChoice{order("as chosen", asGiven), order("by distance", byDistance), order("along a line", alongLine)}
}

// addNearest offers the nearest well that is not compared yet.
func (s *Server) addNearest(r *http.Request, c *side, p *comparePage) error {
	if len(c.ids) >= mostTray {
		return nil
	}
	var from position.LonLat
	switch {
	case c.at != nil:
		from = *c.at
	case c.wells[0].placed:
		from = c.wells[0].at
	default:
		return nil
	}
	in := map[int64]bool{}
	for _, id := range c.ids {
		in[id] = true
	}
	found := s.desk.Picture().Nearest(from, 1, func(r snapshot.Row) bool { return !in[r.ID()] })
	near, err := s.named(r, found)
	if err != nil || len(near) == 0 {
		return err
	}
	p.AddName = near[0].Name
	p.Add = c.href("/compare", func(n *sideState) { n.ids = append(append([]int64(nil), n.ids...), near[0].ID()) })
	return nil
}

// compareSVG answers /compare.svg.
func (s *Server) compareSVG(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	st, err := parseSide(q)
	if err != nil {
		return err
	}
	width, err := widthOf(q.Get("w"), sideWidth(len(st.ids)), leastSide, mostSide)
	if err != nil {
		return err
	}
	c, err := s.compared(r.Context(), s.actor(r), st)
	if err != nil {
		return err
	}
	u, theme, name := unitsOf(r), themeOf(r), ""
	if q.Get("download") != "" {
		name, theme = "side-by-side.svg", paperUnlessChosen(r, theme)
	}
	key := fmt.Sprintf("side%s %s %s %s %d", c.key, st.href("", nil), s.desk.Vocabulary().Version(), u.String()+theme.String(), width)
	data, etag, err := s.cache.get(key, func() ([]byte, error) { return s.drawSide(c, u, theme, width), nil })
	if err != nil {
		return err
	}
	return sendSVG(w, r, data, etag, name)
}
