package server

import (
	"context"
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strconv"

	"tallybook/geo/position"
	"tallybook/records/desk"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// Widths of the drawing of a section, pixels.
const (
	wideSection                 = 1180
	leastSectionW, mostSectionW = 640, 2400
)

// sectionPage is a section through the ground, or the question for its line.
type sectionPage struct {
	Base
	Sub                                 string
	Notes                               []string // what must be known to read it
	Alerts                              []string // what is to be noticed
	Ask                                 sectionForm
	Drawn                               bool
	Log                                 logDrawing
	Paper                               template.HTML
	Hang                                []sideChoice
	Times                               []sideChoice
	Table                               listing
	Out                                 listing
	Bare                                bool   // there is nothing to draw
	Empty                               string // why nothing stands on it
	Wider                               string // the address with a corridor that reaches the nearest well
	WiderBy                             string
	SVGHref, CSVHref, LineHref, MapHref string
	Compare, CompareWords               string
}

// sectionDone is a section with what its drawing needs.
type sectionDone struct {
	*sectionState
	*desk.Section
}

func (s *Server) sectionOf(ctx context.Context, r *http.Request, st *sectionState, soon bool) (*sectionDone, error) {
	ask := st.ask()
	ask.Soon = soon
	sec, err := s.desk.Section(ctx, s.actor(r), ask)
	if err != nil {
		return nil, err
	}
	return &sectionDone{st, sec}, nil
}

// sectionHome answers /section.
func (s *Server) sectionHome(w http.ResponseWriter, r *http.Request) error {
	q := sectionQuery(r)
	if q.Has("p") || q.Has("p.x") || q.Has("at.x") {
		return s.sectionTyped(w, r)
	}
	st, err := s.parseSection(q, unitsOf(r))
	if err != nil {
		return err
	}
	if !st.drawable() {
		return s.sectionStart(w, r, st, nil)
	}
	c, err := s.sectionOf(r.Context(), r, st, true)
	if err != nil {
		return err
	}
	u, theme := units{st.units}, themeOf(r)
	p := sectionPage{Base: s.base(r, "Section"), Drawn: true, Sub: c.sub(u), Ask: s.sectionFormOf(st, nil)}
	p.Notes, p.Alerts = c.notes(u), c.alerts(u)
	drawn := s.drawSection(c, st.units, theme, wideSection, "x")
	src := st.href("/section.svg", nil) + "&units=" + st.units.String()
	p.Log = logDrawing{
		DrawnFor: theme.String(), Wide: template.HTML(drawn), //nolint:gosec // every text in it was escaped by package draw
		WideSrc: src,
	}
	// On paper inline too: as an image, some printers' drivers make fifty megabytes of its patterns.
	p.Paper = template.HTML(s.drawSection(c, st.units, draw.Print, wideSection, "xp")) //nolint:gosec // likewise
	p.SVGHref, p.CSVHref, p.LineHref = src+"&download=1", st.href("/section.csv", nil), st.href("/section.geojson", nil)
	p.MapHref = c.mapHref()
	p.choices(c)
	p.Bare = len(c.Wells) == 0 && c.Ground == desk.GroundUnknown && !c.told()
	if p.Table, err = s.sectionTable(c, u); err != nil {
		return err
	}
	if p.Out, err = s.sectionOutTable(r, c, u); err != nil {
		return err
	}
	if err := s.sectionEmpty(r, c, &p, u); err != nil {
		return err
	}
	p.Compare, p.CompareWords = c.compare()
	return s.show(w, "section", p)
}

// told says whether bedrock is estimated anywhere along the line.
func (c *sectionDone) told() bool {
	for i := range c.Stations {
		if c.Stations[i].Told() {
			return true
		}
	}
	return false
}

// drawSection draws a section for a page of a width.
func (s *Server) drawSection(c *sectionDone, u say.System, theme draw.Theme, width int, prefix string) []byte {
	return draw.Section(SectionDrawing(c.Section, c.times, s.desk.Vocabulary()), draw.Options{Prefix: prefix, Units: u, Theme: theme, Width: float64(width)})
}

// SectionDrawing is what a drawing shows of a section; times is how many times
// as high as long it is drawn, 0 for as fits.
func SectionDrawing(c *desk.Section, times float64, g draw.Grounds) draw.SectionData {
	line := c.Places()
	d := draw.SectionData{
		LengthM: c.Line.LengthM(), ByDepth: c.ByDepth, Times: times, Estimated: c.Model != nil, TrustMarked: c.Trust.Marked, WidthM: c.WidthM,
		From: draw.SectionEnd{Name: endA, Place: position.Format(line[0], position.DecimalDegrees), Deg: c.Line.AzimuthDeg(0) + 180},
		To:   draw.SectionEnd{Name: endB, Place: position.Format(line[len(line)-1], position.DecimalDegrees), Deg: c.Line.AzimuthDeg(c.Line.LengthM())},
	}
	for _, m := range c.Line.BendsM() {
		d.Bends = append(d.Bends, draw.SectionBend{AlongM: m, Deg: c.Line.AzimuthDeg(m)})
	}
	datum, first := "", true
	for i := range c.Wells {
		w := &c.Wells[i]
		sw := draw.SectionWell{
			ColumnData: draw.ColumnOf(w.Well, w.Picks, g), AlongM: w.AlongM, OffM: abs(w.OffM), OffDeg: w.OffDeg,
			Beyond: beyondEnd(w.BeyondM), GroundM: w.GroundM, GroundRead: w.GroundIs != desk.GroundOfRecord,
		}
		d.Wells = append(d.Wells, sw)
		if w.GroundIs == desk.GroundOfRecord {
			if v := w.Well.Place.VertDatum; first {
				datum, first = v, false
			} else if v != datum {
				datum = ""
			}
		}
	}
	d.Datum = datum
	for i := range c.Stations {
		t := &c.Stations[i]
		d.Stations = append(d.Stations, draw.SectionStation{AlongM: t.AlongM, GroundM: t.GroundM, GroundRead: t.GroundIs == desk.GroundBetween, LowM: t.LowM, MiddleM: t.MiddleM, HighM: t.HighM, Flat: t.Flat})
	}
	return d
}

// The names of the ends of a line, common practice in drawing sections.
const (
	endA = "A"
	endB = "A′"
)

// beyondEnd names the end behind which a well stands.
func beyondEnd(m float64) string {
	switch {
	case m <= -1:
		return endA
	case m >= 1:
		return endB
	}
	return ""
}

// choices are the ways in which a section can hang and be drawn.
func (p *sectionPage) choices(c *sectionDone) {
	if !c.NoElevation {
		for _, by := range []bool{false, true} {
			label := map[bool]string{false: "sea level", true: "the ground"}[by]
			p.Hang = append(p.Hang, sideChoice{label, c.href("/section", func(n *sectionState) { n.byDepth = by }), c.byDepth == by})
		}
	}
	p.Times = append(p.Times, sideChoice{"as fits", c.href("/section", func(n *sectionState) { n.times = 0 }), c.times == 0})
	for _, t := range []float64{1, 2, 5, 10, 20, 50} {
		p.Times = append(p.Times, sideChoice{trimFloat(t, 0), c.href("/section", func(n *sectionState) { n.times = t }), c.times == t})
	}
}

// sectionEmpty says why nothing stands on a section, and what would help.
func (s *Server) sectionEmpty(r *http.Request, c *sectionDone, p *sectionPage, u units) error {
	switch {
	case len(c.Wells) > 0:
		return nil
	case c.Standing > 0:
		p.Empty = capital(count(c.Standing, "well stands", "wells stand")) + " in the corridor, but none is drawn: see below what was left out and why."
		return nil
	case c.Nearest == nil:
		p.Empty = "There are no wells with a position yet."
		return nil
	}
	names, err := s.desk.Numbers(r.Context(), s.actor(r), []int64{c.Nearest.ID})
	if err != nil {
		return err
	}
	need, text := c.widthFor(abs(c.Nearest.OffM), u)
	p.Empty = fmt.Sprintf("No well stands within %s of the line. The nearest is %s, %s %s of it.",
		u.Distance(c.widthM/2), names[0], u.Distance(abs(c.Nearest.OffM)), say.Bearing(c.Nearest.OffDeg))
	if m, _, err := parseWidth(need, u.System); err == nil && m <= desk.MostCorridorM {
		p.Wider = c.href("/section", func(n *sectionState) { n.width = need })
		p.WiderBy = "Draw it with a corridor " + text + " wide, which reaches it"
	}
	return nil
}

// widthFor is a round width of a corridor that reaches so far to either side.
func (c *sectionDone) widthFor(offM float64, u units) (canonical, words string) {
	unit := u.LengthUnit()
	v := unit.FromBase(2 * offM)
	step := 10.0
	for v > step*50 {
		step *= 10
	}
	w := (float64(int(v/step)) + 1) * step
	return trimFloat(w, 0) + unit.Symbol(), u.Figure(w, 0) + " " + unit.Symbol()
}

// mapHref is the map with the line on it.
func (c *sectionDone) mapHref() string {
	at := c.Plane.Center()
	q := filterQuery(c.query())
	q.Set("lon", trimFloat(at.Lon, 6))
	q.Set("lat", trimFloat(at.Lat, 6))
	q.Set("mpp", strconv.FormatFloat(max(c.Line.LengthM()/700, 0.5), 'g', 4, 64))
	q.Set("line", lineText(c.line))
	return "/?" + q.Encode()
}

// compare is the address of these wells side by side along the line, and the
// words for it.
func (c *sectionDone) compare() (href, words string) {
	if len(c.Wells) < leastCompared {
		return "", ""
	}
	ids := c.nearestOf(mostTray)
	words = "Compare these wells along the line"
	if len(c.Wells) > len(ids) {
		words = "Compare the " + countWords(len(ids)) + " nearest the line, along it"
	}
	st := sideState{ids: ids, order: alongLine, along: c.line}
	if !c.ByDepth {
		st.hang = draw.HangSeaLevel
	}
	return st.href("/compare", nil), words
}

// nearestOf are up to n wells of the section, those nearest to the line, in
// their order along it.
func (c *sectionDone) nearestOf(n int) []int64 {
	limit := -1.0
	if len(c.Wells) > n {
		offs := make([]float64, len(c.Wells))
		for i := range c.Wells {
			offs[i] = abs(c.Wells[i].OffM)
		}
		slices.Sort(offs)
		limit = offs[n-1]
	}
	var ids []int64
	for i := range c.Wells {
		if w := &c.Wells[i]; (limit < 0 || abs(w.OffM) <= limit) && len(ids) < n {
			ids = append(ids, w.Well.ID)
		}
	}
	return ids
}

// sectionSVG answers /section.svg.
func (s *Server) sectionSVG(w http.ResponseWriter, r *http.Request) error {
	q := sectionQuery(r)
	st, err := s.parseSection(q, unitsOf(r))
	if err != nil {
		return err
	}
	width, err := widthOf(q.Get("w"), wideSection, leastSectionW, mostSectionW)
	if err != nil {
		return err
	}
	theme, name := themeOf(r), ""
	if q.Get("download") != "" {
		name, theme = "section.svg", paperUnlessChosen(r, theme)
	}
	c, err := s.sectionOf(r.Context(), r, st, false)
	if err != nil {
		return err
	}
	key := fmt.Sprintf("section %d %s %s %s %d", c.Content, st.query().Encode(), s.desk.Vocabulary().Version(), st.units.String()+theme.String(), width)
	data, etag, err := s.cache.get(key, func() ([]byte, error) { return s.drawSection(c, st.units, theme, width, "x"), nil })
	if err != nil {
		return err
	}
	return sendSVG(w, r, data, etag, name)
}
