package importer

import (
	"strconv"
	"strings"
)

// bookCell is a cell while it is read.
type bookCell struct {
	column   int
	kind     string
	style    int
	value    []byte // of <v>
	inline   []byte // of <is>
	formula  []byte
	hasValue bool
}

// text gives a cell's value as text.
func (b *bookRows) text(c *bookCell) string {
	if !c.hasValue && len(c.formula) > 0 {
		b.uncounted++
		return "=" + string(c.formula)
	}
	switch c.kind {
	case "s":
		i, err := strconv.Atoi(strings.TrimSpace(string(c.value)))
		if text, ok := b.book.strings.at(i); err == nil && ok {
			return unescapeBook(text)
		}
		if !c.hasValue {
			return ""
		}
		return "#" + string(c.value) + " is no text of this workbook"
	case "inlineStr":
		return unescapeBook(string(c.inline))
	case "b":
		switch strings.TrimSpace(string(c.value)) {
		case "1":
			return "TRUE"
		case "0":
			return "FALSE"
		}
	case "str", "e", "d":
		return unescapeBook(string(c.value))
	}
	if !c.hasValue {
		return ""
	}
	text := strings.TrimSpace(string(c.value))
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return text
	}
	style := plainNumber
	if c.style >= 0 && c.style < len(b.book.styles) {
		style = b.book.styles[c.style]
	}
	return style.written(v, b.book.from)
}

// columnOf reads the letters of a cell's name: A is 0.
func columnOf(ref string) (int, bool) {
	n := 0
	for i := range len(ref) {
		c := ref[i]
		switch {
		case c >= 'A' && c <= 'Z' && n < maxColumns:
			n = n*26 + int(c-'A') + 1
		case c >= '0' && c <= '9' && i > 0:
			return n - 1, n > 0 && n <= maxColumns
		default:
			return 0, false
		}
	}
	return 0, false
}

// unescapeBook turns the escapes _xHHHH_ of a text (section 22.9.2.19) into
// the characters that they stand for, and line breaks to line feeds.
func unescapeBook(s string) string {
	if !strings.Contains(s, "_x") {
		return strings.ReplaceAll(s, "\r\n", "\n")
	}
	var out strings.Builder
	for {
		k := strings.Index(s, "_x")
		if k < 0 || k+7 > len(s) {
			break
		}
		v, err := strconv.ParseUint(s[k+2:k+6], 16, 16)
		if err != nil || s[k+6] != '_' || v >= 0xd800 && v < 0xe000 || v == 0 {
			out.WriteString(s[:k+2])
			s = s[k+2:]
			continue
		}
		out.WriteString(s[:k])
		out.WriteRune(rune(v))
		s = s[k+7:]
	}
	out.WriteString(s)
	return strings.ReplaceAll(out.String(), "\r\n", "\n")
}

// columnName writes the letters of a column: 0 is A.
func columnName(i int) string {
	var letters []byte
	for i++; i > 0; i = (i - 1) / 26 {
		letters = append([]byte{byte('A' + (i-1)%26)}, letters...)
	}
	return string(letters)
}
