package say

import (
	"math"
	"regexp"
	"strings"

	"tallybook/records"
)

// Distance writes a distance over ground, given in metres, as a person would:
// '640 ft', '1,450 ft', '1.2 mi' in US units, '195 m', '1.9 km' in SI. Feet
// and metres are rounded to tens from a hundred up, since positions of wells
// are no better.
func (s System) Distance(metres float64) string {
	short, long, unit, far := metres, metres/1000, "m", "km"
	if s == US {
		short, long, unit, far = metres/0.3048, metres/1609.344, "ft", "mi"
	}
	limit := 1000.0
	if s == US {
		limit = 5280
	}
	switch {
	case math.IsNaN(metres) || math.IsInf(metres, 0) || metres < 0:
		return "–"
	case math.Round(short/10)*10 < limit:
		if short >= 100 {
			short = math.Round(short/10) * 10
		}
		return s.Figure(short, 0) + " " + unit
	case long < 9.95:
		return s.Figure(long, 1) + " " + far
	}
	return s.Figure(long, 0) + " " + far
}

// Bearing names a direction, given in degrees clockwise from north, by the
// nearest of the eight points: 'N', 'NE', … It is "" when not finite.
func Bearing(degrees float64) string {
	if math.IsNaN(degrees) || math.IsInf(degrees, 0) {
		return ""
	}
	d := math.Mod(degrees, 360)
	if d < 0 {
		d += 360
	}
	return [...]string{"N", "NE", "E", "SE", "S", "SW", "W", "NW"}[int(math.Round(d/45))%8]
}

// mileM is the international mile.
const mileM = 1609.344

var distanceText = regexp.MustCompile(`^(.*?[0-9½¼¾.])\s*(mi|miles?|km|m|metres?|meters?|ft|feet|')?$`)

// ParseDistance reads a distance over ground with its unit, in metres. One
// without a unit is in feet or metres where it is above 50, which nobody means in
// miles or kilometres, and in those otherwise.
func (s System) ParseDistance(text string) (float64, error) {
	wrong := records.Errorf(records.Invalid, "the radius: %q is no distance; write one such as 0.5 mi, 2640 ft, 800 m or 1 km", text[:min(len(text), 40)])
	m := distanceText.FindStringSubmatch(strings.ToLower(strings.TrimSpace(text)))
	if m == nil {
		return 0, wrong
	}
	a, err := records.ParseAmount(m[1], records.DimLength, records.Metre)
	v, exact := a.Number()
	if err != nil || !exact || !(v > 0) {
		return 0, wrong
	}
	switch m[2] {
	case "mi", "mile", "miles":
		return v * mileM, nil
	case "km":
		return v * 1000, nil
	case "m", "metre", "metres", "meter", "meters":
		return v, nil
	case "ft", "feet", "'":
		return records.Foot.ToBase(v), nil
	}
	switch {
	case v > 50:
		return s.LengthUnit().ToBase(v), nil
	case s == SI:
		return v * 1000, nil
	}
	return v * mileM, nil
}
