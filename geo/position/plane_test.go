package position_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"tallybook/geo/position"
)

// planeClaims are those of Plane's doc comment.
var planeClaims = []struct{ rangeM, boundM float64 }{
	{1_000, 1e-6},
	{10_000, 1e-6},
	{50_000, 2e-5},
	{100_000, 3e-4},
	{200_000, 5e-3},
	{317_000, 3e-2},
	{1_000_000, 1e-6}, // by the geodesic itself
	{15_000_000, 1e-5},
}

// The judge is the geodesic: a point placed at a distance and azimuth from the
// centre must come out at that distance and azimuth on the plane. The centres
// lie by the antimeridian, so that it is crossed at every distance.
func TestPlaneAgainstGeodesic(t *testing.T) {
	for _, claim := range planeClaims {
		worst, poleward := 0.0, 0.0
		for lat := -90.0; lat <= 90; lat += 2.5 {
			center := position.LonLat{Lon: 179.99, Lat: lat}
			plane := position.NewPlane(center)
			for az := 0.0; az < 360; az += 15 {
				for _, part := range []float64{0.5, 1} {
					s := claim.rangeM * part
					sin, cos := math.Sincos(az * math.Pi / 180)
					p := position.Destination(center, az, s)
					x, y := plane.ToXY(p)
					off := math.Hypot(x-s*sin, y-s*cos)
					if math.Abs(lat) > 75 {
						poleward = max(poleward, off)
					} else {
						worst = max(worst, off)
					}
					if back, _ := position.Distance(p, plane.FromXY(x, y)); !(back <= 1e-6) {
						t.Errorf("centre %v, azimuth %g, %g m: there and back is off by %g m", center, az, s, back)
					}
				}
			}
		}
		t.Logf("%5.0f km: off by at most %.2g m; %.2g m about centres beyond 75 degrees", claim.rangeM/1000, worst, poleward)
		if worst > claim.boundM {
			t.Errorf("%g km: off by %g m, claimed %g m", claim.rangeM/1000, worst, claim.boundM)
		}
		if poleward > 3*claim.boundM {
			t.Errorf("%g km, centres beyond 75 degrees: off by %g m, claimed %g m", claim.rangeM/1000, poleward, 3*claim.boundM)
		}
	}
}

// What neighbours feel: the distance between two points off the centre, and
// the claim of its stretch, d*d / (6 R*R) across the radius.
func TestPlaneBetweenNeighbours(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		center := position.LonLat{
			Lon: rapid.Float64Range(-180, 180).Draw(t, "lon"),
			Lat: rapid.Float64Range(-70, 70).Draw(t, "lat"),
		}
		az := rapid.Float64Range(0, 360)
		reach := rapid.Float64Range(0, 50_000)
		a := position.Destination(center, az.Draw(t, "az a"), reach.Draw(t, "a"))
		b := position.Destination(center, az.Draw(t, "az b"), reach.Draw(t, "b"))
		plane := position.NewPlane(center)
		ax, ay := plane.ToXY(a)
		bx, by := plane.ToXY(b)
		want, _ := position.Distance(a, b)
		got := math.Hypot(ax-bx, ay-by)
		const stretch = 50.0 * 50 / 6 / 6330 / 6330
		if !(got >= want-1e-3 && got <= want*(1+1.05*stretch)+1e-3) {
			t.Errorf("plane %.6f m, geodesic %.6f m", got, want)
		}
	})
}

func TestPlaneEdges(t *testing.T) {
	site := ll(43.2, -71.5)
	plane := position.NewPlane(site)
	if plane.Center() != site {
		t.Errorf("centre %v", plane.Center())
	}
	if x, y := plane.ToXY(site); x != 0 || y != 0 {
		t.Errorf("the centre lies at %g, %g", x, y)
	}
	if at := plane.FromXY(0, 0); at != site {
		t.Errorf("0, 0 is %v", at)
	}
	nan := math.NaN()
	for _, at := range []position.LonLat{ll(nan, -71.5), ll(43.2, nan), ll(43.2, math.Inf(1)), ll(math.Inf(-1), 0)} {
		if x, y := plane.ToXY(at); !math.IsNaN(x) || !math.IsNaN(y) {
			t.Errorf("%#v lies at %g, %g", at, x, y)
		}
	}
	for _, xy := range [][2]float64{{nan, 0}, {0, nan}, {math.Inf(1), 0}} {
		if at := plane.FromXY(xy[0], xy[1]); !math.IsNaN(at.Lat) || !math.IsNaN(at.Lon) {
			t.Errorf("%v is %v", xy, at)
		}
	}
	for _, center := range []position.LonLat{ll(nan, 0), ll(91, 0), ll(0, 181)} {
		nowhere := position.NewPlane(center)
		if x, y := nowhere.ToXY(site); !math.IsNaN(x) || !math.IsNaN(y) {
			t.Errorf("about %#v a site lies at %g, %g", center, x, y)
		}
		if at := nowhere.FromXY(1, 1); !math.IsNaN(at.Lat) {
			t.Errorf("about %#v 1, 1 is %v", center, at)
		}
	}
	if n := testing.AllocsPerRun(100, func() { plane.ToXY(ll(43.3, -71.6)) }); n != 0 {
		t.Errorf("ToXY allocates %g times", n)
	}
}

// The series and the geodesic meet without a step that anyone could see.
func TestPlaneSeam(t *testing.T) {
	center := ll(43.2, -71.5)
	plane := position.NewPlane(center)
	for az := 0.0; az < 360; az += 10 {
		previous := 0.0
		for s := 317_000.0; s < 320_000; s += 10 {
			x, y := plane.ToXY(position.Destination(center, az, s))
			d := math.Hypot(x, y)
			if previous != 0 && !(math.Abs(d-previous-10) <= 0.05) {
				t.Errorf("azimuth %g: a step of %g m at %g m", az, d-previous-10, s)
			}
			previous = d
		}
	}
}
