package importer

import (
	"bytes"

	"github.com/go-json-experiment/json/jsontext"
)

// kindOf names a JSON value for a message.
func kindOf(raw []byte) string {
	if len(raw) == 0 {
		return "nothing"
	}
	switch raw[0] {
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

// isNumber says whether one JSON value that was checked before is a number.
func isNumber(raw []byte) bool {
	return len(raw) > 0 && (raw[0] == '-' || raw[0] >= '0' && raw[0] <= '9')
}

// unquote decodes a JSON text that was checked before.
func unquote(raw []byte) string {
	out, err := jsontext.AppendUnquote(nil, raw)
	if err != nil {
		return string(raw)
	}
	return string(out)
}

// oneLine gives a value's JSON without line breaks between its tokens.
func oneLine(raw []byte) string {
	if bytes.IndexByte(raw, '\n') < 0 && bytes.IndexByte(raw, '\r') < 0 {
		return string(raw)
	}
	v := jsontext.Value(bytes.Clone(raw))
	if err := v.Compact(); err != nil {
		return string(raw)
	}
	return string(v)
}

func quote(s string) string {
	out, err := jsontext.AppendQuote(nil, s)
	if err != nil { // broken UTF-8: its bytes are replaced
		return string(out)
	}
	return string(out)
}
