package exchange

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

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

// ascReader reads an ESRI ASCII grid word by word.
type ascReader struct {
	words *bufio.Scanner
	count int
}

// maxASCWord bounds a word: the longest honest one is a number.
const maxASCWord = 400

// ReadASC reads an ESRI ASCII grid of at most maxNodes nodes, with corners or
// centres given, square cells or dx and dy. NODATA_value is -9999 where the
// file names none. An error names the place in the file.
func ReadASC(r io.Reader, maxNodes int) (surface.Field, error) {
	a := ascReader{words: bufio.NewScanner(r)}
	a.words.Buffer(make([]byte, 4096), maxASCWord)
	a.words.Split(bufio.ScanWords)
	h, first, err := a.header()
	if err != nil {
		return surface.Field{}, err
	}
	grid, err := h.grid()
	if err != nil {
		return surface.Field{}, err
	}
	if grid.Cols > maxNodes/grid.Rows {
		return surface.Field{}, records.Errorf(records.TooLarge, "the grid has %d by %d nodes, more than %d", grid.Cols, grid.Rows, maxNodes)
	}
	noData := -9999.0
	if v, ok := h["nodata_value"]; ok {
		noData = v
	}
	// Read from the north, with memory that grows with the file and not with
	// what its header says.
	var values []float64
	for word := first; word != ""; word = a.next() {
		if len(values) == grid.Len() {
			return surface.Field{}, records.Errorf(records.Invalid, "the grid has more than the %d values that its header says", grid.Len())
		}
		v, err := a.number(word)
		if err != nil {
			return surface.Field{}, err
		}
		if v == noData || math.IsNaN(noData) && math.IsNaN(v) {
			v = math.NaN()
		}
		values = append(values, v)
	}
	if err := a.words.Err(); err != nil {
		return surface.Field{}, records.WrapError(records.Invalid, err, "the grid cannot be read after word %d", a.count)
	}
	if len(values) != grid.Len() {
		return surface.Field{}, records.Errorf(records.Invalid, "the grid has %d values where its header says %d: it was cut off", len(values), grid.Len())
	}
	turned := make([]float64, len(values))
	for row := range grid.Rows {
		copy(turned[grid.Index(0, grid.Rows-1-row):], values[row*grid.Cols:(row+1)*grid.Cols])
	}
	return surface.Field{Grid: grid, Values: turned}, nil
}

func (a *ascReader) next() string {
	if !a.words.Scan() {
		return ""
	}
	a.count++
	return a.words.Text()
}

func (a *ascReader) number(word string) (float64, error) {
	v, err := strconv.ParseFloat(word, 64)
	if err != nil || math.IsInf(v, 0) {
		return 0, records.Errorf(records.Invalid, "word %d of the grid, %q, is not a number", a.count, word)
	}
	return v, nil
}

// ascHeader holds the numbers of a header by their names in lower case.
type ascHeader map[string]float64

var ascNames = map[string]bool{"ncols": true, "nrows": true, "xllcorner": true, "yllcorner": true, "xllcenter": true, "yllcenter": true,
	"cellsize": true, "dx": true, "dy": true, "nodata_value": true}

// header reads names and numbers up to the first word that is no name, which
// is the first value.
func (a *ascReader) header() (ascHeader, string, error) {
	h := ascHeader{}
	for {
		word := a.next()
		name := strings.ToLower(word)
		if !ascNames[name] {
			if len(h) == 0 {
				return nil, "", records.Errorf(records.Invalid, "the file is not an ASCII grid: it begins with %q and not with ncols", word)
			}
			return h, word, nil
		}
		if _, twice := h[name]; twice {
			return nil, "", records.Errorf(records.Invalid, "the header of the grid says %s twice", name)
		}
		v, err := a.number(a.next())
		if err != nil {
			return nil, "", err
		}
		h[name] = v
	}
}

func (h ascHeader) grid() (surface.Grid, error) {
	bad := func(format string, args ...any) (surface.Grid, error) {
		return surface.Grid{}, records.Errorf(records.Invalid, "the header of the grid "+format, args...)
	}
	var g surface.Grid
	const most = 1 << 30
	for _, part := range []struct {
		name string
		into *int
	}{{"ncols", &g.Cols}, {"nrows", &g.Rows}} {
		v, ok := h[part.name]
		if !ok || v < 1 || v > most || v != math.Trunc(v) {
			return bad("does not give %s as a whole number from 1", part.name)
		}
		*part.into = int(v)
	}
	size, square := h["cellsize"]
	dx, okX := h["dx"]
	dy, okY := h["dy"]
	switch {
	case square && !okX && !okY:
		g.CellW, g.CellH = size, size
	case !square && okX && okY:
		g.CellW, g.CellH = dx, dy
	default:
		return bad("gives neither cellsize alone nor dx and dy")
	}
	for _, part := range []struct {
		corner, center string
		cell           float64
		into           *float64
	}{{"xllcorner", "xllcenter", g.CellW, &g.MinX}, {"yllcorner", "yllcenter", g.CellH, &g.MinY}} {
		corner, isCorner := h[part.corner]
		center, isCenter := h[part.center]
		switch {
		case isCorner == isCenter:
			return bad("does not give one of %s and %s", part.corner, part.center)
		case isCorner:
			*part.into = corner
		default:
			*part.into = center - part.cell/2
		}
	}
	if err := g.Validate(); err != nil {
		return bad("cannot be: %v", err)
	}
	return g, nil
}
