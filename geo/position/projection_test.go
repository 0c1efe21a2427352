package position_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tallybook/geo/position"
)

// The exceptions are those of the grid as NGA's standards draw it (memory):
// 31V is narrowed for 32V; 32X, 34X and 36X are not used.
func TestZoneOf(t *testing.T) {
	for _, c := range []struct {
		name   string
		at     position.LonLat
		number int
		north  bool
	}{
		{"first zone", ll(10, -180), 1, true},
		{"the antimeridian is its western edge", ll(10, 180), 1, true},
		{"last zone", ll(10, 179.999), 60, true},
		{"western edge belongs", ll(10, -72), 19, true},
		{"east of Greenwich", ll(10, 0), 31, true},
		{"equator is north", ll(0, 0), 31, true},
		{"south", ll(-0.001, 0), 31, false},
		{"Norway, west coast", ll(60, 4), 32, true},
		{"south of Norway's exception", ll(55.99, 4), 31, true},
		{"north of Norway's exception", ll(64, 4), 31, true},
		{"west of Norway's exception", ll(60, 2.99), 31, true},
		{"Svalbard 31", ll(78, 8.9), 31, true},
		{"Svalbard 33 from 9", ll(78, 9), 33, true},
		{"Svalbard 33 to 21", ll(78, 20.9), 33, true},
		{"Svalbard 35", ll(78, 21), 35, true},
		{"Svalbard 37", ll(78, 33), 37, true},
		{"east of Svalbard", ll(78, 42), 38, true},
		{"south of Svalbard", ll(71.99, 10), 32, true},
	} {
		if got := position.ZoneOf(c.at); got != (position.Zone{Number: c.number, North: c.north}) {
			t.Errorf("%s: %v, want %d north %v", c.name, got, c.number, c.north)
		}
	}
	if got := position.ZoneOf(ll(math.NaN(), 0)); got.Valid() || got.String() != "no zone" {
		t.Errorf("no position lies in %v", got)
	}
}

func TestBandOf(t *testing.T) {
	for _, c := range []struct {
		lat  float64
		want byte
	}{
		{-80, 'C'}, {-72, 'D'}, {-0.1, 'M'}, {0, 'N'}, {32, 'S'}, {39.99, 'S'}, {40, 'T'}, {72, 'X'}, {84, 'X'},
		{84.1, 0}, {-80.1, 0}, {math.NaN(), 0},
	} {
		if got := position.BandOf(c.lat); got != c.want {
			t.Errorf("%g: %q, want %q", c.lat, got, c.want)
		}
	}
}

func TestUTMPanicsOnNoZone(t *testing.T) {
	for _, number := range []int{0, 61, -1} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("zone %d: no panic", number)
				}
			}()
			position.UTM(number, true)
		}()
	}
}

func TestEPSG(t *testing.T) {
	for _, c := range []struct {
		code       int
		x, y, tolM float64
		at         position.LonLat
		unit, says string
	}{
		{4326, -71.5, 43.2, 0, ll(43.2, -71.5), "degree", "longitude and latitude"},
		// GeoConvert(1)'s example (read).
		{32638, 444_140.54, 3_684_706.36, 0.005, ll(33.3, 44.4), "m", "central meridian 45°E, scale 0.9996"},
		// GDA Technical Manual (second hand); GRS 80 there, 0.1 mm from WGS 84.
		{32755, 273_741.297, 5_796_489.777, 0.001, flindersPeak(), "m", "false northing 10000000 m"},
		// IOGP Guidance Note 7-2, method 1024, worked example (memory):
		// 24°22′54.433″N 100°20′00.000″W is X -11169055.58, Y 2800000.00.
		{3857, -11_169_055.58, 2_800_000.00, 0.01, ll(dms(1, 24, 22, 54.433), dms(-1, 100, 20, 0)), "m", "map tiles only"},
	} {
		p, err := position.EPSG(c.code)
		if err != nil {
			t.Fatal(err)
		}
		x, y := p.Forward(c.at)
		closeTo(t, "x", x, c.x, c.tolM)
		closeTo(t, "y", y, c.y, c.tolM)
		back := p.Inverse(x, y)
		closeTo(t, "longitude back", back.Lon, c.at.Lon, 1e-12)
		closeTo(t, "latitude back", back.Lat, c.at.Lat, 1e-12)
		if p.Unit() != c.unit || !strings.Contains(p.Describe(), c.says) {
			t.Errorf("EPSG:%d: %q in %q", c.code, p.Describe(), p.Unit())
		}
	}
	for _, c := range []struct {
		code int
		hint string
	}{
		{0, ""}, {-32618, ""}, {32600, ""}, {32661, ""}, {32700, ""}, {32761, ""}, {2263, ""},
		{26918, "use 32618"}, {4269, "use 4326"}, {26718, "grid shift"}, {4267, "grid shift"}, {26924, ""},
	} {
		_, err := position.EPSG(c.code)
		var unknown *position.EPSGError
		if !errors.As(err, &unknown) || unknown.Code != c.code || !strings.Contains(unknown.Hint, c.hint) || (c.hint == "") != (unknown.Hint == "") {
			t.Errorf("EPSG:%d: %v", c.code, err)
		}
	}
}

func TestForExtent(t *testing.T) {
	for _, c := range []struct {
		name                     string
		west, south, east, north float64
		meridian                 float64
		describe                 string
	}{
		{"western half of a state", -116.05, 44.36, -104.04, 49.0, -110, "transverse Mercator, central meridian 110°W, scale 0.9986 on it, WGS 84 ellipsoid"},
		{"one county", -71.9, 43.0, -71.1, 43.5, -71.5, ""},
		{"across the antimeridian", 175, -40, -175, -35, 180, ""},
		{"across the equator", 30, -5, 40, 3, 35, ""},
		{"one place", -71.5, 43.2, -71.5, 43.2, -71.5, ""},
		{"southern", 140, -44, 150, -38, 145, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			tm := position.ForExtent(c.west, c.south, c.east, c.north)
			if tm.CentralMeridianDeg != c.meridian && math.Abs(tm.CentralMeridianDeg) != math.Abs(c.meridian) {
				t.Errorf("meridian %g, want %g", tm.CentralMeridianDeg, c.meridian)
			}
			if c.describe != "" && tm.Describe() != c.describe {
				t.Errorf("described as %q", tm.Describe())
			}
			width := math.Mod(c.east-c.west+360, 360)
			low, high := math.Inf(1), 0.0
			for i := range 21 {
				for j := range 21 {
					at := position.LonLat{
						Lon: math.Remainder(c.west+width*float64(i)/20, 360),
						Lat: c.south + (c.north-c.south)*float64(j)/20,
					}
					_, k := tm.Factors(at)
					low, high = min(low, k), max(high, k)
				}
			}
			// (width / R)^2 / 16 by the claim; the rounding of the meridian (half a
			// tenth of a degree) and of the scale add their share.
			nearest := max(c.south, -c.north, 0)
			half := width / 2 * math.Pi / 180 * math.Cos(nearest*math.Pi/180)
			worst := half*half/4 + half*0.05*math.Pi/180 + half*half*half*half + 5e-6
			if 1-low > worst || high-1 > worst {
				t.Errorf("scale from %.6f to %.6f, allowed 1 within %g", low, high, worst)
			}
			// Too short in the middle about as much as too long at the edge.
			if width > 2 && math.Abs((high-1)-(1-low)) > 0.2*worst {
				t.Errorf("scale from %.6f to %.6f is not balanced", low, high)
			}
		})
	}
	// East and west of the antimeridian lie close together.
	tm := position.ForExtent(175, -40, -175, -35)
	x1, _ := tm.Forward(ll(-37, 179.99))
	x2, _ := tm.Forward(ll(-37, -179.99))
	d, _ := position.Distance(ll(-37, 179.99), ll(-37, -179.99))
	closeTo(t, "across the antimeridian", (x2-x1)/d, 1, 0.002)

	for _, c := range [][4]float64{
		{math.NaN(), 0, 1, 1}, {0, 0, math.Inf(1), 1}, {math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}, {0, 2, 1, 1},
	} {
		if x, y := position.ForExtent(c[0], c[1], c[2], c[3]).Forward(ll(43.2, -71.5)); !math.IsNaN(x) || y == 0 {
			t.Errorf("no extent %v gives %g, %g", c, x, y)
		}
	}
}

// Convergence and point scale are what the projection itself does to a step of
// ten metres to the north.
func TestFactorsAgainstProjection(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cm := rapid.Float64Range(-180, 180).Draw(t, "cm")
		at := position.LonLat{
			Lon: math.Remainder(cm+rapid.Float64Range(-20, 20).Draw(t, "dlon"), 360),
			Lat: rapid.Float64Range(-85, 85).Draw(t, "lat"),
		}
		tm := position.NewTransverseMercator(cm, 0.9992, 1000, -2000, position.WGS84())
		const step = 10.0
		x0, y0 := tm.Forward(position.Destination(at, 180, step))
		x1, y1 := tm.Forward(position.Destination(at, 0, step))
		gamma, k := tm.Factors(at)
		if got := math.Hypot(x1-x0, y1-y0) / (2 * step); !(math.Abs(got-k) <= 1e-8) {
			t.Errorf("scale by projection %.10f, by formula %.10f", got, k)
		}
		// True north lies at minus gamma on the grid.
		if got := -math.Atan2(x1-x0, y1-y0) * 180 / math.Pi; !(math.Abs(got-gamma) <= 1e-6) {
			t.Errorf("convergence by projection %.10f, by formula %.10f", got, gamma)
		}
		x, y := tm.Forward(at)
		if d, _ := position.Distance(at, tm.Inverse(x, y)); !(d <= 1e-7) {
			t.Errorf("there and back is %g m off", d)
		}
	})
}

func TestTransverseMercatorAtPoles(t *testing.T) {
	tm := position.UTM(19, true)
	for _, lat := range []float64{90, -90, 89.9999999, -89.9999999} {
		x, y := tm.Forward(ll(lat, 20))
		back := tm.Inverse(x, y)
		if d, _ := position.Distance(ll(lat, 20), back); !(d <= 1e-6) {
			t.Errorf("%g: %g, %g comes back as %v", lat, x, y, back)
		}
		if _, k := tm.Factors(ll(lat, 20)); !(math.Abs(k-0.9996) <= 1e-4) {
			t.Errorf("%g: point scale %g", lat, k)
		}
	}
	if x, y := tm.Forward(ll(math.NaN(), 0)); !math.IsNaN(x) || !math.IsNaN(y) {
		t.Errorf("no position projects to %g, %g", x, y)
	}
	if at := tm.Inverse(math.NaN(), 0); !math.IsNaN(at.Lon) {
		t.Errorf("no coordinates come from %v", at)
	}
}
