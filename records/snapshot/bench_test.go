package snapshot_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"testing"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/snapshot"
)

// sizes are what is measured: 100,000 wells, and with TALLYBOOK_MILLION=1 a
// million.
func sizes() []int {
	if os.Getenv("TALLYBOOK_MILLION") != "" {
		return []int{100_000, 1_000_000}
	}
	return []int{100_000}
}

// township is about 100 km on a side.
var township = records.Bounds{West: -72, South: 44, East: -70.75, North: 44.9}

// heap is what is in use once the garbage is gone.
func heap() uint64 {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}

func BenchmarkOpen(b *testing.B) {
	for _, n := range sizes() {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			_, m := opened(b, n, township, 1)
			before := heap()
			s, err := snapshot.Open(b.Context(), m)
			if err != nil {
				b.Fatal(err)
			}
			perWell := float64(heap()-before) / float64(n)
			runtime.KeepAlive(s)
			b.ReportAllocs()
			for b.Loop() {
				if _, err = snapshot.Open(b.Context(), m); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(perWell, "B/well")
		})
	}
}

// BenchmarkEdit is one edit until it shows, with a half-full overlay.
func BenchmarkEdit(b *testing.B) {
	for _, n := range sizes() {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			s, m := opened(b, n, township, 1)
			one := oneChange{memory: m}
			for id := int64(1); id <= 1000; id++ {
				one.edit(id)
				if _, err := s.Refresh(b.Context(), &one); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportAllocs()
			for b.Loop() {
				one.edit(500)
				if _, err := s.Refresh(b.Context(), &one); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// oneChange is a store that finds its latest change without a scan, as a
// real one does by its index.
type oneChange struct {
	*memory
	last records.Digest
}

func (o *oneChange) edit(id int64) {
	o.commit++
	o.last = o.wells[id]
	o.last.Year = float32(o.commit % 2000)
}

func (o *oneChange) View(_ context.Context, fn func(records.StoreView) error) error {
	return fn(&oneChangeView{memoryView{m: o.memory}, o})
}

type oneChangeView struct {
	memoryView
	o *oneChange
}

func (v *oneChangeView) DigestsSince(context.Context, int64) ([]records.Digest, []int64, error) {
	return []records.Digest{v.o.last}, nil, nil
}

// naiveBox looks at every well, as without an index.
func naiveBox(p *snapshot.Picture, in records.Bounds) (n int) {
	p.Each(func(r snapshot.Row) bool {
		if lon, lat, ok := r.Position(); ok && within(in, lon, lat) {
			n++
		}
		return true
	})
	return n
}

func BenchmarkViewport(b *testing.B) {
	for _, size := range sizes() {
		s, _ := opened(b, size, township, 1)
		p := s.Picture()
		side := 1.25 * math.Sqrt(500/float64(size)) // about 500 wells
		r := rand.New(rand.NewPCG(1, 2))
		views := make([]records.Bounds, 256)
		for i := range views {
			w, so := township.West+r.Float64()*(1.25-side), township.South+r.Float64()*(0.9-0.72*side)
			views[i] = records.Bounds{West: w, South: so, East: w + side, North: so + 0.72*side}
		}
		b.Run(fmt.Sprintf("%d/index", size), func(b *testing.B) {
			b.ReportAllocs()
			n := 0
			for i := 0; b.Loop(); i++ {
				p.InBox(views[i%len(views)], func(snapshot.Row) bool { n++; return true })
			}
			b.ReportMetric(float64(n)/float64(b.N), "wells")
		})
		b.Run(fmt.Sprintf("%d/naive", size), func(b *testing.B) {
			for i := 0; b.Loop(); i++ {
				naiveBox(p, views[i%len(views)])
			}
		})
	}
}

// BenchmarkWholeExtent sums a field over every well, with an edit laid over.
func BenchmarkWholeExtent(b *testing.B) {
	for _, size := range sizes() {
		s, m := opened(b, size, township, 1)
		m.change(func() { m.put(m.wells[7]) })
		refresh(b, s, m)
		p := s.Picture()
		b.Run(fmt.Sprint(size), func(b *testing.B) {
			b.ReportAllocs()
			sum := 0.0
			for b.Loop() {
				p.Each(func(r snapshot.Row) bool { sum += r.Value(snapshot.Bedrock).Value; return true })
			}
		})
	}
}

// BenchmarkTrustedExtent is BenchmarkWholeExtent as a map does it: as far as a
// filter trusts each well.
func BenchmarkTrustedExtent(b *testing.B) {
	for _, size := range sizes() {
		s, _ := opened(b, size, township, 1)
		p := s.Picture()
		filter := snapshot.Filter{}
		b.Run(fmt.Sprint(size), func(b *testing.B) {
			b.ReportAllocs()
			sum := 0.0
			for b.Loop() {
				p.Each(func(r snapshot.Row) bool { sum += filter.Value(r, snapshot.Bedrock).Value; return true })
			}
		})
	}
}

func BenchmarkNearest(b *testing.B) {
	for _, size := range sizes() {
		s, _ := opened(b, size, township, 1)
		p := s.Picture()
		for _, c := range []struct {
			name string
			at   position.LonLat
		}{
			{"within", position.LonLat{Lon: -71.4, Lat: 44.4}},
			{"far", position.LonLat{Lon: -40, Lat: 10}},
		} {
			b.Run(fmt.Sprintf("%d/%s", size, c.name), func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					p.Nearest(c.at, 12, nil)
				}
			})
		}
		b.Run(fmt.Sprintf("%d/within/naive", size), func(b *testing.B) {
			if size > 100_000 {
				b.Skip("minutes")
			}
			for b.Loop() {
				_ = naiveNeighbours(p, position.LonLat{Lon: -71.4, Lat: 44.4}, nil)[:12]
			}
		})
		b.Run(fmt.Sprintf("%d/mile", size), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				p.Around(position.LonLat{Lon: -71.4, Lat: 44.4}, 1609.344, nil)
			}
		})
	}
}
