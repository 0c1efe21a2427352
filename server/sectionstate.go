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
	"tallybook/server/say"
)

// sectionState is everything that the address of a section says.
type sectionState struct {
	line    []position.LonLat
	widthM  float64
	width   string // as the address writes it, with its unit
	without []int64
	byDepth bool
	times   float64 // how many times as high as long; 0: chosen by the drawing
	filters *mapState
	units   say.System
}

// The corridor when the address names none, and how many wells can be left
// out in an address.
const mostWithout = 60

func defaultWidth(u say.System) string {
	if u == say.SI {
		return "600m"
	}
	return "2000ft"
}

// sectionQuery is the query of an address. Semicolons between the places of a
// line may stand in it as they are: the standard library would drop the whole
// parameter, so they are escaped first.
func sectionQuery(r *http.Request) url.Values {
	q, err := url.ParseQuery(strings.ReplaceAll(r.URL.RawQuery, ";", "%3B"))
	if err != nil {
		return r.URL.Query() // what of it can be read
	}
	return q
}

// parseSection reads the address of a section. A line of fewer than two places
// is no error: it is still to be drawn.
func (s *Server) parseSection(q url.Values, u say.System) (*sectionState, error) {
	st := &sectionState{units: u}
	var err error
	if st.line, err = parseLine(q.Get("line")); err != nil {
		return nil, err
	}
	if st.filters, err = s.parseMapState(filterQuery(q), u); err != nil {
		return nil, err
	}
	if st.widthM, st.width, err = parseWidth(orElse(strings.TrimSpace(q.Get("width")), defaultWidth(u)), u); err != nil {
		return nil, err
	}
	if st.without, err = parseIDs(q.Get("without"), mostWithout); err != nil {
		return nil, err
	}
	switch h := q.Get("hang"); h {
	case "", "sea":
	case "ground":
		st.byDepth = true
	default:
		return nil, records.Errorf(records.Invalid, "hang=%s is nothing that a section hangs on; use sea or ground", clipText(h, 40))
	}
	t, ok, err := numberOf(q, "times")
	if err != nil {
		return nil, err
	}
	if ok {
		if !(t >= 0.01 && t <= 1000) {
			return nil, records.Errorf(records.Invalid, "times=%s: a section is drawn from 0.01 to 1,000 times as high as long", clipText(q.Get("times"), 20))
		}
		st.times = t
	}
	return st, nil
}

// filterNames are the parts of an address that filter wells, as on the map.
var filterNames = [...]string{"from", "to", "use", "met", "plate", "dmin", "dmax", "ymin", "ymax", "picks", "marked"}

// filterQuery is what of an address filters wells.
func filterQuery(q url.Values) url.Values {
	out := url.Values{}
	for _, n := range filterNames {
		if v := q.Get(n); v != "" {
			out.Set(n, v)
		}
	}
	return out
}

// parseLine reads the places of a line as addresses write them: 'lon,lat' each,
// parted by semicolons.
func parseLine(text string) ([]position.LonLat, error) {
	if strings.TrimSpace(text) == "" {
		return nil, nil
	}
	var out []position.LonLat
	for i, part := range strings.Split(strings.Trim(strings.TrimSpace(text), ";"), ";") {
		lon, lat, ok := strings.Cut(part, ",")
		x, errX := strconv.ParseFloat(strings.TrimSpace(lon), 64)
		y, errY := strconv.ParseFloat(strings.TrimSpace(lat), 64)
		at := position.LonLat{Lon: x, Lat: y}
		if !ok || errX != nil || errY != nil {
			return nil, &records.Error{Code: records.Invalid, Field: "line", Message: "place " + strconv.Itoa(i+1) + " of the line, “" + clipText(part, 40) + "”, is not read; write longitude and latitude in degrees, as -71.21,44.5, and a semicolon before the next place"}
		}
		if err := at.Valid(); err != nil {
			return nil, &records.Error{Code: records.Invalid, Field: "line", Message: "place " + strconv.Itoa(i+1) + " of the line: " + err.Error()}
		}
		if out = append(out, at); len(out) > desk.MostSectionPlaces {
			return nil, records.Errorf(records.TooLarge, "the line has more than %d places; leave bends out, or make the section in parts", desk.MostSectionPlaces)
		}
	}
	return out, nil
}

// lineText writes a line as parseLine reads it: to a decimetre.
func lineText(line []position.LonLat) string {
	parts := make([]string, len(line))
	for i, at := range line {
		parts[i] = trimFloat(at.Lon, 6) + "," + trimFloat(at.Lat, 6)
	}
	return strings.Join(parts, ";")
}

// parseWidth reads the width of a corridor; a bare number is in the reader's
// unit. The second result writes it with its unit, for addresses that others
// open.
func parseWidth(text string, u say.System) (widthM float64, canonical string, err error) {
	a, err := records.ParseAmount(text, records.DimLength, u.LengthUnit())
	if err != nil {
		return 0, "", &records.Error{Code: records.Invalid, Field: "width", Message: "the width of the corridor, “" + clipText(text, 40) + "”, is not read; write it as 1000 ft or 300 m"}
	}
	v, ok := a.Number()
	if !ok || !(v > 0) || math.IsInf(v, 0) {
		return 0, "", &records.Error{Code: records.Invalid, Field: "width", Message: "the corridor must have a width, such as 1000 ft or 300 m"}
	}
	unit := u.LengthUnit()
	if a.Given.Unit == records.Metre || a.Given.Unit == records.Foot {
		unit = a.Given.Unit
	}
	return v, trimFloat(unit.FromBase(v), 2) + unit.Symbol(), nil
}

// CorridorWidth reads the width of a corridor, metres; a bare number is in the
// reader's unit.
func CorridorWidth(text string, u say.System) (float64, error) {
	w, _, err := parseWidth(strings.TrimSpace(text), u)
	return w, err
}

// parseIDs reads record keys parted by commas, each once.
func parseIDs(text string, most int) ([]int64, error) {
	if strings.Count(text, ",") >= most {
		return nil, records.Errorf(records.TooLarge, "at most %d wells can be left out of a section; a narrower corridor leaves out more", most)
	}
	var out []int64
	for _, part := range strings.Split(text, ",") {
		if part == "" {
			continue
		}
		id, err := strconv.ParseInt(part, 10, 64)
		if err != nil || id <= 0 {
			return nil, records.Errorf(records.Invalid, "%q is no record number", clipText(part, 40))
		}
		if !containsID(out, id) {
			out = append(out, id)
		}
	}
	return out, nil
}

func containsID(ids []int64, id int64) bool {
	for _, x := range ids {
		if x == id {
			return true
		}
	}
	return false
}

// drawable says whether there is a line to draw a section of.
func (st *sectionState) drawable() bool { return len(st.line) >= 2 }

// ask is what the desk is asked.
func (st *sectionState) ask() desk.SectionAsk {
	return desk.SectionAsk{Line: st.line, WidthM: st.widthM, Filter: st.filters.filter, Without: st.without, ByDepth: st.byDepth}
}

// query writes the state as an address.
func (st *sectionState) query() url.Values {
	q := filterQuery(st.filters.query())
	if len(st.line) > 0 {
		q.Set("line", lineText(st.line))
	}
	q.Set("width", st.width)
	if len(st.without) > 0 {
		q.Set("without", joinIDs(st.without))
	}
	if st.byDepth {
		q.Set("hang", "ground")
	}
	if st.times > 0 {
		q.Set("times", trimFloat(st.times, 2))
	}
	return q
}

// href is the address of the section after a change.
func (st *sectionState) href(path string, change func(*sectionState)) string {
	c := *st
	if change != nil {
		change(&c)
	}
	return path + "?" + c.query().Encode()
}
