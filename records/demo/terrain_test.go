package demo_test

import (
	"bytes"
	"math"
	"testing"

	"tallybook/geo/position"
	"tallybook/records/demo"
	"tallybook/records/exchange"
)

// The terrain is the ground that the wells stand on: where a well's place is
// good to a few metres its elevation is that of the grid, but for its cells of
// 40 m and the tenths of both.
func TestTerrainIsTheWellsGround(t *testing.T) {
	town := demo.Make(1)
	g := town.Terrain()
	f, err := exchange.ReadASC(bytes.NewReader(g.ASC), 1e6)
	if err != nil {
		t.Fatal(err)
	}
	on, err := position.EPSG(g.EPSG)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(g.ASC, demo.Make(1).Terrain().ASC) {
		t.Error("made twice it differs")
	}
	without, held, apart := 0, 0, 0
	for _, w := range town.Wells {
		if !w.Place.Elevation.Known() {
			without++
			if w.Completed.Year > 1994 {
				t.Errorf("%s of %d has no elevation", w.Number, w.Completed.Year)
			}
			continue
		}
		if w.Place.VertDatum != g.VertDatum {
			t.Errorf("%s is on %q", w.Number, w.Place.VertDatum)
		}
		x, y := on.Forward(position.LonLat{Lon: w.Place.Lon, Lat: w.Place.Lat})
		col, row := int((x-f.MinX)/f.CellW), int((y-f.MinY)/f.CellH)
		if col < 0 || row < 0 || col >= f.Cols || row >= f.Rows {
			t.Errorf("%s lies outside of the terrain", w.Number)
			continue
		}
		v := f.At(col, row)
		if math.IsNaN(v) || w.Place.Accuracy.Value > 5 {
			continue
		}
		held++
		if math.Abs(v-float64(w.Place.Elevation.Value)) > 8 { // up to 28 m away on slopes of one in five
			apart++
		}
	}
	if without < 30 || without > 250 || held < 300 || apart > 6 {
		t.Errorf("%d without an elevation, %d held against the terrain, %d apart", without, held, apart)
	}
}
