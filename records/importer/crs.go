package importer

import "strings"

// wgs84Names are the names of the one coordinate system of RFC 7946, as the
// specification it replaced wrote them in the member "crs" (GeoJSON 2008,
// section 3; RFC 7946 section 4 and appendix B.1). Axis order there is always
// that of the coordinates, longitude first, whatever the name says.
var wgs84Names = map[string]bool{
	"urn:ogc:def:crs:ogc:1.3:crs84":                true,
	"urn:ogc:def:crs:ogc::crs84":                   true,
	"http://www.opengis.net/def/crs/ogc/1.3/crs84": true,
	"ogc:crs84":                  true,
	"urn:ogc:def:crs:epsg::4326": true,
	"epsg:4326":                  true,
	"http://www.opengis.net/def/crs/epsg/0/4326": true,
}

// judgeCRS says what is wrong with a "crs" member, and nothing where it names
// WGS 84.
func judgeCRS(raw []byte) (message, mend string) {
	const convert = `RFC 7946 knows only WGS 84: convert the file to it (longitude, latitude) and leave "crs" out`
	if string(raw) == "null" {
		return `"crs" is null: nothing is known of the coordinates`, `leave it out if they are WGS 84 longitude and latitude`
	}
	var properties, name []byte
	if err := eachMember(raw, func(n, v []byte) {
		if string(n) == `"properties"` {
			properties = v
		}
	}); err != nil {
		return `"crs" cannot be read`, convert
	}
	if len(properties) > 0 && properties[0] == '{' {
		if err := eachMember(properties, func(n, v []byte) {
			if string(n) == `"name"` {
				name = v
			}
		}); err != nil {
			return `"crs" cannot be read`, convert
		}
	}
	if len(name) == 0 || name[0] != '"' {
		return `"crs" does not name a coordinate system`, convert
	}
	text := unquote(name)
	if wgs84Names[strings.ToLower(text)] {
		return "", ""
	}
	return `the coordinates are in "` + clip(text) + `", not on WGS 84`, convert
}
