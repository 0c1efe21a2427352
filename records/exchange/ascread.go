package exchange

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"tallybook/geo/surface"
	"tallybook/records"
)

// ASCReader reads an ESRI ASCII grid row by row, the northernmost first, in
// memory that does not grow: what follows the header may be of any length.
type ASCReader struct {
	// Grid is where the values lie, in the coordinates of the file, which the
	// file does not name.
	Grid surface.Grid
	// NoData stands for no value: -9999 where the file names none.
	NoData float64

	words ascWords
	first string // the first value, read with the header; "" once it is used
	rows  int    // that were read
}

// OpenASC reads the header. Corners or centres may be given, square cells or dx
// and dy. An error names the line and column.
func OpenASC(r io.Reader) (*ASCReader, error) {
	text := bufio.NewReaderSize(r, 256<<10)
	if mark, _ := text.Peek(3); string(mark) == "\ufeff" { // as some editors begin a file
		_, _ = text.Discard(3)
	}
	a := &ASCReader{words: ascWords{r: text, line: 1}, NoData: -9999}
	h, first, err := a.header()
	if err != nil {
		return nil, err
	}
	if a.Grid, err = h.grid(); err != nil {
		return nil, err
	}
	if v, ok := h["nodata_value"]; ok {
		a.NoData = v
	}
	a.first = first
	return a, nil
}

// Row reads the next row, from the west, into as many values as the grid has
// columns; NaN where there is none. After the last it gives io.EOF, or an error
// where more values follow.
func (a *ASCReader) Row(into []float64) error {
	if a.rows == a.Grid.Rows {
		word, err := a.next()
		if err != nil {
			return err
		}
		if word != "" {
			return records.Errorf(records.Invalid, "the grid has more than the %d values that its header says (%d columns by %d rows), on line %d from column %d: mend ncols and nrows, or take the file from its source again", a.Grid.Len(), a.Grid.Cols, a.Grid.Rows, a.words.atLine, a.words.from)
		}
		return io.EOF
	}
	for col := range into {
		word, err := a.next()
		if err != nil {
			return err
		}
		if word == "" {
			return records.Errorf(records.Invalid, "the grid ends on line %d, in row %d from the north after %d of its %d values, where the header says %d rows: it was cut off; take it from its source again", a.words.line, a.rows+1, col, a.Grid.Cols, a.Grid.Rows)
		}
		v, err := a.number(word)
		if err != nil {
			return err
		}
		if a.isNoData(v) {
			v = math.NaN()
		}
		into[col] = v
	}
	a.rows++
	return nil
}

// isNoData says whether a number stands for no value. The huge ones that some
// programs use are written with fewer digits among the values than in the
// header; they are held against each other as 32-bit numbers.
func (a *ASCReader) isNoData(v float64) bool {
	if math.IsNaN(v) {
		return true
	}
	if math.Abs(a.NoData) > 1e30 {
		return math.Abs(v-a.NoData) < 1e-5*math.Abs(a.NoData)
	}
	return v == a.NoData
}

func (a *ASCReader) next() (string, error) {
	if a.first != "" {
		word := a.first
		a.first = ""
		return word, nil
	}
	word, err := a.words.next()
	if err != nil {
		return "", records.WrapError(records.Invalid, err, "the grid cannot be read on line %d, from column %d: %v", a.words.line, a.words.from, err)
	}
	return word, nil
}

func (a *ASCReader) errorf(format string, args ...any) error {
	return records.Errorf(records.Invalid, "what stands on line %d of the grid, column %d, %s", a.words.atLine, a.words.from, fmt.Sprintf(format, args...))
}

func (a *ASCReader) number(word string) (float64, error) {
	v, err := strconv.ParseFloat(word, 64)
	if err != nil || math.IsInf(v, 0) {
		mend := "write a number with a decimal point, or the value of NODATA_value where there is none"
		if strings.Contains(word, ",") {
			mend = "write decimals with a point and values with blanks between them"
		}
		return 0, a.errorf("%.40q, is not a number: %s", word, mend)
	}
	return v, nil
}

// maxASCWord bounds a word: the longest honest one is a number.
const maxASCWord = 400

var errLongWord = errors.New("a word is too long to be a number")

// ascWords cuts text into words and knows where it is.
type ascWords struct {
	r            *bufio.Reader
	line, column int // of what was read last
	atLine, from int // where the last word begins
	word         []byte
}

// next gives the next word, "" at the end.
func (w *ascWords) next() (string, error) {
	w.word = w.word[:0]
	for {
		c, err := w.r.ReadByte()
		if errors.Is(err, io.EOF) {
			return string(w.word), nil
		}
		if err != nil {
			return "", err
		}
		w.column++
		switch c {
		case ' ', '\t', '\r', '\n', '\v', '\f':
			if c == '\n' && len(w.word) == 0 {
				w.line, w.column = w.line+1, 0
			}
			if len(w.word) == 0 {
				continue
			}
			if c == '\n' { // counted with the next word
				if err := w.r.UnreadByte(); err != nil {
					return "", err
				}
			}
			return string(w.word), nil
		}
		if len(w.word) == 0 {
			w.atLine, w.from = w.line, w.column
		}
		if len(w.word) == maxASCWord {
			return "", errLongWord
		}
		w.word = append(w.word, c)
	}
}

// ReadASC reads an ESRI ASCII grid of at most maxNodes nodes into memory, as
// ASCReader reads it.
func ReadASC(r io.Reader, maxNodes int) (surface.Field, error) {
	a, err := OpenASC(r)
	if err != nil {
		return surface.Field{}, err
	}
	grid := a.Grid
	if grid.Cols > maxNodes/grid.Rows {
		return surface.Field{}, records.Errorf(records.TooLarge, "the grid has %d by %d nodes, more than %d", grid.Cols, grid.Rows, maxNodes)
	}
	// Memory grows with the file and not with what its header says.
	var rows [][]float64
	for range grid.Rows {
		row := make([]float64, grid.Cols)
		if err := a.Row(row); err != nil {
			return surface.Field{}, err
		}
		rows = append(rows, row)
	}
	if err := a.Row(nil); !errors.Is(err, io.EOF) {
		return surface.Field{}, err
	}
	f := surface.Field{Grid: grid, Values: make([]float64, 0, grid.Len())}
	for _, row := range slices.Backward(rows) {
		f.Values = append(f.Values, row...)
	}
	return f, nil
}

// ascHeader holds the numbers of a header by their names in lower case.
type ascHeader map[string]float64

var ascNames = map[string]bool{"ncols": true, "nrows": true, "xllcorner": true, "yllcorner": true, "xllcenter": true, "yllcenter": true,
	"cellsize": true, "dx": true, "dy": true, "nodata_value": true}

// header reads names and numbers up to the first word that is no name, which
// is the first value.
func (a *ASCReader) header() (ascHeader, string, error) {
	h := ascHeader{}
	for {
		word, err := a.next()
		if err != nil {
			return nil, "", err
		}
		name := strings.ToLower(word)
		if !ascNames[name] {
			if len(h) == 0 {
				return nil, "", records.Errorf(records.Invalid, "the file is not an ASCII grid: it begins with %.40q and not with ncols. "+
					"Make one of any raster with a general GIS tool: gdal_translate -of AAIGrid IN.tif OUT.asc", word)
			}
			return h, word, nil
		}
		if _, twice := h[name]; twice {
			return nil, "", records.Errorf(records.Invalid, "the header of the grid says %s twice, the second time on line %d", name, a.words.atLine)
		}
		if word, err = a.next(); err != nil {
			return nil, "", err
		}
		if h[name], err = a.number(word); err != nil {
			return nil, "", err
		}
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
