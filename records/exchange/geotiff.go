package exchange

import (
	"bufio"
	"cmp"
	"encoding/binary"
	"io"
	"math"
	"slices"
	"strconv"

	"tallybook/geo/surface"
	"tallybook/records"
)

// The types of fields that TIFF 6.0 knows (section 2) and that are used here.
const (
	tiffASCII    = 2
	tiffShort    = 3
	tiffLong     = 4
	tiffRational = 5
	tiffDouble   = 12
)

// tiffField is one entry of the directory: a tag and its values, already as
// bytes.
type tiffField struct {
	tag, kind uint16
	count     uint32
	value     []byte
}

// mostTIFF keeps every place in the file within what TIFF's 32 bits can name.
const mostTIFF = math.MaxUint32

// WriteGeoTIFF writes a field as a GeoTIFF: TIFF 6.0, little-endian, one band
// of 32-bit floating point, uncompressed, one row a strip and the northern row
// first, with its place by GeoTIFF 1.1 (OGC 19-008): the outer corner in the
// north-west, the size of a cell, and the EPSG code of the coordinates, where
// 4326 is of degrees and any other is projected and in metres. about says what
// the values are, with their unit.
//
// A value is rounded to 32 bits: an error of up to 6e-8 of it. A node without
// a value is written as the number that the tag GDAL_NODATA (42113, which GIS
// programs have agreed on) names. It is an error where the field does not fit
// its grid, holds a value that 32 bits cannot, or would make a file of more
// than 4 GiB. The file is written as it goes, a row in memory.
func WriteGeoTIFF(w io.Writer, f surface.Field, epsg int, about string) error {
	if err := f.Validate(); err != nil {
		return records.WrapError(records.Invalid, err, "the grid cannot be written")
	}
	if epsg < 1024 || epsg > 32766 {
		return records.Errorf(records.Invalid, "EPSG:%d is no code that a GeoTIFF can name", epsg)
	}
	if uint64(f.Cols)*uint64(f.Rows)*4+uint64(f.Rows)*8+4096+uint64(len(about)) > mostTIFF {
		return records.Errorf(records.TooLarge, "a grid of %d by %d nodes is more than the 4 GiB that a TIFF holds: make it in parts", f.Cols, f.Rows)
	}
	noData, err := freeFloat32(f.Values)
	if err != nil {
		return err
	}
	out := bufio.NewWriterSize(w, 64<<10)
	if _, err := out.Write(tiffHead(f.Grid, epsg, about, noData)); err != nil {
		return writeError(err)
	}
	row := make([]byte, 0, 4*f.Cols)
	for r := f.Rows - 1; r >= 0; r-- {
		row = row[:0]
		for c := range f.Cols {
			v := float32(f.At(c, r))
			if v != v {
				v = noData
			}
			row = binary.LittleEndian.AppendUint32(row, math.Float32bits(v))
		}
		if _, err := out.Write(row); err != nil {
			return writeError(err)
		}
	}
	if err := out.Flush(); err != nil {
		return writeError(err)
	}
	return nil
}

// freeFloat32 is a number that no node has once it is rounded to 32 bits:
// -9999 where it can be, else the lowest there is.
func freeFloat32(values []float64) (float32, error) {
	const customary, lowest = float32(-9999), float32(-math.MaxFloat32)
	takenFirst, takenLast := false, false
	for _, v := range values {
		short := float32(v)
		if math.IsInf(float64(short), 0) {
			return 0, records.Errorf(records.Invalid, "the grid holds %g, which 32 bits cannot, and cannot be written as a GeoTIFF", v)
		}
		takenFirst = takenFirst || short == customary
		takenLast = takenLast || short == lowest
	}
	switch {
	case !takenFirst:
		return customary, nil
	case !takenLast:
		return lowest, nil
	}
	return 0, records.Errorf(records.Invalid, "the values of the grid leave no number for nodes without one")
}

// tiffHead is all that stands before the values: the header, the directory and
// what does not fit into its entries.
func tiffHead(g surface.Grid, epsg int, about string, noData float32) []byte {
	rowBytes := uint32(4 * g.Cols)
	fields := append(geoFields(g, epsg),
		tiffLongs(256, uint32(g.Cols)), tiffLongs(257, uint32(g.Rows)), // ImageWidth, ImageLength
		tiffShorts(258, 32),                       // BitsPerSample
		tiffShorts(259, 1),                        // Compression: none
		tiffShorts(262, 1),                        // PhotometricInterpretation: the lowest is black
		tiffLongs(273, make([]uint32, g.Rows)...), // StripOffsets, filled in below
		tiffShorts(277, 1),                        // SamplesPerPixel
		tiffLongs(278, 1),                         // RowsPerStrip
		tiffLongs(279, slices.Repeat([]uint32{rowBytes}, g.Rows)...), // StripByteCounts
		tiffRatio(282), tiffRatio(283), // XResolution, YResolution: none is meant,
		tiffShorts(296, 1), // as ResolutionUnit says
		tiffShorts(284, 1), // PlanarConfiguration
		tiffShorts(339, 3), // SampleFormat: IEEE floating point
		tiffText(42113, strconv.FormatFloat(float64(noData), 'g', -1, 64)),
	)
	if about != "" {
		fields = append(fields, tiffText(270, about)) // ImageDescription
	}
	slices.SortFunc(fields, func(a, b tiffField) int { return cmp.Compare(a.tag, b.tag) })
	const header = 8
	size := header + 2 + 12*len(fields) + 4
	for _, f := range fields {
		if len(f.value) > 4 {
			size += len(f.value) + len(f.value)%2
		}
	}
	for i := range fields {
		if fields[i].tag != 273 {
			continue
		}
		for r := range g.Rows {
			binary.LittleEndian.PutUint32(fields[i].value[4*r:], uint32(size)+uint32(r)*rowBytes)
		}
	}
	return appendDirectory(fields)
}

// appendDirectory lays out the header and the directory; a value of more than
// four bytes stands behind it, at an even place.
func appendDirectory(fields []tiffField) []byte {
	le := binary.LittleEndian
	b := append([]byte("II"), 42, 0, 8, 0, 0, 0)
	b = le.AppendUint16(b, uint16(len(fields)))
	beyond := len(b) + 12*len(fields) + 4
	var behind []byte
	for _, f := range fields {
		b = le.AppendUint16(le.AppendUint16(b, f.tag), f.kind)
		b = le.AppendUint32(b, f.count)
		if len(f.value) <= 4 {
			b = append(b, f.value...)
			b = append(b, make([]byte, 4-len(f.value))...)
			continue
		}
		b = le.AppendUint32(b, uint32(beyond+len(behind)))
		behind = append(behind, f.value...)
		if len(behind)%2 != 0 {
			behind = append(behind, 0)
		}
	}
	b = le.AppendUint32(b, 0) // no further directory
	return append(b, behind...)
}

// geoFields place the grid: the size of a cell, the corner, and the keys of
// GeoTIFF 1.1 that name the coordinates and say that a value is of a cell.
func geoFields(g surface.Grid, epsg int) []tiffField {
	north := g.MinY + float64(g.Rows)*g.CellH
	model, name, unitKey, unit := uint16(1), uint16(3072), uint16(3076), uint16(9001) // projected, ProjectedCRS, metre
	if epsg == 4326 {
		model, name, unitKey, unit = 2, 2048, 2054, 9102 // geographic 2D, GeodeticCRS, degree
	}
	return []tiffField{
		tiffDoubles(33550, g.CellW, g.CellH, 0),       // ModelPixelScale
		tiffDoubles(33922, 0, 0, 0, g.MinX, north, 0), // ModelTiepoint
		tiffShorts(34735, 1, 1, 1, 4, // GeoKeyDirectory: version 1.1.1, four keys
			1024, 0, 1, model, 1025, 0, 1, 1, // GTModelType, GTRasterType: the pixel is an area
			name, 0, 1, uint16(epsg), unitKey, 0, 1, unit),
	}
}

func tiffShorts(tag uint16, vs ...uint16) tiffField {
	f := tiffField{tag: tag, kind: tiffShort, count: uint32(len(vs))}
	for _, v := range vs {
		f.value = binary.LittleEndian.AppendUint16(f.value, v)
	}
	return f
}

func tiffLongs(tag uint16, vs ...uint32) tiffField {
	f := tiffField{tag: tag, kind: tiffLong, count: uint32(len(vs))}
	for _, v := range vs {
		f.value = binary.LittleEndian.AppendUint32(f.value, v)
	}
	return f
}

func tiffDoubles(tag uint16, vs ...float64) tiffField {
	f := tiffField{tag: tag, kind: tiffDouble, count: uint32(len(vs))}
	for _, v := range vs {
		f.value = binary.LittleEndian.AppendUint64(f.value, math.Float64bits(v))
	}
	return f
}

// tiffRatio is one to one.
func tiffRatio(tag uint16) tiffField {
	return tiffField{tag: tag, kind: tiffRational, count: 1, value: []byte{1, 0, 0, 0, 1, 0, 0, 0}}
}

func tiffText(tag uint16, s string) tiffField {
	return tiffField{tag: tag, kind: tiffASCII, count: uint32(len(s) + 1), value: append([]byte(s), 0)}
}
