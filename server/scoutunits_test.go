package server_test

import (
	"html"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"tallybook/records"
)

var fieldOf = regexp.MustCompile(`<input[^>]*\bname="([^"]+)"[^>]*\bvalue="([^"]*)"`)

// sentAgain is the address that a form of a page sends when nothing in it was
// touched.
func sentAgain(t *testing.T, page, label string) url.Values {
	t.Helper()
	_, form, ok := strings.Cut(page, `aria-label="`+label+`"`)
	if !ok {
		t.Fatalf("no form %q", label)
	}
	form, _, _ = strings.Cut(form, "</form>")
	q := url.Values{}
	for _, m := range fieldOf.FindAllStringSubmatch(form, -1) {
		q.Add(m[1], html.UnescapeString(m[2]))
	}
	return q
}

// TestQuestionDoesNotDrift: a question that is shown in other units, sent from
// there untouched, shown in the first units again and so on stays the same
// question: every well here gives 5.5 gpm, and 5.5 gpm is asked for.
func TestQuestionDoesNotDrift(t *testing.T) {
	_, h := scoutWorld(t, changed(60, func(w *records.Well) {
		w.Yield, w.YieldTests, w.Works = records.Of(records.Flow(records.GallonPerMinute.ToBase(5.5))), nil, nil
		w.Strikes = []records.Strike{{Depth: records.Of(records.Depth(40)), Flow: w.Yield}}
		w.Casing, w.Bedrock = nil, records.Of(records.Depth(5))
	}))
	for _, c := range []struct{ path, label, extra, want string }{
		{"/scout", "The question", "&people=0&use=house&tank=500", "19 to 20 in 20 reach "},
		{"/rig", "The hole now", "&people=0&depth=33&yield=0.3", ""},
	} {
		address := c.path + "?at=44.25,-38.75&in=us&need=5.5&most=300.3" + c.extra
		for turn := range 6 {
			units := []string{"us", "si"}[turn%2]
			code, page := getPage(t, h, address+"&units="+units)
			if code != 200 {
				t.Fatalf("%s answers %d", address, code)
			}
			q := sentAgain(t, page, c.label)
			if !strings.Contains(page, c.want) {
				t.Errorf("turn %d of %s: it does not say %q", turn, c.path, c.want)
			}
			if units == "us" {
				if q.Get("need") != "5.5" || q.Get("was-need") != "" || q.Get("people") != "0" {
					t.Errorf("turn %d: it sends %v", turn, q)
				}
				if c.path == "/scout" && (q.Get("use") != "house" || q.Get("tank") != "500" || q.Get("most") != "300.3") {
					t.Errorf("turn %d: it loses a part: %v", turn, q)
				}
				if c.path == "/rig" && (q.Get("depth") != "33" || q.Get("yield") != "0.3") {
					t.Errorf("turn %d: the hole is now %v", turn, q)
				}
			}
			address = c.path + "?" + q.Encode()
		}
		// A figure that was typed over counts as typed.
		code, page := getPage(t, h, c.path+"?at=44.25,-38.75&in=si&need=21&was-need=20.819764812&depth=10&units=si")
		if q := sentAgain(t, page, c.label); code != 200 || q.Get("need") != "21" {
			t.Errorf("%s: 21 typed over 20.82 came to %v (%d)", c.path, q, code)
		}
	}
}
