package records

import (
	"errors"
	"fmt"
)

// Code sorts errors by what the caller can do about them. Each adapter has
// one table from these codes to its own (HTTP status, exit code).
type Code uint8

// The codes. Internal is the zero value: what was not sorted is a bug.
const (
	Internal Code = iota
	Invalid
	NotFound
	Conflict
	Busy
	TooLarge
	Forbidden
)

var codeWords = [...]string{"internal", "invalid", "not_found", "conflict", "busy", "too_large", "forbidden"}

// String gives the code's word.
func (c Code) String() string {
	if int(c) < len(codeWords) {
		return codeWords[c]
	}
	return "internal"
}

// Codes lists every code, for tests that no adapter's table misses one.
func Codes() []Code {
	return []Code{Internal, Invalid, NotFound, Conflict, Busy, TooLarge, Forbidden}
}

// Error is what went wrong in words for the person who asked: what, where
// and how to mend it. Err is for the log alone.
type Error struct {
	Code    Code
	Message string // a full sentence for a person, without a final stop
	Field   string // the property at fault, where there is one
	Err     error
}

// Error implements error.
func (e *Error) Error() string {
	s := e.Message
	if e.Field != "" {
		s = e.Field + ": " + s
	}
	if e.Err != nil {
		s += ": " + e.Err.Error()
	}
	return s
}

// Unwrap gives the cause.
func (e *Error) Unwrap() error { return e.Err }

// Errorf makes an Error whose message is for a person.
func Errorf(code Code, format string, args ...any) *Error {
	return &Error{Code: code, Message: fmt.Sprintf(format, args...)}
}

// WrapError makes an Error with a cause that only the log shows.
func WrapError(code Code, err error, format string, args ...any) *Error {
	return &Error{Code: code, Message: fmt.Sprintf(format, args...), Err: err}
}

// CodeOf gives the code of the first Error in err's chain, and Internal for
// any other error.
func CodeOf(err error) Code {
	var e *Error
	if errors.As(err, &e) {
		return e.Code
	}
	return Internal
}

// MessageOf gives the words for a person, and none of the internals.
func MessageOf(err error) string {
	var e *Error
	if errors.As(err, &e) && e.Code != Internal {
		if e.Field != "" {
			return e.Field + ": " + e.Message
		}
		return e.Message
	}
	return "something went wrong inside the program; the log has the details"
}
