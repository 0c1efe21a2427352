package importer

import (
	"fmt"
	"unicode/utf8"
)

// clip shortens untrusted text for a message.
func clip(s string) string {
	const most = 40
	if len(s) <= most {
		return s
	}
	n := most
	for n > 0 && !utf8.RuneStart(s[n]) {
		n--
	}
	return s[:n] + "…"
}

func atLine(line, column, offset int64) string {
	return fmt.Sprintf("line %d, column %d (byte %d)", line, column, offset)
}
