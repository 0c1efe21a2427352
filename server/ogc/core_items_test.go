package ogc_test

import (
	"encoding/json"
	"fmt"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"
)

func itemsLinks(t *testing.T, w *world) {
	for _, c := range collectionsOf(t, w) {
		wantTypes(t, c.Links, "items", "application/geo+json", "items", "text/html", "enclosure", "application/geo+json", "enclosure", "application/x-ndjson")
		for _, l := range c.Links {
			if s := w.get(l.Href, 200); s.kind() != l.Type {
				t.Errorf("%s is %s, and the link says %s", l.Href, s.kind(), l.Type)
			}
		}
	}
}

func extents(t *testing.T, w *world) {
	x := collectionsOf(t, w)[0].Extent
	if x == nil || x.Spatial == nil || x.Temporal == nil {
		t.Fatalf("no extent: %+v", x)
	}
	b, i := x.Spatial.BBox[0], x.Temporal.Interval[0]
	if len(b) != 4 || b[0] != -179.5 || b[1] != 44 || b[2] != 179.5 || b[3] != 44+56.0/200 {
		t.Errorf("box %v", b)
	}
	if *i[0] != "1960-06-15T00:00:00Z" || *i[1] != "2006-06-15T23:59:59Z" {
		t.Errorf("from %s to %s", *i[0], *i[1])
	}
}

func sameAsListed(t *testing.T, w *world) {
	var list struct{ Collections []json.RawMessage }
	w.get("/collections", 200).read(t, &list)
	for i, c := range collectionsOf(t, w) {
		one := w.get("/collections/"+c.ID, 200)
		if string(one.body) != string(list.Collections[i]) {
			t.Errorf("%s by itself: %s\nin the list: %s", c.ID, one.body, list.Collections[i])
		}
	}
}

func limitDefinition(t *testing.T, w *world) {
	for _, bad := range []string{"0", "-1", "x", "1e3", "99999999999999999999999"} {
		w.get("/collections/wells/items?limit="+bad, 400)
	}
}

func limitResponse(t *testing.T, w *world) {
	for limit, want := range map[string]int{"1": 1, "10": 10, "1000": wellsHere, "10000": wellsHere, "1000000": wellsHere} {
		if got := len(w.page("/collections/wells/items?limit=" + limit).Features); got != want {
			t.Errorf("limit=%s: %d features, want %d", limit, got, want)
		}
	}
}

func boxDefinition(t *testing.T, w *world) {
	four, six := w.page("/collections/wells/items?bbox=-72.2,44,-72,45"), w.page("/collections/wells/items?bbox=-72.2,44,-10,-72,45,9000")
	if len(four.Features) == 0 || !slices.Equal(four.ids(), six.ids()) {
		t.Errorf("by four numbers %d, by six %d", len(four.Features), len(six.Features))
	}
}

func boxResponse(t *testing.T, w *world) {
	for box, want := range map[string]string{
		"-72.06,44,-72.04,45":    "N04 N05 N06", // 0.01 degrees apart, and the border belongs to it
		"-72.055,44,-72.045,45":  "N05",
		"179,-90,-179,90":        "N00 N01",
		"-180,44.28,180,44.28":   "N56", // as narrow as can be
		"0,0,1,1":                "",
		"200,0,210,1":            "",
		"-200,44.275,-72,44.275": "N55", // what lies beyond the earth's end is left out
	} {
		if got := w.page("/collections/wells/items?bbox=" + box).numbers(); got != want {
			t.Errorf("bbox=%s: %s, want %s", box, got, want)
		}
	}
	if got := *w.page("/collections/wells/items?bbox=-180,-90,180,90").NumberMatched; got != placed {
		t.Errorf("on the earth are %d, want %d", got, placed)
	}
	if got, all := *w.page("/collections/strata/items?bbox=-72.055,44,-72.045,45").NumberMatched, len(w.wells[5].Strata); got != all {
		t.Errorf("%d strata in the box, want %d", got, all)
	}
}

func timeDefinition(t *testing.T, w *world) {
	for _, good := range []string{"2004-06-15", "2004-06-15T10:00:00Z", "2004-06-15T10:00:00.5Z", "2004-06-15T10:00:00-05:00", "2004-06-15T10:00:00%2B02:00", "2004-06-15T10:00:00+02:00", "../2004-06-15", "/2004-06-15", "2004-06-15/..", "2004-06-15/", "../..", "/",
		"2000-01-01T/..", "../2000-01-01T", "2004", "2004-06/2005", "2004-06-15t10:00:00z"} {
		w.get("/collections/wells/items?datetime="+good, 200)
	}
	for _, bad := range []string{"..", "...", "2004-06-15/../..", "2004-02-30", "TT", "2004-06-15TT", "yesterday", "20040615"} {
		w.get("/collections/wells/items?datetime="+bad, 400)
	}
}

func timeResponse(t *testing.T, w *world) {
	for when, want := range map[string]string{
		"1960-06-15":            "N10",
		"1960-06-15T23:59:59Z":  "N10",
		"1960-06-14":            "",
		"1960":                  "N10",
		"1960-06-15/1962-06-15": "N10 N11 N12",
		"1960-06-16/1962-06-14": "N11",
		"../1961":               "N10 N11",
		"/1961-01-01":           "N10",
		"2006-06-15/":           "N56",
		"2006-01-01T/..":        "N56", // as some clients write a date
		"2006-06-15T00:00:00Z/2006-06-15T00:00:00Z": "N56",
	} {
		if got := w.page("/collections/wells/items?datetime=" + when).numbers(); got != want {
			t.Errorf("datetime=%s: %q, want %q", when, got, want)
		}
	}
	if got := *w.page("/collections/wells/items?datetime=../..").NumberMatched; got != dated {
		t.Errorf("%d with a date, want %d", got, dated)
	}
	if got := *w.page("/collections/forecasts/items?datetime=2000-01-01/..").NumberMatched; got != 1 {
		t.Errorf("%d forecasts since 2000, want 1", got)
	}
	if got := *w.page("/collections/forecasts/items?datetime=../2000-01-01").NumberMatched; got != 0 {
		t.Errorf("%d forecasts up to 2000, want none", got)
	}
}

func filtersTogether(t *testing.T, w *world) {
	for q, want := range map[string]string{
		"number=N20": "N20",
		"number=n20": "",
		"number=N20&bbox=-72.25,44,-72.15,45&datetime=1970": "N20",
		"number=N20&bbox=0,0,1,1":                           "",
		"number=N20&datetime=1971":                          "",
		"depth_to_bedrock_qualifier=between":                "N02",
		"yield_lps=0.3785411784&limit=2":                    "N00 N01", // 6 US gallons a minute: 6 * 3.785411784 / 60
	} {
		if got := w.page("/collections/wells/items?" + q).numbers(); got != want {
			t.Errorf("%s: %q, want %q", q, got, want)
		}
	}
}

// pageLinks walks through every collection by pages of many sizes, forwards and
// back: the union of the pages is the whole, none twice, and each link keeps
// every parameter.
func pageLinks(t *testing.T, w *world) {
	for _, path := range []string{"/collections/wells/items", "/collections/wells/items?status=in_use", "/collections/wells/items?bbox=-73,40,-72,50&datetime=1970/..", "/collections/strata/items", "/collections/water-strikes/items?position=2", "/collections/plates/items"} {
		for _, limit := range []int{1, 7, 19, 57, 1000} {
			between := "?"
			if strings.Contains(path, "?") {
				between = "&"
			}
			if limit == 1 && !strings.Contains(path, "?") {
				continue // many pages that show nothing more
			}
			whole := w.page(path + between + "limit=10000")
			first := fmt.Sprint(path, between, "limit=", limit)
			there, last := w.walk(t, first, "next", limit)
			if !slices.Equal(there, whole.ids()) {
				t.Errorf("%s by %d: %d features, want %d", path, limit, len(there), len(whole.Features))
			}
			back, _ := w.walk(t, last, "prev", limit)
			if !slices.Equal(back, whole.ids()) {
				t.Errorf("%s by %d, back: %d features, want %d", path, limit, len(back), len(whole.Features))
			}
		}
	}
	third := w.page("/collections/wells/items?limit=3&after=6")
	second := w.page(third.Links.to("prev")[0].Href)
	if again := w.page(second.Links.to("next")[0].Href); second.numbers() != "N03 N04 N05" || again.numbers() != third.numbers() {
		t.Errorf("from %s back to %s and on to %s", third.numbers(), second.numbers(), again.numbers())
	}
	p := w.page("/collections/wells/items?limit=3&after=999999")
	if len(p.Features) != 0 || len(p.Links.to("next")) != 0 || len(p.Links.to("prev")) != 1 {
		t.Errorf("behind the last: %d features, links %v", len(p.Features), p.Links)
	}
	if p = w.page(p.Links.to("prev")[0].Href); p.numbers() != "N54 N55 N56" {
		t.Errorf("back from behind the last: %s", p.numbers())
	}
}

// walk follows the links of a relation and gives the features in their order,
// and the address of the last page.
func (w *world) walk(t *testing.T, at, rel string, limit int) (ids []string, last string) {
	t.Helper()
	for pages := 0; ; pages++ {
		if pages > 500 {
			t.Fatalf("%s leads in a circle", at)
		}
		p := w.page(at)
		if len(p.Features) > limit {
			t.Fatalf("%s has %d features", at, len(p.Features))
		}
		if rel == "next" {
			ids = append(ids, p.ids()...)
		} else {
			ids = append(p.ids(), ids...)
		}
		more := p.Links.to(rel)
		if len(more) == 0 {
			return ids, at
		}
		if len(p.Features) == 0 {
			t.Errorf("%s has a link %s and no features", at, rel)
		}
		before, after := queryOf(t, at), queryOf(t, more[0].Href)
		for name := range before {
			if name != "after" && name != "before" && before.Get(name) != after.Get(name) {
				t.Errorf("%s: the link %s loses %s", at, rel, name)
			}
		}
		at = more[0].Href
	}
}

func queryOf(t *testing.T, href string) url.Values {
	t.Helper()
	u, err := url.Parse(href)
	if err != nil {
		t.Fatal(err)
	}
	return u.Query()
}

func relTypes(t *testing.T, w *world) {
	for _, path := range []string{"/collections/wells/items?limit=3&after=5", "/collections/wells/items/" + w.wells[3].UID} {
		for _, l := range linksAt(t, w, path) {
			if l.Type == "" || l.Rel == "" {
				t.Errorf("%s: the link %v does not say its type and relation", path, l)
			}
		}
	}
	wantTypes(t, linksAt(t, w, "/collections/wells/items?limit=3&after=5"), "self", "application/geo+json", "alternate", "text/html", "next", "application/geo+json", "prev", "application/geo+json", "collection", "application/json")
}

func timeStamp(t *testing.T, w *world) {
	at, err := time.Parse(time.RFC3339, w.page("/collections/wells/items?limit=2").TimeStamp)
	if since := time.Since(at); err != nil || since < -time.Minute || since > time.Hour {
		t.Errorf("made at %v (%v)", at, err)
	}
}

func numberMatched(t *testing.T, w *world) {
	for path, want := range map[string]int{"/collections/wells/items?limit=5": wellsHere, "/collections/wells/items?limit=5&after=40": wellsHere, "/collections/wells/items?status=in_use&limit=1": wellsHere,
		"/collections/wells/items?status=x": 0, "/collections/water-strikes/items?limit=1": 2 * wellsHere, "/collections/strata/items?limit=1": 6 * wellsHere, "/collections/plates/items": 1, "/collections/forecasts/items": 1} {
		if got := w.page(path).NumberMatched; got == nil || *got != want {
			t.Errorf("%s: matched %v, want %d", path, got, want)
		}
	}
}

func numberReturned(t *testing.T, w *world) {
	for _, path := range []string{"/collections/wells/items?limit=5", "/collections/wells/items?status=x", "/collections/strata/items?limit=11&before=4"} {
		if p := w.page(path); p.NumberReturned != len(p.Features) {
			t.Errorf("%s: returned %d, there are %d", path, p.NumberReturned, len(p.Features))
		}
	}
}
