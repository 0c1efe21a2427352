package position

import (
	"fmt"
	"math"
	"strconv"
)

// Format writes a position in a form, latitude first:
//
//	decimal degrees, 6 decimals (0.11 m):   43.200000, -71.500000
//	degrees and minutes, 4 (0.19 m):        43°12.0000′N 71°30.0000′W
//	degrees, minutes, seconds, 2 (0.31 m):  43°12′00.00″N 71°30′00.00″W
//	UTM, 1 decimal (0.1 m):                 19N 296887.1 4786059.2
//
// The metres are those of one unit of the last digit. Parse reads what Format
// writes and comes back to the same place within half a unit on each axis. A
// position outside the latitudes of UTM is written in decimal degrees instead,
// as is any with an unknown form. A position that is not valid is written "no
// position".
func Format(at LonLat, form Form) string {
	if at.Valid() != nil {
		return "no position"
	}
	switch form {
	case DegreesMinutes:
		return sexagesimal(at.Lat, 'N', 'S', 1, 4) + " " + sexagesimal(at.Lon, 'E', 'W', 1, 4)
	case DegreesMinutesSeconds:
		return sexagesimal(at.Lat, 'N', 'S', 2, 2) + " " + sexagesimal(at.Lon, 'E', 'W', 2, 2)
	case UTMGrid:
		if HasUTM(at) {
			return FormatIn(at, ZoneOf(at))
		}
	}
	return decimal(at.Lat, 6) + ", " + decimal(at.Lon, 6)
}

// FormatIn writes a position in a stated UTM zone, its own or a neighbouring
// one: "19N 296887.1 4786059.2", "56 south 334873.0 6252266.1". It panics on a
// zone that does not exist.
func FormatIn(at LonLat, zone Zone) string {
	eastingM, northingM := UTM(zone.Number, zone.North).Forward(at)
	return zone.String() + " " + decimal(eastingM, 1) + " " + decimal(northingM, 1)
}

// decimal writes a number with a fixed count of decimals and no minus zero.
func decimal(value float64, decimals int) string {
	text := strconv.FormatFloat(value, 'f', decimals, 64)
	if text[0] == '-' && allZero(text[1:]) {
		return text[1:]
	}
	return text
}

func allZero(digits string) bool {
	for i := range len(digits) {
		if digits[i] != '0' && digits[i] != '.' {
			return false
		}
	}
	return true
}

// sexagesimal writes an angle in degrees and minutes (parts 1) or degrees,
// minutes and seconds (parts 2). It counts whole units of the last decimal, so
// that nothing is ever rounded up to 60.
func sexagesimal(deg float64, positive, negative byte, parts, decimals int) string {
	perUnit, width := 1.0, decimals
	for range decimals {
		perUnit *= 10
	}
	perDegree := 60 * perUnit
	if parts == 2 {
		perDegree *= 60
	}
	letter := positive
	if deg < 0 {
		letter = negative
	}
	units := int64(math.RoundToEven(math.Abs(deg) * perDegree))
	if units == 0 {
		letter = positive
	}
	whole, rest := units/int64(perDegree), units%int64(perDegree)
	fraction := rest % int64(perUnit)
	rest /= int64(perUnit)
	if parts == 1 {
		return fmt.Sprintf("%d°%02d.%0*d′%c", whole, rest, width, fraction, letter)
	}
	return fmt.Sprintf("%d°%02d′%02d.%0*d″%c", whole, rest/60, rest%60, width, fraction, letter)
}
