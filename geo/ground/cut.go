package ground

import (
	"fmt"
	"math"
)

// Cutter cuts a raster into tiles as its rows come, the northernmost first. It
// holds one row of tiles.
type Cutter struct {
	frame Frame
	rows  int // that have come
	band  []Tile

	// Filled and Low and High are of the heights that have come.
	Filled    int64
	Low, High float64
}

// NewCutter begins to cut a raster.
func NewCutter(f Frame) (*Cutter, error) {
	if err := f.Validate(); err != nil {
		return nil, err
	}
	c := &Cutter{frame: f, band: make([]Tile, f.TileCols()), Low: math.Inf(1), High: math.Inf(-1)}
	c.clear()
	return c, nil
}

func (c *Cutter) clear() {
	for i := range c.band {
		for k := range c.band[i] {
			c.band[i][k] = math.NaN()
		}
	}
}

// Row takes the next row of cells, from the west; NaN has no height. After the
// last row of a row of tiles it hands each of them to keep, packed; those
// without any height are left out. The bytes are keep's own.
func (c *Cutter) Row(values []float64, keep func(row, col int, packed []byte) error) error {
	if len(values) != c.frame.Cols || c.rows >= c.frame.Rows {
		return fmt.Errorf("ground: row %d of %d has %d cells, want %d", c.rows+1, c.frame.Rows, len(values), c.frame.Cols)
	}
	at := c.rows % Side * Side
	for col, v := range values {
		if v != v {
			continue
		}
		c.band[col/Side][at+col%Side] = v
		c.Filled++
		c.Low, c.High = min(c.Low, v), max(c.High, v)
	}
	c.rows++
	if c.rows%Side != 0 && c.rows != c.frame.Rows {
		return nil
	}
	row := (c.rows - 1) / Side
	for col := range c.band {
		packed, err := c.band[col].Pack()
		if err != nil {
			return err
		}
		if packed == nil {
			continue
		}
		if err := keep(row, col, packed); err != nil {
			return err
		}
	}
	c.clear()
	return nil
}

// Whole says whether every row has come.
func (c *Cutter) Whole() bool { return c.rows == c.frame.Rows }
