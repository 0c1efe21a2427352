package server

import (
	"math"
	"net/http"
	"net/url"
	"strconv"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/server/draw"
)

// editMap is the map in the form: a picture that is clicked where the hole is.
type editMap struct {
	Src        string
	Lon, Lat   string // its middle
	MPerPixel  string
	W, H       int
	In, Out    string // the scales of the buttons
	Known      bool   // the place is marked on it
	Understood string // the position as it was read
}

// The picture's size, pixels, and its scales in metres a pixel: how near it
// begins, and how near and far it goes.
const (
	editMapW, editMapH            = 640, 360
	editMapStart                  = 4.0
	editMapNearest, editMapWidest = 0.25, 20000
)

// editWindow is the window that the form's map shows: as it was sent, else
// around the place, else around all wells.
func (s *Server) editWindow(q url.Values, w *records.Well) draw.View {
	v := draw.View{W: editMapW, H: editMapH, MPerPixel: editMapStart}
	number := func(name string, least, most float64) (float64, bool) {
		x, err := strconv.ParseFloat(q.Get(formMap+"."+name), 64)
		return x, err == nil && x >= least && x <= most
	}
	lon, ok := number("lon", -180, 180)
	lat, ok2 := number("lat", -85, 85)
	mpp, ok3 := number("mpp", editMapNearest, editMapWidest)
	if ok && ok2 && ok3 {
		v.Lon, v.Lat, v.MPerPixel = lon, lat, mpp
		return v
	}
	if at, ok := placeOf(w); ok {
		v.Lon, v.Lat = at.Lon, at.Lat
		return v
	}
	if b, ok := s.desk.Picture().Extent(); ok {
		v.Lon, v.Lat = (b.West+b.East)/2, (b.South+b.North)/2
		east := (b.East - b.West) * 111320 * math.Cos(v.Lat*math.Pi/180)
		v.MPerPixel = min(max(1.1*max(east/editMapW, (b.North-b.South)*111320/editMapH), editMapStart), editMapWidest)
		return v
	}
	v.MPerPixel = editMapWidest
	return v
}

func (s *Server) editMapOf(r *http.Request, f *editForm, w *records.Well) *editMap {
	v := s.editWindow(r.PostForm, w)
	switch r.PostForm.Get("do") {
	case "map:in":
		v.MPerPixel = max(v.MPerPixel/2, editMapNearest)
	case "map:out":
		v.MPerPixel = min(v.MPerPixel*2, editMapWidest)
	}
	at, known := placeOf(w)
	if known && (r.PostForm.Get(formMap+".x") != "" || !inWindow(v, at)) {
		v.Lon, v.Lat = at.Lon, at.Lat
	}
	q := url.Values{"lon": {trimFloat(v.Lon, 6)}, "lat": {trimFloat(v.Lat, 6)}, "mpp": {strconv.FormatFloat(v.MPerPixel, 'g', 6, 64)}, "w": {strconv.Itoa(editMapW)}, "h": {strconv.Itoa(editMapH)}, "show": {"none"}, "lines": {"0"}}
	if known {
		q.Set("at", latLon(at))
	}
	if t, ok := chosenTheme(r); ok {
		q.Set("theme", t.String())
	}
	m := &editMap{Src: "/map.svg?" + q.Encode(), Lon: q.Get("lon"), Lat: q.Get("lat"), MPerPixel: q.Get("mpp"), W: editMapW, H: editMapH, Known: known}
	if known {
		m.Understood = position.Format(at, position.DecimalDegrees)
	}
	return m
}

func inWindow(v draw.View, at position.LonLat) bool {
	x, y := v.Pixel(at.Lon, at.Lat)
	return x >= 0 && x <= v.W && y >= 0 && y <= v.H
}

// editPick takes the spot that was clicked on the form's map as the place.
func (s *Server) editPick(w http.ResponseWriter, r *http.Request, f *editForm) error {
	x, err := strconv.ParseFloat(r.PostForm.Get(formMap+".x"), 64)
	y, err2 := strconv.ParseFloat(r.PostForm.Get(formMap+".y"), 64)
	if err != nil || err2 != nil || r.PostForm.Get(formMap+".lon") == "" {
		return records.Errorf(records.Invalid, "the click came without its place on the map")
	}
	v := s.editWindow(r.PostForm, &records.Well{})
	lon, lat := v.Position(x, y)
	f.Typed["coordinates_given"] = position.Format(position.LonLat{Lon: lon, Lat: lat}, position.DecimalDegrees)
	f.Typed["datum"], f.Typed["located_by"] = "WGS 84", "map"
	return s.editShow(w, r, f, editShown{focus: "coordinates_given", told: "The place is where you clicked. Nothing is saved yet."})
}
