package server

import (
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"tallybook/records"
)

func TestSideChangeMarksWholeWords(t *testing.T) {
	for name, c := range map[string]struct {
		was, is  string
		a, b     [3]string
		sign     string
		noneLeft bool
	}{
		"a word in the middle": {"gray granite, hard", "gray gneiss, hard", [3]string{"gray ", "granite", ", hard"}, [3]string{"gray ", "gneiss", ", hard"}, "≠", false},
		"a figure":             {"60 m", "30 m", [3]string{"", "60", " m"}, [3]string{"", "30", " m"}, "≠", false},
		"letters alike":        {"T-12", "T-13", [3]string{"", "T-12", ""}, [3]string{"", "T-13", ""}, "≠", false},
		"more behind":          {"by the road", "by the road, 20 ft off", [3]string{"by the ", "road", ""}, [3]string{"by the ", "road, 20 ft off", ""}, "≠", false},
		"added":                {"", "new", [3]string{"nothing", "", ""}, [3]string{"new", "", ""}, "+", true},
		"a word of a list":     {"in_use", "unused", [3]string{"", "in use", ""}, [3]string{"", "unused", ""}, "≠", false},
	} {
		got := sideChangeOf(records.Change{Field: "remarks", Was: c.was, Is: c.is})
		if a := [3]string{got.Was.Before, got.Was.Marked, got.Was.After}; a != c.a {
			t.Errorf("%s: left %q, want %q", name, a, c.a)
		}
		if b := [3]string{got.Is.Before, got.Is.Marked, got.Is.After}; b != c.b {
			t.Errorf("%s: right %q, want %q", name, b, c.b)
		}
		if got.Sign != c.sign || got.Was.None != c.noneLeft {
			t.Errorf("%s: sign %q, nothing on the left %v", name, got.Sign, got.Was.None)
		}
	}
}

// Whatever the texts, the parts make up the text again, no letter is cut, and
// what is not marked is the same on both sides.
func TestSideChangeLosesNothing(t *testing.T) {
	text := rapid.StringOfN(rapid.RuneFrom([]rune("ab é½ ,\n°")), 1, 20, -1)
	rapid.Check(t, func(t *rapid.T) {
		a, b := text.Draw(t, "a"), text.Draw(t, "b")
		before, after := sameEnds(a, b)
		if before < 0 || after < 0 || before+after > min(len(a), len(b)) {
			t.Fatalf("%d and %d of %q and %q", before, after, a, b)
		}
		if a[:before] != b[:before] || a[len(a)-after:] != b[len(b)-after:] {
			t.Fatalf("%q and %q are not alike before %d and behind %d", a, b, before, after)
		}
		for _, x := range []string{a[:before], a[before : len(a)-after], a[len(a)-after:], b[before : len(b)-after]} {
			if !utf8.ValidString(x) {
				t.Fatalf("a letter is cut: %q", x)
			}
		}
	})
}
