package main

import (
	"encoding/binary"
	"math"
	"strconv"
	"testing"
)

// sameGridAs holds the values of a GeoTIFF, which stand at its end in the
// order of the ASCII grid's, against those.
func sameGridAs(t *testing.T, tif []byte, asc []string) {
	t.Helper()
	if len(tif) < 4*len(asc) || string(tif[:4]) != "II*\x00" {
		t.Fatalf("%d bytes are no GeoTIFF of %d nodes", len(tif), len(asc))
	}
	tif = tif[len(tif)-4*len(asc):]
	for i, text := range asc {
		want, err := strconv.ParseFloat(text, 64)
		if got := math.Float32frombits(binary.LittleEndian.Uint32(tif[4*i:])); err != nil || got != float32(want) {
			t.Errorf("node %d is %v in the GeoTIFF and %s in the ASCII grid", i, got, text)
		}
	}
}
