package position_test

import (
	"math"
	"testing"

	"github.com/tidwall/geodesic"

	"tallybook/geo/position"
)

// dms is an angle in degrees from degrees, minutes and seconds; the sign is
// that of the degrees given apart, so that -0 is no trap.
func dms(sign, d, m, s float64) float64 { return sign * (d + m/60 + s/3600) }

func ll(lat, lon float64) position.LonLat { return position.LonLat{Lon: lon, Lat: lat} }

// closeTo fails unless got is within tolerance of want; NaN is never close.
func closeTo(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.10f, want %.10f within %g", what, got, want, tolerance)
	}
}

func closeToAngle(t *testing.T, what string, gotDeg, wantDeg, tolerance float64) {
	t.Helper()
	if !(math.Abs(math.Remainder(gotDeg-wantDeg, 360)) <= tolerance) {
		t.Errorf("%s: got %.12f, want %.12f within %g", what, gotDeg, wantDeg, tolerance)
	}
}

// Marks in the comments: "read" the figure was read in the source named,
// "second hand" in a copy of it, "memory" it was written down from memory,
// "computed" it was computed apart from this code.
func TestGeodesicCheckValues(t *testing.T) {
	for _, c := range []struct {
		name             string
		a, b             position.LonLat
		distanceM, tolM  float64
		start, end, tolA float64 // NaN where the source gives none
	}{
		// Second hand: example line of the library of geodesic formulas, WGS 84; confirmed by computation.
		{"Land's End to John o'Groats", ll(50.06632, -5.71475), ll(58.64402, -3.07009), 969_954.166, 0.0005, 9.1419, 11.2972, 5e-5},
		// Points read in the documentation of GeographicLib; values computed with it.
		{"JFK to LHR", ll(40.6, -73.8), ll(51.6, -0.5), 5_551_759.400, 0.0005, 51.1989, 107.8218, 5e-5},
		// Memory: manual page of GeodSolve(1); distance there to the metre.
		{"JFK to SIN", ll(dms(1, 40, 38, 23), dms(-1, 73, 46, 44)), ll(dms(1, 1, 21, 33), dms(1, 103, 59, 22)), 15_347_628, 0.5,
			dms(1, 3, 18, 29.9), dms(1, 177, 29, 9.2), 0.05 / 3600},
		// Read: GeographicLib's test set of geodesics (Karney), lines 1 to 4.
		{"Karney 1", ll(35.60777, -139.44815), ll(-11.17491, -69.95921), 8_935_244.5604818305, 2e-8, 111.098748429560326, 129.289270889708762, 1e-12},
		{"Karney 2", ll(55.52454, 106.05087), ll(77.03196, 197.18234), 4_105_086.1713924406, 2e-8, 22.020059880982801, 109.112041110671519, 1e-12},
		{"Karney 3", ll(-21.97856, 142.59065), ll(41.84138, 98.56635), 8_394_328.894657671, 2e-8, -32.44456876433189, -41.84359951440466, 1e-12},
		{"Karney 4", ll(-66.99028, 112.2363), ll(-12.70631, 285.90344), 11_150_344.2312080241, 2e-8, 173.73491240878403, 2.512956620913668, 1e-12},
		// Second hand: near-antipodal line on which simple iterations struggle.
		{"nearly antipodal", ll(0, 0), ll(0.5, 179.5), 19_936_288.579, 0.0005, math.NaN(), math.NaN(), 0},
		// Computed from the radii of curvature and the meridian arc.
		{"a degree of latitude at the equator", ll(0, 0), ll(1, 0), 110_574.39, 0.005, 0, 0, 1e-9},
		{"a degree of latitude from 44 to 45", ll(44, 0), ll(45, 0), 111_122.01, 0.005, 0, 0, 1e-9},
		{"a degree of longitude at the equator", ll(0, 0), ll(0, 1), 111_319.49, 0.005, 90, 90, 1e-9},
		// The geodesic is 0.49 m shorter than the parallel.
		{"a degree of longitude at 44", ll(44, 0), ll(44, 1), 80_205.70, 0.005, math.NaN(), math.NaN(), 0},
		{"two places in one town", ll(43.2, -71.5), ll(43.205, -71.495), 688.254, 0.0005, math.NaN(), math.NaN(), 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			g := position.Between(c.a, c.b)
			closeTo(t, "distance", g.DistanceM, c.distanceM, c.tolM)
			if !math.IsNaN(c.start) {
				closeToAngle(t, "start azimuth", g.StartAzimuthDeg, c.start, c.tolA)
				closeToAngle(t, "end azimuth", g.EndAzimuthDeg, c.end, c.tolA)
				closeToAngle(t, "back azimuth", g.BackAzimuthDeg, c.end+180, c.tolA)
			}
			back := position.Between(c.b, c.a)
			closeTo(t, "distance back", back.DistanceM, g.DistanceM, 1e-7)
			closeToAngle(t, "azimuth back", back.StartAzimuthDeg, g.BackAzimuthDeg, 1e-9)
			arrived := position.Destination(c.a, g.StartAzimuthDeg, g.DistanceM)
			if off, _ := position.Distance(arrived, c.b); !(off <= 1e-7) {
				t.Errorf("destination is %g m from the end", off)
			}
		})
	}
}

func TestRadii(t *testing.T) {
	// By definition: at the pole both are a*a/b, at the equator M = b*b/a and
	// N = a, with b = 6,356,752.3142 m (NIMA TR8350.2, memory).
	const a, b = 6378137.0, 6356752.3142
	meridianM, primeVerticalM := position.WGS84().RadiiM(90)
	closeTo(t, "meridian radius at the pole", meridianM, a*a/b, 0.001)
	closeTo(t, "prime vertical radius at the pole", primeVerticalM, a*a/b, 0.001)
	meridianM, primeVerticalM = position.WGS84().RadiiM(0)
	closeTo(t, "meridian radius at the equator", meridianM, b*b/a, 0.001)
	closeTo(t, "prime vertical radius at the equator", primeVerticalM, a, 0)
	// R1 = (2a + b) / 3, computed.
	closeTo(t, "mean radius", position.WGS84().MeanRadiusM(), 6_371_008.771, 0.0005)
	// Clarke 1866 is defined by its two axes: b = 6,356,583.8 m (memory).
	clarke := position.Clarke1866()
	closeTo(t, "polar radius of Clarke 1866", clarke.SemiMajorM*(1-clarke.Flattening), 6_356_583.8, 1e-8)
}

// Flinders Peak to Buninyong, the worked line of the GDA Technical Manual
// (second hand), on GRS 80. Distance here is on WGS 84, whose polar radius is
// 0.1 mm longer: over this line that is less than a micrometre's part in the
// printed millimetre, so that the line serves both. The same library on GRS 80
// stands beside as the control.
func TestFlindersBuninyong(t *testing.T) {
	flinders, buninyong := flindersPeak(), buninyongHill()
	g := position.Between(flinders, buninyong)
	closeTo(t, "distance", g.DistanceM, 54_972.271, 0.0005)
	closeToAngle(t, "azimuth", g.StartAzimuthDeg, dms(1, 306, 52, 5.37), 0.005/3600)
	closeToAngle(t, "reverse azimuth", g.BackAzimuthDeg, dms(1, 127, 10, 25.07), 0.005/3600)

	grs80 := position.GRS80()
	var control float64
	geodesic.NewEllipsoid(grs80.SemiMajorM, grs80.Flattening).Inverse(
		flinders.Lat, flinders.Lon, buninyong.Lat, buninyong.Lon, &control, nil, nil)
	closeTo(t, "distance on GRS 80", control, 54_972.2711, 0.00005)
	closeTo(t, "WGS 84 less GRS 80", g.DistanceM, control, 1e-5)
}

func flindersPeak() position.LonLat {
	return ll(dms(-1, 37, 57, 3.72030), dms(1, 144, 25, 29.52440))
}

func buninyongHill() position.LonLat {
	return ll(dms(-1, 37, 39, 10.15610), dms(1, 143, 55, 35.38390))
}

func TestHaversineCheckValues(t *testing.T) {
	meanM := position.WGS84().MeanRadiusM()
	for _, c := range []struct {
		name                 string
		a, b                 position.LonLat
		radiusM, wantM, tolM float64
	}{
		// Memory, and computed: the widely used example with R = 6,372.8 km.
		{"Nashville to Los Angeles, R 6372.8 km", ll(36.12, -86.67), ll(33.94, -118.40), 6_372_800, 2_887_259.95, 0.005},
		// Computed from the formula with the mean radius.
		{"Nashville to Los Angeles, mean radius", ll(36.12, -86.67), ll(33.94, -118.40), meanM, 2_886_448.4, 0.05},
		{"JFK to LHR", ll(40.6, -73.8), ll(51.6, -0.5), meanM, 5_536_892.0, 0.05},
		{"Flinders Peak to Buninyong", flindersPeak(), buninyongHill(), meanM, 54_925.5, 0.05},
		{"a degree of arc", ll(0, 0), ll(0, 1), meanM, 111_195.08, 0.005},
		{"two places in one town", ll(43.2, -71.5), ll(43.205, -71.495), meanM, 688.007, 0.0005},
		// By definition: half the circumference.
		{"antipodes", ll(30, 40), ll(-30, -140), meanM, math.Pi * meanM, 1e-6},
	} {
		t.Run(c.name, func(t *testing.T) {
			closeTo(t, "haversine", position.Haversine(c.a, c.b, c.radiusM), c.wantM, c.tolM)
			// Sphere and ellipsoid agree within about half a per cent (0.56 %
			// along the equator's meridian).
			ellipsoidM, _ := position.Distance(c.a, c.b)
			closeTo(t, "sphere over ellipsoid", c.wantM/ellipsoidM, 1, 0.006)
		})
	}
	ellipsoidM, _ := position.Distance(ll(36.12, -86.67), ll(33.94, -118.40))
	closeTo(t, "Nashville to Los Angeles on the ellipsoid", ellipsoidM, 2_892_777.0, 0.05) // computed
}

func TestGridCheckValues(t *testing.T) {
	for _, c := range []struct {
		name                 string
		at                   position.LonLat
		on                   position.Ellipsoid
		zone                 position.Zone
		eastM, northM, tolM  float64
		outsideOwnZone       bool
		pointScale, scaleTol float64
	}{
		// Read: manual page of GeoConvert(1); confirmed by computation.
		{name: "manual page", at: ll(33.3, 44.4), zone: position.Zone{Number: 38, North: true}, eastM: 444_140.54, northM: 3_684_706.36, tolM: 0.005},
		// Read to the metre; centimetres computed.
		{name: "33.5 N 74.75 E", at: ll(33.5, 74.75), zone: position.Zone{Number: 43, North: true}, eastM: 476_778.63, northM: 3_706_747.18, tolM: 0.005},
		// Second hand: GDA Technical Manual; confirmed by computation.
		{name: "Flinders Peak", at: flindersPeak(), on: position.GRS80(), zone: position.Zone{Number: 55}, eastM: 273_741.297, northM: 5_796_489.777, tolM: 0.0006},
		// The manual's easting is printed .051 and .052 in two places.
		{name: "Buninyong", at: buninyongHill(), on: position.GRS80(), zone: position.Zone{Number: 55}, eastM: 228_854.0515, northM: 5_828_259.038, tolM: 0.001, outsideOwnZone: true,
			pointScale: 1.00050567, scaleTol: 5e-9},
		{name: "Buninyong in zone 54", at: buninyongHill(), on: position.GRS80(), zone: position.Zone{Number: 54}, eastM: 758_173.797, northM: 5_828_674.340, tolM: 0.0006},
		// Memory: Snyder 1987, USGS Professional Paper 1395, numerical example
		// of the ellipsoidal transverse Mercator; k there 0.9997989.
		{name: "Snyder", at: ll(40.5, -73.5), on: position.Clarke1866(), zone: position.Zone{Number: 18, North: true}, eastM: 627_106.5, northM: 4_484_124.4, tolM: 0.05,
			pointScale: 0.9997989, scaleTol: 5e-8},
		// Computed.
		{name: "on the central meridian", at: ll(45, -75), zone: position.Zone{Number: 18, North: true}, eastM: 500_000, northM: 4_982_950.40, tolM: 0.005, pointScale: 0.9996, scaleTol: 1e-12},
		{name: "origin of coordinates", at: ll(0, 0), zone: position.Zone{Number: 31, North: true}, eastM: 166_021.44, northM: 0, tolM: 0.005},
		{name: "43.2 N 71.5 W", at: ll(43.2, -71.5), zone: position.Zone{Number: 19, North: true}, eastM: 296_887.13, northM: 4_786_059.23, tolM: 0.005},
		{name: "35.8 N 78.6 W", at: ll(35.7796, -78.6382), zone: position.Zone{Number: 17, North: true}, eastM: 713_473.42, northM: 3_962_076.61, tolM: 0.005},
		{name: "43.6 N 79.4 W", at: ll(43.642567, -79.387139), zone: position.Zone{Number: 17, North: true}, eastM: 630_084.30, northM: 4_833_438.59, tolM: 0.005},
	} {
		t.Run(c.name, func(t *testing.T) {
			utm := position.UTMOn(c.on, c.zone.Number, c.zone.North)
			e, n := utm.Forward(c.at)
			closeTo(t, "easting", e, c.eastM, c.tolM)
			closeTo(t, "northing", n, c.northM, c.tolM)
			back := utm.Inverse(e, n)
			closeTo(t, "latitude back", back.Lat, c.at.Lat, 1e-13)
			closeTo(t, "longitude back", back.Lon, c.at.Lon, 1e-13)
			if own := position.ZoneOf(c.at); (own == c.zone) == c.outsideOwnZone {
				t.Errorf("own zone %v, given %v", own, c.zone)
			}
			if c.pointScale != 0 {
				_, k := utm.Factors(c.at)
				closeTo(t, "point scale", k, c.pointScale, c.scaleTol)
			}
			if utm != position.UTMOn(c.on, c.zone.Number, c.zone.North) {
				t.Error("the same projection built twice is not equal")
			}
			literal := position.TransverseMercator{
				CentralMeridianDeg: utm.CentralMeridianDeg, Scale: utm.Scale,
				FalseEastingM: utm.FalseEastingM, FalseNorthingM: utm.FalseNorthingM, Ellipsoid: c.on,
			}
			if le, ln := literal.Forward(c.at); le != e || ln != n {
				t.Error("a literal projects otherwise than the constructor's value")
			}
		})
	}
}

// The convergence of Buninyong in zone 55 is printed -1°52'43.22" in the GDA
// Technical Manual (second hand), whose sign counts from grid to true north;
// here it is the bearing of grid north, so that west of the meridian in the
// south it is positive.
func TestConvergenceSign(t *testing.T) {
	utm := position.UTMOn(position.GRS80(), 55, false)
	gamma, _ := utm.Factors(buninyongHill())
	closeTo(t, "convergence", math.Abs(gamma), dms(1, 1, 52, 43.22), 0.005/3600)
	// The sign by its meaning: grid north at the point, from the projection
	// itself, by a step of ten metres along the grid.
	e, n := utm.Forward(buninyongHill())
	_, bearing := position.Distance(buninyongHill(), utm.Inverse(e, n+10))
	closeToAngle(t, "bearing of grid north", gamma, bearing, 1e-5)
}
