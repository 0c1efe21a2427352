package surface

import (
	"math/rand/v2"
	"slices"
	"testing"

	"tallybook/geo/near"
)

// TestBucketsAreTheIndex: what the buckets find is what the index finds, the
// order and ties by key included: even wells, towns in a wide country, many on
// one spot, a lattice full of ties, a line, all on one spot.
func TestBucketsAreTheIndex(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 9))
	for _, c := range []struct {
		name  string
		place func(i int) (x, y float64)
	}{
		{"even", func(int) (float64, float64) { return 5e5 + 1e4*r.Float64(), 5e6 + 1e4*r.Float64() }},
		{"towns", func(i int) (float64, float64) {
			return float64(i%5)*2e4 + 300*r.NormFloat64(), float64(i%3)*3e4 + 300*r.NormFloat64()
		}},
		{"spots", func(int) (float64, float64) { return 100 * float64(r.IntN(12)), 100 * float64(r.IntN(12)) }},
		{"lattice", func(i int) (float64, float64) { return float64(i % 40), float64(i / 40) }},
		{"line", func(i int) (float64, float64) { return float64(i), 7 }},
		{"one spot", func(int) (float64, float64) { return 3, 4 }},
	} {
		t.Run(c.name, func(t *testing.T) {
			const n = 1500
			x, y, key := make([]float64, n), make([]float64, n), make([]uint64, n)
			for i := range n {
				x[i], y[i] = c.place(i)
				key[i] = r.Uint64()
			}
			ix, err := near.New(x, y, key)
			if err != nil {
				t.Fatal(err)
			}
			ix, _ = ix.Renumbered()
			b := newBuckets(ix)
			if b == nil {
				if c.name != "one spot" {
					t.Fatal("no buckets")
				}
				return
			}
			minX, minY, maxX, maxY := ix.Bounds()
			answered := 0
			var found []near.Hit
			for range 3000 {
				w, h := maxX-minX, maxY-minY
				px, py := minX+w*(1.2*r.Float64()-0.1), minY+h*(1.2*r.Float64()-0.1)
				if r.IntN(3) == 0 { // beside a well, or on it
					px, py = ix.At(r.IntN(n))
					px += float64(r.IntN(3)) * 0.5
				}
				k := 1 + r.IntN(15)
				want := ix.Nearest(px, py, k, nil)
				bound := want[k-1].D2 * (1 + r.Float64()*float64(r.IntN(2)))
				var ok bool
				if found, ok = b.nearest(ix, px, py, k, bound, found); !ok {
					continue
				}
				answered++
				if !slices.Equal(found, want) {
					t.Fatalf("at (%g, %g), k %d: buckets %v, index %v", px, py, k, found, want)
				}
			}
			if answered < 300 {
				t.Errorf("only %d of 3000 were answered", answered)
			}
		})
	}
}
