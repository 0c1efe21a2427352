package exchange

import (
	"bufio"
	"bytes"
	"io"
	"math"
	"strconv"

	"github.com/paulmach/orb"

	"tallybook/geo/surface"
	"tallybook/records"
)

// Layer says how a surface becomes GeoJSON.
type Layer struct {
	// Name is the name of the value's property, with its unit:
	// depth_to_bedrock_m.
	Name string
	// ToLonLat turns the metres of the grid into degrees on WGS 84.
	ToLonLat func(x, y float64) (lon, lat float64)
	// Beside are further values a node, in the order of the grid (a measure of
	// support, a spread), written under their names; NaN is left out.
	Beside []NodeValues
}

// NodeValues is one number a node of a grid.
type NodeValues struct {
	Name   string
	Values []float64
}

// WriteNodes writes each node that has a value as a Point in a
// FeatureCollection.
func WriteNodes(w io.Writer, f surface.Field, l Layer) error {
	if err := f.Validate(); err != nil {
		return records.WrapError(records.Invalid, err, "the grid cannot be written")
	}
	for _, x := range l.Beside {
		if len(x.Values) != f.Len() {
			return records.Errorf(records.Invalid, "%s has %d values for %d nodes", x.Name, len(x.Values), f.Len())
		}
	}
	c := newCollection(w, l)
	for row := range f.Rows {
		for col := range f.Cols {
			i := f.Index(col, row)
			if math.IsNaN(f.Values[i]) {
				continue
			}
			c.begin("Point")
			c.point(f.X(col), f.Y(row))
			c.properties()
			c.number(l.Name, f.Values[i])
			for _, x := range l.Beside {
				c.number(x.Name, x.Values[i])
			}
			c.end()
		}
	}
	return c.close()
}

// WriteContours writes each contour line as a LineString with its level.
func WriteContours(w io.Writer, lines []surface.Line, l Layer) error {
	c := newCollection(w, l)
	for _, line := range lines {
		c.begin("LineString")
		c.points(line.Points)
		c.properties()
		c.number(l.Name, line.Level)
		c.end()
	}
	return c.close()
}

// WriteBands writes the ground between two levels as a MultiPolygon, outer
// rings counter-clockwise (RFC 7946, section 3.1.6), with the properties
// <name>_from and <name>_to, left out where a band is open.
func WriteBands(w io.Writer, bands []surface.Band, l Layer) error {
	c := newCollection(w, l)
	for _, band := range bands {
		if len(band.Area) == 0 {
			continue
		}
		c.begin("MultiPolygon")
		c.list(len(band.Area), func(i int) {
			c.list(len(band.Area[i]), func(k int) { c.points(orb.LineString(band.Area[i][k])) })
		})
		c.properties()
		c.number(l.Name+"_from", band.From)
		c.number(l.Name+"_to", band.To)
		c.end()
	}
	return c.close()
}

// collectionWriter writes the features of a layer.
type collectionWriter struct {
	w     *bufio.Writer
	layer Layer
	b     []byte
	any   bool
	err   error
}

func newCollection(w io.Writer, l Layer) *collectionWriter {
	return &collectionWriter{w: bufio.NewWriterSize(w, 64<<10), layer: l, b: []byte(collectionHead)}
}

func (c *collectionWriter) begin(kind string) {
	if c.any {
		c.b = append(c.b, ",\n"...)
	}
	c.any = true
	c.b = append(c.b, `{"type":"Feature","geometry":{"type":"`+kind+`","coordinates":`...)
}

func (c *collectionWriter) properties() { c.b = append(c.b, `},"properties":{`...) }

func (c *collectionWriter) end() {
	c.b = append(c.b, "}}"...)
	c.flush()
}

func (c *collectionWriter) close() error {
	c.b = append(c.b, "\n]}\n"...)
	c.flush()
	if c.err == nil {
		if err := c.w.Flush(); err != nil {
			c.err = writeError(err)
		}
	}
	return c.err
}

func (c *collectionWriter) flush() {
	if c.err == nil {
		if _, err := c.w.Write(c.b); err != nil {
			c.err = writeError(err)
		}
	}
	c.b = c.b[:0]
}

func (c *collectionWriter) list(n int, item func(i int)) {
	c.b = append(c.b, '[')
	for i := range n {
		if i > 0 {
			c.b = append(c.b, ',')
		}
		item(i)
	}
	c.b = append(c.b, ']')
}

func (c *collectionWriter) points(line orb.LineString) {
	c.list(len(line), func(i int) { c.point(line[i][0], line[i][1]) })
}

// point writes a position to a hundred-millionth of a degree, a millimetre.
func (c *collectionWriter) point(x, y float64) {
	lon, lat := c.layer.ToLonLat(x, y)
	if !finite(lon) || !finite(lat) {
		if c.err == nil {
			c.err = records.Errorf(records.Invalid, "the grid's point %g, %g is nowhere on the earth", x, y)
		}
		lon, lat = 0, 0
	}
	c.b = append(c.b, '[')
	c.b = appendFixed(c.b, lon)
	c.b = append(c.b, ',')
	c.b = appendFixed(c.b, lat)
	c.b = append(c.b, ']')
}

func (c *collectionWriter) number(name string, v float64) {
	if finite(v) {
		c.b = strconv.AppendFloat(appendName(c.b, name), v, 'g', -1, 64)
	}
}

// appendFixed writes eight decimals without the zeros at their end.
func appendFixed(b []byte, v float64) []byte {
	start := len(b)
	b = strconv.AppendFloat(b, v, 'f', 8, 64)
	b = bytes.TrimRight(b, "0")
	b = bytes.TrimSuffix(b, []byte{'.'})
	if string(b[start:]) == "-0" {
		b = append(b[:start], '0')
	}
	return b
}
