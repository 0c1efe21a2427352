package position_test

import (
	"math"
	"testing"

	"tallybook/geo/position"
)

// errorBoundM is the claim of Plane's doc comment.
var planeClaims = []struct{ rangeM, boundM float64 }{
	{1_000, 1e-6}, {10_000, 1e-5}, {50_000, 1e-4}, {100_000, 1e-3}, {200_000, 1e-2}, {317_000, 6e-2}, {1_000_000, 1e-6},
}

// The judge is the geodesic: a point placed at a distance and azimuth from the
// centre must come out at that distance and azimuth on the plane.
func TestPlaneAgainstGeodesic(t *testing.T) {
	for _, claim := range planeClaims {
		worst := 0.0
		for lat := -75.0; lat <= 75; lat += 7.5 {
			center := position.LonLat{Lon: 179.9, Lat: lat}
			plane := position.NewPlane(center)
			for az := 0.0; az < 360; az += 15 {
				for _, part := range []float64{0.5, 1} {
					s := claim.rangeM * part
					sin, cos := math.Sincos(az * math.Pi / 180)
					p := position.Destination(center, az, s)
					x, y := plane.ToXY(p)
					off := math.Hypot(x-s*sin, y-s*cos)
					if !(off <= claim.boundM) {
						t.Errorf("centre %v, azimuth %g, %g m: off by %g m", center, az, s, off)
					}
					worst = max(worst, off)
					if back, _ := position.Distance(p, plane.FromXY(x, y)); !(back <= 1e-6) {
						t.Errorf("centre %v, azimuth %g, %g m: there and back is off by %g m", center, az, s, back)
					}
				}
			}
		}
		t.Logf("%4.0f km: at most %.2g m", claim.rangeM/1000, worst)
	}
}
