package lithology

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"tallybook/records"
)

// logTokenKind sorts the parts of a log's text.
type logTokenKind uint8

const (
	logWord logTokenKind = iota
	logNumber
	logDash
	logAt
	logMark // punctuation; see logToken.mark
)

// logToken is one part of the text.
type logToken struct {
	kind       logTokenKind
	start, end int
	word       string // lower case, without the points of initials
	mark       rune

	value  float64
	unit   records.Unit // said with the number; NoUnit: none
	other  bool         // the number counts something else than depth
	inch   bool         // the number is in inches: a size, or a shallow depth
	about  bool         // 12?, 12±
	plus   bool         // 12+
	looseM bool         // a lone m follows after a blank
	number int          // where the digits end
}

// depthable says whether the token may be a depth.
func (t *logToken) depthable() bool { return t.kind == logNumber && !t.other }

// depthUnits are words for units of depth behind a number.
var depthUnits = map[string]records.Unit{
	"ft": records.Foot, "feet": records.Foot, "foot": records.Foot, "fts": records.Foot, "ft's": records.Foot,
	"metre": records.Metre, "metres": records.Metre, "meter": records.Metre, "meters": records.Metre, "mtr": records.Metre, "mtrs": records.Metre, "mts": records.Metre,
	"fathom": records.Fathom, "fathoms": records.Fathom,
}

// otherQuantities are words that make a number something else than a depth.
var otherQuantities = wordSet("gpm gph gal gals gallon gallons lps lpm l liter liters litre litres cfs usgpm igpm min mins minute minutes hr hrs hour hours day days sec " +
	"psi lb lbs bag bags sack sacks yd yds hp kw inch inches ins mm cm dia diam diameter slot sch schedule percent ppm mg deg degrees acre acres mesh blows")

// quantityHeads are words before a number that make it something else.
var quantityHeads = wordSet("no number permit lot job section sec phone tel slot sch schedule tag date dated invoice page")

func wordSet(words string) map[string]bool {
	m := make(map[string]bool)
	for _, w := range strings.Fields(words) {
		m[w] = true
	}
	return m
}

// scanLog cuts a text into tokens, in order; blanks are left out.
func scanLog(text string) []logToken {
	var out []logToken
	for pos := 0; pos < len(text); {
		c, size := utf8.DecodeRuneInString(text[pos:])
		t := logToken{start: pos, end: pos + size, kind: logMark, mark: c}
		switch {
		case c == '\n':
		case unicode.IsSpace(c):
			pos += size
			continue
		case isDigit(text[pos]) && isBullet(text, pos):
			t.end = pos + strings.IndexByte(text[pos:], ')') + 1
			t.mark = '•'
		case isDigit(text[pos]), c == '.' && pos+1 < len(text) && isDigit(text[pos+1]) && (pos == 0 || text[pos-1] != '.'), fractionOf(c) > 0:
			afterJoin := len(out) > 0 && joins(&out[len(out)-1])
			t = scanLogNumber(text, pos, afterJoin)
			if len(out) > 0 {
				last := &out[len(out)-1]
				if last.kind == logMark && (last.mark == '#' || last.mark == '$') || last.kind == logWord && quantityHeads[last.word] {
					t.other = true
				}
			}
		case unicode.IsLetter(c):
			t = scanLogWord(text, pos)
		case c == '@':
			t.kind = logAt
		case isDash(c):
			t.kind = logDash
			for t.end < len(text) {
				r, n := utf8.DecodeRuneInString(text[t.end:])
				if !isDash(r) && r != '>' {
					break
				}
				t.end += n
			}
		case c == '→' || c == '>' && len(out) > 0 && out[len(out)-1].kind == logNumber:
			t.kind = logDash
		case c == '.' && strings.HasPrefix(text[pos:], "..") && len(out) > 0 && out[len(out)-1].kind == logNumber && dotsThenDigit(text[pos:]):
			t.kind = logDash // 0..12
			t.end = pos + len(text[pos:]) - len(strings.TrimLeft(text[pos:], ". "))
		}
		out = append(out, t)
		pos = t.end
	}
	return out
}

func dotsThenDigit(s string) bool {
	s = strings.TrimLeft(s, ". ")
	return s != "" && isDigit(s[0])
}

func isDash(r rune) bool {
	switch r {
	case '-', '–', '—', '−', '‒', '―', '‑':
		return true
	}
	return false
}

// joins says whether the token stands between the two depths of an interval.
func joins(t *logToken) bool {
	if t.kind == logDash {
		return true
	}
	return t.kind == logWord && (t.word == "to" || t.word == "thru" || t.word == "through" || t.word == "until" || t.word == "til")
}

func fractionOf(r rune) float64 {
	switch r {
	case '½':
		return 0.5
	case '¼':
		return 0.25
	case '¾':
		return 0.75
	case '⅓':
		return 1.0 / 3
	case '⅔':
		return 2.0 / 3
	case '⅛':
		return 0.125
	case '⅜':
		return 0.375
	case '⅝':
		return 0.625
	case '⅞':
		return 0.875
	}
	return 0
}

// scanLogWord reads letters, with the points of initials (T.D., S.W.L.) and an
// apostrophe within.
func scanLogWord(text string, pos int) logToken {
	t := logToken{kind: logWord, start: pos}
	var b strings.Builder
	for pos < len(text) {
		r, size := utf8.DecodeRuneInString(text[pos:])
		switch {
		case unicode.IsLetter(r) || b.Len() > 0 && r >= '0' && r <= '9':
			b.WriteRune(unicode.ToLower(r))
		case r == '.' && initials(text, t.start, pos):
		case (r == '\'' || r == '’') && pos+size < len(text) && isASCIILetter(text[pos+size]):
			b.WriteByte('\'')
		case r == '/' && b.String() == "w":
			b.WriteByte('/') // w/ is with
		default:
			t.end, t.word = pos, b.String()
			return t
		}
		pos += size
	}
	t.end, t.word = pos, b.String()
	return t
}

// initials says whether the point at pos ends a single letter that belongs to
// letters with points: the points of T.D. but not of 'clay.'.
func initials(text string, start, pos int) bool {
	if pos < 1 || !isASCIILetter(text[pos-1]) || pos-1 > start && text[pos-2] != '.' {
		return false
	}
	next := pos+2 < len(text) && isASCIILetter(text[pos+1]) && text[pos+2] == '.'
	before := pos-2 >= start && text[pos-2] == '.'
	return next || before || pos+1 < len(text) && isASCIILetter(text[pos+1]) && (pos+2 == len(text) || !isASCIILetter(text[pos+2]))
}

// scanLogNumber reads a number with its fraction and unit. afterJoin says that
// it is the second of a pair, which settles what a comma in it means.
func scanLogNumber(text string, pos int, afterJoin bool) logToken {
	t := logToken{kind: logNumber, start: pos}
	digits := func() string {
		from := pos
		for pos < len(text) && isDigit(text[pos]) {
			pos++
		}
		return text[from:pos]
	}
	whole := digits()
	for pos < len(text) && text[pos] == ',' {
		group := text[pos+1:]
		n := len(group) - len(strings.TrimLeft(group, "0123456789"))
		next := strings.TrimLeft(group[n:], "' ′ft")
		joined := strings.HasPrefix(next, "-") || strings.HasPrefix(next, "–") || strings.HasPrefix(strings.TrimLeft(next, " "), "to ")
		if n == 0 || n > 3 || joined && afterJoin || strings.Contains(whole, ".") {
			break
		}
		if n == 3 && len(whole) <= 3 && whole != "0" {
			if thousand, _ := strconv.Atoi(whole + group[:n]); thousand > deepestLogged {
				break // 210,290 are two depths
			}
			pos += 1 + n
			whole += group[:n]
			continue
		}
		pos += 1 + n
		whole += "." + group[:n]
	}
	if pos+1 < len(text) && text[pos] == '.' && isDigit(text[pos+1]) && !strings.Contains(whole, ".") {
		pos++
		whole += "." + digits()
	}
	t.value, _ = strconv.ParseFloat(whole, 64)
	pos = t.fraction(text, pos, whole)
	t.end, t.number = pos, pos
	t.suffix(text, afterJoin)
	return t
}

// deepestLogged is the largest figure whose thousands a comma parts: no water
// well is deeper, in feet. Ours, no source.
const deepestLogged = 20000

// fraction reads 1/2, 12 1/2, 12-1/2 and 12½, and marks dates and the like.
func (t *logToken) fraction(text string, pos int, whole string) int {
	if r, n := utf8.DecodeRuneInString(text[pos:]); fractionOf(r) > 0 {
		t.value += fractionOf(r)
		return pos + n
	}
	if pos < len(text) && text[pos] == '/' && pos+1 < len(text) && isDigit(text[pos+1]) {
		end := pos + len(text[pos:]) - len(strings.TrimLeft(text[pos:], "0123456789/"))
		den, err := strconv.Atoi(text[pos+1 : end])
		if err == nil && ofInch(den) && t.value > 0 && t.value < float64(den) && !strings.Contains(whole, ".") {
			t.value /= float64(den)
		} else {
			t.other = true // 6/12/87, 10YR 4/3
		}
		return end
	}
	rest := text[pos:]
	if len(rest) > 3 && (rest[0] == ' ' || rest[0] == '-') && isDigit(rest[1]) && !strings.Contains(whole, ".") {
		num, tail, ok := strings.Cut(rest[1:], "/")
		n := len(tail) - len(strings.TrimLeft(tail, "0123456789"))
		a, errA := strconv.Atoi(num)
		b, errB := strconv.Atoi(tail[:n])
		if ok && errA == nil && errB == nil && a > 0 && a < b && ofInch(b) {
			t.value += float64(a) / float64(b)
			return pos + 1 + len(num) + 1 + n
		}
	}
	return pos
}

// ofInch says whether the number is a denominator that people use for parts of
// a foot or an inch.
func ofInch(den int) bool {
	switch den {
	case 2, 3, 4, 6, 8, 10, 12, 16, 32, 64:
		return true
	}
	return false
}

// isBullet says whether a list's number stands here: '1)' and not '(wet 12)'.
func isBullet(text string, pos int) bool {
	n := pos
	for n < len(text) && isDigit(text[n]) {
		n++
	}
	if n-pos > 2 || n >= len(text) || text[n] != ')' || n+1 < len(text) && text[n+1] != ' ' {
		return false
	}
	return strings.Count(text[:pos], "(") == strings.Count(text[:pos], ")")-bullets(text[:pos]) && (pos == 0 || text[pos-1] == ' ' || text[pos-1] == '\n')
}

// bullets counts the brackets that close list numbers.
func bullets(s string) int { return max(0, strings.Count(s, ")")-strings.Count(s, "(")) }

// suffix reads what stands behind the digits: a unit, a sign, or letters that
// make it something else.
func (t *logToken) suffix(text string, afterJoin bool) {
	rest := text[t.end:]
	switch r, n := utf8.DecodeRuneInString(rest); {
	case strings.HasPrefix(rest, "''"):
		t.other, t.inch, t.end = true, true, t.end+2
		return
	case r == '"' || r == '″' || r == '”':
		t.other, t.inch, t.end = true, true, t.end+n
		return
	case r == '\'' || r == '′' || r == '’':
		t.unit = records.Foot
		t.end += n
		t.inches(text)
	case r == '%':
		t.other = true
		t.end += n
		return
	default:
		t.unitWord(text, afterJoin)
	}
	for {
		rest = text[t.end:]
		switch {
		case strings.HasPrefix(rest, "+/-"):
			t.about = true
			t.end += 3
		case strings.HasPrefix(rest, "±"):
			t.about = true
			t.end += len("±")
		case strings.HasPrefix(rest, "?"):
			t.about = true
			t.end++
		case strings.HasPrefix(rest, "+"):
			t.plus = true
			t.end++
		default:
			return
		}
	}
}

// inches adds 6" to 12'.
func (t *logToken) inches(text string) {
	rest := strings.TrimLeft(text[t.end:], " ")
	blanks := len(text) - t.end - len(rest)
	n := len(rest) - len(strings.TrimLeft(rest, "0123456789"))
	if n == 0 || n > 2 {
		return
	}
	v, _ := strconv.Atoi(rest[:n])
	after := rest[n:]
	frac := 0.0
	used := 0
	if r, size := utf8.DecodeRuneInString(after); fractionOf(r) > 0 {
		frac, used = fractionOf(r), size
	}
	mark := 0
	for _, m := range []string{"\"", "″", "”", "''", "in.", "in"} {
		blank := 0
		if m[0] == 'i' {
			blank = len(after[used:]) - len(strings.TrimLeft(after[used:], " "))
		}
		if strings.HasPrefix(after[used+blank:], m) {
			mark = blank + len(m)
			break
		}
	}
	if v >= 12 || mark == 0 && (blanks > 0 || len(after) > 0 && after[0] != ' ' && after[0] != ';' && after[0] != ',' && after[0] != '-') {
		return
	}
	t.value += (float64(v) + frac) / 12
	t.end += blanks + n + used + mark
}

// unitWord reads a word behind the number.
func (t *logToken) unitWord(text string, afterJoin bool) {
	rest := text[t.end:]
	attached := rest != "" && rest[0] != ' '
	trimmed := strings.TrimLeft(rest, " ")
	if trimmed == "" || !isASCIILetter(trimmed[0]) {
		return
	}
	at := t.end + len(rest) - len(trimmed)
	w := scanLogWord(text, at)
	word := w.word
	if attached {
		// 0to12 and 12x40: letters that run into digits.
		letters := strings.TrimRight(word, "0123456789")
		if letters != word && (letters == "to" || letters == "thru") {
			return
		}
		word = strings.TrimSuffix(word, "/")
	}
	end := w.end
	if end < len(text) && text[end] == '.' && len(word) <= 4 {
		end++
	}
	if u, ok := depthUnits[word]; ok {
		t.unit, t.end = u, end
		if u == records.Foot {
			t.inches(text)
		}
		return
	}
	switch {
	case word == "m" && attached || word == "f" && attached:
		t.unit, t.end = map[string]records.Unit{"m": records.Metre, "f": records.Foot}[word], w.end
		if strings.HasPrefix(text[w.end:], "3") || strings.HasPrefix(text[w.end:], "/") {
			t.other = true
		}
	case word == "m":
		t.looseM = true
	case word == "in":
		// 6 in boulders, but water at 40 in gravel.
		if attached || end > w.end || !wordFollows(text[w.end:]) && t.value <= 48 {
			t.other, t.inch, t.end = true, true, end
		}
	case word == "l" && strings.HasPrefix(text[w.end:], "/"), otherQuantities[word]:
		t.other, t.end = true, w.end
	case attached && word != "":
		letters := strings.TrimRight(word, "0123456789") == word
		if letters && (afterJoin || len(word) > 2) || joins(&logToken{kind: logWord, word: word}) {
			return // 0-12brn clay
		}
		t.other, t.end = true, w.end // 10YR, 2x4, 1st
	}
}

// wordFollows says whether a word comes next, before any punctuation.
func wordFollows(s string) bool {
	s = strings.TrimLeft(s, " ")
	return s != "" && isASCIILetter(s[0])
}
