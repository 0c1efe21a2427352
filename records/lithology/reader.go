package lithology

import "strings"

// Reader reads many descriptions and remembers those met before, since drillers
// use few phrases: in most files under one description in twenty is new. Not
// safe for use by several goroutines at once; give each its own.
type Reader struct {
	v           *Vocabulary
	size        int
	young, aged map[string]Reading
}

// maxRemembered is the longest text that a Reader keeps.
const maxRemembered = 256

// NewReader gives a reader that keeps at most size readings (not fewer than
// two). Two generations: when the young one is full it becomes the old one,
// and what is met again is taken over.
func (v *Vocabulary) NewReader(size int) *Reader {
	half := max(size/2, 1)
	return &Reader{v: v, size: half, young: make(map[string]Reading), aged: map[string]Reading{}}
}

// Read gives what Vocabulary.Read gives.
func (r *Reader) Read(text string) Reading {
	if got, ok := r.young[text]; ok {
		return got
	}
	if len(text) > maxRemembered {
		return r.v.Read(text)
	}
	got, ok := r.aged[text]
	if !ok {
		// A copy, so that a kept reading does not hold a whole file in memory.
		got = r.v.Read(strings.Clone(text))
	}
	if len(r.young) >= r.size {
		r.aged, r.young = r.young, make(map[string]Reading, r.size)
	}
	r.young[got.Text] = got
	return got
}
