package cql2

import (
	"fmt"
	"unicode/utf8"
)

// Error says what is wrong with a filter, where and what would do.
type Error struct {
	Problem string
	Mend    string // may be empty
	Near    string // what stands there; "" at the end
	At      int    // the character, counted from 1; 0 for the whole text
}

// Error is one sentence for a person.
func (e *Error) Error() string {
	where := "the filter"
	switch {
	case e.At > 0 && e.Near != "":
		where = fmt.Sprintf("the filter at character %d, %q", e.At, e.Near)
	case e.At > 0:
		where = fmt.Sprintf("the filter at character %d, its end", e.At)
	}
	text := where + ": " + e.Problem
	if e.Mend != "" {
		text += "; " + e.Mend
	}
	return text
}

// wrongAt is an Error at a byte of a text.
func wrongAt(text string, at int, mend, problem string, args ...any) *Error {
	at = min(max(at, 0), len(text))
	near := clip(text[at:])
	return &Error{Problem: fmt.Sprintf(problem, args...), Mend: mend, Near: near, At: utf8.RuneCountInString(text[:at]) + 1}
}

// clip shortens a text for a message.
func clip(s string) string {
	for i := range s {
		if i >= 32 {
			return s[:i] + "…"
		}
	}
	return s
}
