package position

import (
	"math"

	"github.com/tidwall/geodesic"
)

// Geodesic is the shortest line on the WGS 84 ellipsoid between two positions.
// Azimuths are degrees clockwise from true north, in [0, 360).
type Geodesic struct {
	DistanceM float64
	// StartAzimuthDeg is the direction of travel on leaving the first position.
	StartAzimuthDeg float64
	// EndAzimuthDeg is the direction of travel on arriving at the second.
	EndAzimuthDeg float64
	// BackAzimuthDeg is the direction from the second position back to the
	// first: the end azimuth turned half round.
	BackAzimuthDeg float64
}

// Between solves the inverse geodesic problem on WGS 84 (Karney 2013,
// "Algorithms for geodesics", J. Geodesy 87, 43-55), good to about 15 nm for
// every pair, near-antipodal ones included. For two equal positions the
// distance is 0 and the azimuths mean nothing. NaN in gives NaN out.
func Between(a, b LonLat) Geodesic {
	if !finite(a) || !finite(b) {
		return Geodesic{math.NaN(), math.NaN(), math.NaN(), math.NaN()}
	}
	var s, azi1, azi2 float64
	geodesic.WGS84.Inverse(a.Lat, a.Lon, b.Lat, b.Lon, &s, &azi1, &azi2)
	return Geodesic{
		DistanceM:       s,
		StartAzimuthDeg: compassDeg(azi1),
		EndAzimuthDeg:   compassDeg(azi2),
		BackAzimuthDeg:  compassDeg(azi2 + 180),
	}
}

// Distance is the geodesic distance in metres from a to b and the azimuth on
// leaving a, degrees clockwise from true north in [0, 360). See Between.
func Distance(a, b LonLat) (distanceM, azimuthDeg float64) {
	g := Between(a, b)
	return g.DistanceM, g.StartAzimuthDeg
}

// Destination is the position reached from start by following the geodesic
// that leaves it at azimuthDeg (clockwise from true north) for distanceM
// metres; a negative distance goes backwards. The longitude is in [-180, 180].
// A start, azimuth or distance that is not finite gives NaN.
func Destination(start LonLat, azimuthDeg, distanceM float64) LonLat {
	if !finite(start) || math.IsNaN(azimuthDeg-azimuthDeg) || math.IsNaN(distanceM-distanceM) {
		return LonLat{math.NaN(), math.NaN()}
	}
	var lat, lon float64
	geodesic.WGS84.Direct(start.Lat, start.Lon, azimuthDeg, distanceM, &lat, &lon, nil)
	return LonLat{Lon: wrapDeg(lon), Lat: lat}
}

// Haversine is the great-circle distance in metres on a sphere of the given
// radius in metres (Sinnott 1984, "Virtues of the haversine", Sky and
// Telescope 68, 159). A sphere differs from the ellipsoid by up to half a per
// cent: use Distance for anything that is shown or stored.
func Haversine(a, b LonLat, radiusM float64) float64 {
	lat1, lat2 := a.Lat*degToRad, b.Lat*degToRad
	sinLat := math.Sin((lat2 - lat1) / 2)
	sinLon := math.Sin((b.Lon - a.Lon) * degToRad / 2)
	h := sinLat*sinLat + math.Cos(lat1)*math.Cos(lat2)*sinLon*sinLon
	// Rounding can carry h a hair beyond 1 at the antipodes, never by more.
	return 2 * radiusM * math.Asin(math.Min(1, math.Sqrt(h)))
}

// finite reports that neither coordinate is NaN or infinite.
func finite(p LonLat) bool {
	return !math.IsNaN(p.Lon-p.Lon) && !math.IsNaN(p.Lat-p.Lat)
}

// compassDeg brings an azimuth into [0, 360).
func compassDeg(deg float64) float64 {
	deg = math.Mod(deg, 360)
	if deg < 0 {
		deg += 360
	}
	if deg >= 360 { // a tiny negative value rounds up to 360
		deg = 0
	}
	return deg
}
