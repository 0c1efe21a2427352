package importer

import (
	"bytes"
	"fmt"
	"math"
	"strconv"

	"tallybook/records"
)

// readGeometry reads the place of the well from a feature's geometry: a Point
// of RFC 7946, longitude before latitude in degrees, or null for a well that
// nobody has located.
func readGeometry(row *Row, raw []byte, beside *besideProperties) {
	switch {
	case raw == nil:
		row.warn("geometry", "the feature has no geometry", `RFC 7946 asks for one: write "geometry": null`)
		return
	case string(raw) == "null":
		return // Validate warns of it
	case raw[0] != '{':
		row.refuse("geometry", "is "+kindOf(raw), `give a Point, or null`)
		return
	}
	var kind, coordinates []byte
	// The feature that holds it was checked: this cannot fail.
	if err := eachMember(raw, func(name, value []byte) {
		switch string(name) {
		case `"type"`:
			kind = value
		case `"coordinates"`:
			coordinates = value
		default:
			beside.Geometry = append(beside.Geometry, records.Member{Name: unquote(name), JSON: oneLine(value)})
		}
	}); err != nil {
		row.refuse("geometry", err.Error(), "mend it")
		return
	}
	switch string(kind) {
	case `"Point"`:
	case "":
		row.refuse("geometry", "does not say its type", `write "type": "Point" in it`)
		return
	default:
		row.refuse("geometry", "is of type "+clip(string(kind))+"; a well stands at one point", `give a "Point"`)
		return
	}
	readCoordinates(row, coordinates, beside)
}

// readCoordinates reads [longitude, latitude] and keeps what follows them. The
// third number of RFC 7946 is a height above the ellipsoid, which is not the
// elevation of the ground that a log gives: it is kept and given back, and
// nothing is computed from it.
func readCoordinates(row *Row, raw []byte, beside *besideProperties) {
	const mend = "write [longitude, latitude] in degrees"
	if len(raw) == 0 || raw[0] != '[' {
		row.refuse("geometry.coordinates", "is "+kindOf(raw)+" where a list of numbers belongs", mend)
		return
	}
	body := bytes.TrimSpace(raw[1 : len(raw)-1])
	if len(body) == 0 {
		row.warn("geometry.coordinates", "are empty", "write null for the geometry")
		return
	}
	var part [2][]byte
	for i := range part {
		first, rest, more := bytes.Cut(body, []byte{','})
		part[i] = bytes.TrimSpace(first)
		if !isNumber(part[i]) {
			row.refuse("geometry.coordinates", "hold "+kindOf(part[i])+" where a number belongs", mend)
			return
		}
		if body = bytes.TrimSpace(rest); !more && i == 0 {
			row.refuse("geometry.coordinates", "hold one number only", mend)
			return
		}
	}
	if len(body) > 0 {
		beside.Beyond = oneLine(append(append([]byte{'['}, body...), ']'))
		for v := range bytes.SplitSeq(body, []byte{','}) {
			if !isNumber(bytes.TrimSpace(v)) {
				row.refuse("geometry.coordinates", "hold "+kindOf(bytes.TrimSpace(v))+" where a number belongs", mend)
				return
			}
		}
	}
	locate(row, "geometry.coordinates", string(part[0]), string(part[1]))
}

// locate sets the well's place from the digits of a longitude and a latitude.
func locate(row *Row, field, lonText, latText string) {
	lon, errLon := strconv.ParseFloat(lonText, 64)
	lat, errLat := strconv.ParseFloat(latText, 64)
	if errLon != nil || errLat != nil {
		row.refuse(field, fmt.Sprintf("%s, %s is no position that can be held", clip(lonText), clip(latText)), "write longitude and latitude in degrees")
		return
	}
	if message, mend := judgePosition(lon, lat, lonText, latText); message != "" {
		row.refuse(field, message, mend)
		return
	}
	p := &row.Well.Place
	p.Located, p.Lon, p.Lat, p.LonText, p.LatText = true, lon, lat, lonText, latText
}

// judgePosition says what is wrong with a position in degrees, and proposes
// what was probably meant; nothing is ever put right silently.
func judgePosition(lon, lat float64, lonText, latText string) (message, mend string) {
	lonText, latText = clip(lonText), clip(latText)
	lonFits, latFits := math.Abs(lon) <= 180, math.Abs(lat) <= 90
	switch {
	case lonFits && latFits:
		return "", ""
	case !latFits && math.Abs(lon) <= 90 && math.Abs(lat) <= 180:
		return fmt.Sprintf("the latitude %s is outside -90 to 90, and %s could be one: longitude and latitude look swapped", latText, lonText),
			fmt.Sprintf("the longitude comes first: [%s, %s] if that is the place", latText, lonText)
	case math.Abs(lon) > 1000 || math.Abs(lat) > 1000:
		return fmt.Sprintf("%s, %s are no degrees; they look like metres or feet of a map projection", lonText, latText),
			"convert the file to longitude and latitude on WGS 84 first"
	case !latFits:
		return fmt.Sprintf("the latitude %s is outside -90 to 90", latText), "give degrees, longitude first"
	case math.Abs(lon) <= 360:
		turned := lon - math.Copysign(360, lon)
		return fmt.Sprintf("the longitude %s is outside -180 to 180", lonText),
			fmt.Sprintf("write %s if that is the place", strconv.FormatFloat(math.Round(turned*1e9)/1e9, 'f', -1, 64))
	}
	return fmt.Sprintf("the longitude %s is outside -180 to 180", lonText), "give degrees, longitude first"
}
