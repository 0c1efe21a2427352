//go:build judges

package variogram_test

import (
	"context"
	"math"
	"testing"

	"tallybook/geo/variogram"
)

// TestJudgeDecluster: the 470 samples of Walker Lake that E. H. Isaaks and R. M.
// Srivastava work their book on (An Introduction to Applied Geostatistics, Oxford,
// 1989), which R's package gstat carries. Their crowds stand on high values of V.
// Chapter 10 finds by cells a lowest mean of 288 ppm, at cells of about 20 m, for
// a true mean of 278 over all of the ground; the book's figures are from memory,
// and its cells were not averaged over several origins, so that some units are
// allowed. The means at each size are held to a loop in R to the digit.
func TestJudgeDecluster(t *testing.T) {
	tables := judge(t, `data(walker); d <- as.data.frame(walker)
give("walker", data.frame(x = d$X, y = d$Y, v = d$V))
w <- function(side, origins) {
  total <- numeric(nrow(d))
  for (o in seq_len(origins) - 1) {
    s <- side * o / origins
    k <- paste(floor((d$X - min(d$X) + s) / side), floor((d$Y - min(d$Y) + s) / side))
    n <- as.numeric(table(k)[k])
    total <- total + (1 / n) / sum(1 / n) / origins
  }
  sum(total * d$V)
}
sides <- c(5.3, 8.7, 12.1, 17.9, 21.7, 26.3, 33.1, 60.7, 101.3)
give("cells", data.frame(side = sides, eight = sapply(sides, w, origins = 8), one = sapply(sides, w, origins = 1)))
`)
	s, cells := tables("walker"), tables("cells")
	if len(s["v"]) != 470 || len(cells["side"]) != 9 {
		t.Fatal(len(s["v"]), len(cells["side"]))
	}
	decluster := func(c variogram.Cells) variogram.Declustered {
		d, err := variogram.Decluster(context.Background(), s["x"], s["y"], s["v"], c)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	w := worst{}
	for i, side := range cells["side"] {
		for origins, name := range map[int]string{8: "eight", 1: "one"} {
			d := decluster(variogram.Cells{SmallestM: side, LargestM: side, Origins: origins})
			w.compare(t, name, d.Mean, cells[name][i], 1e-12)
		}
	}
	d := decluster(variogram.Cells{SmallestM: 5, LargestM: 120})
	if !d.Lowest || math.Abs(d.Mean-288) > 5 || d.CellM < 17 || d.CellM > 26 || math.Abs(d.PlainMean-435.3) > 0.05 {
		t.Errorf("mean %.1f by cells of %.1f m, lowest %v; plain %.1f", d.Mean, d.CellM, d.Lowest, d.PlainMean)
	}
	t.Logf("mean %.1f (median %.1f) by cells of %.1f m; plain %.1f (%.1f); %v", d.Mean, d.Median, d.CellM, d.PlainMean, d.PlainMedian, w)
}

// TestJudgeFill: a grid of the Meuse at once, with the nearest 16, against
// gstat's krige.
func TestJudgeFill(t *testing.T) {
	m := variogram.Model{Nugget: 0.05, Structures: []variogram.Structure{{Shape: variogram.Spherical, Sill: 0.59, RangeM: 897}}}
	tables := judge(t, `data(meuse.grid); coordinates(meuse.grid) <- ~x+y
g <- meuse.grid[seq(1, nrow(meuse.grid), by = 2), ]
k <- krige(v ~ 1, meuse, g, vgm(0.59, "Sph", 897, 0.05), nmax = 16, debug.level = 0)
give("grid", data.frame(x = coordinates(g)[, 1], y = coordinates(g)[, 2], value = k$var1.pred, variance = k$var1.var))
`)
	s, grid := tables("samples"), tables("grid")
	k, err := variogram.NewKriging(s["x"], s["y"], s["v"], m, variogram.Options{Neighbours: 16})
	if err != nil {
		t.Fatal(err)
	}
	n := len(grid["x"])
	f, err := k.Fill(context.Background(), n, 0, func(i int) (float64, float64, bool) { return grid["x"][i], grid["y"][i], true })
	if err != nil || n < 1500 || f.Places != n {
		t.Fatal(n, f.Places, err)
	}
	w := worst{}
	other := 0
	for i := range n {
		// Where two samples are equally far as the sixteenth, either may be taken.
		if math.Abs(f.Value[i]/grid["value"][i]-1) > 1e-6 {
			other++
			continue
		}
		w.compare(t, "value", f.Value[i], grid["value"][i], 1e-6)
		w.compare(t, "variance", f.Variance[i], grid["variance"][i], 1e-6)
	}
	if other > n/100 {
		t.Errorf("%d of %d places differ", other, n)
	}
	t.Logf("%d places, %d with another sixteenth; %v", n, other, w)
}
