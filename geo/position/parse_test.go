package position_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"tallybook/geo/position"
)

// The equivalent forms are those of the manual page of GeoConvert(1), which
// gives them as five ways to write one point (read); the rest is common
// practice, no source, with values that follow from 60 minutes to the degree.
func TestParseForms(t *testing.T) {
	const (
		dd, dm, sec = position.DecimalDegrees, position.DegreesMinutes, position.DegreesMinutesSeconds
		manualLat   = 33.3
		manualLon   = 44.4
	)
	for _, c := range []struct {
		text     string
		lat, lon float64
		form     position.Form
	}{
		{"33.3 44.4", manualLat, manualLon, dd},
		{"E44.4 N33.3", manualLat, manualLon, dd},
		{"33d18'N 44d24'E", manualLat, manualLon, dm},
		{"44d24 33d18N", manualLat, manualLon, dm},
		{"33:18 +44:24", manualLat, manualLon, dm},
		// separators and signs
		{"43.2, -71.5", 43.2, -71.5, dd},
		{"43.2,-71.5", 43.2, -71.5, dd},
		{"43.2;-71.5", 43.2, -71.5, dd},
		{"43.2\t-71.5", 43.2, -71.5, dd},
		{"  43.2   -71.5  ", 43.2, -71.5, dd},
		{"+43.2 +71.5", 43.2, 71.5, dd},
		{"43.2 −71.5", 43.2, -71.5, dd}, // a true minus sign
		{"43.2, –71.5", 43.2, -71.5, dd},
		{"(43.2, -71.5)", 43.2, -71.5, dd},
		{`"43.2, -71.5"`, 43.2, -71.5, dd},
		{".5 -.25", 0.5, -0.25, dd},
		{"-90 -180", -90, -180, dd},
		{"90, 180", 90, 180, dd},
		{"45 90", 45, 90, dd},
		// letters and words, before and after, of either case
		{"43.2N 71.5W", 43.2, -71.5, dd},
		{"43.2N,71.5W", 43.2, -71.5, dd},
		{"43.2 n 71.5 w", 43.2, -71.5, dd},
		{"N43.2 W71.5", 43.2, -71.5, dd},
		{"N 43.2 W 71.5", 43.2, -71.5, dd},
		{"43.2 N W 71.5", 43.2, -71.5, dd},
		{"43.2 N; 71.5 W", 43.2, -71.5, dd},
		{"71.5W 43.2N", 43.2, -71.5, dd},
		{"W71.5, 43.2", 43.2, -71.5, dd},
		{"43.2 71.5 W", 43.2, -71.5, dd},
		{"43 71 W", 43, -71, dd},
		{"43.2, W 71.5", 43.2, -71.5, dd},
		{"43.2N 71.5", 43.2, 71.5, dd},
		{"33.9 S 18.4 E", -33.9, 18.4, dd},
		{"north 43.2 west 71.5", 43.2, -71.5, dd},
		{"33.9 south 18.4 east", -33.9, 18.4, dd},
		{"43 deg 12 min 30 sec N 71 deg 30 min 36 sec W", 43 + 12.0/60 + 30.0/3600, -71.51, sec},
		{"43.2 North, 71.5 West", 43.2, -71.5, dd},
		{"lat 43.2 lon -71.5", 43.2, -71.5, dd},
		{"Latitude: 43.2, Longitude: -71.5", 43.2, -71.5, dd},
		{"long=-71.5 lat=43.2", 43.2, -71.5, dd},
		{"Lat. 43.2, Long. 71.5 W", 43.2, -71.5, dd},
		{"lat 43.2 N lon 71.5 W", 43.2, -71.5, dd},
		{"Lat/Long: 43.2, -71.5", 43.2, -71.5, dd},
		{"lon/lat -71.5 43.2", 43.2, -71.5, dd},
		{"43.2 lat, -71.5 lon", 43.2, -71.5, dd},
		{"43.2000° N, 71.5000° W", 43.2, -71.5, dd},
		// minutes
		{"43°12.0′N 71°30.0′W", 43.2, -71.5, dm},
		{"43° 12.5' N, 71° 30.25' W", 43 + 12.5/60, -71 - 30.25/60, dm},
		{"43 12.5 N 71 30.25 W", 43 + 12.5/60, -71 - 30.25/60, dm},
		{"43 12.5, -71 30.25", 43 + 12.5/60, -71 - 30.25/60, dm},
		{"43 12 71 30", 43.2, 71.5, dm},
		{"43 degrees 12 minutes north, 71 degrees 30 minutes west", 43.2, -71.5, dm},
		{"43 deg 12 min N 71 deg 30 min W", 43.2, -71.5, dm},
		{"43d12m N 71d30m W", 43.2, -71.5, dm},
		// the sign of minus nought
		{"-0°30', 10°0'", -0.5, 10, dm},
		{"10°0' -0°30'", 10, -0.5, dm},
		{"-0 30 -0 15", -0.5, -0.25, dm},
		{"-0:00:36 -0:00:36", -0.01, -0.01, sec},
		{"0°30'S 0°15'W", -0.5, -0.25, dm},
		// seconds
		{"43°12′30″N 71°30′36″W", 43 + 12.0/60 + 30.0/3600, -71.51, sec},
		{`43°12'30.5"N 71°30'36"W`, 43 + 12.0/60 + 30.5/3600, -71.51, sec},
		{"43°12’30”N 71°30’36”W", 43 + 12.0/60 + 30.0/3600, -71.51, sec},
		{"43°12'30''N 71°30'36''W", 43 + 12.0/60 + 30.0/3600, -71.51, sec},
		{"43º12´30ʺN 71º30´36ʺW", 43 + 12.0/60 + 30.0/3600, -71.51, sec},
		{"43d12m30s, -71d30m36s", 43 + 12.0/60 + 30.0/3600, -71.51, sec},
		{"43d12m30sN 71d30m36sW", 43 + 12.0/60 + 30.0/3600, -71.51, sec},
		{"43d12m30s S 71d30m36s W", -43 - 12.0/60 - 30.0/3600, -71.51, sec},
		{"N 43D12M30S W 71D30M36S", 43 + 12.0/60 + 30.0/3600, -71.51, sec},
		{"43:12:30 -71:30:36", 43 + 12.0/60 + 30.0/3600, -71.51, sec},
		{"43:12:30N, 71:30:36W", 43 + 12.0/60 + 30.0/3600, -71.51, sec},
		{"43-12-30N 71-30-36W", 43 + 12.0/60 + 30.0/3600, -71.51, sec},
		{"43°-12′-30″N, 71°-30′-36″W", 43 + 12.0/60 + 30.0/3600, -71.51, sec},
		{"N43 12.500 W071 30.250", 43 + 12.5/60, -71 - 30.25/60, dm},
		{"43.5°-71.5°", 43.5, -71.5, dd},
		{"+43.2-071.5/", 43.2, -71.5, dd}, // ISO 6709, annex H (memory)
		{"-33.9+018.4/", -33.9, 18.4, dd},
		{"43 12 30 71 30 36", 43 + 12.0/60 + 30.0/3600, 71.51, sec},
		{"43 12 30 N, 71 30 36 W", 43 + 12.0/60 + 30.0/3600, -71.51, sec},
		{"43 12 59.999 N, 71 30 36 W", 43 + 12.0/60 + 59.999/3600, -71.51, sec},
		{"43°N 71°30′36″W", 43, -71.51, sec},
		// decimal commas
		{"43,2000; -71,5000", 43.2, -71.5, dd},
		{"43,2 -71,5", 43.2, -71.5, dd},
		{"43,2, -71,5", 43.2, -71.5, dd},
		{"43,2000 N, 71,5000 W", 43.2, -71.5, dd},
		{"43 12,5 N 71 30,25 W", 43 + 12.5/60, -71 - 30.25/60, dm},
		{"43,71", 43, 71, dd},
		{"43 12 30,71 30 36", 43 + 12.0/60 + 30.0/3600, 71.51, sec},
		// datums taken as WGS 84
		{"43.2, -71.5 NAD83", 43.2, -71.5, dd},
		{"WGS 84 43.2 -71.5", 43.2, -71.5, dd},
		{"43.2, -71.5 (wgs84)", 43.2, -71.5, dd},
		// well-known text: longitude first
		{"POINT(-71.5 43.2)", 43.2, -71.5, dd},
		{"point (-71.5 43.2)", 43.2, -71.5, dd},
		{"POINT Z (-71.5 43.2 12.5)", 43.2, -71.5, dd},
		{"POINTZM(-71.5 43.2 12.5 1)", 43.2, -71.5, dd},
		{"POINT (-71.5 43.2 12.5)", 43.2, -71.5, dd},
		{"SRID=4326;POINT(-7.15e1 43.2)", 43.2, -71.5, dd},
		// RFC 5870: latitude first
		{"geo:43.2,-71.5", 43.2, -71.5, dd},
		{"geo:43.2,-71.5,120;crs=wgs84;u=10", 43.2, -71.5, dd},
		{"GEO:43.2,-71.5;CRS=WGS84", 43.2, -71.5, dd},
	} {
		t.Run(c.text, func(t *testing.T) {
			r, err := position.Parse(c.text)
			if err != nil {
				t.Fatal(err)
			}
			closeTo(t, "latitude", r.At.Lat, c.lat, 1e-13)
			closeTo(t, "longitude", r.At.Lon, c.lon, 1e-13)
			if r.Form != c.form {
				t.Errorf("form %v, want %v", r.Form, c.form)
			}
			if r.Given != c.text || r.Note != "" {
				t.Errorf("given %q, note %q", r.Given, r.Note)
			}
		})
	}
}

// Values of the points are those of TestGridCheckValues.
func TestParseUTM(t *testing.T) {
	north, south := position.Zone{Number: 17, North: true}, position.Zone{Number: 56}
	inZone17 := ll(35.7796, -78.6382) // 713,473.42 E 3,962,076.61 N in zone 17, computed
	for _, c := range []struct {
		text   string
		at     position.LonLat
		zone   position.Zone
		office position.Zone
		note   string
		within float64 // metres
	}{
		{"17N 713473.42 3962076.61", inZone17, north, position.Zone{}, "", 0.01},
		{"17N 713473 3962077", inZone17, north, position.Zone{}, "", 1},
		{"17 N 713473 3962077", inZone17, north, position.Zone{}, "", 1},
		{"17N 713473 east 3962077 north", inZone17, north, position.Zone{}, "", 1},
		{"zone 17 E 713473 N 3962077", inZone17, north, position.Zone{}, "no hemisphere was given; read as north", 1},
		{"zone 17 713473 3962077 north", inZone17, north, position.Zone{}, "", 1},
		{"zone: 17 713473E 3962077N north", inZone17, north, position.Zone{}, "", 1},
		{"17S 713473 3962077", ll(-54.48, 0), position.Zone{Number: 17}, position.Zone{Number: 17}, "S was read as south, as the office's zone has it", math.Inf(1)},
		{"17n, 713473, 3962077", inZone17, north, position.Zone{}, "", 1},
		{"17 north 713473 3962077", inZone17, north, position.Zone{}, "", 1},
		{"713473 3962077 17N", inZone17, north, position.Zone{}, "", 1},
		{"713473 3962077 zone 17 north", inZone17, north, position.Zone{}, "", 1},
		{"UTM zone 17N: 713473mE 3962077mN", inZone17, north, position.Zone{}, "", 1},
		{"UTM 17N E713473 N3962077", inZone17, north, position.Zone{}, "", 1},
		{"UTM 17N E 713473 N 3962077", inZone17, north, position.Zone{}, "", 1},
		{"17N 3962077N 713473E", inZone17, north, position.Zone{}, "", 1},
		{"zone 17 N 713473E 3962077N", inZone17, north, position.Zone{}, "", 1},
		{"easting 713473 northing 3962077 zone 17N", inZone17, north, position.Zone{}, "", 1},
		{"17N 713,473 3,962,077", inZone17, north, position.Zone{}, "", 1},
		{"17N 713473,4 3962076,6", inZone17, north, position.Zone{}, "", 0.1},
		{"17N 713473,3962077", inZone17, north, position.Zone{}, "", 1},
		{"17N 713473 3962077 NAD83", inZone17, north, position.Zone{}, "", 1},
		{"zone 17 713473E 3962077N", inZone17, north, position.Zone{}, "no hemisphere was given; read as north", 1},
		{"713473 3962077", inZone17, north, north, "read in the office's zone 17N", 1},
		{"17 713473 3962077", inZone17, north, north, "read in the office's zone 17N", 1},
		{"17S 713473 3962077", inZone17, north, north, "S was read as the latitude band S, in the north, as the office's zone has it", 1},
		// A zone given counts, whatever the office's.
		{"17N 713473 3962077", inZone17, north, position.Zone{Number: 18, North: true}, "", 1},
		// 43.2 N 71.5 W: 296,887.13 E 4,786,059.23 N in zone 19, computed.
		{"19T 296887 4786059", ll(43.2, -71.5), position.Zone{Number: 19, North: true}, position.Zone{}, "", 1},
		{"296887E 4786059N 19T", ll(43.2, -71.5), position.Zone{Number: 19, North: true}, position.Zone{}, "", 1},
		{"19 T 296887 4786059", ll(43.2, -71.5), position.Zone{Number: 19, North: true}, position.Zone{}, "", 1},
		{"SRID=32619;POINT(296887.13 4786059.23)", ll(43.2, -71.5), position.Zone{Number: 19, North: true}, position.Zone{}, "", 0.01},
		// Band S ends at 40 degrees north: this northing can only be south.
		{"56S 334873 6252266", ll(-33.857, 151.215), south, position.Zone{}, "", 1},
		{"56 south 334873 6252266", ll(-33.857, 151.215), south, position.Zone{}, "", 1},
		{"56H 334873 6252266", ll(-33.857, 151.215), south, position.Zone{}, "", 1},
		{"SRID=32756;POINT(334873 6252266)", ll(-33.857, 151.215), south, position.Zone{}, "", 1},
	} {
		t.Run(c.text, func(t *testing.T) {
			r, err := position.ParseIn(c.text, position.Options{Zone: c.office})
			if err != nil {
				t.Fatal(err)
			}
			if d, _ := position.Distance(r.At, c.at); !(d <= c.within) {
				t.Errorf("read %v, %g m from %v", r.At, d, c.at)
			}
			if r.Form != position.UTMGrid || r.Zone != c.zone || r.Note != c.note {
				t.Errorf("form %v, zone %v, note %q", r.Form, r.Zone, r.Note)
			}
		})
	}
}

func TestParseRefuses(t *testing.T) {
	at := func(lat, lon float64) *position.LonLat { p := ll(lat, lon); return &p }
	for _, c := range []struct {
		text    string
		says    string // part of the problem
		suggest *position.LonLat
	}{
		{"", "no position", nil},
		{"   ", "no position", nil},
		{"the old mill", "not part of any form", nil},
		{strings.Repeat("1 ", 200), "too long", nil},
		{"43.2", "only one number", nil},
		{"43.2 N", "only one number", nil},
		{"43°12′30″", "only one coordinate", nil},
		{"43:12:30", "only one coordinate", nil},
		{"43.2,", "only one number", nil},
		{"N W", "no numbers", nil},
		{"1 2 3 4 5 6 7", "too many numbers", nil},
		{"1, 2, 3", "where the first coordinate ends", nil},
		// beyond the limits
		{"100, 43", "no latitude", at(43, 100)},
		{"-120.5 40.25", "no latitude", at(40.25, -120.5)},
		{"91 N 20 E", "latitude 91 is beyond 90", nil},
		{"lat 100 lon 43", "latitude 100 is beyond 90", nil},
		{"90°0′1″N 20°E", "beyond 90", nil},
		{"20, 181", "longitude 181 is beyond 180", at(20, -179)},
		{"43.2, 288.5", "beyond 180", at(43.2, -71.5)},
		{"43.2, -288.5", "beyond 180", at(43.2, 71.5)},
		{"20 N 400 E", "longitude 400 is beyond 180", nil},
		{"43 60 N 71 0 W", "60 minutes are too many", nil},
		{"43 12 60 N 71 30 0 W", "60 seconds are too many", nil},
		{"43°75′N 71°30′W", "75 minutes are too many", nil},
		{"43.5 12 N 71 30 W", "have decimals and minutes follow", nil},
		// signs, letters, halves
		{"-43.2 N 71.5 W", "minus sign stands beside the letter N", at(43.2, -71.5)},
		{"43.2 N -71.5 W", "minus sign stands beside the letter W", at(43.2, -71.5)},
		{"43.2 N +71.5 W", "plus sign stands beside the letter W", at(43.2, -71.5)},
		{"43.2 N 44.1 N", "two latitudes", nil},
		{"43.2 W 44.1 E", "two longitudes", nil},
		{"lat 43.2 lat 44.1", "two latitudes", nil},
		{"lat 43.2 E 71.5", "", nil},
		{"lat 43.2 E, lon 71.5", "both latitude and longitude", nil},
		{"43.2 N S, 71.5 W", "two compass letters", nil},
		{"43.2 W 71.5", "not clear which number the letter W", nil},
		{"43.2 - 71.5", "dash between two spaces", nil},
		{"--43.2 71.5", "sign or colon", nil},
		{"43 12 30 N 71 30 W 10", "", nil},
		{"43 12 30, 71 30", "one half has more numbers", nil},
		{"33D18M30S 44D24M10E", "letter S may mark seconds or mean south", nil},
		{"12′N 71°W", "12 is marked as minutes", nil},
		{"43°12″N 71°30′W", "12 is marked as seconds", nil},
		{"° 43 71", "does not follow a number", nil},
		{"43,12,30", "", nil},
		{"43,2,71,5", "", nil},
		{"4.3.2 71.5", "is not a number", nil},
		{"[-71.5, 43.2]", "square brackets", nil},
		{"43.2, -71.5 NAD27", "grid shift", nil},
		{"43.2, -71.5 NAD27 WGS84", "two datums", nil},
		{"43.2, -71.5 NAD31", "not part of any form", nil},
		// UTM
		{"627106 4484124", "without their zone", nil},
		{"18 627106 4484124", "hemisphere of zone 18 is not given", at(40.498096, -73.500008)}, // GeoConvert(1)
		{"17S 713473 3962077", "southern hemisphere or the latitude band S", at(35.7796, -78.6382)},
		{"18U 627106 4484124", "in band T and not in U", nil},
		{"18I 627106 4484124", "no latitude band I", nil},
		{"61N 627106 4484124", "no zone 61", nil},
		{"0N 627106 4484124", "no zone 0", nil},
		{"18N 4484124 627106", "easting comes first", nil},
		{"18N 62710 4484124", "outside 100,000 to 900,000", nil},
		{"18N 627106 44841240", "beyond 10,000,000", nil},
		{"18N 627106 9884124", "no place in zone 18N", nil},
		{"18 south 627106 484124", "no place in zone 18 south", nil},
		{"18N 880000 9300000", "off the middle of zone 18", nil},
		{"18N 627106", "easting or northing is missing", nil},
		{"18N 627106 4484124 12", "4 numbers are given", nil},
		{"18N -627106 4484124", "no sign", nil},
		{"18N 627106W 4484124N", "W and S mark no UTM coordinate", nil},
		{"18N 627106E 4484124E", "two eastings", nil},
		{"lat 4484124 lon 627106", "mixed", nil},
		{"18TWL8564511111", "military grid", nil},
		{"18T WL 85645 11111", "military grid", nil},
		{"18TWL", "military grid", nil},
		{"43deg12", "only one coordinate", nil},
		{"43 12 N", "degrees and minutes of one coordinate", nil},
		{"N 43 12.5", "degrees and minutes of one coordinate", nil},
		{"43° 12.5", "only one coordinate", nil},
		{"43° 12 71 30", "do not part", nil},
		{"431230N 0713000W", "W and S mark no UTM coordinate", nil},
		{"43°-71°", "only one coordinate", nil},
		{"12 627106 18N", "clear which number is the zone", nil},
		{"627106 18N 4484124", "no zone number is found", nil},
		{"18N 627106E N4484124", "", nil},
		{"18N 627106 4484124 E", "", nil},
		{"18N E627106 4484124 N", "before no number", nil},
		{"18N 627106° 4484124", "stands among eastings", nil},
		{"18N 627106 4484124 T", "stands by no zone number", nil},
		{"18N 6.2.7106 4484124", "is not a number", nil},
		// letters, words and commas that leave something open
		{"43,2 71,5 12,1", "3 numbers do not part", nil},
		{"lat 43 lon 71 N", "", nil},
		{"43.2 N W S 71.5", "too many compass letters", nil},
		{"43.2 + - 71.5", "", nil},
		{"43.2-71.5", "only one coordinate", nil},
		{"43.2-71.5, 10", "dash after decimal degrees", nil},
		{"43.2N x 71.5W", "\"x\" is not part", nil},
		{"43º12’30”N, 71º30’36”O", "\"o\" is not part", nil},
		{"43 = 71", "stray =", nil},
		{"43.2, 71.5 !", "is not part of any form", nil},
		{"43°12 30 10 71°", "too many numbers", nil},
		// well-known text and URIs
		{"SRID=x;POINT(1 2)", "SRID is not a number", nil},
		{"SRID=4326;LINE(1 2)", "no point", nil},
		{"POINT 1 2", "brackets are missing", nil},
		{"SRID=3857;POINT(1e9 0)", "outside its projection", nil},
		{"SRID=32619;POINT(296887 9900000)", "no place in zone 19N", nil},
		{"POINT(500 600)", "outside -90 to 90", nil},
		{"POINT(1ex 2)", "plain decimal number", nil},
		{"POINT EMPTY", "empty", nil},
		{"POINT(43.2)", "1 numbers", nil},
		{"POINT(-71.5, 43.2)", "plain decimal number", nil},
		{"POINT(43.2 -100.5)", "outside -90 to 90", at(43.2, -100.5)},
		{"LINESTRING(0 0, 1 1)", "not part of any form", nil},
		{"SRID=2263;POINT(987654 123456)", "EPSG:2263", nil},
		{"SRID=32619;POINT(-71.5 43.2)", "easting", nil},
		{"geo:43.2", "1 coordinates", nil},
		{"geo:43.2,x", "plain decimal number", nil},
		{"geo:143.2,71.5", "outside -90 to 90", at(71.5, 143.2)},
		{"geo:43.2,-71.5;crs=nad27", "another reference system", nil},
		{"geo:43.2,-71.5;u=-4", "uncertainty", nil},
		{"geo:NaN,Inf", "plain decimal number", nil},
		{"POINT(1e999 0)", "plain decimal number", nil},
	} {
		t.Run(c.text, func(t *testing.T) {
			r, err := position.Parse(c.text)
			var problem *position.ParseError
			if !errors.As(err, &problem) {
				t.Fatalf("read as %v, error %v", r.At, err)
			}
			if !strings.Contains(problem.Problem, c.says) {
				t.Errorf("problem %q does not say %q", problem.Problem, c.says)
			}
			if problem.Mend == "" || problem.Text != c.text {
				t.Errorf("mend %q, text %q", problem.Mend, problem.Text)
			}
			switch {
			case (problem.Suggest == nil) != (c.suggest == nil):
				t.Errorf("suggests %v, want %v", problem.Suggest, c.suggest)
			case c.suggest != nil:
				if d, _ := position.Distance(*problem.Suggest, *c.suggest); !(d <= 1) {
					t.Errorf("suggests %v, want %v", *problem.Suggest, *c.suggest)
				}
				if !strings.Contains(problem.Error(), "did you mean "+problem.Suggest.String()) {
					t.Errorf("message %q does not name the suggestion", problem.Error())
				}
			}
			if (r != position.Reading{}) {
				t.Errorf("a refused text left %#v", r)
			}
		})
	}
}

// Six decimals are 0.11 m and a thousandth of a minute is 1.85 m of latitude
// (computed; the second is what New Hampshire's law asks for, read).
func TestParsePrecision(t *testing.T) {
	for _, c := range []struct {
		text  string
		wantM float64
	}{
		{"43.200000, -71.500000", 0.111},
		{"43.20000, -71.50000", 1.11},
		{"43.2000, -71.500000", 11.1},
		{"43°12.000′N 71°30.000′W", 1.85},
		{"43°12′00″N 71°30′00″W", 30.9},
		{"0, 0", 111_319},
		{"89 0", 111_693},
		{"17N 713473 3962077", 1},
		{"17N 713473.4 3962077", 1},
		{"17N 713473.4 3962076.6", 0.1},
		{"geo:43.200000,-71.500000", 0.111},
		{"POINT(-7150000e-5 43.20000)", 1.11},
	} {
		t.Run(c.text, func(t *testing.T) {
			r, err := position.Parse(c.text)
			if err != nil {
				t.Fatal(err)
			}
			closeTo(t, "precision over what is wanted", r.PrecisionM/c.wantM, 1, 0.01)
		})
	}
}

func TestParseKeepsDatumAndUncertainty(t *testing.T) {
	for _, c := range []struct {
		text        string
		options     position.Options
		datum       position.Datum
		uncertainty float64
		refused     bool
	}{
		{"43.2 -71.5", position.Options{}, position.DatumUnknown, 0, false},
		{"43.2 -71.5", position.Options{Datum: position.DatumNAD83}, position.DatumNAD83, 0, false},
		{"43.2 -71.5 WGS84", position.Options{Datum: position.DatumNAD27}, position.DatumWGS84, 0, false},
		{"43.2 -71.5", position.Options{Datum: position.DatumNAD27}, 0, 0, true},
		{"geo:43.2,-71.5;u=12.5", position.Options{}, position.DatumWGS84, 12.5, false},
	} {
		r, err := position.ParseIn(c.text, c.options)
		if c.refused != (err != nil) || r.Datum != c.datum || r.UncertaintyM != c.uncertainty {
			t.Errorf("%q in %v: %v, %g m, %v", c.text, c.options, r.Datum, r.UncertaintyM, err)
		}
	}
}

func TestParseErrorIsShort(t *testing.T) {
	_, err := position.Parse(strings.Repeat("é", 120))
	if err == nil || len(err.Error()) > 400 {
		t.Errorf("error of %d bytes", len(err.Error()))
	}
}

func TestNoMinusZero(t *testing.T) {
	for _, text := range []string{"-0, -0", "0 S 0 W", "-0°0′ -0°0′", "POINT(-0 -0)", "geo:-0,-0"} {
		r, err := position.Parse(text)
		if err != nil {
			t.Fatal(err)
		}
		if math.Signbit(r.At.Lat) || math.Signbit(r.At.Lon) {
			t.Errorf("%q kept a minus zero", text)
		}
	}
}
