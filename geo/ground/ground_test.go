package ground_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"tallybook/geo/ground"
	"tallybook/geo/surface"
)

// raster is a raster held in memory: rows from the north.
type raster struct {
	ground.Frame
	rows [][]float64
}

func newRaster(cols, rows int, height func(x, y float64) float64) raster {
	r := raster{Frame: ground.Frame{Grid: surface.Grid{Cols: cols, Rows: rows, MinX: 500, MinY: 1000, CellW: 10, CellH: 10}}}
	for row := range rows {
		var line []float64
		for col := range cols {
			line = append(line, height(r.X(col), r.Y(rows-1-row)))
		}
		r.rows = append(r.rows, line)
	}
	return r
}

// cut cuts a raster and gives it back by its tiles, as a store would.
func cut(t testing.TB, r raster) (ground.Tiles, *ground.Cutter, map[[2]int][]byte) {
	t.Helper()
	c, err := ground.NewCutter(r.Frame)
	if err != nil {
		t.Fatal(err)
	}
	kept := map[[2]int][]byte{}
	for _, row := range r.rows {
		if err := c.Row(row, func(row, col int, packed []byte) error {
			kept[[2]int{row, col}] = packed
			return nil
		}); err != nil {
			t.Fatal(err)
		}
	}
	if !c.Whole() {
		t.Error("not whole after the last row")
	}
	return func(row, col int) (*ground.Tile, error) {
		packed, ok := kept[[2]int{row, col}]
		if !ok {
			return nil, nil
		}
		var tile ground.Tile
		return &tile, ground.Unpack(packed, &tile)
	}, c, kept
}

// Between four centres the height is that of the bilinear formula, worked here
// by hand: heights 10, 20 in the north and 30, 60 in the south; a quarter of a
// cell east and half a cell south of the first centre it is
// (10*0.75+20*0.25)/2 + (30*0.75+60*0.25)/2 = 6.25 + 18.75 = 25.
func TestHeightByHand(t *testing.T) {
	heights := map[[2]float64]float64{{505, 1015}: 10, {515, 1015}: 20, {505, 1005}: 30, {515, 1005}: 60}
	tiles, c, _ := cut(t, newRaster(2, 2, func(x, y float64) float64 { return heights[[2]float64{x, y}] }))
	f := newRaster(2, 2, func(x, y float64) float64 { return 0 }).Frame
	for _, p := range []struct{ x, y, want float64 }{
		{507.5, 1010, 25},
		{505, 1015, 10}, {515, 1005, 60}, // the centres
		{500, 1020, 10}, {520, 1000, 60}, {500, 1000, 30}, // the corners of the raster
		{510, 1020, 15},                                      // its edge
		{499.9, 1010, math.NaN()}, {510, 1020.1, math.NaN()}, // outside
		{math.NaN(), 1010, math.NaN()}, {510, math.Inf(1), math.NaN()},
	} {
		got, err := f.At(tiles, p.x, p.y)
		if err != nil || got != p.want && !(got != got && p.want != p.want) {
			t.Errorf("at %g, %g: %g (%v), want %g", p.x, p.y, got, err, p.want)
		}
	}
	if c.Filled != 4 || c.Low != 10 || c.High != 60 {
		t.Errorf("counted %d from %g to %g", c.Filled, c.Low, c.High)
	}
}

// A plane is read back exactly everywhere, also across the seams of tiles.
func TestPlaneAcrossSeams(t *testing.T) {
	plane := func(x, y float64) float64 { return x/8 + y/4 }
	r := newRaster(2*ground.Side+3, ground.Side+1, plane)
	tiles, _, kept := cut(t, r)
	if len(kept) != 6 || r.TileCols() != 3 || r.TileRows() != 2 {
		t.Errorf("%d tiles, %d by %d", len(kept), r.TileCols(), r.TileRows())
	}
	rng := rand.New(rand.NewPCG(1, 2))
	for range 5000 {
		x := r.X(0) + rng.Float64()*(r.X(r.Cols-1)-r.X(0))
		y := r.Y(0) + rng.Float64()*(r.Y(r.Rows-1)-r.Y(0))
		got, err := r.At(tiles, x, y)
		if err != nil || math.Abs(got-plane(x, y)) > 1e-9 {
			t.Fatalf("at %g, %g: %.12g (%v), want %.12g", x, y, got, err, plane(x, y))
		}
	}
}

// No height is invented across a gap: where a cell that counts has none there is
// none, and where it counts for nothing there is.
func TestGaps(t *testing.T) {
	r := newRaster(300, 4, func(x, y float64) float64 {
		if x == 515 && y == 1015 || x > 1800 {
			return math.NaN()
		}
		return 7
	})
	tiles, _, kept := cut(t, r)
	if _, ok := kept[[2]int{0, 2}]; ok {
		t.Error("a tile without any height was kept")
	}
	for _, p := range []struct {
		x, y float64
		want bool
	}{{515, 1015, false}, {514, 1015, false}, {505, 1015, true}, {505, 1014, true}, {506, 1014, false}, {525, 1025, true}, {1795, 1015, true}, {1796, 1015, false}, {3000, 1015, false}} {
		got, err := r.At(tiles, p.x, p.y)
		if err != nil || (got == 7) != p.want || got == got && got != 7 {
			t.Errorf("at %g, %g: %g (%v), want a height: %v", p.x, p.y, got, err, p.want)
		}
	}
}

// Every sort of number comes back to the bit, and decimals are packed small.
func TestPackedWithoutLoss(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	hill := func(i int) float64 {
		return 300 + 40*math.Sin(float64(i%ground.Side)/30) + 25*math.Cos(float64(i/ground.Side)/21)
	}
	for name, c := range map[string]struct {
		height func(i int) float64
		most   int // bytes
	}{
		"level":                  {func(int) float64 { return 12 }, 200},
		"whole metres":           {func(i int) float64 { return math.Round(hill(i)) }, 3000},
		"centimetres":            {func(i int) float64 { return math.Round(hill(i)*100) / 100 }, 8000},
		"centimetres in 32 bits": {func(i int) float64 { return float64(float32(math.Round(hill(i)*100) / 100)) }, 8000},
		"32 bits":                {func(i int) float64 { return float64(float32(hill(i))) }, 60000},
		"64 bits":                {hill, 130000},
		"chaos":                  {func(int) float64 { return (rng.Float64() - 0.5) * math.Pow(10, float64(rng.IntN(300))) }, 140000},
		"with gaps": {func(i int) float64 {
			if i%7 == 0 {
				return math.NaN()
			}
			return math.Round(hill(i)*10) / 10
		}, 9000},
		"below the sea":            {func(i int) float64 { return -math.Round(hill(i)*10) / 10 }, 5000},
		"largest of whole numbers": {func(i int) float64 { return float64((1<<30 - 1) * (1 - 2*(i&1))) }, 2000},
	} {
		t.Run(name, func(t *testing.T) {
			var tile, back ground.Tile
			for i := range tile {
				tile[i] = c.height(i)
			}
			packed, err := tile.Pack()
			if err != nil {
				t.Fatal(err)
			}
			if err := ground.Unpack(packed, &back); err != nil {
				t.Fatal(err)
			}
			for i := range tile {
				if tile[i] != back[i] && !(tile[i] != tile[i] && back[i] != back[i]) {
					t.Fatalf("cell %d: %g came back as %g", i, tile[i], back[i])
				}
			}
			if len(packed) > c.most {
				t.Errorf("%d bytes, want %d at most", len(packed), c.most)
			}
		})
	}
}

func TestNoHeightNoTile(t *testing.T) {
	var tile ground.Tile
	for i := range tile {
		tile[i] = math.NaN()
	}
	if packed, err := tile.Pack(); packed != nil || err != nil {
		t.Errorf("%d bytes, %v", len(packed), err)
	}
}

func TestCutterRefuses(t *testing.T) {
	r := newRaster(3, 1, func(x, y float64) float64 { return 1 })
	c, err := ground.NewCutter(r.Frame)
	if err != nil {
		t.Fatal(err)
	}
	keep := func(int, int, []byte) error { return nil }
	for _, step := range []struct {
		row []float64
		ok  bool
	}{{[]float64{1, 2}, false}, {[]float64{1, 2, 3}, true}, {[]float64{1, 2, 3}, false}} {
		if err := c.Row(step.row, keep); (err == nil) != step.ok {
			t.Errorf("%v: %v", step.row, err)
		}
	}
	if _, err := ground.NewCutter(ground.Frame{Grid: surface.Grid{Cols: 1 << 24, Rows: 1, CellW: 1, CellH: 1}}); err == nil {
		t.Error("too many columns to be numbered were taken")
	}
}

// Whatever bytes are read: no panic, and what could be read is packed and read
// again as the same.
func FuzzUnpack(f *testing.F) {
	var tile ground.Tile
	for _, step := range []float64{0, 0.5, 1.0 / 3} {
		for i := range tile {
			tile[i] = float64(i) * step
		}
		packed, err := tile.Pack()
		if err != nil {
			f.Fatal(err)
		}
		f.Add(packed)
		f.Add(packed[:len(packed)/2])
	}
	f.Add([]byte{})
	f.Fuzz(func(t *testing.T, data []byte) {
		var tile, back ground.Tile
		if ground.Unpack(data, &tile) != nil {
			return
		}
		packed, err := tile.Pack()
		if err != nil {
			t.Fatal(err)
		}
		if packed == nil {
			return
		}
		if err := ground.Unpack(packed, &back); err != nil {
			t.Fatal(err)
		}
		for i := range tile {
			if tile[i] != back[i] && !(tile[i] != tile[i] && back[i] != back[i]) {
				t.Fatalf("cell %d: %g came back as %g", i, tile[i], back[i])
			}
		}
	})
}

func BenchmarkPack(b *testing.B) {
	var tile ground.Tile
	for i := range tile {
		tile[i] = math.Round((300+40*math.Sin(float64(i%ground.Side)/30)+rand.Float64())*100) / 100
	}
	b.SetBytes(ground.Side * ground.Side)
	for b.Loop() {
		if _, err := tile.Pack(); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkUnpack(b *testing.B) {
	var tile ground.Tile
	for i := range tile {
		tile[i] = math.Round((300+40*math.Sin(float64(i%ground.Side)/30)+rand.Float64())*100) / 100
	}
	packed, err := tile.Pack()
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(ground.Side * ground.Side)
	for b.Loop() {
		if err := ground.Unpack(packed, &tile); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(len(packed)), "bytes")
}

func ExampleFrame_At() {
	f := ground.Frame{Grid: surface.Grid{Cols: 2, Rows: 1, CellW: 10, CellH: 10}}
	var tile ground.Tile
	tile[0], tile[1] = 100, 104
	h, _ := f.At(func(row, col int) (*ground.Tile, error) { return &tile, nil }, 7.5, 5)
	fmt.Println(h)
	// Output: 101
}
