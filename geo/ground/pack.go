package ground

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"sync"

	"github.com/klauspost/compress/flate"
)

// The kinds of packed tiles. Most rasters are written with a few decimals: their
// heights are whole numbers of tenths, hundredths… and are packed as those.
const (
	packedWhole   = 0 // whole numbers of 10^-decimals
	packedWhole32 = 1 // the same, read back through 32 bits, as such rasters have them
	packed32      = 2 // the bits of 32-bit numbers
	packed64      = 3 // the bits of 64-bit numbers
)

const (
	mostDecimals = 6
	headBytes    = 3 // kind, decimals, whether some cells have no height
	maskBytes    = Side * Side / 8
)

// ErrDamaged is returned for bytes that no tile was packed into.
var ErrDamaged = errors.New("ground: the tile is damaged")

var tenTo = [mostDecimals + 1]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6}

// Pack packs a tile without loss (but that minus zero becomes zero); nil for one
// without any height. Each cell is told by how it differs from what its
// neighbours in the west, north and north-west let expect, the bytes of equal
// rank are put together, and all is deflated (RFC 1951).
func (t *Tile) Pack() ([]byte, error) {
	kind, decimals, gaps, any := t.kind()
	if !any {
		return nil, nil
	}
	raw := []byte{kind, byte(decimals), 0}
	if gaps {
		raw[2] = 1
		mask := make([]byte, maskBytes)
		for i, v := range t {
			if v != v {
				mask[i/8] |= 1 << (i % 8)
			}
		}
		raw = append(raw, mask...)
	}
	words := make([]uint64, len(t))
	last := uint64(0) // a cell without a height is as the one before it
	for i, v := range t {
		if v == v {
			last = wordOf(v, kind, decimals)
		}
		words[i] = last
	}
	raw = appendPlanes(raw, expect(words, width(kind)), width(kind))
	var out bytes.Buffer
	w := deflaters.Get().(*flate.Writer)
	defer deflaters.Put(w)
	w.Reset(&out)
	if _, err := w.Write(raw); err != nil {
		return nil, fmt.Errorf("ground: %w", err)
	}
	if err := w.Close(); err != nil {
		return nil, fmt.Errorf("ground: %w", err)
	}
	return out.Bytes(), nil
}

// deflaters are kept for the next tile: each is of a megabyte.
var deflaters = sync.Pool{New: func() any {
	w, err := flate.NewWriter(nil, 6)
	if err != nil {
		panic("ground: the level is one that there is: " + err.Error())
	}
	return w
}}

// kind finds the smallest kind that holds every height to the last digit.
func (t *Tile) kind() (kind byte, decimals int, gaps, any bool) {
	whole, whole32, short := 0, 0, true
	for _, v := range t {
		if v != v {
			gaps = true
			continue
		}
		any = true
		for whole <= mostDecimals && !isWhole(v, whole, false) {
			whole++
		}
		for whole32 <= mostDecimals && !isWhole(v, whole32, true) {
			whole32++
		}
		short = short && float64(float32(v)) == v
	}
	switch {
	case whole <= mostDecimals:
		return packedWhole, whole, gaps, any
	case whole32 <= mostDecimals:
		return packedWhole32, whole32, gaps, any
	case short:
		return packed32, 0, gaps, any
	}
	return packed64, 0, gaps, any
}

// isWhole says whether a height comes back from a whole number of 10^-decimals.
func isWhole(v float64, decimals int, short bool) bool {
	n := math.Round(v * tenTo[decimals])
	if !(math.Abs(n) < 1<<30) {
		return false
	}
	back := n / tenTo[decimals]
	if short {
		back = float64(float32(back))
	}
	return back == v
}

// width is how many bytes a word of a kind has.
func width(kind byte) int {
	if kind == packed64 {
		return 8
	}
	return 4
}

func wordOf(v float64, kind byte, decimals int) uint64 {
	switch kind {
	case packed32:
		return uint64(math.Float32bits(float32(v)))
	case packed64:
		return math.Float64bits(v)
	}
	return uint64(uint32(int32(math.Round(v * tenTo[decimals]))))
}

func heightOf(word uint64, kind byte, decimals int) float64 {
	switch kind {
	case packed32:
		return float64(math.Float32frombits(uint32(word)))
	case packed64:
		return math.Float64frombits(word)
	}
	v := float64(int32(uint32(word))) / tenTo[decimals]
	if kind == packedWhole32 {
		return float64(float32(v))
	}
	return v
}

// expected is what the cells before cell i let expect of it.
func expected(words []uint64, i int) uint64 {
	row, col := i/Side, i%Side
	switch {
	case row == 0 && col == 0:
		return 0
	case row == 0:
		return words[i-1]
	case col == 0:
		return words[i-Side]
	}
	return words[i-1] + words[i-Side] - words[i-Side-1]
}

// expect turns words into zigzag differences from what was to be expected.
func expect(words []uint64, width int) []uint64 {
	out := make([]uint64, len(words))
	for i, w := range words {
		d := w - expected(words, i)
		if width == 4 {
			s := int32(uint32(d))
			out[i] = uint64(uint32(s<<1) ^ uint32(s>>31))
		} else {
			s := int64(d)
			out[i] = uint64(s<<1) ^ uint64(s>>63)
		}
	}
	return out
}

// unexpect is the way back, in place.
func unexpect(words []uint64, width int) {
	for i, z := range words {
		d := z>>1 ^ -(z & 1)
		w := d + expected(words, i)
		if width == 4 {
			w = uint64(uint32(w))
		}
		words[i] = w
	}
}

// appendPlanes puts the lowest bytes of all words first, then the next.
func appendPlanes(b []byte, words []uint64, width int) []byte {
	for k := range width {
		for _, w := range words {
			b = append(b, byte(w>>(8*k)))
		}
	}
	return b
}

// Unpack reads what Pack wrote into a tile. Bytes that Pack did not write are
// ErrDamaged, or give some heights or other; they never take more memory than
// a tile does.
func Unpack(data []byte, into *Tile) error {
	r := flate.NewReader(bytes.NewReader(data))
	defer r.Close()
	var head [headBytes]byte
	if _, err := io.ReadFull(r, head[:]); err != nil {
		return ErrDamaged
	}
	kind, decimals, gaps := head[0], int(head[1]), head[2] == 1
	if kind > packed64 || decimals > mostDecimals || head[2] > 1 {
		return ErrDamaged
	}
	var mask [maskBytes]byte
	if gaps {
		if _, err := io.ReadFull(r, mask[:]); err != nil {
			return ErrDamaged
		}
	}
	wide := width(kind)
	raw := make([]byte, wide*len(into)+1)
	if n, err := io.ReadFull(r, raw); n != len(raw)-1 || !errors.Is(err, io.ErrUnexpectedEOF) {
		return ErrDamaged
	}
	words := make([]uint64, len(into))
	for k := range wide {
		plane := raw[k*len(words):]
		for i := range words {
			words[i] |= uint64(plane[i]) << (8 * k)
		}
	}
	unexpect(words, wide)
	for i, w := range words {
		into[i] = heightOf(w, kind, decimals)
		if gaps && mask[i/8]&(1<<(i%8)) != 0 {
			into[i] = math.NaN()
		}
	}
	return nil
}
