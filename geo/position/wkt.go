package position

import (
	"math"
	"strconv"
	"strings"
)

// parseWKT reads a point in well-known text (OGC 06-103r4, section 7), in lower
// case: "point (lon lat)", with z or m, and with the SRID before it that many
// databases write. A projected SRID is read by EPSG.
func parseWKT(text string) (Reading, *ParseError) {
	const form = "write POINT (longitude latitude)"
	projection := Projection(Geographic{})
	if srid, rest, ok := strings.Cut(strings.TrimPrefix(text, "srid="), ";"); ok {
		code, err := strconv.Atoi(strings.TrimSpace(srid))
		if err != nil {
			return Reading{}, refuse("the SRID is not a number", "write SRID=4326;POINT (longitude latitude)")
		}
		projection, err = EPSG(code)
		if err != nil {
			return Reading{}, refuse(err.Error(), "give the point in SRID 4326")
		}
		text = strings.TrimSpace(rest)
	}
	body, ok := strings.CutPrefix(text, "point")
	if !ok {
		return Reading{}, refuse("the geometry is no point", form)
	}
	body = strings.TrimSpace(body)
	dimensions := 2
	for _, kind := range []struct {
		word string
		n    int
	}{{"zm", 4}, {"z", 3}, {"m", 3}} {
		if rest, ok := strings.CutPrefix(body, kind.word); ok {
			body, dimensions = strings.TrimSpace(rest), kind.n
			break
		}
	}
	if body == "empty" {
		return Reading{}, refuse("the point is empty", form)
	}
	if !strings.HasPrefix(body, "(") || !strings.HasSuffix(body, ")") {
		return Reading{}, refuse("the point's brackets are missing", form)
	}
	fields := strings.Fields(body[1 : len(body)-1])
	// Older text gives a height without the letter Z.
	if len(fields) != dimensions && !(dimensions == 2 && len(fields) == 3) {
		return Reading{}, refusef(form, "the point has %d numbers", len(fields))
	}
	x, xStep, okX := plainNumber(fields[0], true)
	y, yStep, okY := plainNumber(fields[1], true)
	if !okX || !okY {
		return Reading{}, refuse("a coordinate of the point is not a plain decimal number", form)
	}
	if projection.Unit() == "m" {
		at := projection.Inverse(x, y)
		// Coordinates beyond the projection do not come back from there.
		if bx, by := projection.Forward(at); at.Valid() != nil || !(math.Hypot(bx-x, by-y) < 0.01) {
			return Reading{}, refuse("the point lies outside its projection", "check the coordinates and the SRID")
		}
		reading := Reading{At: cleanZero(at), Form: DecimalDegrees, PrecisionM: max(xStep, yStep)}
		if tm, ok := projection.(TransverseMercator); ok {
			reading.Form = UTMGrid
			reading.Zone = Zone{Number: int(tm.CentralMeridianDeg+183) / 6, North: tm.FalseNorthingM == 0}
			if problem := refuseGridRange(x, y, true); problem != nil {
				return Reading{}, problem
			}
			if problem := (&gridText{}).refusePlace(reading.Zone, at); problem != nil {
				return Reading{}, problem
			}
		}
		return reading, nil
	}
	return degreesReading(LonLat{Lon: x, Lat: y}, xStep, yStep, "WKT puts longitude first")
}

// parseURI reads what follows "geo:" in a URI of RFC 5870: latitude, longitude
// and perhaps altitude, then parameters.
func parseURI(text string) (Reading, *ParseError) {
	const form = "write geo:latitude,longitude with decimal degrees"
	parts := strings.Split(text, ";")
	numbers := strings.Split(parts[0], ",")
	if len(numbers) != 2 && len(numbers) != 3 {
		return Reading{}, refusef(form, "the URI has %d coordinates", len(numbers))
	}
	lat, latStep, okLat := plainNumber(numbers[0], false)
	lon, lonStep, okLon := plainNumber(numbers[1], false)
	if !okLat || !okLon {
		return Reading{}, refuse("a coordinate of the URI is not a plain decimal number", form)
	}
	uncertaintyM := 0.0
	for _, parameter := range parts[1:] {
		name, value, _ := strings.Cut(parameter, "=")
		switch strings.ToLower(name) {
		case "crs":
			if !strings.EqualFold(value, "wgs84") {
				return Reading{}, refuse("the URI names another reference system than wgs84", "give the position on WGS 84")
			}
		case "u":
			u, _, ok := plainNumber(value, false)
			if !ok || u < 0 {
				return Reading{}, refuse("the URI's uncertainty is not a number of metres", "write ;u=10 for 10 m")
			}
			uncertaintyM = u
		}
	}
	reading, problem := degreesReading(LonLat{Lon: lon, Lat: lat}, lonStep, latStep, "a geo: URI puts latitude first")
	if problem != nil {
		return Reading{}, problem
	}
	reading.Datum = DatumWGS84
	reading.UncertaintyM = uncertaintyM
	return reading, nil
}

// degreesReading is the reading of a pair whose form fixes the order.
func degreesReading(at LonLat, lonStepDeg, latStepDeg float64, order string) (Reading, *ParseError) {
	if err := at.Valid(); err != nil {
		problem := refuse(err.Error(), order)
		if swapped := (LonLat{Lon: at.Lat, Lat: at.Lon}); swapped.Valid() == nil {
			return Reading{}, problem.suggest(swapped)
		}
		return Reading{}, problem
	}
	return Reading{
		At:         cleanZero(at),
		Form:       DecimalDegrees,
		PrecisionM: groundStepM(at.Lat, latStepDeg, lonStepDeg),
	}, nil
}

// plainNumber reads a decimal number and the size of one unit of its last
// digit; an exponent only where it is allowed.
func plainNumber(text string, exponent bool) (value, step float64, ok bool) {
	mantissa, power, hasPower := strings.Cut(text, "e")
	digits := strings.TrimLeft(mantissa, "+-")
	if digits == "" || len(mantissa)-len(digits) > 1 || strings.Trim(digits, "0123456789.") != "" || hasPower && !exponent {
		return 0, 0, false
	}
	value, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return 0, 0, false
	}
	step = lastDigit(digits)
	if hasPower {
		scale, err := strconv.ParseFloat("1e"+power, 64)
		if err != nil {
			return 0, 0, false
		}
		step *= scale
	}
	return value, step, true
}
