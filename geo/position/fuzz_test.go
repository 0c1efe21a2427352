package position_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"tallybook/geo/position"
)

// parseSeeds are texts of every form, good and bad.
var parseSeeds = []string{
	"43.2, -71.5", "33.3 44.4", "E44.4 N33.3", "33d18'N 44d24'E", "44d24 33d18N", "33:18 +44:24",
	"43°12′00″N 71°30′00″W", "43 12 30 N, 71 30 10 W", "-0°30′, 10°00′", "43,2000; -71,5000", "43,71",
	"lat/lon: 43.2, -71.5", "43 degrees 12 minutes north, 71 degrees 30 minutes west", "43-12-30N 71-30-10W",
	"33d18m30sN 44d24m10sE", "33D18M30S 44D24M10E", "18N 627106 4484124", "zone 18 627106E 4484124N",
	"627106 4484124 18T", "56 south 334873.0 6252266.1", "17S 713473 3962077", "UTM 18 N 627,106 4,484,124",
	"POINT(-71.5 43.2)", "SRID=32618;POINT Z (627106 4484124 12)", "geo:43.2,-71.5,12;crs=wgs84;u=10",
	"43.2, 71.5 NAD83", "43.2 -71.5 NAD27", "[-71.5, 43.2]", "43.2 - 71.5", "100, 43", "90 180", "-90, -180",
	"60 north 833978.6 0.0", "1 south 166021.4 10000000.0", "POINT(1e2 -0)", "\u212a", "33X 500000 9000000", "+43.2-071.5/", "43°-12′-30″N, 71°-30′-36″W",
	"N 43D12M30S W 71D30M36S", "SRID=3857;POINT(1e7 -5e6)",
}

// FuzzParse holds Parse to its promises for any text: no panic; an error that
// is a *ParseError with a problem in it; otherwise a valid position, the text
// as given, a positive precision, and a position that comes back from every
// form to within half a unit of that form's last digit.
func FuzzParse(f *testing.F) {
	for _, seed := range parseSeeds {
		f.Add(seed, 0)
		f.Add(seed, 18)
	}
	f.Fuzz(func(t *testing.T, text string, officeZone int) {
		office := position.Zone{Number: officeZone, North: true}
		reading, err := position.ParseIn(text, position.Options{Zone: office})
		if err != nil {
			var problem *position.ParseError
			if !errors.As(err, &problem) {
				t.Fatalf("error of type %T", err)
			}
			if problem.Problem == "" || problem.Text != text {
				t.Fatalf("error without a problem or its text: %#v", problem)
			}
			if problem.Suggest != nil && problem.Suggest.Valid() != nil {
				t.Fatalf("suggests %#v", *problem.Suggest)
			}
			return
		}
		if err := reading.At.Valid(); err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		if reading.Given != text {
			t.Fatalf("given %q, kept %q", text, reading.Given)
		}
		if !(reading.PrecisionM > 0) || math.IsInf(reading.PrecisionM, 0) {
			t.Fatalf("%q: precision %g m", text, reading.PrecisionM)
		}
		if (reading.Form == position.UTMGrid) != reading.Zone.Valid() {
			t.Fatalf("%q: form %v in %v", text, reading.Form, reading.Zone)
		}
		for _, form := range forms {
			written := position.Format(reading.At, form)
			if strings.Contains(written, "-0.000000,") || strings.HasSuffix(written, "-0.000000") {
				t.Fatalf("%q: minus zero in %q", text, written)
			}
			back, err := position.Parse(written)
			if err != nil {
				t.Fatalf("%q, written %q: %v", text, written, err)
			}
			// Half a unit on each axis, so at most 0.71 units across.
			if d, _ := position.Distance(reading.At, back.At); !(d <= 0.71*back.PrecisionM+1e-6) {
				t.Fatalf("%q, written %q: %g m off, precision %g m", text, written, d, back.PrecisionM)
			}
		}
	})
}

var forms = []position.Form{
	position.DecimalDegrees, position.DegreesMinutes, position.DegreesMinutesSeconds, position.UTMGrid,
}
