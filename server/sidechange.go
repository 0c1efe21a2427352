package server

import (
	"strings"
	"unicode/utf8"

	"tallybook/records"
)

// sideChange is one property that differs between two states, or two records,
// with what differs in it marked.
type sideChange struct {
	Name     string
	Sign     string // "+", "−" or "≠": what a reader sees who sees no colour
	SignSaid string // the sign in words
	Was, Is  markedText
	Private  bool
}

// markedText is a text whose middle is what differs.
type markedText struct {
	Before, Marked, After string
	More                  string // second line, quiet
	None                  bool
}

func sideChangeOf(c records.Change) sideChange {
	out := sideChange{Name: capital(fieldWords(c.Field)), Private: c.Private}
	switch {
	case c.Was == "":
		out.Sign, out.SignSaid = "+", "added"
	case c.Is == "":
		out.Sign, out.SignSaid = "−", "taken out"
	default:
		out.Sign, out.SignSaid = "≠", "differs"
	}
	was, is := mergeCell(c.Was), mergeCell(c.Is)
	out.Was, out.Is = markedText{More: was.More, None: c.Was == ""}, markedText{More: is.More, None: c.Is == ""}
	if out.Was.None || out.Is.None {
		out.Was.Before, out.Is.Before = was.Text, is.Text
		return out
	}
	before, after := sameEnds(was.Text, is.Text)
	for _, x := range []struct {
		t  string
		to *markedText
	}{{was.Text, &out.Was}, {is.Text, &out.Is}} {
		x.to.Before, x.to.Marked, x.to.After = x.t[:before], x.t[before:len(x.t)-after], x.t[len(x.t)-after:]
	}
	return out
}

// sameEnds gives how many bytes two texts have in common at their beginnings
// and at their ends, cut at the ends of words, so that a word or a figure is
// marked as a whole.
func sameEnds(a, b string) (before, after int) {
	for before < len(a) && before < len(b) && a[before] == b[before] {
		before++
	}
	before = strings.LastIndexAny(a[:before], " \n,;") + 1
	for after < len(a)-before && after < len(b)-before && a[len(a)-1-after] == b[len(b)-1-after] {
		after++
	}
	if i := strings.IndexAny(a[len(a)-after:], " \n,;"); i >= 0 {
		after -= i
	} else {
		after = 0
	}
	for after > 0 && !utf8.RuneStart(a[len(a)-after]) {
		after--
	}
	return before, after
}
