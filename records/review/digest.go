package review

import (
	"crypto/sha256"
	"encoding/binary"
	"math"

	"tallybook/records"
	"tallybook/records/scout"
	"tallybook/records/snapshot"
)

// Digest is a fingerprint of a set that does not hang on its order: the sum of
// the SHA-256 of its members, four lanes of 64 bits each without carry between
// them. It shows whether two copies hold the same, and guards against nobody
// who would forge one.
type Digest [4]uint64

func (d *Digest) add(sum [sha256.Size]byte) {
	for i := range d {
		d[i] += binary.BigEndian.Uint64(sum[8*i:])
	}
}

// String writes the digest in hexadecimal.
func (d Digest) String() string {
	var b [32]byte
	for i, v := range d {
		binary.BigEndian.PutUint64(b[8*i:], v)
	}
	const digits = "0123456789abcdef"
	out := make([]byte, 0, 64)
	for _, c := range b {
		out = append(out, digits[c>>4], digits[c&15])
	}
	return string(out)
}

func digestOfLog(uid string, n *scout.Neighbour, layers []layer) [sha256.Size]byte {
	b := make([]byte, 0, 512)
	num := func(v float64) { b = binary.BigEndian.AppendUint64(b, math.Float64bits(v+0)) }
	b = append(b, uid...)
	num(float64(n.Depth.Value))
	num(float64(n.Yield.Value))
	b = append(b, byte(n.Depth.Qualifier), byte(n.Yield.Qualifier))
	for i := range n.Strikes {
		s := &n.Strikes[i]
		num(float64(s.From))
		num(float64(s.To))
		num(float64(s.Flow.Value))
		num(float64(s.Flow.High))
		b = append(b, byte(s.Flow.Qualifier))
	}
	for _, g := range layers {
		num(g.top)
		num(g.bottom)
		b = append(b, g.material...)
		b = append(b, 0)
	}
	return sha256.Sum256(b)
}

// DigestOf is the fingerprint of what the picture says of the wells chosen:
// neither their keys in the database nor their revisions enter. What the filter
// does not trust does not either.
func DigestOf(p *snapshot.Picture, f *snapshot.Filter, rows []snapshot.Row) Digest {
	var out Digest
	b := make([]byte, 0, 256)
	for _, r := range rows {
		d := f.Digest(r)
		b = b[:0]
		u64 := func(v uint64) { b = binary.BigEndian.AppendUint64(b, v) }
		num := func(v float64) {
			if math.IsNaN(v) {
				v = math.NaN() // one NaN of many
			}
			u64(math.Float64bits(v + 0))
		}
		u64(d.Key)
		for _, v := range []float64{d.Lon, d.Lat, float64(d.AccuracyM), float64(d.FirstRockM), float64(d.CasingM), float64(d.StaticM), float64(d.GroundM), float64(d.Year),
			float64(d.StrikesM[0]), float64(d.StrikesM[1]), float64(d.StrikesM[2])} {
			num(v)
		}
		for _, v := range []records.DigestValue{d.Bedrock, d.Yield, d.TotalDepth} {
			num(v.Value)
			if v.Qualifier == records.Between {
				num(v.High)
			}
			b = append(b, byte(v.Qualifier))
		}
		u64(d.Materials)
		b = append(b, d.Purpose, d.Setting, byte(d.Flags))
		b = append(b, p.RockUnit(d.Rock)...)
		out.add(sha256.Sum256(b))
	}
	return out
}
