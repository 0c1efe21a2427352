package surface_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"syscall"
	"testing"
	"time"

	"tallybook/geo/near"
	"tallybook/geo/surface"
)

// benchWells stand in clumps of very different density over 100 km.
func benchWells(n int) (x, y, v []float64) {
	r := rand.New(rand.NewPCG(2024, uint64(n)))
	type clump struct{ x, y, sd float64 }
	clumps := make([]clump, 200)
	for i := range clumps {
		clumps[i] = clump{r.Float64() * 1e5, r.Float64() * 1e5, 500 + 4000*r.Float64()}
	}
	x, y, v = make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range x {
		if r.Float64() < 0.3 {
			x[i], y[i] = r.Float64()*1e5, r.Float64()*1e5
		} else {
			c := clumps[r.IntN(len(clumps))]
			x[i], y[i] = c.x+c.sd*r.NormFloat64(), c.y+c.sd*r.NormFloat64()
		}
		v[i] = 20 + 10*math.Sin(x[i]/9000)*math.Cos(y[i]/7000) + r.NormFloat64()
	}
	return x, y, v
}

// processorTime is what this process has used of all processors: on a busy
// machine the only time that tells anything.
func processorTime(b *testing.B) time.Duration {
	b.Helper()
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// BenchmarkGrid measures whole surfaces. The 1000 by 1000 grids take
// TALLYBOOK_BENCH_LARGE=1, since they are only for the record.
func BenchmarkGrid(b *testing.B) {
	sides := []int{500}
	if os.Getenv("TALLYBOOK_BENCH_LARGE") != "" {
		sides = append(sides, 1000)
	}
	for _, n := range []int{10_000, 100_000, 1_000_000} {
		x, y, v := benchWells(n)
		ix, err := near.New(x, y, nil)
		if err != nil {
			b.Fatal(err)
		}
		for _, side := range sides {
			g := surface.Grid{Cols: side, Rows: side, CellW: 1e5 / float64(side), CellH: 1e5 / float64(side)}
			b.Run(fmt.Sprintf("n=%d/%dx%d/tiles", n, side, side), func(b *testing.B) {
				b.ReportAllocs()
				before := processorTime(b)
				for b.Loop() {
					if _, err := surface.DefaultIDW.Grid(context.Background(), ix, v, g, 0); err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(float64(g.Len())*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mcells/s")
				b.ReportMetric(float64(g.Len())*float64(b.N)/(processorTime(b)-before).Seconds()/1e6, "Mcells/cpu-s")
			})
		}
		b.Run(fmt.Sprintf("n=%d/500x500/node by node", n), func(b *testing.B) {
			g := surface.Grid{Cols: 500, Rows: 500, CellW: 200, CellH: 200}
			i := 0
			for b.Loop() {
				surface.DefaultIDW.At(ix, v, g.X(i%500), g.Y(i/500%500))
				i++
			}
			b.ReportMetric(float64(b.N)/b.Elapsed().Seconds()/1e6, "Mcells/s")
		})
		b.Run(fmt.Sprintf("n=%d/500x500/naive scan", n), func(b *testing.B) {
			r := rand.New(rand.NewPCG(1, 1))
			for b.Loop() {
				scan12(x, y, v, r.Float64()*1e5, r.Float64()*1e5)
			}
			b.ReportMetric(float64(b.N)/b.Elapsed().Seconds()/1e6, "Mcells/s")
		})
	}
}

// scan12 is inverse distance squared over the 12 nearest by a plain scan.
func scan12(x, y, v []float64, px, py float64) float64 {
	var d2 [12]float64
	var at [12]int
	n := 0
	for i := range x {
		dx, dy := x[i]-px, y[i]-py
		d := dx*dx + dy*dy
		if n == 12 && d >= d2[11] {
			continue
		}
		if n < 12 {
			n++
		}
		j := n - 1
		for ; j > 0 && d2[j-1] > d; j-- {
			d2[j], at[j] = d2[j-1], at[j-1]
		}
		d2[j], at[j] = d, i
	}
	var sum, weights float64
	for j := range n {
		sum += v[at[j]] / d2[j]
		weights += 1 / d2[j]
	}
	return sum / weights
}
