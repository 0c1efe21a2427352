package exchange

import (
	"bufio"
	"errors"
	"io"

	"tallybook/records"
)

// GeoJSON writes wells as GeoJSON, one after another. Close ends the document.
type GeoJSON struct {
	w       *bufio.Writer
	o       Options
	buf     []byte
	count   int64
	leftOut int64
	box     extent
	err     error
}

// NewGeoJSON begins a document on w.
func NewGeoJSON(w io.Writer, o Options) *GeoJSON {
	return &GeoJSON{w: bufio.NewWriterSize(w, 64<<10), o: o}
}

// Write writes one well. Once writing has failed, it gives that error again.
func (g *GeoJSON) Write(w *records.Well) error {
	b := g.buf[:0]
	switch {
	case g.o.NDJSON:
	case g.count == 0:
		b = append(b, collectionHead...)
	default:
		b = append(b, ",\n"...)
	}
	b, left := appendFeature(b, w, g.o)
	if g.o.NDJSON {
		b = append(b, '\n')
	}
	g.buf = b
	g.count++
	g.leftOut += int64(left)
	if w.Place.Located {
		g.box.add(w.Place.Lon, w.Place.Lat)
	}
	g.put(b)
	return g.err
}

const collectionHead = `{"type":"FeatureCollection","features":[` + "\n"

// Count is how many wells have been written.
func (g *GeoJSON) Count() int64 { return g.count }

// LeftOut is how many extra properties were not written because their names
// say that they are about people.
func (g *GeoJSON) LeftOut() int64 { return g.leftOut }

// Close ends the document and flushes it; it does not close the writer.
func (g *GeoJSON) Close() error {
	if !g.o.NDJSON {
		b := g.buf[:0]
		if g.count == 0 {
			b = append(b, collectionHead...)
		}
		b = append(b, "\n]"...)
		if g.o.BBox && g.box.any {
			b = append(b, `,"bbox":[`...)
			for i, v := range [...]float64{g.box.west, g.box.south, g.box.east, g.box.north} {
				if i > 0 {
					b = append(b, ',')
				}
				b = appendDegrees(b, v)
			}
			b = append(b, ']')
		}
		g.put(append(b, "}\n"...))
	}
	if err := g.w.Flush(); err != nil && g.err == nil {
		g.err = writeError(err)
	}
	return g.err
}

func (g *GeoJSON) put(b []byte) {
	if g.err != nil {
		return
	}
	if _, err := g.w.Write(b); err != nil {
		g.err = writeError(err)
	}
}

// writeError leaves an error alone that has words for a person already: the
// writer knows better that a disk is full.
func writeError(err error) error {
	var known *records.Error
	if errors.As(err, &known) {
		return err
	}
	return records.WrapError(records.Internal, err, "the export cannot be written")
}

// extent is a box in degrees. It does not look for a shorter way across the
// antimeridian (RFC 7946, section 5.2, allows west to be greater than east;
// a box the long way round is right too, only larger).
type extent struct {
	any                      bool
	west, south, east, north float64
}

func (e *extent) add(lon, lat float64) {
	if !e.any {
		*e = extent{true, lon, lat, lon, lat}
		return
	}
	e.west, e.east = min(e.west, lon), max(e.east, lon)
	e.south, e.north = min(e.south, lat), max(e.north, lat)
}
