package ground

import (
	"fmt"
	"math"

	"tallybook/geo/surface"
)

// Side is how many cells a tile has each way.
const Side = 128

// Frame is where a raster lies, cut into tiles. Its cells are those of Grid, in
// the coordinates of the raster (metres or degrees). Tiles and the rows of
// cells within them are counted from the north, as rasters are written, and
// columns from the west.
type Frame struct{ surface.Grid }

// mostAcross keeps the number of a tile within 16 bits each way.
const mostAcross = Side << 16

// Validate reports a bad grid or one of too many cells a side to be cut.
func (f Frame) Validate() error {
	if err := f.Grid.Validate(); err != nil {
		return err
	}
	if f.Cols > mostAcross || f.Rows > mostAcross {
		return fmt.Errorf("ground: %d by %d cells are more than %d a side", f.Cols, f.Rows, mostAcross)
	}
	return nil
}

// TileCols is how many tiles lie side by side.
func (f Frame) TileCols() int { return (f.Cols + Side - 1) / Side }

// TileRows is how many tiles lie one above the other.
func (f Frame) TileRows() int { return (f.Rows + Side - 1) / Side }

// MaxX is the eastern edge.
func (f Frame) MaxX() float64 { return f.MinX + float64(f.Cols)*f.CellW }

// MaxY is the northern edge.
func (f Frame) MaxY() float64 { return f.MinY + float64(f.Rows)*f.CellH }

// Tile holds the heights of Side by Side cells, row by row from the north; NaN
// where there is none, and beyond the eastern and southern edge of the raster.
type Tile [Side * Side]float64

// Tiles gives the tile in a row and column of tiles; nil for one without any
// height. It may be asked for the same tile often.
type Tiles func(row, col int) (*Tile, error)

// corner is one of the four cells about a place.
type corner struct {
	row, col int
	weight   float64
}

// about gives the cells whose centres stand about a place, with their weights,
// which come to 1; ok is false outside of the raster's outer edges. Between the
// outermost centres and the edge, half a cell, the place has the height of the
// nearest centres: it lies in their cells.
func (f Frame) about(x, y float64) (c [4]corner, ok bool) {
	if !(x >= f.MinX && x <= f.MaxX() && y >= f.MinY && y <= f.MaxY()) {
		return c, false
	}
	col, east := between((x-f.MinX)/f.CellW-0.5, f.Cols)
	row, south := between((f.MaxY()-y)/f.CellH-0.5, f.Rows)
	return [4]corner{
		{row, col, (1 - south) * (1 - east)},
		{row, min(col+1, f.Cols-1), (1 - south) * east},
		{min(row+1, f.Rows-1), col, south * (1 - east)},
		{min(row+1, f.Rows-1), min(col+1, f.Cols-1), south * east},
	}, true
}

// between splits a place among n centres into the centre before it and how far
// it lies beyond, 0 to 1.
func between(at float64, n int) (before int, beyond float64) {
	at = min(max(at, 0), float64(n-1))
	before = min(int(at), n-1)
	return before, at - float64(before)
}

// At is the height at a place in the raster's coordinates, in its unit: bilinear
// between the four centres about it. It is NaN outside, and where a cell that
// counts has no height: nothing is invented across a gap.
func (f Frame) At(tiles Tiles, x, y float64) (float64, error) {
	corners, ok := f.about(x, y)
	if !ok {
		return math.NaN(), nil
	}
	sum := 0.0
	for _, c := range corners {
		if c.weight == 0 {
			continue
		}
		t, err := tiles(c.row/Side, c.col/Side)
		if err != nil {
			return math.NaN(), err
		}
		if t == nil {
			return math.NaN(), nil
		}
		// Rounded by itself, so that every processor gives the same height.
		sum += float64(c.weight * t[c.row%Side*Side+c.col%Side])
	}
	return sum, nil
}

// TileAt is the row and column of the tile in which a place lies, for putting
// places into an order in which few tiles are read; ok is false outside.
func (f Frame) TileAt(x, y float64) (row, col int, ok bool) {
	c, ok := f.about(x, y)
	return c[0].row / Side, c[0].col / Side, ok
}
