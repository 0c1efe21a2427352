package server

import (
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
	"tallybook/server/draw"
)

// sectionForm asks for the line, the corridor and which wells.
type sectionForm struct {
	Places     []sectionPlace
	Width      string
	WidthWrong string
	Wrong      string  // what is wrong with the whole
	Filters    mapPage // of it the choices and what was typed
	Kept       []param
	Plan       *sectionPlan
	Pasted     string
	PasteWrong string
}

// sectionPlace is one place of the line as it is typed.
type sectionPlace struct {
	ID, Label, Value, Wrong string
}

// sectionPlan is the map as a picture that takes where it is pressed as the
// next place of the line.
type sectionPlan struct {
	Src, Print string
	W, H       int
	Hint       string
	Kept       []param
	Fresh      string // begins the line anew
}

// The size of the plan, pixels, and the least ground that it shows.
const (
	planW, planH = 760.0, 460.0
	leastPlanM   = 600.0
)

// sectionFormOf fills the form from a state; typed, where not nil, are the
// places as somebody wrote them.
func (s *Server) sectionFormOf(st *sectionState, typed []sectionPlace) sectionForm {
	f := sectionForm{Width: spacedWidth(st.width), Places: typed}
	if typed == nil {
		for _, at := range st.line {
			f.Places = append(f.Places, sectionPlace{Value: position.Format(at, position.DecimalDegrees)})
		}
	}
	for len(f.Places) < 2 {
		f.Places = append(f.Places, sectionPlace{})
	}
	for i := range f.Places {
		p := &f.Places[i]
		p.ID = "place-" + strconv.Itoa(i)
		switch i {
		case 0:
			p.Label = "Begins at " + endA
		case len(f.Places) - 1:
			p.Label = "Ends at " + endB
		default:
			p.Label = "Bend " + strconv.Itoa(i)
		}
	}
	f.Filters.Form, f.Filters.DepthUnit, f.Filters.FlowUnit = st.filters.form, st.units.LengthUnit().Symbol(), st.units.FlowUnit().Symbol()
	s.controls(&f.Filters, st.filters)
	f.Filters.Picks, f.Filters.Marked = trustChoices(s.desk.Picture(), st.filters.filter.Trust)
	for _, n := range []string{"without", "hang", "times"} {
		if v := st.query().Get(n); v != "" {
			f.Kept = append(f.Kept, param{n, v})
		}
	}
	f.Plan = s.sectionPlanOf(st)
	return f
}

// spacedWidth parts a width from its unit: '1000 ft'.
func spacedWidth(t string) string {
	n := strings.TrimRight(t, "abcdefghijklmnopqrstuvwxyz")
	return n + " " + t[len(n):]
}

// sectionPlanOf makes the plan: of the line where there is one, else of all
// wells. nil where there is nothing to see.
func (s *Server) sectionPlanOf(st *sectionState) *sectionPlan {
	m := &mapState{units: st.units, field: snapshot.Bedrock, surface: showMedian, filter: st.filters.filter, form: st.filters.form, line: st.line, noKey: true, view: draw.View{W: planW, H: planH}}
	if len(st.line) >= 2 {
		m.view = rounded(draw.FitView(lineBounds(st.line), planW, planH, 70, leastPlanM))
		m.placed = true
	} else {
		p := s.desk.Picture()
		if _, ok := p.Extent(); !ok && len(st.line) == 0 {
			return nil
		}
		s.settle(m, p)
		m.placed = true
	}
	q := m.query()
	q.Set("w", trimFloat(planW, 0))
	q.Set("h", trimFloat(planH, 0))
	p := &sectionPlan{Src: "/map.svg?" + q.Encode(), Print: "/map.svg?theme=print&" + q.Encode(), W: planW, H: planH}
	switch len(st.line) {
	case 0:
		p.Hint = "Press the plan where the line begins."
	case 1:
		p.Hint = "Press the plan where the line ends."
	default:
		p.Hint = "Press the plan to lead the line on to another place."
	}
	if len(st.line) > 0 {
		p.Fresh = st.href("/section", func(n *sectionState) { n.line = nil })
	}
	for name, vs := range st.query() {
		p.Kept = append(p.Kept, param{name, vs[0]})
	}
	for _, n := range []string{"lon", "lat", "mpp", "w", "h"} {
		p.Kept = append(p.Kept, param{n, q.Get(n)})
	}
	sortParams(p.Kept)
	return p
}

// lineBounds is the box around a line; one that crosses the antimeridian has
// its West greater than its East.
func lineBounds(line []position.LonLat) records.Bounds {
	b := records.Bounds{South: math.Inf(1), North: math.Inf(-1)}
	west, east := 0.0, 0.0
	for _, at := range line {
		d := math.Mod(at.Lon-line[0].Lon+540, 360) - 180
		west, east = min(west, d), max(east, d)
		b.South, b.North = min(b.South, at.Lat), max(b.North, at.Lat)
	}
	turn := func(lon float64) float64 { return math.Mod(lon+540, 360) - 180 }
	b.West, b.East = turn(line[0].Lon+west), turn(line[0].Lon+east)
	return b
}

// sectionStart shows the form for a line that is still to be drawn.
func (s *Server) sectionStart(w http.ResponseWriter, r *http.Request, st *sectionState, typed []sectionPlace) error {
	p := sectionPage{Base: s.base(r, "Section"), Ask: s.sectionFormOf(st, typed), Sub: "The ground along a line: the wells near it as columns, by elevation, and bedrock between them."}
	if typed == nil && len(st.line) == 1 {
		p.Ask.Wrong = "The line has a beginning; now say where it ends."
	}
	return s.show(w, "section", p)
}

// sectionTyped takes what was typed into the form, or where the plan was
// pressed, and leads to the address of the section; what cannot be read is
// shown again with what is wrong.
func (s *Server) sectionTyped(w http.ResponseWriter, r *http.Request) error {
	q := sectionQuery(r)
	typedWidth := strings.TrimSpace(q.Get("width"))
	_, _, widthErr := parseWidth(orElse(typedWidth, defaultWidth(unitsOf(r))), unitsOf(r))
	if widthErr != nil {
		q.Set("width", "")
	}
	if q.Has("p") {
		q.Del("line")
	}
	st, err := s.parseSection(q, unitsOf(r))
	if err != nil {
		return err
	}
	if q.Has("at.x") || q.Has("at.y") {
		return s.sectionPressed(w, r, st)
	}
	var typed []sectionPlace
	wrong := widthErr != nil
	for _, text := range q["p"] {
		text = strings.TrimSpace(text)
		f := sectionPlace{Value: clipText(text, 200)}
		if text != "" {
			read, err := position.Parse(text)
			if err != nil {
				f.Wrong, wrong = err.Error(), true
			} else {
				st.line = append(st.line, read.At)
			}
		}
		typed = append(typed, f)
	}
	if len(typed) > desk.MostSectionPlaces {
		return records.Errorf(records.TooLarge, "the line has more than %d places; leave bends out, or make the section in parts", desk.MostSectionPlaces)
	}
	if q.Get("do") == "bend" {
		for len(typed) < 2 {
			typed = append(typed, sectionPlace{})
		}
		end := typed[len(typed)-1]
		typed = append(typed[:len(typed)-1], sectionPlace{}, end)
		return s.sectionShow(w, r, st, typed, typedWidth, widthErr)
	}
	if wrong || len(st.line) < 2 {
		return s.sectionShow(w, r, st, typed, typedWidth, widthErr)
	}
	http.Redirect(w, r, st.href("/section", nil), http.StatusSeeOther)
	return nil
}

// sectionShow shows the form again as it was typed.
func (s *Server) sectionShow(w http.ResponseWriter, r *http.Request, st *sectionState, typed []sectionPlace, width string, widthErr error) error {
	p := sectionPage{Base: s.base(r, "Section"), Sub: "The ground along a line: the wells near it as columns, by elevation, and bedrock between them."}
	if len(st.line) > 1 {
		st.line = st.line[:1] // the line is not settled: the plan shows all wells
	}
	p.Ask = s.sectionFormOf(st, typed)
	if widthErr != nil {
		p.Ask.Width, p.Ask.WidthWrong = clipText(width, 60), records.MessageOf(widthErr)
	}
	filled := 0
	for _, f := range typed {
		if f.Value != "" {
			filled++
		}
	}
	if filled < 2 && sectionQuery(r).Get("do") != "bend" {
		p.Ask.Wrong = "A line needs both its ends."
	}
	return s.show(w, "section", p)
}

// sectionPressed leads the line on to where the plan was pressed.
func (s *Server) sectionPressed(w http.ResponseWriter, r *http.Request, st *sectionState) error {
	q := sectionQuery(r)
	v := &mapState{}
	if err := v.readView(q); err != nil {
		return err
	}
	x, okX, errX := numberOf(q, "at.x")
	y, okY, errY := numberOf(q, "at.y")
	if errX != nil || errY != nil || !okX || !okY || !v.placed {
		return records.Errorf(records.Invalid, "the press came without its place on the plan")
	}
	lon, lat := v.view.Position(x, y)
	if len(st.line) >= desk.MostSectionPlaces {
		return records.Errorf(records.TooLarge, "the line has %d places already, and takes no more", desk.MostSectionPlaces)
	}
	st.line = append(st.line, *lonLat(lon, lat))
	http.Redirect(w, r, st.href("/section", nil), http.StatusSeeOther)
	return nil
}

// sectionPasted answers POST /section: a line as GeoJSON, pasted or as a file.
func (s *Server) sectionPasted(w http.ResponseWriter, r *http.Request) error {
	text, _, err := sentFile(w, r)
	if err != nil {
		return err
	}
	q := url.Values{}
	for name, vs := range r.PostForm {
		q[name] = vs
	}
	st, err := s.parseSection(q, unitsOf(r))
	if err != nil {
		return err
	}
	line, err := desk.LineOfGeoJSON([]byte(text))
	if err == nil && len(line) > desk.MostSectionPlaces {
		err = records.Errorf(records.TooLarge, "the line has %d places; a section takes up to %d: simplify it first", len(line), desk.MostSectionPlaces)
	}
	if err != nil {
		p := sectionPage{Base: s.base(r, "Section"), Ask: s.sectionFormOf(st, nil), Sub: "The line could not be taken."}
		p.Ask.Pasted, p.Ask.PasteWrong = clipText(text, 4000), records.MessageOf(err)
		return s.show(w, "section", p)
	}
	st.line = line
	http.Redirect(w, r, st.href("/section", nil), http.StatusSeeOther)
	return nil
}
