package server_test

import (
	"fmt"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/recordstest"
)

var pairLinks = regexp.MustCompile(`/duplicates/pair\?[^"]*`)

// pairsIn are the addresses of the pairs on a page.
func pairsIn(a answer) []string {
	var out []string
	for _, m := range pairLinks.FindAllString(a.body, -1) {
		out = append(out, strings.ReplaceAll(m, "&amp;", "&"))
	}
	return out
}

// twins puts a second record of one of the township's wells and one more of the
// full record, the latter with other words, and searches.
func (w *recordWorld) twins() {
	w.t.Helper()
	sheet, err := w.desk.Well(w.t.Context(), desk.LocalPerson(), w.first)
	if err != nil {
		w.t.Fatal(err)
	}
	again := *sheet.Well
	again.ID, again.UID, again.Revision, again.Number = 0, "", 0, "AGAIN"
	other := recordstest.Full()
	other.UID, other.Number, other.Remarks = "", "OLD 7", attack
	other.Owner.Name = "Owner B"
	w.save(&again, "")
	w.save(other, "")
	ended, err := w.desk.SearchPairs(w.t.Context(), desk.LocalPerson())
	if err != nil {
		w.t.Fatal(err)
	}
	<-ended
}

func TestDuplicatePages(t *testing.T) {
	w := newRecordWorld(t)
	w.get("/duplicates").is(200).says("Nobody has searched yet", "Search all records").sound()
	w.get("/duplicates?show=all").is(400)
	w.get("/duplicates?least=101").is(400)
	w.get("/duplicates/pair?a=1").is(400)
	w.get("/duplicates/pair?a=1&b=1").is(400)
	w.get("/duplicates/pair?a=1&b=99999").is(404)
	w.get(fmt.Sprintf("/duplicates/pair?a=%d&b=%d", w.full.ID, w.first)).is(200).says("The search did not find these two").sound()
	w.twins()
	list := w.get("/duplicates").is(200).says("Search again", "to decide (", "AGAIN", "OLD 7").sound()
	pairs := pairsIn(list)
	if len(pairs) < 3 { // one to begin with, and each in the list
		t.Fatalf("the list leads to %d pairs", len(pairs))
	}
	for _, path := range pairs {
		for _, query := range []string{"", "&theme=dark", "&units=si"} {
			w.get(path+query).is(200).says("One well:", "in 100", "speaks for one well", "to decide").sound()
		}
	}
	w.get(fmt.Sprintf("/duplicates/pair?a=%d&b=%d", w.hostile.ID, w.full.ID)).is(200).sound()

	// Two wells: remembered, undone, decided again.
	u, err := url.Parse(pairs[0])
	if err != nil {
		t.Fatal(err)
	}
	form := url.Values{"a": u.Query()["a"], "b": u.Query()["b"], "revision": {"0"}, "verdict": {"different"}, "why": {"two houses"}}
	said := w.send("/duplicates/decide", form).is(303)
	w.send("/duplicates/decide", form).is(409)
	if still := pairsIn(w.get("/duplicates")); len(still) >= len(pairs) {
		t.Errorf("decided, and %d of %d are listed still", len(still), len(pairs))
	}
	w.get("/duplicates?show=decided").is(200).says("Two different wells", "two houses", "look again").sound()
	w.get(pairs[0]).says("Two different wells", "two houses")
	back := w.send(w.undo(said), nil).is(303)
	if to := back.header.Get("Location"); to != pairs[0] {
		t.Errorf("undo leads to %s, want %s", to, pairs[0])
	}
	if now := pairsIn(w.get("/duplicates")); len(now) != len(pairs) {
		t.Errorf("taken back, and %d of %d are listed", len(now), len(pairs))
	}
	w.get(pairs[0]).says("Decided before", "two houses")
	form.Set("revision", "2")
	form.Set("verdict", "unsure")
	w.send("/duplicates/decide", form).is(303)
	w.get("/duplicates?show=aside").is(200).says("set aside (1)").sound()
	form.Set("revision", "3")
	form.Set("verdict", "merged")
	w.send("/duplicates/decide", form).is(400)
	form.Set("revision", "x")
	w.send("/duplicates/decide", form).is(400)
	w.send("/duplicates/search?stop=1", nil).is(303)
}

// hidden is the value of a hidden field of a page's form.
func hidden(a answer, name string) string {
	_, rest, _ := strings.Cut(a.body, `name="`+name+`" value="`)
	value, _, _ := strings.Cut(rest, `"`)
	return value
}

// A pair merged from the list: the next one follows, and undo leads back to the
// pair though one of its records has another key then.
func TestMergeFromThePairs(t *testing.T) {
	w := newRecordWorld(t)
	w.twins()
	pair := pairsIn(w.get("/duplicates"))[0]
	u, err := url.Parse(pair)
	if err != nil {
		t.Fatal(err)
	}
	page := w.get(pair)
	twin := ""
	for _, link := range localLinks.FindAllStringSubmatch(page.body, -1) {
		if strings.Contains(link[1], "as=twin") {
			twin = strings.ReplaceAll(link[1], "&amp;", "&")
		}
	}
	w.get(twin).is(200).says("Nothing of").sound()
	v, err := url.Parse(twin)
	if err != nil {
		t.Fatal(err)
	}
	form := w.get(twin)
	merged := w.send("/merge", url.Values{"a": u.Query()["a"], "b": u.Query()["b"], "ar": {hidden(form, "ar")}, "br": {hidden(form, "br")},
		"as": {records.MergedTwin}, "act": {"merge"}, "back": v.Query()["back"]}).is(303)
	if to := merged.header.Get("Location"); !strings.HasPrefix(to, "/duplicates") {
		t.Errorf("after the merge comes %s", to)
	}
	w.get("/duplicates?show=decided").says("One was a copy by mistake", "more than 99 in 100").sound()
	back := w.send(w.undo(merged), nil).is(303)
	w.get(back.header.Get("Location")).is(200).says("One well:", "Open again").sound()
	w.get(pair).is(303) // the key that it had leads on
}
