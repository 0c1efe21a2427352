package plates

// numberKey is a number as it is compared: letters in upper case, no spaces
// or marks; '?' stays, for a digit that could not be read. It is written over
// buf.
func numberKey(s string, buf []byte) []byte {
	buf = buf[:0]
	for i := 0; i < len(s) && len(buf) < maxNumber; i++ {
		switch c := s[i]; {
		case c >= '0' && c <= '9', c >= 'A' && c <= 'Z', c == '?', c >= 0x80:
			buf = append(buf, c)
		case c >= 'a' && c <= 'z':
			buf = append(buf, c-'a'+'A')
		}
	}
	return buf
}

const maxNumber = 24

// digitsOf are the digits of a key without leading zeros, and '?'.
func digitsOf(key, buf []byte) []byte {
	buf = buf[:0]
	for _, c := range key {
		if c == '?' || c > '0' && c <= '9' || c == '0' && len(buf) > 0 {
			buf = append(buf, c)
		}
	}
	return buf
}

// Levels of numbers.
const (
	numberEqual = iota
	numberFits
	numberMisread
	numberOneOff
	numberDiffers
)

// compareNumbers tells how two keys agree.
func compareNumbers(a, b []byte) int {
	if len(a) == 0 || len(b) == 0 {
		return missing
	}
	level := compareKeys(a, b)
	if level <= numberFits {
		return level
	}
	var roomA, roomB [maxNumber]byte
	da, db := digitsOf(a, roomA[:]), digitsOf(b, roomB[:])
	if len(da) < 3 || len(db) < 3 || len(da) == len(a) && len(db) == len(b) {
		return level
	}
	if digits := compareKeys(da, db); digits <= numberFits {
		return min(level, numberOneOff) // the same without its letters
	}
	return level
}

func compareKeys(a, b []byte) int {
	switch len(a) - len(b) {
	case 0:
		return compareSameLength(a, b)
	case 1:
		if within(b, a) {
			return numberOneOff
		}
	case -1:
		if within(a, b) {
			return numberOneOff
		}
	}
	return numberDiffers
}

func compareSameLength(a, b []byte) int {
	first, last, off, unread := -1, -1, 0, 0
	for i := range a {
		switch {
		case a[i] == b[i] && a[i] != '?':
		case a[i] == '?' || b[i] == '?':
			unread++
		default:
			if first < 0 {
				first = i
			}
			last = i
			off++
		}
	}
	switch {
	case unread > 2 || unread*2 > len(a):
		return numberDiffers // too little was read to say that it fits
	case off == 0 && unread == 0:
		return numberEqual
	case off == 0:
		return numberFits
	case off == 1 && mistaken(a[first], b[first]) && len(a) > 1:
		return numberMisread
	case off == 2 && last == first+1 && a[first] == b[last] && a[last] == b[first]:
		return numberMisread
	case off == 1 && len(a) > 2:
		return numberOneOff
	}
	return numberDiffers
}

// within says whether the longer is the shorter with one more character.
func within(short, long []byte) bool {
	if len(short) < 2 {
		return false
	}
	i := 0
	for i < len(short) && (short[i] == long[i] || short[i] == '?') {
		i++
	}
	for ; i < len(short); i++ {
		if short[i] != long[i+1] && short[i] != '?' {
			return false
		}
	}
	return true
}

// mistaken says whether two digits are taken for each other on a worn plate or
// in handwriting.
func mistaken(a, b byte) bool {
	if a > b {
		a, b = b, a
	}
	switch [2]byte{a, b} {
	case [2]byte{'6', '8'}, [2]byte{'1', '7'}, [2]byte{'3', '8'}, [2]byte{'0', '6'}, [2]byte{'5', '6'},
		[2]byte{'0', '8'}, [2]byte{'8', '9'}, [2]byte{'4', '9'}, [2]byte{'3', '5'}, [2]byte{'2', '7'},
		[2]byte{'5', 'S'}, [2]byte{'0', 'O'}, [2]byte{'1', 'I'}, [2]byte{'8', 'B'}, [2]byte{'2', 'Z'}, [2]byte{'0', 'D'}:
		return true
	}
	return false
}

// eachVariant gives every key that differs from a number by one slip of the
// kinds above, and itself. A key with unread digits stands for each digit
// there, and nothing else.
func eachVariant(key []byte, give func([]byte)) {
	var room [maxNumber + 1]byte
	for i, c := range key {
		if c == '?' {
			b := append(room[:0], key...)
			for d := byte('0'); d <= '9'; d++ {
				b[i] = d
				eachFilled(b, give)
			}
			return
		}
	}
	give(key)
	if len(key) < 2 {
		return
	}
	const signs = "0123456789"
	b := append(room[:0], key...)
	for i, c := range key {
		for k := range len(signs) {
			if b[i] = signs[k]; signs[k] != c && (len(key) > 2 || mistaken(c, signs[k])) {
				give(b)
			}
		}
		b[i] = c
	}
	for i := 1; i < len(b); i++ {
		if b[i] != b[i-1] {
			b[i], b[i-1] = b[i-1], b[i]
			give(b)
			b[i], b[i-1] = b[i-1], b[i]
		}
	}
	for i := range key {
		if len(key) > 2 && (i == 0 || key[i] != key[i-1]) {
			give(append(append(room[:0], key[:i]...), key[i+1:]...))
		}
	}
	for i := 0; i <= len(key); i++ {
		for k := range len(signs) {
			give(append(append(append(room[:0], key[:i]...), signs[k]), key[i:]...))
		}
	}
}

// eachFilled gives a key with its one more unread digit filled, if it has one.
func eachFilled(key []byte, give func([]byte)) {
	for i, c := range key {
		if c == '?' {
			for d := byte('0'); d <= '9'; d++ {
				key[i] = d
				give(key)
			}
			key[i] = '?'
			return
		}
	}
	give(key)
}
