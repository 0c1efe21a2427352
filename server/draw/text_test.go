package draw_test

import (
	"strings"
	"testing"
	"unicode/utf8"

	"tallybook/server/draw"
)

func TestWrap(t *testing.T) {
	tests := []struct {
		name, text string
		width      float64
		lines      int
		want       []string
		cut        bool
	}{
		{"empty", "", 100, 3, nil, false},
		{"blank", " \n\t ", 100, 3, nil, false},
		{"one line", "brown  clay\n", 100, 3, []string{"brown clay"}, false},
		{"two lines", "brown clay, some gravel", 90, 3, []string{"brown clay,", "some gravel"}, false},
		{"cut", "brown clay, some gravel and more", 108, 2, []string{"brown clay,", "some gravel…"}, true},
		{"long word", strings.Repeat("m", 20), 100, 3, []string{"mmmmmmm", "mmmmmmm", "mmmmmm"}, false},
		{"units stay", "water at 207\u00a0ft", 95, 2, []string{"water at", "207\u00a0ft"}, false},
		{"no lines", "x", 100, 0, nil, true},
	}
	for _, c := range tests {
		t.Run(c.name, func(t *testing.T) {
			got, cut := draw.Wrap(c.text, 14, false, c.width, c.lines)
			if strings.Join(got, "|") != strings.Join(c.want, "|") || cut != c.cut {
				t.Errorf("%q, %v; want %q, %v", got, cut, c.want, c.cut)
			}
		})
	}
}

// Every line fits, nothing is lost or made up, and no letter is parted from
// its marks.
func FuzzWrap(f *testing.F) {
	f.Add("brown clay, some gravel", 80.0, 3)
	f.Add(strings.Repeat("x", 1000), 50.0, 4)
	f.Add("e\u0301e\u0301e\u0301 👩‍👩‍👧‍👦🇫🇷🇫🇷 شق ماء", 40.0, 9)
	f.Add("\xff\xfe\x00", 30.0, 2)
	f.Fuzz(func(t *testing.T, text string, width float64, most int) {
		if !(width >= 30 && width < 2000) || most < 1 || most > 50 {
			return
		}
		lines, cut := draw.Wrap(text, 14, false, width, most)
		if len(lines) > most {
			t.Fatalf("%d lines of at most %d", len(lines), most)
		}
		for _, l := range lines {
			// A single letter with many marks may be wider than the line.
			if w := draw.TextWidth(l, 14, false); w > width+1 && utf8.RuneCountInString(l) > 34 {
				t.Fatalf("%q is %v wide, more than %v", l, w, width)
			}
		}
		if !cut && utf8.ValidString(text) {
			squash := func(s string) string { return strings.Join(strings.Fields(s), "") }
			if got := squash(strings.Join(lines, " ")); got != squash(text) {
				t.Fatalf("%q became %q", text, got)
			}
		}
	})
}

func TestTextWidth(t *testing.T) {
	if a, b := draw.TextWidth("iiii", 10, false), draw.TextWidth("mmmm", 10, false); a >= b {
		t.Error("i is as wide as m")
	}
	for _, c := range "0123456789" {
		if draw.TextWidth(string(c), 10, false) != draw.TextWidth("0", 10, false) {
			t.Errorf("figure %c has a width of its own", c)
		}
	}
	if draw.TextWidth("boulders", 14, true) <= draw.TextWidth("boulders", 14, false) {
		t.Error("bold is no wider")
	}
}
