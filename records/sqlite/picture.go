package sqlite

import (
	"encoding/binary"
	"fmt"
	"math"

	"tallybook/records"
)

// chunkBits: the wells with the same id >> chunkBits are packed together. The
// triggers of the migrations know the number.
const (
	chunkBits = 12
	chunkSize = 1 << chunkBits
)

// pictureFormat is raised whenever the layout below changes, or what
// records.Derive makes of the same record and vocabulary.
const pictureFormat = "2"

// pictured is a digest and the batch that its well came in with.
type pictured struct {
	digest records.Digest
	batch  int64
}

// A chunk is packed column by column, little-endian: a count (uint32), the
// columns that every well has, then how many of the upper ends of bounds
// (uint32), which few have, each as index (uint16), which value (uint8) and
// float64, and last the own picks, as appendOwn has them.
const fixedBytes = 2 + 4 + 8 + 8 + 8 + 4 + 3*(8+1) + 4*4 + 4 + 1 + 1 + 2 + 8 + 3*4 + 1 + 4

// packChunk packs the digests of one chunk, in the order of their keys.
func packChunk(ds []pictured) []byte {
	b := make([]byte, 0, 4+len(ds)*fixedBytes)
	b = binary.LittleEndian.AppendUint32(b, uint32(len(ds)))
	u16 := func(f func(*records.Digest) uint16) {
		for i := range ds {
			b = binary.LittleEndian.AppendUint16(b, f(&ds[i].digest))
		}
	}
	u64 := func(f func(*records.Digest) uint64) {
		for i := range ds {
			b = binary.LittleEndian.AppendUint64(b, f(&ds[i].digest))
		}
	}
	f32 := func(f func(*records.Digest) float32) {
		for i := range ds {
			b = binary.LittleEndian.AppendUint32(b, math.Float32bits(f(&ds[i].digest)))
		}
	}
	u8 := func(f func(*records.Digest) uint8) {
		for i := range ds {
			b = append(b, f(&ds[i].digest))
		}
	}
	u16(func(d *records.Digest) uint16 { return uint16(d.ID & (chunkSize - 1)) })
	for i := range ds {
		b = binary.LittleEndian.AppendUint32(b, uint32(ds[i].digest.Revision))
	}
	u64(func(d *records.Digest) uint64 { return d.Key })
	u64(func(d *records.Digest) uint64 { return math.Float64bits(d.Lon) })
	u64(func(d *records.Digest) uint64 { return math.Float64bits(d.Lat) })
	f32(func(d *records.Digest) float32 { return d.AccuracyM })
	for _, value := range digestValues {
		u64(func(d *records.Digest) uint64 { return math.Float64bits(value(d).Value) })
		u8(func(d *records.Digest) uint8 { return uint8(value(d).Qualifier) })
	}
	for _, column := range digestFloats {
		f32(func(d *records.Digest) float32 { return *column(d) })
	}
	u8(func(d *records.Digest) uint8 { return d.Purpose })
	u8(func(d *records.Digest) uint8 { return d.Setting })
	u16(func(d *records.Digest) uint16 { return d.Rock })
	u64(func(d *records.Digest) uint64 { return d.Materials })
	u8(func(d *records.Digest) uint8 { return uint8(d.Flags) })
	for i := range ds {
		b = binary.LittleEndian.AppendUint32(b, uint32(ds[i].batch))
	}
	at, highs := len(b), uint32(0)
	b = binary.LittleEndian.AppendUint32(b, 0)
	for i := range ds {
		for which, value := range digestValues {
			if high := value(&ds[i].digest).High; high != 0 {
				b = binary.LittleEndian.AppendUint16(b, uint16(i))
				b = append(b, uint8(which))
				b = binary.LittleEndian.AppendUint64(b, math.Float64bits(high))
				highs++
			}
		}
	}
	binary.LittleEndian.PutUint32(b[at:], highs)
	for i := range ds {
		b = appendOwn(b, i, ds[i].digest.Own)
	}
	return b
}

var digestValues = [...]func(*records.Digest) *records.DigestValue{
	func(d *records.Digest) *records.DigestValue { return &d.Bedrock },
	func(d *records.Digest) *records.DigestValue { return &d.Yield },
	func(d *records.Digest) *records.DigestValue { return &d.TotalDepth },
}

var digestFloats = [...]func(*records.Digest) *float32{
	func(d *records.Digest) *float32 { return &d.FirstRockM },
	func(d *records.Digest) *float32 { return &d.CasingM },
	func(d *records.Digest) *float32 { return &d.StaticM },
	func(d *records.Digest) *float32 { return &d.GroundM },
	func(d *records.Digest) *float32 { return &d.Year },
	func(d *records.Digest) *float32 { return &d.StrikesM[0] },
	func(d *records.Digest) *float32 { return &d.StrikesM[1] },
	func(d *records.Digest) *float32 { return &d.StrikesM[2] },
}

// unpackChunk reads what packChunk wrote, into room. Whatever the bytes are,
// it fails rather than read beyond them.
func unpackChunk(chunk int64, b []byte, room []pictured) ([]pictured, error) {
	if len(b) < 4 {
		return nil, fmt.Errorf("a picture of %d bytes", len(b))
	}
	n := int(binary.LittleEndian.Uint32(b))
	b = b[4:]
	if n > chunkSize || len(b) < n*fixedBytes {
		return nil, fmt.Errorf("a picture of %d wells in %d bytes", n, len(b))
	}
	if cap(room) < n {
		room = make([]pictured, n)
	}
	ds := room[:n]
	clear(ds)
	le := binary.LittleEndian
	cut := func(size int) []byte {
		c := b[:n*size]
		b = b[n*size:]
		return c
	}
	ids := cut(2)
	for i := range ds {
		ds[i].digest.ID = chunk<<chunkBits | int64(le.Uint16(ids[2*i:]))
	}
	for c, i := cut(4), 0; i < n; i++ {
		ds[i].digest.Revision = int64(le.Uint32(c[4*i:]))
	}
	for c, i := cut(8), 0; i < n; i++ {
		ds[i].digest.Key = le.Uint64(c[8*i:])
	}
	for c, i := cut(8), 0; i < n; i++ {
		ds[i].digest.Lon = math.Float64frombits(le.Uint64(c[8*i:]))
	}
	for c, i := cut(8), 0; i < n; i++ {
		ds[i].digest.Lat = math.Float64frombits(le.Uint64(c[8*i:]))
	}
	for c, i := cut(4), 0; i < n; i++ {
		ds[i].digest.AccuracyM = math.Float32frombits(le.Uint32(c[4*i:]))
	}
	for _, value := range digestValues {
		numbers, qualifiers := cut(8), cut(1)
		for i := range ds {
			v := value(&ds[i].digest)
			v.Value = math.Float64frombits(le.Uint64(numbers[8*i:]))
			v.Qualifier = records.Qualifier(qualifiers[i])
		}
	}
	for _, column := range digestFloats {
		c := cut(4)
		for i := range ds {
			*column(&ds[i].digest) = math.Float32frombits(le.Uint32(c[4*i:]))
		}
	}
	for c, i := cut(1), 0; i < n; i++ {
		ds[i].digest.Purpose = c[i]
	}
	for c, i := cut(1), 0; i < n; i++ {
		ds[i].digest.Setting = c[i]
	}
	for c, i := cut(2), 0; i < n; i++ {
		ds[i].digest.Rock = le.Uint16(c[2*i:])
	}
	for c, i := cut(8), 0; i < n; i++ {
		ds[i].digest.Materials = le.Uint64(c[8*i:])
	}
	for c, i := cut(1), 0; i < n; i++ {
		ds[i].digest.Flags = records.DigestFlags(c[i])
	}
	for c, i := cut(4), 0; i < n; i++ {
		ds[i].batch = int64(le.Uint32(c[4*i:]))
	}
	if len(b) < 4 || uint64(le.Uint32(b))*11 > uint64(len(b)-4) {
		return nil, fmt.Errorf("a picture with its upper ends cut off")
	}
	highs := int(le.Uint32(b))
	for b = b[4:]; highs > 0; highs, b = highs-1, b[11:] {
		i, which := int(le.Uint16(b)), int(b[2])
		if i >= n || which >= len(digestValues) {
			return nil, fmt.Errorf("a picture with an upper end of well %d of %d", i, n)
		}
		digestValues[which](&ds[i].digest).High = math.Float64frombits(le.Uint64(b[3:]))
	}
	return ds, cutOwn(b, ds)
}
