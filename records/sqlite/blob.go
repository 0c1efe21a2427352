package sqlite

import (
	"encoding/binary"
	"fmt"
	"math"
)

// pointSize is the length of a two-dimensional point as SpatiaLite keeps it
// ("BLOB-Geometry" in its documentation).
const pointSize = 60

// appendPoint appends a point (degrees, WGS 84, longitude first) as a
// SpatiaLite BLOB: start, byte order, SRID, the box around it, class, the
// coordinates, end.
func appendPoint(dst []byte, lon, lat float64) []byte {
	x, y := math.Float64bits(lon), math.Float64bits(lat)
	dst = append(dst, 0x00, 0x01)
	dst = binary.LittleEndian.AppendUint32(dst, 4326)
	for range 2 {
		dst = binary.LittleEndian.AppendUint64(dst, x)
		dst = binary.LittleEndian.AppendUint64(dst, y)
	}
	dst = append(dst, 0x7C)
	dst = binary.LittleEndian.AppendUint32(dst, 1)
	dst = binary.LittleEndian.AppendUint64(dst, x)
	dst = binary.LittleEndian.AppendUint64(dst, y)
	return append(dst, 0xFE)
}

// parsePoint reads what appendPoint writes, and refuses every other geometry
// and every position that is none on the earth.
func parsePoint(b []byte) (lon, lat float64, err error) {
	if len(b) != pointSize || b[0] != 0 || b[1] != 1 || b[38] != 0x7C || b[59] != 0xFE ||
		binary.LittleEndian.Uint32(b[2:]) != 4326 || binary.LittleEndian.Uint32(b[39:]) != 1 {
		return 0, 0, fmt.Errorf("the geometry is not a point in WGS 84 longitude and latitude")
	}
	lon = math.Float64frombits(binary.LittleEndian.Uint64(b[43:]))
	lat = math.Float64frombits(binary.LittleEndian.Uint64(b[51:]))
	if !onEarth(lon, lat) {
		return 0, 0, fmt.Errorf("longitude %g, latitude %g is no position on the earth", lon, lat)
	}
	return lon, lat, nil
}

// onEarth says whether lon and lat, degrees, are a position; NaN is none.
func onEarth(lon, lat float64) bool { return math.Abs(lon) <= 180 && math.Abs(lat) <= 90 }
