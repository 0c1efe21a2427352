package server

import (
	"math"
	"net/url"
	"strconv"
	"strings"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
	"tallybook/server/draw"
	"tallybook/server/say"
)

// mapState is everything that the map's address says: place and scale, what is
// shown, which wells, the place asked about, the wells chosen to be compared.
// The same address gives the same drawing.
type mapState struct {
	placed   bool // whether the address names a place
	view     draw.View
	field    snapshot.Field
	surface  surfaceChoice
	reach    float64 // threshold in the reader's unit, for the chance
	contours bool
	filter   snapshot.Filter
	form     filterForm
	at       *position.LonLat
	tray     []int64
	line     []position.LonLat // of a section, to be shown
	noKey    bool              // a plan, without its legend
	units    say.System
	// heights are the ground's elevations at the wells, for the elevation of
	// bedrock alone; no part of the address.
	heights *desk.Heights
}

// surfaceChoice is what lies under the wells.
type surfaceChoice string

// The choices, as they stand in addresses.
const (
	showMedian  surfaceChoice = "median"
	showRange   surfaceChoice = "range"
	showChance  surfaceChoice = "chance"
	showSkill   surfaceChoice = "skill"
	showIDW     surfaceChoice = "idw"
	showKriging surfaceChoice = "kriging"
	// showKrigingError is the standard error of kriging.
	showKrigingError surfaceChoice = "kriging-error"
	showNothing      surfaceChoice = "none"
)

// elevationShows are the choices that there are for the elevation of bedrock.
var elevationShows = map[surfaceChoice]bool{showMedian: true, showRange: true, showSkill: true, showIDW: true, showNothing: true}

// valueOf is what a well says of the field that is shown.
func (m *mapState) valueOf(r snapshot.Row) records.DigestValue {
	if m.field == snapshot.BedrockElevation {
		if m.heights == nil {
			return records.DigestValue{}
		}
		return m.heights.Bedrock(r, &m.filter)
	}
	return m.filter.Value(r, m.field)
}

// filterForm is the filter as the reader typed it, in the reader's units.
type filterForm struct {
	From, To     string // years
	Use          string
	Met          string
	Plate        string
	MinD, MaxD   string
	MinY, MaxY   string
	Active       bool
	Contradicted string // what could not be read, for the page to say
}

// The drawing's size when the address says none, and its limits.
const (
	mapW, mapH       = 1000.0, 760.0
	mostW, mostH     = 2600.0, 1800.0
	leastMpp         = 0.02
	mostMpp          = 60000.0
	mostTray         = 8
	defaultReachGPM  = 3.0
	defaultReachElse = 50.0
)

// parseMapState reads an address. What cannot be read is an error that names
// the part at fault.
func (s *Server) parseMapState(q url.Values, u say.System) (*mapState, error) {
	m := &mapState{units: u, field: snapshot.Bedrock, surface: showMedian, contours: q.Get("lines") != "0"}
	var err error
	if f := q.Get("field"); f != "" {
		if m.field, err = snapshot.ParseMapField(f); err != nil {
			return nil, err
		}
	}
	switch c := surfaceChoice(q.Get("show")); c {
	case "":
	case showMedian, showRange, showChance, showSkill, showIDW, showKriging, showKrigingError, showNothing:
		m.surface = c
	default:
		return nil, records.Errorf(records.Invalid, "show=%s is nothing that the map shows; use median, range, chance, skill, idw, kriging, kriging-error or none", c)
	}
	if m.field == snapshot.BedrockElevation && !elevationShows[m.surface] {
		m.surface = showMedian // the others are made of depths
	}
	if err := m.readView(q); err != nil {
		return nil, err
	}
	if err := m.readFilter(q, s.desk); err != nil {
		return nil, err
	}
	m.reach = defaultReachElse
	if m.field == snapshot.Yield {
		m.reach = math.Round(unitFor(m.field, u).FromBase(records.GallonPerMinute.ToBase(defaultReachGPM)))
	} else if u == say.SI {
		m.reach = 15
	}
	if v, ok, err := numberOf(q, "reach"); err != nil {
		return nil, err
	} else if ok {
		m.reach = v
	}
	if t := q.Get("at"); t != "" {
		r, err := position.Parse(t)
		if err != nil {
			return nil, &records.Error{Code: records.Invalid, Field: "at", Message: err.Error()}
		}
		m.at = &r.At
	}
	if m.tray, err = idsOf(q.Get("tray")); err != nil {
		return nil, err
	}
	m.noKey = q.Get("key") == "0"
	if m.line, err = parseLine(q.Get("line")); err != nil {
		return nil, err
	}
	return m, nil
}

// idsOf reads record keys parted by commas, each once.
func idsOf(text string) ([]int64, error) {
	var ids []int64
	for _, part := range strings.Split(text, ",") {
		if part == "" {
			continue
		}
		id, err := strconv.ParseInt(part, 10, 64)
		if err != nil || id <= 0 {
			return nil, records.Errorf(records.Invalid, "%q is no record number", part)
		}
		seen := false
		for _, x := range ids {
			seen = seen || x == id
		}
		if !seen {
			ids = append(ids, id)
		}
	}
	if len(ids) > mostTray {
		return nil, records.Errorf(records.TooLarge, "at most %d wells can be compared at once", mostTray)
	}
	return ids, nil
}

func numberOf(q url.Values, name string) (float64, bool, error) {
	text := strings.TrimSpace(q.Get(name))
	if text == "" {
		return 0, false, nil
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, false, records.Errorf(records.Invalid, "%s=%s is not a number", name, text)
	}
	return v, true, nil
}

func (m *mapState) readView(q url.Values) error {
	m.view = draw.View{W: mapW, H: mapH}
	for _, f := range []struct {
		name     string
		into     *float64
		min, max float64
	}{
		{"w", &m.view.W, 200, mostW}, {"h", &m.view.H, 160, mostH},
		{"lon", &m.view.Lon, -180, 180}, {"lat", &m.view.Lat, -85, 85}, {"mpp", &m.view.MPerPixel, leastMpp, mostMpp},
	} {
		v, ok, err := numberOf(q, f.name)
		if err != nil {
			return err
		}
		if ok {
			*f.into = min(max(v, f.min), f.max)
		}
	}
	m.placed = q.Get("lon") != "" && q.Get("lat") != "" && m.view.MPerPixel > 0
	return nil
}

func (m *mapState) readFilter(q url.Values, d *desk.Desk) error {
	f := &m.form
	f.From, f.To, f.Use, f.Met, f.Plate = q.Get("from"), q.Get("to"), q.Get("use"), q.Get("met"), q.Get("plate")
	f.MinD, f.MaxD, f.MinY, f.MaxY = q.Get("dmin"), q.Get("dmax"), q.Get("ymin"), q.Get("ymax")
	limits := []struct {
		name string
		into **float64
		base func(float64) float64
	}{
		{"from", &m.filter.Years.Min, func(v float64) float64 { return v }},
		{"to", &m.filter.Years.Max, func(v float64) float64 { return math.Floor(v) + 0.99999 }},
		{"dmin", &m.filter.Depth.Min, m.units.LengthUnit().ToBase},
		{"dmax", &m.filter.Depth.Max, m.units.LengthUnit().ToBase},
		{"ymin", &m.filter.Yield.Min, m.units.FlowUnit().ToBase},
		{"ymax", &m.filter.Yield.Max, m.units.FlowUnit().ToBase},
	}
	for _, l := range limits {
		v, ok, err := numberOf(q, l.name)
		if err != nil {
			return err
		}
		if ok {
			v = l.base(v)
			*l.into = &v
		}
	}
	if f.Use != "" {
		if m.filter.Purpose = records.WordIndex(records.PurposeWords(), f.Use); m.filter.Purpose == 0 {
			return records.Errorf(records.Invalid, "use=%s is none of the uses of a well", f.Use)
		}
	}
	if f.Met != "" {
		i, ok := d.Vocabulary().Index(f.Met)
		if !ok {
			return records.Errorf(records.Invalid, "met=%s is no material of the vocabulary", f.Met)
		}
		m.filter.Materials = 1 << uint(i)
	}
	switch f.Plate {
	case "":
	case "yes":
		m.filter.Plate = snapshot.Yes
	case "no":
		m.filter.Plate = snapshot.No
	default:
		return records.Errorf(records.Invalid, "plate=%s is neither yes nor no", f.Plate)
	}
	var err error
	if m.filter.Trust, err = trustOf(q); err != nil {
		return err
	}
	f.Active = !m.filter.IsZero()
	return nil
}

// query writes the state as an address, without the drawing's size: that is
// the window's, not the reader's.
func (m *mapState) query() url.Values {
	q := url.Values{}
	set := func(name, v string) {
		if v != "" {
			q.Set(name, v)
		}
	}
	if m.placed {
		set("lon", trimFloat(m.view.Lon, 6))
		set("lat", trimFloat(m.view.Lat, 6))
		set("mpp", strconv.FormatFloat(m.view.MPerPixel, 'g', 6, 64))
	}
	if m.field != snapshot.Bedrock {
		set("field", m.field.String())
	}
	if m.surface != showMedian {
		set("show", string(m.surface))
	}
	if m.surface == showChance {
		set("reach", trimFloat(m.reach, 3))
	}
	if !m.contours {
		set("lines", "0")
	}
	f := &m.form
	for _, p := range [][2]string{{"from", f.From}, {"to", f.To}, {"use", f.Use}, {"met", f.Met}, {"plate", f.Plate},
		{"dmin", f.MinD}, {"dmax", f.MaxD}, {"ymin", f.MinY}, {"ymax", f.MaxY}} {
		set(p[0], p[1])
	}
	setTrust(q, m.filter.Trust)
	if m.at != nil {
		set("at", trimFloat(m.at.Lat, 6)+","+trimFloat(m.at.Lon, 6))
	}
	if len(m.tray) > 0 {
		set("tray", joinIDs(m.tray))
	}
	if len(m.line) > 0 {
		set("line", lineText(m.line))
	}
	if m.noKey {
		set("key", "0")
	}
	return q
}

func joinIDs(ids []int64) string {
	parts := make([]string, len(ids))
	for i, id := range ids {
		parts[i] = strconv.FormatInt(id, 10)
	}
	return strings.Join(parts, ",")
}

func trimFloat(v float64, decimals int) string {
	t := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Contains(t, ".") {
		t = strings.TrimRight(strings.TrimRight(t, "0"), ".")
	}
	if t == "-0" {
		t = "0"
	}
	return t
}

// href is the address of the map in this state after a change.
func (m *mapState) href(change func(*mapState)) string {
	c := *m
	c.tray = append([]int64(nil), m.tray...)
	if change != nil {
		change(&c)
	}
	q := c.query()
	if len(q) == 0 {
		return "/"
	}
	return "/?" + q.Encode()
}

// unitFor is the unit in which a field is shown.
func unitFor(f snapshot.Field, u say.System) records.Unit {
	if f == snapshot.Yield {
		return u.FlowUnit()
	}
	return u.LengthUnit()
}
