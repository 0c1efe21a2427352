// Package position reads and writes places on the ground and measures between
// them: the forms in which people give coordinates, geodesic distance on the
// ellipsoid, a fast local metric plane, and the transverse Mercator family of
// projections.
//
// Angles are degrees, lengths metres; the fields of a LonLat are named, and
// every text is latitude first unless its letters say otherwise. Positions are
// on WGS 84. The package keeps no state, reads no files and makes no grid
// shifts: coordinates on a datum that needs one are refused (see Datum).
package position

import (
	"fmt"
	"math"
	"strconv"
)

// LonLat is a position on WGS 84 in decimal degrees: longitude positive east
// of Greenwich, latitude positive north of the equator. The zero value is the
// valid position 0, 0; NaN in either field is no position.
type LonLat struct {
	Lon, Lat float64
}

// WrapLongitude brings a longitude in degrees, less than a turn off, into
// [-180, 180].
func WrapLongitude(lon float64) float64 {
	switch {
	case lon > 180:
		return lon - 360
	case lon < -180:
		return lon + 360
	}
	return lon
}

// Valid returns nil where both coordinates are finite, the longitude is
// within [-180, 180] and the latitude within [-90, 90]; otherwise an error of
// type *RangeError that says which one is wrong and how.
func (p LonLat) Valid() error {
	switch {
	case math.IsNaN(p.Lat) || math.IsInf(p.Lat, 0):
		return &RangeError{Axis: Latitude, ValueDeg: p.Lat}
	case math.IsNaN(p.Lon) || math.IsInf(p.Lon, 0):
		return &RangeError{Axis: Longitude, ValueDeg: p.Lon}
	case math.Abs(p.Lat) > 90:
		return &RangeError{Axis: Latitude, ValueDeg: p.Lat}
	case math.Abs(p.Lon) > 180:
		return &RangeError{Axis: Longitude, ValueDeg: p.Lon}
	}
	return nil
}

// String writes the position as Format does in decimal degrees, latitude
// first: "43.200000, -71.500000".
func (p LonLat) String() string { return Format(p, DecimalDegrees) }

// Axis names one of the two coordinates of a position.
type Axis int

// The axes of a position.
const (
	Latitude Axis = iota + 1
	Longitude
)

// String is "latitude" or "longitude".
func (a Axis) String() string {
	switch a {
	case Latitude:
		return "latitude"
	case Longitude:
		return "longitude"
	}
	return "no axis"
}

// limitDeg is the largest absolute value that the axis may take.
func (a Axis) limitDeg() float64 {
	if a == Latitude {
		return 90
	}
	return 180
}

// RangeError reports a coordinate that is not finite or lies beyond its axis.
type RangeError struct {
	Axis     Axis
	ValueDeg float64
}

// Error says which coordinate is wrong and what its limits are.
func (e *RangeError) Error() string {
	if math.IsNaN(e.ValueDeg) || math.IsInf(e.ValueDeg, 0) {
		return fmt.Sprintf("%s is not a finite number", e.Axis)
	}
	limit := strconv.FormatFloat(e.Axis.limitDeg(), 'f', -1, 64)
	return fmt.Sprintf("%s %s is outside -%s to %s degrees",
		e.Axis, strconv.FormatFloat(e.ValueDeg, 'f', -1, 64), limit, limit)
}

// wrapDeg brings a longitude or a difference of longitudes into [-180, 180].
// A value that is within already is returned unchanged to the last bit.
func wrapDeg(deg float64) float64 {
	if deg >= -180 && deg <= 180 {
		return deg
	}
	return math.Remainder(deg, 360)
}

const (
	degToRad = math.Pi / 180
	radToDeg = 180 / math.Pi
)
