package records

import (
	"fmt"
	"strings"

	"github.com/go-json-experiment/json/jsontext"
)

// rawMember is one name and value of a JSON object, cut out and not decoded.
type rawMember struct {
	name  string
	value string
	used  bool
}

// splitObject cuts a valid JSON object into its members and appends them to
// into. raw must have been checked by jsontext (which also refuses duplicate
// names, broken UTF-8 and too deep nesting); splitObject itself only finds
// where things end. Names and values share raw's memory.
func splitObject(raw string, into []rawMember) ([]rawMember, error) {
	i := skipSpace(raw, 0)
	if i >= len(raw) || raw[i] != '{' {
		return into, fmt.Errorf("not an object but %s", kindOf(raw))
	}
	i = skipSpace(raw, i+1)
	for i < len(raw) && raw[i] != '}' {
		end := skipValue(raw, i)
		name, err := unquote(raw[i:end])
		if err != nil {
			return into, err
		}
		i = skipSpace(raw, end) + 1 // the colon
		i = skipSpace(raw, i)
		end = skipValue(raw, i)
		if end > len(raw) || i >= end {
			return into, fmt.Errorf("the object breaks off after %q", clip(name, 40))
		}
		into = append(into, rawMember{name: name, value: raw[i:end]})
		i = skipSpace(raw, end)
		if i < len(raw) && raw[i] == ',' {
			i = skipSpace(raw, i+1)
		}
	}
	return into, nil
}

// splitArray cuts a valid JSON array into its elements and appends them to
// into.
func splitArray(raw string, into []string) ([]string, error) {
	i := skipSpace(raw, 0)
	if i >= len(raw) || raw[i] != '[' {
		return into, fmt.Errorf("not a list but %s", kindOf(raw))
	}
	i = skipSpace(raw, i+1)
	for i < len(raw) && raw[i] != ']' {
		end := skipValue(raw, i)
		if end <= i {
			return into, fmt.Errorf("the list breaks off")
		}
		into = append(into, raw[i:end])
		i = skipSpace(raw, end)
		if i < len(raw) && raw[i] == ',' {
			i = skipSpace(raw, i+1)
		}
	}
	return into, nil
}

func skipSpace(s string, i int) int {
	for i < len(s) && (s[i] == ' ' || s[i] == '\n' || s[i] == '\t' || s[i] == '\r') {
		i++
	}
	return i
}

// skipValue returns the index just behind the value that starts at i.
func skipValue(s string, i int) int {
	if i >= len(s) {
		return len(s)
	}
	switch s[i] {
	case '"':
		return skipString(s, i)
	case '{', '[':
		depth := 0
		for i < len(s) {
			switch s[i] {
			case '"':
				i = skipString(s, i)
				continue
			case '{', '[':
				depth++
			case '}', ']':
				if depth--; depth == 0 {
					return i + 1
				}
			}
			i++
		}
		return len(s)
	}
	for i < len(s) {
		switch s[i] {
		case ',', '}', ']', ':', ' ', '\n', '\t', '\r':
			return i
		}
		i++
	}
	return len(s)
}

func skipString(s string, i int) int {
	for i++; i < len(s); {
		k := strings.IndexByte(s[i:], '"')
		if k < 0 {
			return len(s)
		}
		end := i + k
		// The quote ends the text unless an odd number of backslashes
		// stands before it.
		slashes := 0
		for end-1-slashes >= i && s[end-1-slashes] == '\\' {
			slashes++
		}
		if slashes%2 == 0 {
			return end + 1
		}
		i = end + 1
	}
	return len(s)
}

// unquote decodes a JSON string. A text without escapes shares raw's memory.
func unquote(raw string) (string, error) {
	if len(raw) >= 2 && raw[0] == '"' && strings.IndexByte(raw, '\\') < 0 {
		return raw[1 : len(raw)-1], nil
	}
	out, err := jsontext.AppendUnquote(nil, raw)
	if err != nil {
		return "", fmt.Errorf("not a text but %s", kindOf(raw))
	}
	return string(out), nil
}

// kindOf names a JSON value for a message.
func kindOf(raw string) string {
	i := skipSpace(raw, 0)
	if i >= len(raw) {
		return "nothing"
	}
	switch raw[i] {
	case '"':
		return "a text"
	case '{':
		return "an object"
	case '[':
		return "a list"
	case 't', 'f':
		return "true or false"
	case 'n':
		return "null"
	}
	return "a number"
}

func isNull(raw string) bool { return len(raw) == 4 && raw[0] == 'n' }
