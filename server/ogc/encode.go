package ogc

import (
	"math"
	"strconv"
	"unicode/utf8"

	"tallybook/records"
)

// writer writes features of a collection as GeoJSON (RFC 7946): every property
// is always there, null where nothing is known.
type writer struct {
	names []string // `"name":`, with the comma before it
	crs   refSystem
}

func newWriter(c *records.FeatureCollection, crs refSystem) *writer {
	w := &writer{crs: crs}
	for i := range c.Fields {
		name := strconv.Quote(c.Fields[i].Name) + ":" // names are plain letters
		if i > 0 {
			name = "," + name
		}
		w.names = append(w.names, name)
	}
	return w
}

// append appends a feature; links stand in it where it is shown by itself.
func (w *writer) append(b []byte, f *records.Feature, links []link) ([]byte, error) {
	b = appendText(append(b, `{"type":"Feature","id":`...), f.ID)
	b = append(b, `,"geometry":`...)
	b = w.crs.appendPoint(b, f.Lon, f.Lat, f.Located)
	b = append(b, `,"properties":{`...)
	for i, v := range f.Values {
		b = append(b, w.names[i]...)
		if n, ok := v.(float64); ok {
			b = appendFloat(b, n)
		} else {
			b = appendValue(b, v)
		}
	}
	b = append(b, '}')
	if links != nil {
		text, err := marshal(links)
		if err != nil {
			return b, err
		}
		b = append(append(b, `,"links":`...), text...)
	}
	return append(b, '}'), nil
}

func appendValue(b []byte, v any) []byte {
	switch v := v.(type) {
	case string:
		return appendText(b, v)
	case int64:
		return strconv.AppendInt(b, v, 10)
	case bool:
		return strconv.AppendBool(b, v)
	}
	return append(b, "null"...)
}

// appendFloat is appendNumber with a fraction always: programs that guess the
// type of a column from its first rows would take whole numbers for integers.
func appendFloat(b []byte, v float64) []byte {
	start := len(b)
	b = appendNumber(b, v)
	for _, c := range b[start:] {
		if c == '.' || c == 'e' || c == 'n' {
			return b
		}
	}
	return append(b, ".0"...)
}

// appendNumber writes the digits that read back as the same number; what is no
// number, and JSON has no word for it, is null.
func appendNumber(b []byte, v float64) []byte {
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		return append(b, "null"...)
	case v != 0 && (math.Abs(v) < 1e-6 || math.Abs(v) >= 1e21):
		return strconv.AppendFloat(b, v, 'e', -1, 64)
	}
	return strconv.AppendFloat(b, v, 'f', -1, 64)
}

const hexDigits = "0123456789abcdef"

// appendText writes a JSON text (RFC 8259), safe inside a page too; what is
// not UTF-8 becomes the replacement character.
func appendText(b []byte, s string) []byte {
	b = append(b, '"')
	start := 0
	for i := 0; i < len(s); {
		c := s[i]
		if c >= ' ' && c < utf8.RuneSelf && c != '"' && c != '\\' && c != '<' && c != '>' && c != '&' {
			i++
			continue
		}
		if c < utf8.RuneSelf {
			b = append(b, s[start:i]...)
			switch c {
			case '"', '\\':
				b = append(b, '\\', c)
			case '\n':
				b = append(b, '\\', 'n')
			case '\t':
				b = append(b, '\\', 't')
			default:
				b = append(b, '\\', 'u', '0', '0', hexDigits[c>>4], hexDigits[c&15])
			}
			i++
			start = i
			continue
		}
		r, n := utf8.DecodeRuneInString(s[i:])
		if r == utf8.RuneError && n == 1 {
			b = append(append(b, s[start:i]...), "\uFFFD"...)
			start = i + n
		}
		i += n
	}
	return append(append(b, s[start:]...), '"')
}
