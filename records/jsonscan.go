package records

import (
	"fmt"

	"github.com/go-json-experiment/json/jsontext"
)

// rawMember is one name and value of a JSON object, cut out and not decoded.
type rawMember struct {
	name  string
	value []byte
	used  bool
}

// splitObject cuts a valid JSON object into its members. raw must have been
// checked by jsontext (which also refuses duplicate names, broken UTF-8 and
// too deep nesting); splitObject itself only finds where things end.
func splitObject(raw []byte, into []rawMember) ([]rawMember, error) {
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

// splitArray cuts a valid JSON array into its elements.
func splitArray(raw []byte, into [][]byte) ([][]byte, error) {
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

func skipSpace(b []byte, i int) int {
	for i < len(b) && (b[i] == ' ' || b[i] == '\n' || b[i] == '\t' || b[i] == '\r') {
		i++
	}
	return i
}

// skipValue returns the index just behind the value that starts at i.
func skipValue(b []byte, i int) int {
	if i >= len(b) {
		return len(b)
	}
	switch b[i] {
	case '"':
		return skipString(b, i)
	case '{', '[':
		depth := 0
		for i < len(b) {
			switch b[i] {
			case '"':
				i = skipString(b, i)
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
		return len(b)
	}
	for i < len(b) {
		switch b[i] {
		case ',', '}', ']', ':', ' ', '\n', '\t', '\r':
			return i
		}
		i++
	}
	return len(b)
}

func skipString(b []byte, i int) int {
	for i++; i < len(b); i++ {
		switch b[i] {
		case '\\':
			i++
		case '"':
			return i + 1
		}
	}
	return len(b)
}

// unquote decodes a JSON string.
func unquote(raw []byte) (string, error) {
	if len(raw) >= 2 && raw[0] == '"' {
		plain := true
		for _, c := range raw[1 : len(raw)-1] {
			if c == '\\' {
				plain = false
				break
			}
		}
		if plain {
			return string(raw[1 : len(raw)-1]), nil
		}
	}
	out, err := jsontext.AppendUnquote(nil, raw)
	if err != nil {
		return "", fmt.Errorf("not a text but %s", kindOf(raw))
	}
	return string(out), nil
}

// kindOf names a JSON value for a message.
func kindOf(raw []byte) string {
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

func isNull(raw []byte) bool { return len(raw) == 4 && raw[0] == 'n' }
