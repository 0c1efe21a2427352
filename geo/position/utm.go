package position

import (
	"fmt"
	"math"
)

// Zone is a zone of the Universal Transverse Mercator grid: its number, 1 to
// 60, and its hemisphere. The zero value is no zone.
type Zone struct {
	Number int
	North  bool
}

// Valid reports that the zone exists.
func (z Zone) Valid() bool { return z.Number >= 1 && z.Number <= 60 }

// String writes "19N" in the northern hemisphere and "19 south" in the
// southern, where a bare S could be taken for the latitude band S, which lies
// in the north. No zone is "no zone".
func (z Zone) String() string {
	switch {
	case !z.Valid():
		return "no zone"
	case z.North:
		return fmt.Sprintf("%dN", z.Number)
	}
	return fmt.Sprintf("%d south", z.Number)
}

// CentralMeridianDeg is the zone's central meridian, 6 n - 183 degrees.
func (z Zone) CentralMeridianDeg() float64 { return float64(6*z.Number - 183) }

// UTM is the projection of a zone on WGS 84: scale 0.9996 on the central
// meridian, false easting 500,000 m, false northing 0 in the north and
// 10,000,000 m in the south. (NGA.SIG.0012 2014.) It panics on a number
// outside 1 to 60.
func UTM(number int, north bool) TransverseMercator { return UTMOn(WGS84(), number, north) }

// UTMOn is UTM on another ellipsoid. It panics on a number outside 1 to 60.
func UTMOn(on Ellipsoid, number int, north bool) TransverseMercator {
	zone := Zone{number, north}
	if !zone.Valid() {
		panic(fmt.Sprintf("position: UTM zone %d is not within 1 to 60", number))
	}
	falseNorthingM := 0.0
	if !north {
		falseNorthingM = 10_000_000
	}
	return NewTransverseMercator(zone.CentralMeridianDeg(), 0.9996, 500_000, falseNorthingM, on)
}

// HasUTM reports that a position lies where UTM is used, from 80 degrees south
// to 84 degrees north.
func HasUTM(at LonLat) bool { return at.Valid() == nil && at.Lat >= -80 && at.Lat <= 84 }

// ZoneOf is the UTM zone a position belongs to: six degrees wide, counted
// east from 180, with the exceptions of the grid for south-west Norway (zone
// 32 from 3°E between 56°N and 64°N) and Svalbard (zones 31, 33, 35, 37 from
// 72°N). The equator counts as north. The zone's number is given beyond the
// latitudes of HasUTM too; a position that is not valid has no zone.
func ZoneOf(at LonLat) Zone {
	if at.Valid() != nil {
		return Zone{}
	}
	number := int(math.Floor((at.Lon+180)/6))%60 + 1 // 180 is -180: zone 1
	switch {
	case at.Lat >= 56 && at.Lat < 64 && at.Lon >= 3 && at.Lon < 12:
		number = 32
	case at.Lat >= 72 && at.Lat < 84 && at.Lon >= 0 && at.Lon < 42:
		switch {
		case at.Lon < 9:
			number = 31
		case at.Lon < 21:
			number = 33
		case at.Lon < 33:
			number = 35
		default:
			number = 37
		}
	}
	return Zone{Number: number, North: at.Lat >= 0}
}

// BandOf is the latitude band letter of the grid: C to X without I and O,
// eight degrees each from 80°S, X twelve. It is 0 beyond the limits of HasUTM.
func BandOf(latDeg float64) byte {
	if !(latDeg >= -80 && latDeg <= 84) {
		return 0
	}
	return bandLetters[min(int(math.Floor((latDeg+80)/8)), len(bandLetters)-1)]
}

const bandLetters = "CDEFGHJKLMNPQRSTUVWX"
