package position_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"tallybook/geo/position"
)

// around are positions within some 50 km of a site.
func around(n int) (site position.LonLat, points []position.LonLat) {
	rng := rand.New(rand.NewPCG(11, 12))
	site = ll(43.2, -71.5)
	for range n {
		points = append(points, position.LonLat{
			Lon: site.Lon + (rng.Float64()-0.5)*1.2,
			Lat: site.Lat + (rng.Float64()-0.5)*0.9,
		})
	}
	return site, points
}

// The plane, and beside it the three plain ways to the same distance.
func BenchmarkPlaneToXY(b *testing.B) {
	site, points := around(256)
	plane := position.NewPlane(site)
	b.ReportAllocs()
	sum, i := 0.0, 0
	for b.Loop() {
		x, y := plane.ToXY(points[i&255])
		sum += x + y
		i++
	}
	sink(b, sum)
}

func BenchmarkPlaneFromXY(b *testing.B) {
	plane := position.NewPlane(ll(43.2, -71.5))
	b.ReportAllocs()
	sum := 0.0
	for b.Loop() {
		sum += plane.FromXY(12_345, -23_456).Lat
	}
	sink(b, sum)
}

func BenchmarkNewPlane(b *testing.B) {
	_, points := around(256)
	b.ReportAllocs()
	sum, i := 0.0, 0
	for b.Loop() {
		plane := position.NewPlane(points[i&255])
		x, _ := plane.ToXY(points[0])
		sum += x
		i++
	}
	sink(b, sum)
}

func BenchmarkDistance(b *testing.B) {
	site, points := around(256)
	b.ReportAllocs()
	sum, i := 0.0, 0
	for b.Loop() {
		d, _ := position.Distance(site, points[i&255])
		sum += d
		i++
	}
	sink(b, sum)
}

func BenchmarkHaversine(b *testing.B) {
	site, points := around(256)
	radiusM := position.WGS84().MeanRadiusM()
	b.ReportAllocs()
	sum, i := 0.0, 0
	for b.Loop() {
		sum += position.Haversine(site, points[i&255], radiusM)
		i++
	}
	sink(b, sum)
}

func BenchmarkTransverseMercatorForward(b *testing.B) {
	_, points := around(256)
	tm := position.UTM(19, true)
	b.ReportAllocs()
	sum, i := 0.0, 0
	for b.Loop() {
		x, y := tm.Forward(points[i&255])
		sum += x + y
		i++
	}
	sink(b, sum)
}

func BenchmarkTransverseMercatorInverse(b *testing.B) {
	tm := position.UTM(19, true)
	b.ReportAllocs()
	sum := 0.0
	for b.Loop() {
		sum += tm.Inverse(296_887, 4_786_059).Lat
	}
	sink(b, sum)
}

func BenchmarkParse(b *testing.B) {
	for _, c := range []struct{ name, text string }{
		{"decimal", "43.200000, -71.500000"},
		{"seconds", "43°12′00.00″N 71°30′00.00″W"},
		{"utm", "19N 296887.1 4786059.2"},
	} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := position.Parse(c.text); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// sink keeps a benchmark's results from being dropped.
func sink(b *testing.B, sum float64) {
	if math.IsNaN(sum) {
		b.Fatal("no number came out")
	}
}
