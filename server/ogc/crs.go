package ogc

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/cql2"
)

// Coordinate reference systems (OGC 18-058r1, Part 2). The records are kept in
// crs84; what is asked for in another is turned into it with geo/position.

const epsgURI = "http://www.opengis.net/def/crs/EPSG/0/"

// refSystem is a coordinate reference system; the zero one is crs84.
type refSystem struct {
	uri string // "": crs84
	cql2.CRS
}

// crsCodes are the systems of the EPSG register, in the order in which they are
// listed: WGS 84 with its latitude first, web Mercator, the zones of UTM.
var crsCodes = func() []int {
	codes := []int{4326, 3857}
	for _, first := range []int{32601, 32701} {
		for i := range 60 {
			codes = append(codes, first+i)
		}
	}
	return codes
}()

// crsURIs are all that may be asked for.
var crsURIs = func() []string {
	out := []string{crs84}
	for _, code := range crsCodes {
		out = append(out, epsgURI+strconv.Itoa(code))
	}
	return out
}()

// crsList is the list in words, for a message.
const crsList = crs84 + ", " + epsgURI + "4326, " + epsgURI + "3857, " + epsgURI + "32601 to 32660, " + epsgURI + "32701 to 32760"

// crsPattern is what a system's address looks like, for the OpenAPI document.
const crsPattern = `^http://www\.opengis\.net/def/crs/(OGC/1\.3/CRS84|EPSG/0/(4326|3857|32[67](0[1-9]|[1-5][0-9]|60)))$`

// crsNamed finds the system that a parameter asks for.
func crsNamed(parameter, uri string) (refSystem, error) {
	if uri == crs84 {
		return refSystem{}, nil
	}
	code, isCode := strings.CutPrefix(uri, epsgURI)
	n, err := strconv.Atoi(code)
	if !isCode || err != nil || strconv.Itoa(n) != code {
		return refSystem{}, noCRS(parameter, uri)
	}
	plane, err := position.EPSG(n)
	if err != nil {
		return refSystem{}, noCRS(parameter, uri)
	}
	s := refSystem{uri: uri, CRS: cql2.CRS{Plane: plane}}
	if n == 4326 {
		s.CRS = cql2.CRS{LatFirst: true}
	}
	return s, nil
}

func noCRS(parameter, uri string) error {
	return records.Errorf(records.Invalid, "%s=%s is no coordinate reference system here; there are: %s", parameter, clip(uri), crsList)
}

// address is what the system is called.
func (s refSystem) address() string {
	if s.uri == "" {
		return crs84
	}
	return s.uri
}

// coordinates are a position's two numbers in the order of the system's axes;
// none where the system has no place for it: a pole in web Mercator, and the
// two places on the equator that lie infinitely far off in a zone of UTM.
func (s refSystem) coordinates(lon, lat float64) (first, second float64, ok bool) {
	switch {
	case s.Plane != nil:
		at := position.LonLat{Lon: lon, Lat: lat}
		first, second = s.Plane.Forward(at)
		return first, second, comesBack(s.Plane, first, second, at)
	case s.LatFirst:
		return lat, lon, true
	}
	return lon, lat, true
}

// comesBack says whether the numbers lead back to the position, within a metre.
func comesBack(plane position.Projection, x, y float64, at position.LonLat) bool {
	if _, mercator := plane.(position.WebMercator); mercator && math.Abs(at.Lat) >= 90 {
		return false
	}
	const degrees = 1e-5
	back := plane.Inverse(x, y)
	east := math.Remainder(back.Lon-at.Lon, 360) * math.Cos(at.Lat*math.Pi/180)
	return math.Abs(back.Lat-at.Lat) < degrees && math.Abs(east) < degrees // false for what is no number
}

// crsParameter is one of the parameters that name a system.
func crsParameter(name, about string, set func(*ask, refSystem)) parameter {
	return parameter{name: name, about: about, schema: schema{Type: "string", Format: "uri", Pattern: crsPattern, Default: crs84}, example: epsgURI + "4326",
		read: func(a *ask, value string) error {
			s, err := crsNamed(name, value)
			if err == nil {
				set(a, s)
			}
			return err
		}}
}

func answerCRS() parameter {
	return crsParameter("crs", "The coordinate reference system of the answer's positions, by its address as the collection lists it; EPSG:4326 has the latitude first.",
		func(a *ask, s refSystem) { a.crs = s })
}

// answeredIn tells an answer's system in its header, as Part 2 has it.
func (c *call) answeredIn(s refSystem) {
	c.w.Header().Set("Content-Crs", "<"+s.address()+">")
}

// itemCRS is the system that one feature is asked for in.
func (c *call) itemCRS() (refSystem, error) {
	uri, given := c.r.URL.Query()["crs"]
	if !given {
		return refSystem{}, nil
	}
	return crsNamed("crs", uri[0])
}

// boxCondition is what a box asks of a feature: four numbers in the order of
// the system's axes, the lower ends first.
func boxCondition(v [4]float64, s refSystem, said string) (records.Condition, error) {
	if s.Plane != nil {
		where, problem := cql2.InBox(v, s.CRS)
		if problem != "" {
			return nil, records.Errorf(records.Invalid, "bbox=%s: %s", clip(said), problem)
		}
		return where, nil
	}
	order := "west,south,east,north"
	if s.LatFirst {
		v = [4]float64{v[1], v[0], v[3], v[2]}
		order = "south,west,north,east, for the latitude stands first in " + s.uri
	}
	if v[1] > v[3] {
		return nil, records.Errorf(records.Invalid, "bbox=%s: its south lies north of its north; give %s", clip(said), order)
	}
	box := records.Bounds{West: v[0], South: v[1], East: v[2], North: v[3]}
	if box.West <= box.East { // beyond the earth's end there is nothing
		box.West, box.East = max(box.West, -180), min(box.East, 180)
		if box.West > box.East {
			return records.CondAny{}, nil
		}
	}
	return records.CondBox{Box: box}, nil
}

// appendPoint appends a geometry: a point in a system, or null.
func (s refSystem) appendPoint(b []byte, lon, lat float64, located bool) []byte {
	first, second, ok := s.coordinates(lon, lat)
	if !located || !ok {
		return append(b, "null"...)
	}
	b = append(b, `{"type":"Point","coordinates":[`...)
	b = append(appendNumber(b, first), ',')
	return append(appendNumber(b, second), `]}`...)
}

// String is for messages of the program's own faults.
func (s refSystem) String() string { return fmt.Sprintf("<%s>", s.address()) }
