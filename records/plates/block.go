package plates

import (
	"iter"
	"math"
	"math/bits"
	"slices"
)

// keyIndex finds records by a key, a number made of it by hashing: two keys
// may share one, which does no harm, since every candidate is compared.
type keyIndex struct {
	shift uint
	start []uint32
	entry []entry
}

type entry struct {
	hash uint32
	i    int32
}

// keyed is a record under a key.
type keyed struct {
	hash uint64
	i    int32
}

func newKeyIndex(all []keyed) *keyIndex {
	width := max(1, bits.Len(uint(len(all))))
	x := &keyIndex{shift: uint(64 - width), start: make([]uint32, 1<<width+1), entry: make([]entry, len(all))}
	for _, k := range all {
		x.start[k.hash>>x.shift+1]++
	}
	for b := range len(x.start) - 1 {
		x.start[b+1] += x.start[b]
	}
	next := slices.Clone(x.start)
	for _, k := range all {
		b := k.hash >> x.shift
		x.entry[next[b]] = entry{uint32(k.hash), k.i}
		next[b]++
	}
	return x
}

func (x *keyIndex) bucket(hash uint64) []entry {
	b := hash >> x.shift
	return x.entry[x.start[b]:x.start[b+1]]
}

func (x *keyIndex) each(hash uint64, give func(i int32)) {
	for _, e := range x.bucket(hash) {
		if e.hash == uint32(hash) {
			give(e.i)
		}
	}
}

func (x *keyIndex) count(hash uint64) int {
	n := 0
	x.each(hash, func(int32) { n++ })
	return n
}

// meanShare is how many records share the key of a record, itself included,
// on average.
func (x *keyIndex) meanShare() float64 {
	if len(x.entry) == 0 {
		return 1
	}
	sum := 0.0
	for b := range len(x.start) - 1 {
		es := x.entry[x.start[b]:x.start[b+1]]
		for i := range es {
			for k := range es {
				if es[i].hash == es[k].hash {
					sum++
				}
			}
			if i > 1000 { // a number that nearly all bear: close enough
				break
			}
		}
	}
	return sum / float64(len(x.entry))
}

// hashKey hashes a key of one kind (FNV-1a, then mixed).
func hashKey(kind byte, key []byte) uint64 {
	h := uint64(14695981039346656037)
	h = (h ^ uint64(kind)) * 1099511628211
	for _, c := range key {
		h = (h ^ uint64(c)) * 1099511628211
	}
	return mix(h)
}

func hashInts(kind byte, a, b int) uint64 {
	return mix(mix(uint64(kind)<<56^uint64(uint32(a)))<<1 ^ uint64(uint32(b)))
}

func mix(h uint64) uint64 {
	h = (h ^ h>>30) * 0xbf58476d1ce4e5b9
	h = (h ^ h>>27) * 0x94d049bb133111eb
	return h ^ h>>31
}

// blocks find the records that may be that of a plate, by what is unlikely to
// be wrong all at once: the place; the number, with a slip; the date; the month
// (or year) and depth; the depth and casing; the month and driller.
type blocks struct {
	f       *file
	grid    *grid
	numbers *keyIndex
	digits  *keyIndex
	others  *keyIndex
	whole   bool // so few records that every one is a candidate
	// plain says that numbers are looked for as they are: among records one digit
	// off is a neighbour.
	plain bool
}

const (
	// wholeFile: with up to so many records, all are compared.
	wholeFile = 1500
	// mostUnderKey: a key that more share tells too little.
	mostUnderKey = 400
	// placeReachM bounds how far about a plate is looked for its record.
	placeLeastM, placeMostM = 300, 2000
	mostNearby              = 600
)

func newBlocks(f *file) *blocks {
	b := &blocks{f: f, grid: newGrid(f), whole: f.len() <= wholeFile}
	var numbers, digits, others []keyed
	var key, only [maxNumber]byte
	for i := range int32(f.len()) {
		for k := range 3 {
			full := numberKey(f.number(i, k), key[:])
			if len(full) == 0 {
				continue
			}
			numbers = append(numbers, keyed{hashKey('N', full), i})
			if d := digitsOf(full, only[:]); len(d) >= 3 && len(d) != len(full) {
				digits = append(digits, keyed{hashKey('N', d), i})
			}
		}
		if !b.whole {
			b.keysOf(i, func(h uint64) { others = append(others, keyed{h, i}) })
		}
	}
	b.numbers, b.digits, b.others = newKeyIndex(numbers), newKeyIndex(digits), newKeyIndex(others)
	return b
}

// keysOf gives the keys under which a record is found.
func (b *blocks) keysOf(i int32, give func(uint64)) {
	f := b.f
	for k, d := range f.row[i].dates {
		if d == 0 || k > 0 && d == f.row[i].dates[0] {
			continue
		}
		t := d.date()
		for _, depth := range [...]int{valueDepth, valueOtherDepth} {
			v := f.value(i, depth)
			if v.Qualifier == 0 {
				continue
			}
			give(hashInts('Y', t.Year, feetOf(v.Value)))
		}
		if t.Day != 0 {
			give(hashInts('D', int(d), 0))
		}
		if t.Month != 0 && f.row[i].crew[0] != 0 {
			give(hashInts('C', int(d>>5), int(f.row[i].crew[0])))
		}
	}
	depth, casing := f.value(i, valueDepth), f.value(i, valueCasing)
	if depth.Qualifier != 0 && casing.Qualifier != 0 {
		give(hashInts('S', feetOf(depth.Value), feetOf(casing.Value)))
	}
}

// finder collects the candidates of one left side after another. One is used
// by one goroutine at a time.
type finder struct {
	b     *blocks
	mark  []uint32 // of a record: the round in which it was found last
	round uint32
	found []int32
}

func (b *blocks) finder() *finder { return &finder{b: b, mark: make([]uint32, b.f.len())} }

func (s *finder) take(i int32) {
	if s.mark[i] != s.round {
		s.mark[i] = s.round
		s.found = append(s.found, i)
	}
}

// has says whether a record is among the candidates found last.
func (s *finder) has(i int32) bool { return s.mark[i] == s.round }

// find gives the candidates of a side; they hold until the next call.
func (s *finder) find(l *side, keys [3][]byte) []int32 {
	s.round++
	s.found = s.found[:0]
	b := s.b
	if b.whole {
		for i := range int32(b.f.len()) {
			s.take(i)
		}
		return s.found
	}
	for i := range l.spots {
		p := &l.spots[i]
		reach := math.Min(placeMostM, math.Max(placeLeastM, 6*p.accuracyM))
		near := 0
		b.grid.around(p, reach, func(i int32) {
			if near < mostNearby && apartM(p, &spot{lon: b.f.row[i].lon, lat: b.f.row[i].lat}) <= reach {
				near++
				s.take(i)
			}
		})
	}
	for _, key := range keys {
		s.byNumber(key)
	}
	s.byOthers(l)
	return s.found
}

func (s *finder) byNumber(key []byte) {
	if len(key) == 0 {
		return
	}
	b := s.b
	if b.plain && !slices.Contains(key, '?') {
		b.numbers.each(hashKey('N', key), s.take)
	} else {
		eachVariant(key, func(v []byte) { b.numbers.each(hashKey('N', v), s.take) })
	}
	var room [maxNumber]byte
	if d := digitsOf(key, room[:]); len(d) >= 3 {
		h := hashKey('N', d)
		b.digits.each(h, s.take)
		if len(d) != len(key) {
			b.numbers.each(h, s.take)
		}
	}
}

func (s *finder) byOthers(l *side) {
	look := func(h uint64) {
		es := s.b.others.bucket(h)
		if len(es) > mostUnderKey && s.b.others.count(h) > mostUnderKey {
			return
		}
		s.b.others.each(h, s.take)
	}
	depth, casing := l.values[valueDepth], l.values[valueCasing]
	for k, d := range l.dates {
		if d == 0 || k > 0 && d == l.dates[0] {
			continue
		}
		t := d.date()
		if t.Day != 0 {
			look(hashInts('D', int(d), 0))
		}
		if depth.Qualifier != 0 {
			for ft := range wholeFeet(depth.Value) {
				look(hashInts('Y', t.Year, ft))
			}
		}
		if t.Month != 0 && l.names[0] != 0 {
			look(hashInts('C', int(d>>5), int(l.names[0])))
		}
	}
	if depth.Qualifier != 0 && casing.Qualifier != 0 {
		for x := range wholeFeet(depth.Value) {
			for y := range wholeFeet(casing.Value) {
				look(hashInts('S', x, y))
			}
		}
	}
}

// wholeFeet gives the feet that a depth may have been rounded to: one, where it
// is a whole number of feet.
func wholeFeet(m float64) iter.Seq[int] {
	return func(yield func(int) bool) {
		ft := m / metresPerFoot
		low, high := int(math.Round(ft-0.45)), int(math.Round(ft+0.45))
		if math.Abs(ft-math.Round(ft)) < 0.06 {
			low, high = feetOf(m), feetOf(m)
		}
		for x := low; x <= high; x++ {
			if !yield(x) {
				return
			}
		}
	}
}
