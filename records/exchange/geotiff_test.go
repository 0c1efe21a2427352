package exchange_test

import (
	"bytes"
	"encoding/binary"
	"io"
	"math"
	"testing"

	"tallybook/geo/surface"
	"tallybook/records"
	"tallybook/records/exchange"
)

// The directory as TIFF 6.0 (section 2) lays it out: every tag above the one
// before, every place even and within the file, and the strips one after
// another to its end.
func TestGeoTIFFIsLaidOutAsTIFFAsks(t *testing.T) {
	f := hill(7, 5, 25, 12.5)
	var out bytes.Buffer
	if err := exchange.WriteGeoTIFF(&out, f, 32619, "depth_to_bedrock_m"); err != nil {
		t.Fatal(err)
	}
	b, le := out.Bytes(), binary.LittleEndian
	if string(b[:4]) != "II*\x00" {
		t.Fatalf("begins with % x", b[:4])
	}
	at := le.Uint32(b[4:])
	n := int(le.Uint16(b[at:]))
	last, strips := uint16(0), uint32(0)
	sizes := map[uint16]uint32{2: 1, 3: 2, 4: 4, 5: 8, 12: 8}
	for i := range n {
		e := b[int(at)+2+12*i:]
		tag, kind, count, value := le.Uint16(e), le.Uint16(e[2:]), le.Uint32(e[4:]), le.Uint32(e[8:])
		if tag <= last {
			t.Errorf("tag %d after %d", tag, last)
		}
		last = tag
		if size := sizes[kind] * count; size > 4 && (value%2 != 0 || int(value+size) > len(b)) {
			t.Errorf("tag %d: %d bytes at %d of %d", tag, size, value, len(b))
		}
		if tag == 273 {
			strips = value
		}
	}
	if end := int(le.Uint32(b[strips+4*4:])) + 4*f.Cols; end != len(b) {
		t.Errorf("the last strip ends at %d of %d", end, len(b))
	}
	// The south-west node is the first of the last strip.
	if got := math.Float32frombits(le.Uint32(b[le.Uint32(b[strips+4*4:]):])); got != float32(f.At(0, 0)) {
		t.Errorf("the south-west node is %v, want %v", got, f.At(0, 0))
	}
}

func TestGeoTIFFRefuses(t *testing.T) {
	f := surface.Field{Grid: surface.Grid{Cols: 2, Rows: 1, CellW: 1, CellH: 1}}
	for name, values := range map[string][]float64{
		"too high": {1, 1e39}, "infinite": {math.Inf(-1), 0}, "too few": {1}, "no number left": {-9999, -math.MaxFloat32},
	} {
		f.Values = values
		if err := exchange.WriteGeoTIFF(io.Discard, f, 32619, ""); records.CodeOf(err) != records.Invalid {
			t.Errorf("%s: %v", name, err)
		}
	}
	f.Values = []float64{-9999.0000001, math.NaN()} // -9999 in 32 bits
	var out bytes.Buffer
	if err := exchange.WriteGeoTIFF(&out, f, 4326, ""); err != nil {
		t.Fatal(err)
	}
	b := out.Bytes()
	first, second := math.Float32frombits(binary.LittleEndian.Uint32(b[len(b)-8:])), math.Float32frombits(binary.LittleEndian.Uint32(b[len(b)-4:]))
	if first != -9999 || second != -math.MaxFloat32 {
		t.Errorf("a measured -9999 and a node without a value are %v and %v", first, second)
	}
	for _, code := range []int{0, 1023, 32767, 70000} {
		if err := exchange.WriteGeoTIFF(io.Discard, f, code, ""); records.CodeOf(err) != records.Invalid {
			t.Errorf("EPSG:%d: %v", code, err)
		}
	}
}
