package importer

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"tallybook/records"
)

// Area is the part of the world in which a source's wells lie, in degrees on
// WGS 84.
type Area struct {
	West  float64 `json:"west"`
	South float64 `json:"south"`
	East  float64 `json:"east"`
	North float64 `json:"north"`
}

// contains says whether a position lies in the area.
func (a *Area) contains(lon, lat float64) bool {
	return lon >= a.West && lon <= a.East && lat >= a.South && lat <= a.North
}

// check says what is wrong with an area that a mapping states.
func (a *Area) check() error {
	if !(a.West >= -180 && a.East <= 180 && a.South >= -90 && a.North <= 90 && a.West < a.East && a.South < a.North) {
		return records.Errorf(records.Invalid, `the area must be degrees with "west" below "east" and "south" below "north"`)
	}
	return nil
}

func (a *Area) String() string {
	return fmt.Sprintf("%s to %s, %s to %s", degrees(a.South, "N", "S"), degrees(a.North, "N", "S"), degrees(a.West, "E", "W"), degrees(a.East, "E", "W"))
}

func degrees(v float64, positive, negative string) string {
	if v < 0 {
		v, positive = -v, negative
	}
	return strconv.FormatFloat(v, 'f', 2, 64) + "° " + positive
}

// The thresholds by which an area is told from the positions themselves: all
// are ours, no source.
const (
	areaRows     = 20   // fewer positions tell nothing
	areaAgree    = 0.6  // at least this share must lie together
	areaSpread   = 8    // times the median distance from the median is still together
	areaLeastDeg = 0.05 // and this much always is
	areaMostDeg  = 25   // a wider area tells nothing of a swapped pair
	areaMargin   = 0.1  // what is added on each side, as a share of the area
)

// areaOf is the box of those positions that lie together: within a few median
// distances of the median, so that swapped pairs and lost signs, as long as
// they are the lesser part, do not move it. nil where the positions are few
// or do not lie together. positions are longitude and latitude in degrees.
func areaOf(positions [][2]float64) *Area {
	if len(positions) < areaRows {
		return nil
	}
	var low, high [2]float64
	for axis := range 2 {
		values := make([]float64, len(positions))
		for i, p := range positions {
			values[i] = p[axis]
		}
		mid := median(values)
		for i, p := range positions {
			values[i] = abs(p[axis] - mid)
		}
		reach := max(areaSpread*median(values), areaLeastDeg)
		low[axis], high[axis] = mid-reach, mid+reach
	}
	var box *Area
	agree := 0
	for _, p := range positions {
		if p[0] < low[0] || p[0] > high[0] || p[1] < low[1] || p[1] > high[1] {
			continue
		}
		agree++
		if box == nil {
			box = &Area{p[0], p[1], p[0], p[1]}
			continue
		}
		box.West, box.East = min(box.West, p[0]), max(box.East, p[0])
		box.South, box.North = min(box.South, p[1]), max(box.North, p[1])
	}
	if float64(agree) < areaAgree*float64(len(positions)) {
		return nil
	}
	x, y := max(box.East-box.West, areaLeastDeg), max(box.North-box.South, areaLeastDeg)
	if x > areaMostDeg || y > areaMostDeg {
		return nil
	}
	box.West, box.East = max(box.West-areaMargin*x, -180), min(box.East+areaMargin*x, 180)
	box.South, box.North = max(box.South-areaMargin*y, -90), min(box.North+areaMargin*y, 90)
	return box
}

func abs(v float64) float64 {
	if v < 0 {
		return -v
	}
	return v
}

// median is the middle value; it sorts values.
func median(values []float64) float64 {
	slices.Sort(values)
	return values[len(values)/2]
}

// The mends of a position that a mapping may decide on.
const (
	mendSwap = "swap" // longitude and latitude stand in each other's place
	mendSign = "sign" // a sign was lost: west or south was meant
)

// variant is another way in which a pair may have been meant.
type variant struct {
	lon, lat   float64
	swap, sign bool
}

func (v variant) needs() []string {
	var out []string
	if v.swap {
		out = append(out, mendSwap)
	}
	if v.sign {
		out = append(out, mendSign)
	}
	return out
}

func (v variant) words() string {
	switch {
	case v.swap && v.sign:
		return "with the two changed about and a sign put back"
	case v.swap:
		return "with the two changed about"
	}
	return "with a sign put back"
}

// meant finds the one way in which a pair that lies outside of the area may
// have been meant so that it lies within; ok is false where there is none, or
// more than one.
func (a *Area) meant(lon, lat float64) (found variant, ok bool) {
	n := 0
	try := func(v variant) {
		if a.contains(v.lon, v.lat) && !(n > 0 && found.lon == v.lon && found.lat == v.lat) {
			found = v
			n++
		}
	}
	for _, s := range [...]struct{ x, y float64 }{{1, 1}, {-1, 1}, {1, -1}, {-1, -1}} {
		flipped := s.x < 0 && lon != 0 || s.y < 0 && lat != 0
		if flipped {
			try(variant{s.x * lon, s.y * lat, false, true})
		}
		try(variant{s.x * lat, s.y * lon, true, s.x < 0 && lat != 0 || s.y < 0 && lon != 0})
	}
	return found, n == 1
}

// judgePlace holds a row's position against the area of the source. One that
// lies outside and would lie within if it were swapped, or had a sign that
// was lost, is refused with the position that was meant, or mended where the
// mapping decides so.
func (p *plan) judgePlace(row *Row, cells []string) {
	if p.area == nil {
		return
	}
	place := &row.Well.Place
	lon, lat := place.Lon, place.Lat
	if !place.Located {
		var ok bool
		if lon, lat, ok = p.writtenPair(cells); !ok {
			return
		}
	}
	if lon == 0 && lat == 0 || p.area.contains(lon, lat) {
		return
	}
	v, ok := p.area.meant(lon, lat)
	if !ok {
		if place.Located && p.area.far(lon, lat) {
			row.warn("lon, lat", fmt.Sprintf("lies far from the others, which lie in %s", p.area), "check the position")
		}
		return
	}
	written := p.placeText(cells)
	for _, need := range v.needs() {
		if !slices.Contains(p.mends, need) {
			row.Faults = slices.DeleteFunc(row.Faults, func(f records.Fault) bool { return f.Field == "lon, lat" })
			row.refuse("lon, lat", fmt.Sprintf("%s lies outside the area of the others (%s), and within it %s", written, p.area, v.words()),
				fmt.Sprintf("if it was meant so, give longitude %s and latitude %s, or decide it for the whole file: %s", shortDegrees(v.lon), shortDegrees(v.lat), strings.Join(v.needs(), " and ")))
			return
		}
	}
	row.Faults = slices.DeleteFunc(row.Faults, func(f records.Fault) bool {
		return f.Severity == records.Refusal && (f.Field == "lon, lat" || strings.HasPrefix(f.Field, "coordinates"))
	})
	place.Located, place.Lon, place.Lat, place.LonText, place.LatText = true, v.lon, v.lat, "", ""
	if place.Given == "" {
		place.Given = written
	}
	row.warn("lon, lat", written+" was taken "+v.words()+", as was decided for this file", "nothing to do if that was right")
}

func shortDegrees(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// far says whether a position lies further from the area than the area is
// wide.
func (a *Area) far(lon, lat float64) bool {
	x, y := a.East-a.West, a.North-a.South
	return lon < a.West-x || lon > a.East+x || lat < a.South-y || lat > a.North+y
}

// writtenPair is the longitude and latitude of a row as two numbers, whether
// or not they can be such.
func (p *plan) writtenPair(cells []string) (lon, lat float64, ok bool) {
	i, okLon := p.place["lon"]
	k, okLat := p.place["lat"]
	if !okLon || !okLat {
		return 0, 0, false
	}
	x, y, ok := decimalPair(strings.TrimSpace(cells[i]), strings.TrimSpace(cells[k]))
	if !ok {
		return 0, 0, false
	}
	lon, errX := strconv.ParseFloat(x, 64)
	lat, errY := strconv.ParseFloat(y, 64)
	return lon, lat, errX == nil && errY == nil
}

// placeText is a row's position as it was written.
func (p *plan) placeText(cells []string) string {
	var parts []string
	for _, name := range [...]string{"lon", "lat", "coordinates", "utm_zone", "easting", "northing"} {
		if i, ok := p.place[name]; ok {
			if text := strings.TrimSpace(cells[i]); text != "" {
				switch name {
				case "lon":
					text = "longitude " + text
				case "lat":
					text = "latitude " + text
				}
				parts = append(parts, text)
			}
		}
	}
	return clip(strings.Join(parts, ", "))
}
