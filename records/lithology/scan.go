package lithology

import (
	"unicode"
	"unicode/utf8"
)

// token is one word of the text, looked up.
type token struct {
	start, end int32
	id         int32 // word number, -1 when the word is not in the lexicon
	alt        int32 // word number of the singular, -1 for none
	breaks     bool  // punctuation that ends a phrase stands before it
	special    special
}

// special marks tokens that are no words.
type special uint8

const (
	specialNone special = iota
	specialQuestion
	specialMunsell
	specialAnd
)

// maxWordBytes is the longest word that can be in the lexicon; longer runs of
// letters are met as unknown words.
const maxWordBytes = 40

// scanner cuts a text into words without allocating.
type scanner struct {
	text       string
	pos        int
	start, end int
	breaks     bool
	special    special
	buf        [maxWordBytes]byte
	n          int  // bytes in buf; 0 when the word is too long
	abbrev     bool // the caller says that the last word was an abbreviation
}

func (s *scanner) reset(text string) { *s = scanner{text: text} }

// lower gives the present word in lower case without apostrophes; empty when
// it is longer than maxWordBytes. Valid until the next call of next.
func (s *scanner) lower() []byte { return s.buf[:s.n] }

// next moves to the next word, and reports whether there is one.
func (s *scanner) next() bool {
	s.breaks, s.special = false, specialNone
	for s.pos < len(s.text) {
		c := s.text[s.pos]
		switch {
		case c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z':
			if (c == 'N' || c == 'n') && s.munsell() {
				return true
			}
			s.scanWord()
			return true
		case c >= '0' && c <= '9':
			if s.munsell() {
				return true
			}
			s.skipNumber()
		case c == '?':
			s.one(specialQuestion)
			return true
		case c == '&' || c == '+':
			s.one(specialAnd)
			return true
		case c == '/' && s.initials():
			s.pos++
		case c == ',' || c == ';' || c == '(' || c == ')' || c == '/' || c == '\n' || c == '[' || c == ']' || c == '|':
			s.breaks = true
			s.pos++
		case c == '.':
			if !s.abbrev {
				s.breaks = true
			}
			s.pos++
		case c == '-':
			// A dash between spaces parts; a hyphen in a word does not.
			if s.pos > 0 && s.text[s.pos-1] == ' ' && s.pos+1 < len(s.text) && s.text[s.pos+1] == ' ' || s.pos+1 < len(s.text) && s.text[s.pos+1] == '-' {
				s.breaks = true
			}
			s.pos++
		case c < utf8.RuneSelf:
			s.pos++
		default:
			r, size := utf8.DecodeRuneInString(s.text[s.pos:])
			if unicode.IsLetter(r) {
				s.scanWord()
				return true
			}
			if r == '–' || r == '—' || r == '•' || r == '·' {
				s.breaks = true
			}
			s.pos += size
		}
	}
	return false
}

// initials reports whether the slash at the present place stands between two
// single letters, as in O/B, where it parts nothing.
func (s *scanner) initials() bool {
	letter := func(i int) bool { return i >= 0 && i < len(s.text) && isASCIILetter(s.text[i]) }
	return letter(s.pos-1) && !letter(s.pos-2) && letter(s.pos+1) && !letter(s.pos+2)
}

func (s *scanner) one(k special) {
	s.start, s.end, s.special = s.pos, s.pos+1, k
	s.pos++
	s.n = 0
	if k == specialAnd {
		s.n = copy(s.buf[:], "and")
	}
}

func (s *scanner) scanWord() {
	s.start, s.n = s.pos, 0
	tooLong := false
	for s.pos < len(s.text) {
		c := s.text[s.pos]
		switch {
		case c >= 'a' && c <= 'z' || c >= '0' && c <= '9':
		case c >= 'A' && c <= 'Z':
			c += 'a' - 'A'
		case c == '\'':
			// An apostrophe inside a word is dropped: didn't, driller's.
			if s.pos+1 < len(s.text) && isASCIILetter(s.text[s.pos+1]) {
				s.pos++
				continue
			}
			s.finish(tooLong)
			return
		case c >= utf8.RuneSelf:
			r, size := utf8.DecodeRuneInString(s.text[s.pos:])
			if !unicode.IsLetter(r) {
				s.finish(tooLong)
				return
			}
			s.pos += size
			var enc [utf8.UTFMax]byte
			k := utf8.EncodeRune(enc[:], unicode.ToLower(r))
			if s.n+k > len(s.buf) {
				tooLong = true
				continue
			}
			s.n += copy(s.buf[s.n:], enc[:k])
			continue
		default:
			s.finish(tooLong)
			return
		}
		s.pos++
		if s.n == len(s.buf) {
			tooLong = true
			continue
		}
		s.buf[s.n] = c
		s.n++
	}
	s.finish(tooLong)
}

func (s *scanner) finish(tooLong bool) {
	s.end = s.pos
	if tooLong {
		s.n = 0
		return
	}
	// "w/" is with, "w/o" is without.
	if s.n == 1 && s.buf[0] == 'w' && s.pos < len(s.text) && s.text[s.pos] == '/' {
		s.pos++
		s.n = copy(s.buf[:], "with")
		if s.pos < len(s.text) && (s.text[s.pos] == 'o' || s.text[s.pos] == 'O') &&
			(s.pos+1 == len(s.text) || !isASCIILetter(s.text[s.pos+1])) {
			s.pos++
			s.n = copy(s.buf[:], "without")
		}
		s.end = s.pos
	}
}

// skipNumber passes over figures: 12, 1.5, 1/2, 3-4, 6".
func (s *scanner) skipNumber() {
	for s.pos < len(s.text) {
		c := s.text[s.pos]
		if isDigit(c) {
			s.pos++
			continue
		}
		if (c == '.' || c == '/' || c == '-' || c == ',') && s.pos+1 < len(s.text) && isDigit(s.text[s.pos+1]) {
			s.pos++
			continue
		}
		return
	}
}

// munsell recognises a colour in Munsell notation at the present place: hue
// (2.5YR), value and chroma (10YR 4/3), or a neutral (N 4/). It leaves the
// text as it stands; hue letters may be in either case.
func (s *scanner) munsell() bool {
	t, i := s.text, s.pos
	digits := func(from int) int {
		j := from
		for j < len(t) && j < from+2 && isDigit(t[j]) {
			j++
		}
		if j > from && j+1 < len(t) && t[j] == '.' && isDigit(t[j+1]) {
			j += 2
		}
		return j
	}
	blanks := func(from int) int {
		for from < len(t) && t[from] == ' ' {
			from++
		}
		return from
	}
	neutral := t[i] == 'N' || t[i] == 'n'
	if neutral {
		i++
	} else {
		i = blanks(digits(i))
		hue := i
		for i < len(t) && i < hue+2 && isASCIILetter(t[i]) {
			i++
		}
		if !isHue(t[hue:i]) {
			return false
		}
	}
	value := blanks(i)
	i = digits(value)
	if i == value || i >= len(t) || t[i] != '/' {
		return false
	}
	i++
	chroma := i
	i = digits(chroma)
	if i == chroma && !neutral {
		return false
	}
	s.start, s.end, s.pos, s.n, s.special = s.pos, i, i, 0, specialMunsell
	return true
}

func isHue(h string) bool {
	switch h {
	case "R", "YR", "Y", "GY", "G", "BG", "B", "PB", "P", "RP",
		"r", "yr", "y", "gy", "g", "bg", "b", "pb", "p", "rp":
		return true
	}
	return false
}

func isDigit(c byte) bool       { return c >= '0' && c <= '9' }
func isASCIILetter(c byte) bool { return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' }
