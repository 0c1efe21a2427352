package server

import (
	"strings"
	"testing"
)

// Long terms set the second page closer, whether they are long lines or many.
func TestSheetFit(t *testing.T) {
	for name, c := range map[string]struct{ terms, want string }{
		"none":            {"", ""},
		"a line":          {"Paid when it is done.", ""},
		"a few lines":     {strings.Repeat("Paid when done.\n", 3), ""},
		"many lines":      {strings.Repeat("Paid when done.\n", 6), "close"},
		"a long line":     {strings.Repeat("é", usualTerms+1), "close"},
		"a page of lines": {strings.Repeat("Paid when done.\n", 30), "close closest"},
		"a page of words": {strings.Repeat("word ", 500), "close closest"},
	} {
		t.Run(name, func(t *testing.T) {
			if got := sheetFit(c.terms); got != c.want {
				t.Errorf("%q, want %q", got, c.want)
			}
		})
	}
}
