package importer

import "strings"

// unguarded takes away the apostrophe that stands before a text which a
// spreadsheet would else run as a formula: one that begins with = + - @, a tab
// or a carriage return, after any number of apostrophes. Tables are written so
// by package exchange, and by others who are careful.
func unguarded(cell string) string {
	if cell == "" || cell[0] != '\'' {
		return cell
	}
	rest := strings.TrimLeft(cell, "'")
	if rest == "" || !strings.ContainsRune("=+-@\t\r", rune(rest[0])) {
		return cell
	}
	return cell[1:]
}
