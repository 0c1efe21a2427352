package exchange

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"

	"tallybook/geo/surface"
	"tallybook/records"
)

// WriteASC writes a field as an ESRI ASCII grid (the format as GDAL's driver
// AAIGrid describes it): rows from the north, each from the west, values at
// the centres of the cells, in the digits that read back as the same number.
// A node without a value is written as NODATA_value. Cells that are not square
// are written with dx and dy, which GDAL reads and some other programs do not.
//
// The file says nothing of its coordinate system: write that beside it
// (file.prj). It is an error where the field does not fit its grid or holds an
// infinite value.
func WriteASC(w io.Writer, f surface.Field) error {
	if err := f.Validate(); err != nil {
		return records.WrapError(records.Invalid, err, "the grid cannot be written")
	}
	noData, err := freeValue(f.Values)
	if err != nil {
		return err
	}
	out := bufio.NewWriterSize(w, 64<<10)
	b := fmt.Appendf(nil, "ncols %d\nnrows %d\n", f.Cols, f.Rows)
	b = appendHeader(b, "xllcorner", f.MinX)
	b = appendHeader(b, "yllcorner", f.MinY)
	if nearlySquare(f.Grid) {
		b = appendHeader(b, "cellsize", f.CellW)
	} else {
		b = appendHeader(b, "dx", f.CellW)
		b = appendHeader(b, "dy", f.CellH)
	}
	b = appendHeader(b, "NODATA_value", noData)
	for row := f.Rows - 1; row >= 0; row-- {
		for col := range f.Cols {
			if col > 0 {
				b = append(b, ' ')
			}
			v := f.At(col, row)
			if math.IsNaN(v) {
				v = noData
			}
			b = strconv.AppendFloat(b, v, 'g', -1, 64)
		}
		b = append(b, '\n')
		if _, err := out.Write(b); err != nil {
			return writeError(err)
		}
		b = b[:0]
	}
	if err := out.Flush(); err != nil {
		return writeError(err)
	}
	return nil
}

func appendHeader(b []byte, name string, v float64) []byte {
	b = append(append(b, name...), ' ')
	return append(strconv.AppendFloat(b, v, 'f', -1, 64), '\n')
}

// nearlySquare says whether one cell size serves both ways: over the whole
// grid it is then off by less than a ten-thousandth of a cell.
func nearlySquare(g surface.Grid) bool {
	return math.Abs(g.CellW-g.CellH)*float64(max(g.Cols, g.Rows)) < 1e-4*g.CellW
}

// freeValue is a number that no node has, -9999 where it can be.
func freeValue(values []float64) (float64, error) {
	const customary = -9999
	lowest, taken := float64(customary), false
	for _, v := range values {
		if math.IsInf(v, 0) {
			return 0, records.Errorf(records.Invalid, "the grid holds an infinite value and cannot be written")
		}
		taken = taken || v == customary
		if v < lowest {
			lowest = v
		}
	}
	if !taken {
		return customary, nil
	}
	free := -math.Pow(10, math.Ceil(math.Log10(-lowest))+1) - 1
	if math.IsInf(free, 0) {
		return 0, records.Errorf(records.Invalid, "the values of the grid leave no number for nodes without one")
	}
	return free, nil
}
