package exchange

import "strings"

// startsFormula are the characters at which spreadsheets take a cell for a
// formula and run it: common practice, no source (tab and carriage return are
// passed over before one).
const startsFormula = "=+-@\t\r"

// guarded puts an apostrophe before a text that a spreadsheet would run, so
// that it is shown and not run. A text that already has apostrophes before
// such a character gets one more: taking one away (as package importer does)
// always gives back the text that was there. Numbers are not texts and never
// come here.
func guarded(text string) string {
	rest := strings.TrimLeft(text, "'")
	if rest == "" || !strings.ContainsRune(startsFormula, rune(rest[0])) {
		return text
	}
	return "'" + text
}

// Guard puts an apostrophe before a text that a spreadsheet would run as a
// formula; the importer takes it away again. For tables that are written
// elsewhere.
func Guard(text string) string { return guarded(text) }
