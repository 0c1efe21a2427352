package near_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"tallybook/geo/near"
)

var benchSizes = []int{10_000, 100_000, 1_000_000}

// benchCloud is clumped over 100 km, with questions spread as the points are
// (half) and evenly (half).
func benchCloud(b *testing.B, n int) (*near.Index, cloud, []float64, []float64) {
	b.Helper()
	r := rand.New(rand.NewPCG(42, uint64(n)))
	x, y := clumped(r, n, 1e5)
	c := cloud{x: x, y: y}
	ix := mustIndex(b, c)
	qx, qy := fill(4096, func(i int) (float64, float64) {
		if i%2 == 0 {
			j := r.IntN(n)
			return x[j] + r.NormFloat64()*100, y[j] + r.NormFloat64()*100
		}
		return r.Float64() * 1e5, r.Float64() * 1e5
	})
	return ix, c, qx, qy
}

func BenchmarkNew(b *testing.B) {
	for _, shape := range []string{"uniform", "clumps in a wide country", "all at one position", "organ pipe"} {
		for _, n := range benchSizes {
			r := rand.New(rand.NewPCG(1, 2))
			x, y := shapes[shape](r, n)
			b.Run(fmt.Sprintf("%s/n=%d", shape, n), func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					if _, err := near.New(x, y, nil); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}

func BenchmarkNearest(b *testing.B) {
	for _, n := range benchSizes {
		ix, c, qx, qy := benchCloud(b, n)
		for _, k := range []int{8, 12, 32, 200} {
			b.Run(fmt.Sprintf("n=%d/k=%d/tree", n, k), func(b *testing.B) {
				b.ReportAllocs()
				var buf []near.Hit
				i := 0
				for b.Loop() {
					buf = ix.Nearest(qx[i&4095], qy[i&4095], k, buf)
					i++
				}
			})
		}
		b.Run(fmt.Sprintf("n=%d/k=12/naive", n), func(b *testing.B) {
			b.ReportAllocs()
			i := 0
			for b.Loop() {
				c.nearest(qx[i&4095], qy[i&4095], 12, nil)
				i++
			}
		})
	}
}

func BenchmarkWithin(b *testing.B) {
	for _, n := range benchSizes {
		ix, c, qx, qy := benchCloud(b, n)
		b.Run(fmt.Sprintf("n=%d/r=1609m/tree", n), func(b *testing.B) {
			b.ReportAllocs()
			var buf []near.Hit
			i, found := 0, 0
			for b.Loop() {
				buf = ix.Within(qx[i&4095], qy[i&4095], 1609, buf)
				found += len(buf)
				i++
			}
			b.ReportMetric(float64(found)/float64(i), "found/op")
		})
		b.Run(fmt.Sprintf("n=%d/r=1609m/naive", n), func(b *testing.B) {
			b.ReportAllocs()
			i := 0
			for b.Loop() {
				c.within(qx[i&4095], qy[i&4095], 1609)
				i++
			}
		})
	}
}

func BenchmarkBox(b *testing.B) {
	for _, n := range benchSizes {
		ix, c, qx, qy := benchCloud(b, n)
		for _, side := range []float64{2e3, 2e5} {
			b.Run(fmt.Sprintf("n=%d/side=%gm/tree", n, side), func(b *testing.B) {
				b.ReportAllocs()
				var buf []int32
				i, found := 0, 0
				for b.Loop() {
					x, y := qx[i&4095], qy[i&4095]
					buf = ix.Box(x-side/2, y-side/2, x+side/2, y+side/2, buf)
					found += len(buf)
					i++
				}
				b.ReportMetric(float64(found)/float64(i), "found/op")
			})
		}
		b.Run(fmt.Sprintf("n=%d/side=2000m/naive", n), func(b *testing.B) {
			b.ReportAllocs()
			i := 0
			for b.Loop() {
				x, y := qx[i&4095], qy[i&4095]
				c.box(x-1e3, y-1e3, x+1e3, y+1e3)
				i++
			}
		})
	}
}
