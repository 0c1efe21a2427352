package server

import (
	"net/url"
	"strconv"
	"strings"
)

// capital begins a sentence.
func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
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
