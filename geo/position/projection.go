package position

import (
	"fmt"
	"math"
)

// Projection takes positions to plane coordinates and back. x grows east and y
// north; Unit says in what.
type Projection interface {
	// Forward gives the plane coordinates of a position.
	Forward(at LonLat) (x, y float64)
	// Inverse gives the position of plane coordinates.
	Inverse(x, y float64) LonLat
	// Unit is "m" or "degree".
	Unit() string
	// Describe names the projection and its constants in words.
	Describe() string
}

// Geographic is the projection that leaves longitude and latitude in degrees
// as they are: x is the longitude, y the latitude (EPSG:4326 in the axis order
// of GeoJSON).
type Geographic struct{}

// Forward is the longitude and the latitude in degrees.
func (Geographic) Forward(at LonLat) (x, y float64) { return at.Lon, at.Lat }

// Inverse is the position with these coordinates.
func (Geographic) Inverse(x, y float64) LonLat { return LonLat{Lon: x, Lat: y} }

// Unit is "degree".
func (Geographic) Unit() string { return "degree" }

// Describe names the projection.
func (Geographic) Describe() string { return "longitude and latitude in degrees, WGS 84" }

// WebMercator is EPSG:3857: the spherical Mercator formulas with the WGS 84
// equatorial radius applied to ellipsoidal latitudes (IOGP Guidance Note 7-2,
// method 1024). Its metres are true nowhere but near the equator; it serves
// map tiles only and never a distance. Latitudes of 90 degrees are infinitely
// far away.
type WebMercator struct{}

// Forward projects to web Mercator metres.
func (WebMercator) Forward(at LonLat) (x, y float64) {
	a := WGS84().SemiMajorM
	return a * at.Lon * degToRad, a * math.Asinh(math.Tan(at.Lat*degToRad))
}

// Inverse gives the position of web Mercator metres; the longitude is in
// [-180, 180].
func (WebMercator) Inverse(x, y float64) LonLat {
	a := WGS84().SemiMajorM
	return LonLat{Lon: wrapDeg(x / a * radToDeg), Lat: math.Atan(math.Sinh(y/a)) * radToDeg}
}

// Unit is "m".
func (WebMercator) Unit() string { return "m" }

// Describe names the projection and its use.
func (WebMercator) Describe() string {
	return "web Mercator, for map tiles only: its lengths are not ground lengths"
}

// EPSGError reports a code of the EPSG register that EPSG does not know.
type EPSGError struct {
	Code int
	Hint string // what to use instead, may be empty
}

// Error says which codes there are.
func (e *EPSGError) Error() string {
	text := fmt.Sprintf("EPSG:%d is not among the projections here: 4326, 3857, and UTM on WGS 84 (32601 to 32660 north, 32701 to 32760 south)", e.Code)
	if e.Hint != "" {
		text += "; " + e.Hint
	}
	return text
}

// EPSG is the projection of a code of the EPSG register: 4326 (longitude and
// latitude, in that order), 3857 (web Mercator), 32601 to 32660 and 32701 to
// 32760 (UTM on WGS 84, north and south). Any other code is an *EPSGError.
func EPSG(code int) (Projection, error) {
	zone := code % 100
	isZone := Zone{Number: zone}.Valid()
	switch {
	case code == 4326:
		return Geographic{}, nil
	case code == 3857:
		return WebMercator{}, nil
	case code/100 == 326 && isZone:
		return UTM(zone, true), nil
	case code/100 == 327 && isZone:
		return UTM(zone, false), nil
	case code == 4269:
		return nil, &EPSGError{code, "NAD83 agrees with WGS 84 within one to two metres: use 4326 if that will do"}
	case code/100 == 269 && zone >= 1 && zone <= 23:
		return nil, &EPSGError{code, fmt.Sprintf("NAD83 agrees with WGS 84 within one to two metres: use %d if that will do", 32600+zone)}
	case code == 4267, code/100 == 267 && zone >= 1 && zone <= 23:
		return nil, &EPSGError{code, "NAD27 needs a grid shift first"}
	}
	return nil, &EPSGError{Code: code}
}

// ForExtent is one projection for a whole set of positions: a transverse
// Mercator on WGS 84 on the middle meridian of the extent, with the scale on
// that meridian reduced so that lengths are as much too short in the middle as
// they are too long at the eastern and western edge. The error of lengths is
// then (width / R)^2 / 16 at most: 4 parts in 10,000 for a set 500 km wide, 15
// for 1,000 km.
//
// The arguments are degrees. Where west exceeds east the extent spans the
// antimeridian. The meridian is rounded to a tenth of a degree in extents wider
// than two degrees and to a hundredth in others, the scale to five decimals,
// so that they can be written down. Beyond a half-width of 30 degrees of
// longitude at the equator (3,300 km) the scale is reduced no further, and no
// projection does well. An extent that is not finite, or whose south exceeds
// its north, gives a projection on no meridian, all of whose results are NaN.
func ForExtent(west, south, east, north float64) TransverseMercator {
	for _, v := range []float64{west, south, east, north} {
		if math.IsNaN(v - v) {
			south = math.Inf(1)
		}
	}
	if south > north {
		return NewTransverseMercator(math.NaN(), 1, 0, 0, WGS84())
	}
	width := east - west
	if width < 0 {
		width += 360
	}
	unit := 10.0 // per degree
	if width <= 2 {
		unit = 100
	}
	meridian := wrapDeg(math.Round((west+width/2)*unit) / unit)
	// The extent is widest where it comes closest to the equator.
	lat := 0.0
	if south > 0 {
		lat = south
	} else if north < 0 {
		lat = north
	}
	half := math.Min(width/2, 30) * degToRad * math.Cos(lat*degToRad)
	scale := math.Round((1-half*half/4)*1e5) / 1e5
	return NewTransverseMercator(meridian, scale, 0, 0, WGS84())
}
