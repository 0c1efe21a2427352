package server

import (
	"net/url"
	"strconv"
	"unicode"
	"unicode/utf8"
)

// capital begins a sentence.
func capital(s string) string {
	first, n := utf8.DecodeRuneInString(s)
	if first == utf8.RuneError {
		return s
	}
	return string(unicode.ToUpper(first)) + s[n:]
}

// uncapital is for what stands within a sentence.
func uncapital(s string) string {
	first, n := utf8.DecodeRuneInString(s)
	if first == utf8.RuneError {
		return s
	}
	return string(unicode.ToLower(first)) + s[n:]
}

// count writes a number of things: '1 well', '12 wells', '43,244 wells'.
func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return grouped(n) + " " + many
}

// grouped writes a whole number with commas between thousands.
func grouped(n int) string {
	t := strconv.Itoa(n)
	for i := len(t) - 3; i > 0 && t[i-1] != '-'; i -= 3 {
		t = t[:i] + "," + t[i:]
	}
	return t
}

// queryEscape writes text as the value of a parameter.
func queryEscape(s string) string { return url.QueryEscape(s) }
