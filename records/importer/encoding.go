package importer

import (
	"bytes"
	"fmt"
	"io"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// The encodings that Options.Encoding may name. Without a name a source is
// UTF-8 (or UTF-16, told by its first bytes), and a row of it that is not is
// read as Windows-1252, with a warning that shows how it was read.
const (
	UTF8        = "utf-8"
	Windows1252 = "windows-1252" // contains ISO 8859-1, Latin-1
)

// utf16Reader gives the UTF-8 of a UTF-16 source. Offsets of its rows are
// those of the UTF-8 text.
func utf16Reader(r io.Reader, bigEndian bool) io.Reader {
	order := unicode.LittleEndian
	if bigEndian {
		order = unicode.BigEndian
	}
	return transform.NewReader(r, unicode.UTF16(order, unicode.UseBOM).NewDecoder())
}

// decodeText gives the row's text as UTF-8, or refuses the row.
func decodeText(row *Row, encoding string) ([]byte, bool) {
	raw := row.Raw
	if encoding != Windows1252 && utf8.Valid(raw) {
		return raw, true
	}
	at := firstInvalid(raw)
	if encoding == UTF8 {
		row.refuse("", fmt.Sprintf("is not UTF-8: byte 0x%02X at byte %d", raw[at], row.Offset+int64(at)), "save the file as UTF-8, or say which encoding it is in")
		return nil, false
	}
	text, err := charmap.Windows1252.NewDecoder().Bytes(raw)
	if i := bytes.IndexFunc(text, undefinedIn1252); err != nil || i >= 0 {
		row.refuse("", fmt.Sprintf("is neither UTF-8 nor Windows-1252: see byte %d", row.Offset+int64(at)), "save the file as UTF-8")
		return nil, false
	}
	if encoding != Windows1252 {
		row.warn("", fmt.Sprintf("is not UTF-8 (byte 0x%02X at byte %d); read as Windows-1252: …%s…", raw[at], row.Offset+int64(at), around(raw, at)),
			"if that reads wrong, save the file as UTF-8 and take it in again")
	}
	return text, true
}

// undefinedIn1252 are the five codes that Windows-1252 leaves open, which its
// decoder gives as control characters.
func undefinedIn1252(r rune) bool { return r >= 0x80 && r < 0xa0 || r == utf8.RuneError }

func firstInvalid(b []byte) int {
	for i := 0; i < len(b); {
		if b[i] < utf8.RuneSelf {
			i++
			continue
		}
		r, n := utf8.DecodeRune(b[i:])
		if r == utf8.RuneError && n == 1 {
			return i
		}
		i += n
	}
	return 0
}

// around shows the letters beside the one that is no UTF-8, as they were read.
func around(raw []byte, at int) string {
	const beside = 12
	piece := raw[max(0, at-beside):min(len(raw), at+beside)]
	text, err := charmap.Windows1252.NewDecoder().Bytes(piece)
	if err != nil {
		return ""
	}
	return string(bytes.Map(func(r rune) rune {
		if r < ' ' {
			return ' '
		}
		return r
	}, text))
}
