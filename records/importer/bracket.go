package importer

import (
	"bytes"
	"fmt"
)

// bracketScan finds where a JSON value ends, in pieces as they come, by its
// quotes and brackets alone. Whether what stands between them is JSON is for
// the decoder to say, on another goroutine. It needs one bit a level, and no
// recursion.
type bracketScan struct {
	started  bool
	scalar   bool // a number or word: ends before the next separator
	inString bool
	escaped  bool
	depth    int
	deepest  int
	kinds    []uint64 // a bit for each open bracket: 1 for [
}

// maxScanDepth ends a file of brackets alone.
const maxScanDepth = 1 << 20

type bracketError struct{ message string }

func (e *bracketError) Error() string { return e.message }

// feed reads on through b and tells how many bytes of it belong to the value
// and whether it ends there. After an error, the bytes told lead to the one
// that is wrong.
func (s *bracketScan) feed(b []byte) (n int, done bool, err error) {
	i := 0
	if !s.started && len(b) > 0 {
		s.started = true
		switch b[0] {
		case '{', '[', '"':
		default:
			s.scalar = true
		}
	}
	if s.scalar {
		for i < len(b) {
			switch b[i] {
			case ',', ']', '}', ' ', '\n', '\r', '\t', ':', '{', '[', '"':
				return i, true, nil
			}
			i++
		}
		return i, false, nil
	}
	for i < len(b) {
		if s.inString {
			i = s.skipString(b, i)
			if !s.inString && s.depth == 0 {
				return i, true, nil
			}
			continue
		}
		switch b[i] {
		case '"':
			s.inString = true
		case '{', '[':
			if err := s.open(b[i] == '['); err != nil {
				return i, false, err
			}
		case '}', ']':
			if err := s.close(b[i] == ']'); err != nil {
				return i, false, err
			}
			if s.depth == 0 {
				return i + 1, true, nil
			}
		}
		i++
	}
	return i, false, nil
}

// skipString moves from i to behind the closing quote, or to the end of b.
func (s *bracketScan) skipString(b []byte, i int) int {
	if s.escaped && i < len(b) {
		s.escaped = false
		i++
	}
	for i < len(b) {
		k := bytes.IndexByte(b[i:], '"')
		end := len(b)
		if k >= 0 {
			end = i + k
		}
		if bytes.IndexByte(b[i:end], '\\') < 0 {
			if k < 0 {
				return end
			}
			s.inString = false
			return end + 1
		}
		for i < end {
			if b[i] == '\\' {
				i++
				if i == len(b) {
					s.escaped = true
					return i
				}
			}
			i++
		}
		if i == end && k >= 0 { // the quote at end was not escaped
			s.inString = false
			return end + 1
		}
	}
	return i
}

func (s *bracketScan) open(list bool) error {
	if s.depth >= maxScanDepth {
		return &bracketError{fmt.Sprintf("brackets nest deeper than %d", maxScanDepth)}
	}
	word, bit := s.depth/64, uint64(1)<<(s.depth%64)
	if word == len(s.kinds) {
		s.kinds = append(s.kinds, 0)
	}
	if list {
		s.kinds[word] |= bit
	} else {
		s.kinds[word] &^= bit
	}
	s.depth++
	s.deepest = max(s.deepest, s.depth)
	return nil
}

func (s *bracketScan) close(list bool) error {
	s.depth--
	wasList := s.kinds[s.depth/64]&(1<<(s.depth%64)) != 0
	switch {
	case wasList && !list:
		return &bracketError{"a list that was opened with [ is closed with }"}
	case !wasList && list:
		return &bracketError{"an object that was opened with { is closed with ]"}
	}
	return nil
}

// reset makes s ready for the next value and keeps its memory.
func (s *bracketScan) reset() { *s = bracketScan{kinds: s.kinds[:0]} }

// nesting tells how deep the brackets of a value nest, and whether they close.
func nesting(raw []byte) (deepest int, whole bool) {
	var room [1]uint64
	s := bracketScan{kinds: room[:0]}
	_, done, err := s.feed(raw)
	return s.deepest, err == nil && (done || s.scalar)
}
