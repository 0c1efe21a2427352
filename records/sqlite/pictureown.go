package sqlite

import (
	"encoding/binary"
	"fmt"
	"math"

	"tallybook/records"
)

// appendOwn packs the own picks of one well, each as index (uint16), qualifier
// (uint8), value and upper end (float64), length of the set's name (uint16) and
// the name. A name is never longer than mostSetName.
func appendOwn(b []byte, i int, own []records.DigestPick) []byte {
	for _, p := range own {
		set := p.Set[:min(len(p.Set), mostSetName)]
		b = binary.LittleEndian.AppendUint16(b, uint16(i))
		b = append(b, uint8(p.Depth.Qualifier))
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(p.Depth.Value))
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(p.Depth.High))
		b = binary.LittleEndian.AppendUint16(b, uint16(len(set)))
		b = append(b, set...)
	}
	return b
}

const (
	ownBytes    = 2 + 1 + 8 + 8 + 2 // ahead of the name
	mostSetName = math.MaxUint16
)

// cutOwn reads what appendOwn wrote, to the end. Sets are few and their names
// are held once.
func cutOwn(b []byte, ds []pictured) error {
	names := map[string]string{}
	for len(b) >= ownBytes {
		i, n := int(binary.LittleEndian.Uint16(b)), int(binary.LittleEndian.Uint16(b[ownBytes-2:]))
		if i >= len(ds) || n > len(b)-ownBytes {
			return fmt.Errorf("a picture with an own pick of well %d of %d, in a set of %d letters", i, len(ds), n)
		}
		name, met := names[string(b[ownBytes:ownBytes+n])]
		if !met {
			name = string(b[ownBytes : ownBytes+n])
			names[name] = name
		}
		ds[i].digest.Own = append(ds[i].digest.Own, records.DigestPick{Set: name, Depth: records.DigestValue{
			Qualifier: records.Qualifier(b[2]), Value: math.Float64frombits(binary.LittleEndian.Uint64(b[3:])), High: math.Float64frombits(binary.LittleEndian.Uint64(b[11:])),
		}})
		b = b[ownBytes+n:]
	}
	if len(b) != 0 {
		return fmt.Errorf("a picture with %d bytes left over", len(b))
	}
	return nil
}
