package draw_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"tallybook/records"
	"tallybook/server/draw"
)

func anyView(t *rapid.T) draw.View {
	return draw.View{
		Lon: rapid.Float64Range(-180, 180).Draw(t, "lon"), Lat: rapid.Float64Range(-84, 84).Draw(t, "lat"),
		MPerPixel: math.Exp(rapid.Float64Range(math.Log(0.05), math.Log(20000)).Draw(t, "mpp")),
		W:         rapid.Float64Range(200, 2600).Draw(t, "w"), H: rapid.Float64Range(160, 1800).Draw(t, "h"),
	}
}

func turn(a, b float64) float64 { return math.Abs(math.Remainder(a-b, 360)) }

func TestViewRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := anyView(t)
		x, y := rapid.Float64Range(0, v.W).Draw(t, "x"), rapid.Float64Range(0, v.H).Draw(t, "y")
		lon, lat := v.Position(x, y)
		if !(lon >= -180 && lon <= 180 && math.Abs(lat) <= 85.06) {
			t.Fatalf("pixel %g, %g is at %g, %g", x, y, lon, lat)
		}
		wide := v.W*v.MPerPixel > 2*math.Pi*6378137*math.Cos(v.Lat*math.Pi/180)*0.99
		if wide || math.Abs(lat) > 85 {
			return // the same place twice in the window, or beyond the map's end
		}
		gx, gy := v.Pixel(lon, lat)
		if math.Abs(gx-x) > 1e-3 || math.Abs(gy-y) > 1e-3 {
			t.Fatalf("%g, %g came back as %g, %g", x, y, gx, gy)
		}
	})
}

// TestViewWiderThanTheWorld: a window may show the world more than once; every
// pixel of it is a place all the same.
func TestViewWiderThanTheWorld(t *testing.T) {
	v := draw.View{Lon: -179, Lat: 80, MPerPixel: 20000, W: 2600, H: 300}
	for x := 0.0; x <= v.W; x += 13 {
		if lon, _ := v.Position(x, 150); !(lon >= -180 && lon <= 180) {
			t.Fatalf("pixel %g is at %g", x, lon)
		}
	}
}

// TestViewScale: near the middle a pixel is as many metres as it says, on the
// sphere of the projection.
func TestViewScale(t *testing.T) {
	for _, lat := range []float64{-60, 0, 44.25, 80} {
		v := draw.View{Lon: 12, Lat: lat, MPerPixel: 10, W: 800, H: 600}
		const d = 1e-3 // degrees
		x, y := v.Pixel(12+d, lat+d)
		metres := d * math.Pi / 180 * 6378137
		if e := (x-400)*10/(metres*math.Cos(lat*math.Pi/180)) - 1; math.Abs(e) > 1e-4 {
			t.Errorf("at %g a degree of longitude is wrong by %g", lat, e)
		}
		if e := (300-y)*10/metres - 1; math.Abs(e) > 2e-4 {
			t.Errorf("at %g a degree of latitude is wrong by %g", lat, e)
		}
	}
}

func TestViewAcrossTheAntimeridian(t *testing.T) {
	v := draw.View{Lon: 179.9, Lat: -17, MPerPixel: 100, W: 1000, H: 600}
	east, _ := v.Pixel(-179.95, -17)
	west, _ := v.Pixel(179.85, -17)
	if !(west < 500 && east > 500 && east < 1000) {
		t.Errorf("the seam parts what lies together: %g and %g", west, east)
	}
	b := v.Bounds(0)
	if b.West < 179 || b.East > -179 {
		t.Errorf("bounds %+v do not cross the antimeridian", b)
	}
	if lon, _ := v.Position(1000, 300); lon > -179 {
		t.Errorf("the right border is at %g", lon)
	}
}

func TestViewMovesAndComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := anyView(t)
		dx, dy := rapid.Float64Range(-v.W, v.W).Draw(t, "dx"), rapid.Float64Range(-v.H, v.H).Draw(t, "dy")
		m := v.Moved(dx, dy)
		if math.Abs(m.Lat) >= 85 {
			return // held at the end of the map
		}
		// The scale of the plane stays: what is on the ground keeps its size.
		if e := m.PerRadian()/v.PerRadian() - 1; math.Abs(e) > 1e-9 {
			t.Fatalf("panning changed the scale by %g", e)
		}
		back := m.Moved(-dx, -dy)
		tol := 1e-6 * v.MPerPixel / 0.05
		if turn(back.Lon, v.Lon) > tol || math.Abs(back.Lat-v.Lat) > tol || math.Abs(back.MPerPixel/v.MPerPixel-1) > 1e-6 {
			t.Fatalf("%+v came back as %+v", v, back)
		}
	})
}

func TestViewZoomKeepsThePixel(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := anyView(t)
		x, y := rapid.Float64Range(0, v.W).Draw(t, "x"), rapid.Float64Range(0, v.H).Draw(t, "y")
		f := rapid.SampledFrom([]float64{0.5, 0.8, 1.5, 2, 4}).Draw(t, "factor")
		z := v.Zoomed(x, y, f)
		if math.Abs(z.Lat) >= 84.9 || v.W*v.MPerPixel > 1e7 {
			return
		}
		lon, lat := v.Position(x, y)
		if math.Abs(lat) > 84.9 {
			return
		}
		gx, gy := z.Pixel(lon, lat)
		if math.Abs(gx-x) > 1e-2 || math.Abs(gy-y) > 1e-2 {
			t.Fatalf("%g, %g moved to %g, %g", x, y, gx, gy)
		}
		if e := z.PerRadian() / v.PerRadian() / f; math.Abs(e-1) > 1e-9 {
			t.Fatalf("factor %g zoomed by %g", f, e*f)
		}
	})
}

func TestFitViewShowsTheBox(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := rapid.Float64Range(-180, 180).Draw(t, "west")
		s := rapid.Float64Range(-80, 79).Draw(t, "south")
		b := records.Bounds{West: w, South: s, East: w + rapid.Float64Range(0, 90).Draw(t, "width"), North: min(s+rapid.Float64Range(0, 60).Draw(t, "height"), 84)}
		if b.East > 180 {
			b.East -= 360
		}
		v := draw.FitView(b, 900, 600, 30, 400)
		if v.MPerPixel*900 < 400-1e-6 {
			t.Fatalf("only %g m wide", v.MPerPixel*900)
		}
		for _, c := range [][2]float64{{b.West, b.South}, {b.East, b.North}, {b.West, b.North}, {b.East, b.South}} {
			x, y := v.Pixel(c[0], c[1])
			if x < 29 || y < 29 || x > 871 || y > 571 {
				t.Fatalf("%+v: corner %v at %g, %g of %+v", b, c, x, y, v)
			}
		}
	})
}

func TestPlaneThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lon, lat := rapid.Float64Range(-180, 180).Draw(t, "lon"), rapid.Float64Range(-85, 85).Draw(t, "lat")
		x, y := draw.Plane(lon, lat)
		gotLon, gotLat := draw.OffPlane(x+2*math.Pi*float64(rapid.IntRange(-1, 1).Draw(t, "turns")), y)
		if turn(gotLon, lon) > 1e-9 || math.Abs(gotLat-lat) > 1e-9 || math.Abs(gotLon) > 180 {
			t.Fatalf("%g, %g came back as %g, %g", lon, lat, gotLon, gotLat)
		}
	})
	// The pole is beyond the map: it is held at the map's end.
	if _, y := draw.Plane(0, 90); math.IsInf(y, 0) || math.Abs(y-math.Pi) > 1e-9 {
		t.Errorf("the pole is at %g, want the end of the square", y)
	}
}
