package cql2

import (
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

type kind uint8

const (
	end    kind = iota
	name        // a word, not in quotes
	quoted      // a word in double quotes, which is no keyword
	text        // in single quotes
	number      // without a sign
	sign        // ( ) , = <> < > <= >= + - * / % ^
)

type token struct {
	kind  kind
	at    int    // in bytes
	text  string // of a word or text: without its quotes
	upper string // of a word: in capitals; of a sign: itself
	value float64
}

// lex cuts a text into tokens, the last of them end.
func lex(s string) ([]token, *Error) {
	if len(s) > MaxBytes {
		return nil, &Error{Problem: "it is longer than " + strconv.Itoa(MaxBytes) + " bytes", Mend: "ask for less at a time"}
	}
	if i := firstInvalid(s); i >= 0 {
		return nil, wrongAt(s, i, "send the text as UTF-8", "this is not UTF-8 or is a control character")
	}
	var out []token
	for at := 0; ; {
		for at < len(s) && strings.IndexByte(" \t\r\n", s[at]) >= 0 {
			at++
		}
		if at == len(s) {
			return append(out, token{kind: end, at: at}), nil
		}
		t, next, err := scan(s, at)
		if err != nil {
			return nil, err
		}
		out = append(out, t)
		at = next
	}
}

// firstInvalid is where a text has what no filter may have, -1 where nowhere.
func firstInvalid(s string) int {
	for i, r := range s {
		if r == utf8.RuneError {
			if _, n := utf8.DecodeRuneInString(s[i:]); n == 1 {
				return i
			}
		}
		if r == 0x7f || r < ' ' && r != '\t' && r != '\n' && r != '\r' {
			return i
		}
	}
	return -1
}

func scan(s string, at int) (token, int, *Error) {
	c := s[at]
	r, _ := utf8.DecodeRuneInString(s[at:])
	switch {
	case c == '\'':
		return scanQuoted(s, at, '\'', text)
	case c == '"':
		t, next, err := scanQuoted(s, at, '"', quoted)
		if err == nil && !isName(t.text) {
			err = wrongAt(s, at, "", "%q cannot be the name of a field", clip(t.text))
		}
		return t, next, err
	case c >= '0' && c <= '9', c == '.' && at+1 < len(s) && s[at+1] >= '0' && s[at+1] <= '9':
		return scanNumber(s, at)
	case starts(r):
		next := at
		for i, r := range s[at:] {
			if !goesOn(r) {
				break
			}
			next = at + i + utf8.RuneLen(r)
		}
		word := s[at:next]
		return token{kind: name, at: at, text: word, upper: strings.ToUpper(word)}, next, nil
	}
	for _, op := range []string{"<>", "<=", ">=", "(", ")", ",", "=", "<", ">", "+", "-", "*", "/", "%", "^"} {
		if strings.HasPrefix(s[at:], op) {
			return token{kind: sign, at: at, upper: op}, at + len(op), nil
		}
	}
	mend := ""
	switch c {
	case '!':
		mend = "write <> for unequal, and NOT"
	case '[':
		mend = "write round brackets: name IN ('a', 'b')"
	case '&', '|':
		mend = "write AND, OR"
	}
	return token{}, 0, wrongAt(s, at, mend, "this character has no meaning here")
}

// scanQuoted reads what stands between two quotes; a quote within is written
// twice, or after a backslash.
func scanQuoted(s string, at int, quote byte, k kind) (token, int, *Error) {
	var b strings.Builder
	for i := at + 1; i < len(s); i++ {
		switch {
		case s[i] == '\\' && i+1 < len(s) && s[i+1] == quote:
			i++
		case s[i] == quote && i+1 < len(s) && s[i+1] == quote:
			i++
		case s[i] == quote:
			return token{kind: k, at: at, text: b.String()}, i + 1, nil
		}
		b.WriteByte(s[i])
	}
	mend := "end it with another; a quote within is written twice"
	return token{}, 0, wrongAt(s, at, mend, "this quote has no end")
}

func scanNumber(s string, at int) (token, int, *Error) {
	i := at
	digits := func() {
		for i < len(s) && s[i] >= '0' && s[i] <= '9' {
			i++
		}
	}
	digits()
	if i < len(s) && s[i] == '.' {
		i++
		digits()
	}
	if i < len(s) && (s[i] == 'e' || s[i] == 'E') {
		was := i
		i++
		if i < len(s) && (s[i] == '+' || s[i] == '-') {
			i++
		}
		if from := i; from == len(s) || s[from] < '0' || s[from] > '9' {
			i = was
		} else {
			digits()
		}
	}
	if r, _ := utf8.DecodeRuneInString(s[i:]); i < len(s) && goesOn(r) {
		return token{}, 0, wrongAt(s, at, "units stand in the field's name; a text needs single quotes", "this is neither a number nor a name")
	}
	v, err := strconv.ParseFloat(s[at:i], 64)
	if err != nil || math.IsInf(v, 0) {
		return token{}, 0, wrongAt(s, at, "", "this number is too great")
	}
	return token{kind: number, at: at, value: v}, i, nil
}

// starts and goesOn say which letters a name is made of.
func starts(r rune) bool { return r == '_' || r == ':' || unicode.IsLetter(r) }

func goesOn(r rune) bool {
	return starts(r) || r == '.' || unicode.IsDigit(r) || unicode.Is(unicode.Mn, r)
}

func isName(s string) bool {
	for i, r := range s {
		if i == 0 && !starts(r) || !goesOn(r) {
			return false
		}
	}
	return s != ""
}
