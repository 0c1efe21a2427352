package position

import (
	"fmt"
	"math"
	"strconv"
)

// Ellipsoid is a figure of the earth: an ellipsoid of revolution by its
// equatorial radius in metres and its flattening f = (a - b) / a. The zero
// value is read as WGS 84 wherever this package takes an Ellipsoid.
type Ellipsoid struct {
	SemiMajorM float64
	Flattening float64
}

// WGS84 is the ellipsoid of the World Geodetic System 1984: a = 6,378,137 m,
// 1/f = 298.257223563 (NIMA TR8350.2).
func WGS84() Ellipsoid { return Ellipsoid{6378137, 1 / 298.257223563} }

// GRS80 is the Geodetic Reference System 1980, on which NAD83 and GDA94 stand:
// a = 6,378,137 m, 1/f = 298.257222101. It differs from WGS 84 by 0.1 mm in
// the polar radius.
func GRS80() Ellipsoid { return Ellipsoid{6378137, 1 / 298.257222101} }

// Clarke1866 is the ellipsoid of NAD27: a = 6,378,206.4 m, b = 6,356,583.8 m.
func Clarke1866() Ellipsoid {
	const a, b = 6378206.4, 6356583.8
	return Ellipsoid{a, (a - b) / a}
}

// orWGS84 gives the zero value its meaning.
func (e Ellipsoid) orWGS84() Ellipsoid {
	if e == (Ellipsoid{}) {
		return WGS84()
	}
	return e
}

// eccentricitySquared is e^2 = f(2 - f).
func (e Ellipsoid) eccentricitySquared() float64 { return e.Flattening * (2 - e.Flattening) }

// thirdFlattening is n = (a - b) / (a + b).
func (e Ellipsoid) thirdFlattening() float64 { return e.Flattening / (2 - e.Flattening) }

// MeanRadiusM is the arithmetic mean radius R1 = (2a + b) / 3 in metres,
// 6,371,008.771 m for WGS 84.
func (e Ellipsoid) MeanRadiusM() float64 {
	e = e.orWGS84()
	return e.SemiMajorM * (1 - e.Flattening/3)
}

// RadiiM gives the two principal radii of curvature in metres at a latitude in
// degrees: along the meridian (M) and across it, in the prime vertical (N).
// A degree of latitude is M pi/180 long, a degree of longitude N cos(lat)
// pi/180. (Snyder 1987, USGS Professional Paper 1395, eqs 4-18 and 4-20.)
func (e Ellipsoid) RadiiM(latDeg float64) (meridianM, primeVerticalM float64) {
	e = e.orWGS84()
	e2 := e.eccentricitySquared()
	s := math.Sin(latDeg * degToRad)
	w2 := 1 - e2*s*s
	primeVerticalM = e.SemiMajorM / math.Sqrt(w2)
	return primeVerticalM * (1 - e2) / w2, primeVerticalM
}

// Describe names the ellipsoid, or gives its constants where it has no name
// here.
func (e Ellipsoid) Describe() string {
	switch e = e.orWGS84(); e {
	case WGS84():
		return "WGS 84 ellipsoid"
	case GRS80():
		return "GRS 80 ellipsoid"
	case Clarke1866():
		return "Clarke 1866 ellipsoid"
	}
	return fmt.Sprintf("ellipsoid of a = %s m, f = %s",
		strconv.FormatFloat(e.SemiMajorM, 'f', -1, 64), strconv.FormatFloat(e.Flattening, 'g', -1, 64))
}
