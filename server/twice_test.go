package server_test

import (
	"fmt"
	"net/http"
	"net/url"
	"testing"

	"tallybook/records"
)

// Buttons that are pressed twice do their work once, and the second answer
// says where that led.
func TestPressedTwice(t *testing.T) {
	w := newRecordWorld(t)
	id := w.full.ID
	well := fmt.Sprintf("/well/%d", id)
	out := fmt.Sprintf("%s/remove?revision=%d", well, w.full.Revision)
	first := w.send(out, nil).is(303)
	if to := w.send(out, nil).is(303).header.Get("Location"); to == "" || w.get(to).is(200).says("Taken out").code != 200 {
		t.Errorf("taken out twice leads to %q", to)
	}
	w.get(w.get(well + "/edit").is(303).header.Get("Location")).is(200).says("Bring it back")
	undo := w.undo(first)
	there := w.send(undo, nil).is(303).header.Get("Location")
	again := w.send(undo, nil).is(303)
	if told, _ := again.told(); told != "The record is back already." || again.header.Get("Location") != there {
		t.Errorf("brought back twice: %q at %s, not %s", told, again.header.Get("Location"), there)
	}
	w.get(well + "/edit").is(303)

	w.twins()
	form := w.get(fmt.Sprintf("/merge?a=%d&b=%d&as=%s", w.first, w.numbered(t, "AGAIN").ID, records.MergedTwin)).is(200)
	sent := url.Values{"a": {hidden(form, "a")}, "b": {hidden(form, "b")}, "ar": {hidden(form, "ar")}, "br": {hidden(form, "br")}, "as": {records.MergedTwin}, "act": {"merge"}}
	w.send("/merge", sent).is(303)
	if told, _ := w.send("/merge", sent).is(303).told(); told != "The two are one record already; nothing was done twice." {
		t.Errorf("merged twice: %q", told)
	}
	sent.Set("b", "99999")
	w.send("/merge", sent).is(http.StatusNotFound)
}

// An address that leads nowhere, or takes only what a button sends, is a page
// with a way back.
func TestNoPage(t *testing.T) {
	w := newRecordWorld(t)
	w.get("/p/").is(http.StatusNotFound).sound().says("no page at this address", "Back to the map")
	w.get("/plates/1/decide").is(http.StatusMethodNotAllowed).sound().says("what a button sends", "Back to the map")
}
