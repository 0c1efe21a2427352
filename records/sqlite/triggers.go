package sqlite

import (
	"fmt"
	"strings"
)

// The triggers that keep the spatial index in step with the layer of wells
// when another program writes. They are plain SQL, so that any program that
// can write the file fires them: the position is decoded from the hexadecimal
// digits of the geometry, since plain SQLite has no function for it. The
// program's own writes fill the index from the coordinates in hand and skip
// them: decoding costs more than all the rest of an insert.
//
// They keep the number of rows and the extent too, which GDAL and QGIS believe.
//
// They stand in a migration too; a test keeps the two the same. They are
// needed here because a GIS user's "create spatial index" puts other triggers
// in their place, which fail without SpatiaLite.

const notOwn = "WHEN NOT EXISTS (SELECT 1 FROM own_write)"

// spatialTriggerNames are the triggers that SpatiaLite gives a table: those
// that it would put in the place of ours, and those that only it can run.
func spatialTriggerNames() []string {
	var names []string
	for _, prefix := range []string{"gii", "giu", "gid", "ggi", "ggu", "tmi", "tmu", "tmd"} {
		names = append(names, prefix+"_wells_geom")
	}
	return names
}

// spatialTriggers is the SQL of our own, a statement each: see indexTriggers.
func spatialTriggers() []string { return indexTriggers("wells", nil, " "+notOwn) }

// sqlPosition is a subquery with the columns x and y of a point BLOB (see
// appendPoint). Each LIMIT keeps SQLite from merging the levels, which would
// work out each digit many times over.
func sqlPosition(blob string) string {
	return fmt.Sprintf("(SELECT %s AS x,%s AS y FROM (SELECT %s,%s FROM (SELECT hex(substr(%s,7,8)) AS hx,hex(substr(%s,15,8)) AS hy LIMIT 1) LIMIT 1) LIMIT 1)",
		sqlDouble("x"), sqlDouble("y"), sqlDoubleParts("hx", "x"), sqlDoubleParts("hy", "y"), blob, blob)
}

// sqlDigit is the value of the i-th hexadecimal digit of a column.
func sqlDigit(hex string, i int) string {
	return fmt.Sprintf("instr('123456789ABCDEF',substr(%s,%d,1))", hex, i)
}

// sqlDoubleParts takes a little-endian IEEE 754 double in hexadecimal apart
// into mantissa (m), shift (k) and sign (s).
func sqlDoubleParts(hex, prefix string) string {
	mantissa := "(1<<52)"
	for _, at := range [][2]int{{14, 48}, {11, 44}, {12, 40}, {9, 36}, {10, 32}, {7, 28}, {8, 24}, {5, 20}, {6, 16}, {3, 12}, {4, 8}, {1, 4}, {2, 0}} {
		mantissa += fmt.Sprintf("+(%s<<%d)", sqlDigit(hex, at[0]), at[1])
	}
	return fmt.Sprintf("%s AS %sm,1075-(((%s&7)<<8)+(%s<<4)+%s) AS %sk,1-2*(%s>>3) AS %ss",
		mantissa, prefix, sqlDigit(hex, 15), sqlDigit(hex, 16), sqlDigit(hex, 13), prefix, sqlDigit(hex, 15), prefix)
}

// sqlDouble puts the parts together again. Positions are below 2^52, so the
// shift is always downwards; an exponent of nought is nought.
func sqlDouble(prefix string) string {
	return strings.ReplaceAll("CASE WHEN Pk=1075 THEN 0.0 ELSE Ps*CAST(Pm AS REAL)/(1<<min(max(Pk,0),62))/(1<<min(max(Pk-62,0),62)) END", "P", prefix)
}
