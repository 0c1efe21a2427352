package sqlite

import (
	"database/sql/driver"
	"encoding/binary"
	"fmt"
	"math"
)

// The values of a row that waits to be written are packed into one text, a
// byte for the kind and then the value: an intake has them by the hundred
// thousand, and as values of their own they would take three times the memory
// and keep the garbage collector busy.
const (
	packedNull byte = iota
	packedInt
	packedFloat
	packedText
	packedBlob
)

// appendPacked appends a value that the driver takes.
func appendPacked(dst []byte, v driver.Value) []byte {
	switch v := v.(type) {
	case nil:
		return append(dst, packedNull)
	case int64:
		return binary.LittleEndian.AppendUint64(append(dst, packedInt), uint64(v))
	case float64:
		return binary.LittleEndian.AppendUint64(append(dst, packedFloat), math.Float64bits(v))
	case string:
		return appendPackedText(dst, v)
	case []byte:
		return append(binary.AppendUvarint(append(dst, packedBlob), uint64(len(v))), v...)
	}
	panic(fmt.Sprintf("sqlite: a value of type %T is not packed", v))
}

func appendPackedText(dst []byte, s string) []byte {
	return append(binary.AppendUvarint(append(dst, packedText), uint64(len(s))), s...)
}

// unpackValues appends the next n values of packed to dst, texts without
// copying them, and gives what follows.
func unpackValues(dst []driver.NamedValue, packed string, n int) ([]driver.NamedValue, string) {
	for range n {
		kind := packed[0]
		packed = packed[1:]
		var v driver.Value
		switch kind {
		case packedInt:
			v, packed = int64(packed64(packed)), packed[8:]
		case packedFloat:
			v, packed = math.Float64frombits(packed64(packed)), packed[8:]
		case packedText, packedBlob:
			size := 0
			for shift := 0; ; shift += 7 {
				b := packed[0]
				packed = packed[1:]
				size |= int(b&0x7f) << shift
				if b < 0x80 {
					break
				}
			}
			if kind == packedText {
				v = packed[:size]
			} else {
				v = []byte(packed[:size])
			}
			packed = packed[size:]
		}
		dst = append(dst, driver.NamedValue{Value: v})
	}
	return dst, packed
}

func packed64(s string) uint64 {
	_ = s[7]
	return uint64(s[0]) | uint64(s[1])<<8 | uint64(s[2])<<16 | uint64(s[3])<<24 |
		uint64(s[4])<<32 | uint64(s[5])<<40 | uint64(s[6])<<48 | uint64(s[7])<<56
}
