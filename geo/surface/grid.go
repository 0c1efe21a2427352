package surface

import (
	"fmt"
	"math"
)

// Grid is a rectangle of nodes, each at the centre of its cell. Node (col,
// row) stands at MinX + (col+0.5) CellW, MinY + (row+0.5) CellH. Columns count
// to the east and rows to the north, so row 0 is the southernmost: the other
// way up than most raster files, and the same way as the y axis.
type Grid struct {
	Cols, Rows   int
	MinX, MinY   float64 // metres: the south-west corner of the south-west cell
	CellW, CellH float64 // metres, both positive
}

// mostNodes keeps the number of nodes within what one slice can hold.
const mostNodes = 1 << 30

// Validate reports the first thing wrong with the grid: no nodes or too many,
// a corner that is not finite, cells without a positive finite size.
func (g Grid) Validate() error {
	switch {
	case g.Cols < 1 || g.Rows < 1:
		return fmt.Errorf("surface: a grid of %d by %d has no nodes", g.Cols, g.Rows)
	case g.Cols > mostNodes/g.Rows:
		return fmt.Errorf("surface: a grid of %d by %d has too many nodes", g.Cols, g.Rows)
	case !finite(g.MinX) || !finite(g.MinY):
		return fmt.Errorf("surface: the grid's corner (%g, %g) is not finite", g.MinX, g.MinY)
	case !(g.CellW > 0) || !(g.CellH > 0) || !finite(g.CellW) || !finite(g.CellH):
		return fmt.Errorf("surface: cells of %g by %g m have no area", g.CellW, g.CellH)
	case !finite(g.X(g.Cols-1)) || !finite(g.Y(g.Rows-1)):
		return fmt.Errorf("surface: the grid's far corner is not finite")
	}
	return nil
}

func finite(v float64) bool { return v-v == 0 }

// X returns the easting in metres of the nodes of a column.
func (g Grid) X(col int) float64 { return g.MinX + (float64(col)+0.5)*g.CellW }

// Y returns the northing in metres of the nodes of a row.
func (g Grid) Y(row int) float64 { return g.MinY + (float64(row)+0.5)*g.CellH }

// Len returns the number of nodes.
func (g Grid) Len() int { return g.Cols * g.Rows }

// Index returns the place of a node in a slice of values: row by row from the
// south, each from the west.
func (g Grid) Index(col, row int) int { return row*g.Cols + col }

// Field is a grid with one value a node, in the order of Grid.Index: row 0 is
// the southernmost. NaN means that there is no value.
type Field struct {
	Grid
	Values []float64
}

// Validate reports a bad grid or a slice of values that does not fit it.
func (f Field) Validate() error {
	if err := f.Grid.Validate(); err != nil {
		return err
	}
	if len(f.Values) != f.Len() {
		return fmt.Errorf("surface: %d values for a grid of %d by %d nodes", len(f.Values), f.Cols, f.Rows)
	}
	return nil
}

// At returns the value at a node; it panics outside the grid.
func (f Field) At(col, row int) float64 { return f.Values[f.Index(col, row)] }

// MinMax returns the least and the greatest value, NaN apart; ok is false when
// there is none.
func (f Field) MinMax() (lo, hi float64, ok bool) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, v := range f.Values {
		if v == v {
			lo, hi, ok = min(lo, v), max(hi, v), true
		}
	}
	if !ok {
		return math.NaN(), math.NaN(), false
	}
	return lo, hi, true
}
