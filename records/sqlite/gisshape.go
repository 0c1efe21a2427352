package sqlite

import (
	"encoding/binary"
	"fmt"
	"math"
	"strings"

	"tallybook/records"
)

// The shapes of a GIS copy's layers as SpatiaLite keeps them ("BLOB-Geometry"
// in its documentation): start, byte order, SRID, the box around, class, the
// coordinates, end. In a point nothing counts the vertices; a line has their
// number ahead of them.

// shapeKind is how a shape is called and kept.
type shapeKind struct {
	class      uint32 // of the BLOB, and geometry_type of the layer
	dimensions int
	word       string // the declared type of the column
}

var shapeKinds = map[records.LayerShape]shapeKind{
	records.ShapePoint:  {1, 2, "POINT"},
	records.ShapePointZ: {1001, 3, "POINTZ"},
	records.ShapeLineZ:  {1002, 3, "LINESTRINGZ"},
}

// box is the box around a shape, degrees.
type box struct{ west, south, east, north float64 }

func boxAround(shape []records.Vertex) box {
	b := box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for _, v := range shape {
		b.west, b.east = math.Min(b.west, v.Lon), math.Max(b.east, v.Lon)
		b.south, b.north = math.Min(b.south, v.Lat), math.Max(b.north, v.Lat)
	}
	return b
}

// appendShape appends a shape of a kind; a vertex that is no position on the
// earth, or has no height where there must be one, is refused.
func appendShape(dst []byte, kind shapeKind, shape []records.Vertex) ([]byte, error) {
	line := kind.class == shapeKinds[records.ShapeLineZ].class
	if line && len(shape) < 2 || !line && len(shape) != 1 {
		return dst, fmt.Errorf("%d vertices make no %s", len(shape), kind.word)
	}
	for _, v := range shape {
		if !onEarth(v.Lon, v.Lat) || math.IsNaN(v.Height) || math.IsInf(v.Height, 0) {
			return dst, fmt.Errorf("%v is no position", v)
		}
	}
	le := binary.LittleEndian
	number := func(v float64) { dst = le.AppendUint64(dst, math.Float64bits(v)) }
	b := boxAround(shape)
	dst = le.AppendUint32(append(dst, 0x00, 0x01), 4326)
	for _, v := range [...]float64{b.west, b.south, b.east, b.north} {
		number(v)
	}
	dst = le.AppendUint32(append(dst, 0x7C), kind.class)
	if line {
		dst = le.AppendUint32(dst, uint32(len(shape)))
	}
	for _, v := range shape {
		number(v.Lon)
		number(v.Lat)
		if kind.dimensions == 3 {
			number(v.Height)
		}
	}
	return append(dst, 0xFE), nil
}

// shapeCheck is the condition that keeps other geometries out of a column. A
// line has 44 bytes around its vertices, of 24 bytes each.
func shapeCheck(kind shapeKind) string {
	class := fmt.Sprintf("%X", binary.LittleEndian.AppendUint32([]byte{0x7C}, kind.class))
	size := "length(geom) = 60"
	switch kind.class {
	case 1001:
		size = "length(geom) = 68"
	case 1002:
		size = "length(geom) >= 96 AND (length(geom) - 48) % 24 = 0"
	}
	check := fmt.Sprintf("geom IS NULL OR (typeof(geom) = 'blob' AND %s AND substr(geom, 1, 6) = x'0001E6100000' AND substr(geom, 39, 5) = x'%s' AND substr(geom, length(geom)) = x'FE'", size, class)
	if kind.class != 1002 {
		check += " AND substr(geom, 7, 16) = substr(geom, 44, 16) AND substr(geom, 23, 16) = substr(geom, 44, 16)"
	}
	return check + ")"
}

// indexTriggers keep a layer's spatial index and statistics in step under plain
// SQL by any program: see triggers.go. The corners of the box stand at the same
// bytes in every shape. The extent only grows: a GIS that wants it narrow again
// has its own means. views are those made of the layer,
// and when is a condition on all of it, or empty.
func indexTriggers(layer string, views []string, when string) []string {
	corner := func(row, from string) string { return sqlPosition("substr(" + row + ".geom," + from + ")") }
	index := "idx_" + layer + "_geom"
	// sqlPosition reads the doubles at bytes 7 and 15 of what it is given.
	put := " INSERT OR REPLACE INTO " + index + "(pkid,xmin,xmax,ymin,ymax)\n  SELECT NEW.id,low.x,high.x,low.y,high.y FROM " +
		corner("NEW", "1") + " low, " + corner("NEW", "17") + " high WHERE NEW.geom IS NOT NULL;\n"
	take := " DELETE FROM " + index + " WHERE pkid=OLD.id;\n"
	counted := func(change string) (out string) {
		for i, name := range append([]string{layer}, views...) {
			of := "geometry_columns_statistics SET %s WHERE f_table_name=" + quoteText(name)
			if i > 0 {
				of = "views_geometry_columns_statistics SET %s WHERE view_name=" + quoteText(name)
			}
			out += " UPDATE " + fmt.Sprintf(of, change) + ";\n"
		}
		return out
	}
	widen := ""
	for _, side := range [...]string{"min_x", "min_y", "max_x", "max_y"} {
		of := "(SELECT " + side[4:] + side[:3] + " FROM " + index + " WHERE pkid=NEW.id)"
		column := "extent_" + side
		widen += fmt.Sprintf(", %s=ifnull(%s(%s, %s), ifnull(%s, %s))", column, side[:3], column, of, column, of)
	}
	const now = "last_verified=strftime('%Y-%m-%dT%H:%M:%fZ','now')"
	return []string{
		"CREATE TRIGGER gii_" + layer + "_geom AFTER INSERT ON " + layer + when + " BEGIN\n" + put + counted(now+", row_count=row_count+1"+widen) + "END",
		"CREATE TRIGGER giu_" + layer + "_geom AFTER UPDATE OF id, geom ON " + layer + when + " BEGIN\n" + take + put + counted(now+widen) + "END",
		"CREATE TRIGGER gid_" + layer + "_geom AFTER DELETE ON " + layer + when + " BEGIN\n" + take + counted(now+", row_count=row_count-1") + "END",
	}
}

// quoteText writes an SQL text.
func quoteText(s string) string { return "'" + strings.ReplaceAll(s, "'", "''") + "'" }
