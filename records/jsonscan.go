package records

import (
	"fmt"
	"strings"

	"github.com/go-json-experiment/json/jsontext"
)

// rawMember is one value of a JSON text, cut out and not decoded: a member of
// an object or an element of a list. The members of a value stand directly
// behind it.
type rawMember struct {
	name  string // "" for an element of a list
	value string
	next  int // where the first one stands that is not within this
	used  bool
}

// maxCut is how deep values are cut up: as deep as the profile goes. What
// lies deeper is no property of ours and stays in one piece.
const maxCut = 3

// cut takes a JSON text apart in one pass and appends its values to into, the
// whole first. raw must have been checked by jsontext (which also refuses
// duplicate names, broken UTF-8 and too deep nesting); cut itself only finds
// where things end. Names and values share raw's memory.
func cut(raw string, into []rawMember) ([]rawMember, error) {
	c := cutter{raw: raw, out: into}
	_, err := c.value("", skipSpace(raw, 0), 0)
	return c.out, err
}

type cutter struct {
	raw string
	out []rawMember
}

// value appends the value that begins at i, and returns where it ends.
func (c *cutter) value(name string, i, depth int) (end int, err error) {
	at := len(c.out)
	c.out = append(c.out, rawMember{name: name})
	switch {
	case i < len(c.raw) && c.raw[i] == '{' && depth < maxCut:
		end, err = c.object(i, depth)
	case i < len(c.raw) && c.raw[i] == '[' && depth < maxCut:
		end, err = c.list(i, depth)
	default:
		end = skipValue(c.raw, i)
	}
	if err == nil && end <= i {
		err = fmt.Errorf("the text breaks off after %q", clip(name, 40))
	}
	if err != nil {
		return end, err
	}
	c.out[at].value, c.out[at].next = c.raw[i:end], len(c.out)
	return end, nil
}

func (c *cutter) object(i, depth int) (int, error) {
	raw := c.raw
	i = skipSpace(raw, i+1)
	for i < len(raw) && raw[i] != '}' {
		end := skipValue(raw, i)
		name, err := unquote(raw[i:end])
		if err != nil {
			return end, err
		}
		i = skipSpace(raw, end) + 1 // the colon
		if i, err = c.value(name, skipSpace(raw, i), depth+1); err != nil {
			return i, err
		}
		i = skipComma(raw, i)
	}
	return min(i+1, len(raw)), nil
}

func (c *cutter) list(i, depth int) (int, error) {
	raw := c.raw
	i = skipSpace(raw, i+1)
	for i < len(raw) && raw[i] != ']' {
		var err error
		if i, err = c.value("", i, depth+1); err != nil {
			return i, err
		}
		i = skipComma(raw, i)
	}
	return min(i+1, len(raw)), nil
}

func skipComma(s string, i int) int {
	if i = skipSpace(s, i); i < len(s) && s[i] == ',' {
		return skipSpace(s, i+1)
	}
	return i
}

func skipSpace(s string, i int) int {
	if i < len(s) && s[i] > ' ' {
		return i
	}
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
