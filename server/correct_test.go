package server_test

import (
	"net/url"
	"regexp"
	"strings"
	"testing"
)

var hiddenField = regexp.MustCompile(`<input type="hidden" name="(correction|seen)" value="([^"]*)">`)

// Seen, applied, undone; and what cannot be meant is told with the form as it
// was filled in.
func TestCorrectPage(t *testing.T) {
	w := newRecordWorld(t)
	w.get("/correct").is(200).sound().says("Correct many", "Show what would change").saysNot("What would change", "Corrected before")
	for _, kind := range []string{"unit", "text", "datum", "material"} {
		w.get("/correct?kind=" + kind).is(200).sound().says("in records")
	}
	ask := "/correct?kind=text&field=crew.firm&from=plumb+line+wells+(invented)&to=" + url.QueryEscape(attack) + "&driller=Driller+B"
	a := w.get(ask).is(200).sound().says("would change", attack, "Plumb Line Wells (invented)")
	form := url.Values{"why": {"a reason " + attack}}
	for _, m := range hiddenField.FindAllStringSubmatch(a.body, -1) {
		form.Set(m[1], strings.NewReplacer("&#34;", `"`, "&amp;", "&", "&lt;", "<", "&gt;", ">", "&#39;", "'", "&#43;", "+").Replace(m[2]))
	}
	if form.Get("correction") == "" || form.Get("seen") == "" {
		t.Fatalf("the form that applies sends %v", form)
	}
	page, undo := next(t, w.handler, w.send("/correct", form))
	page.sound().says("corrected.", "Corrected before", attack)
	w.send("/correct", form).is(409).says("look again")
	page, _ = next(t, w.handler, w.send(undo, nil))
	page.sound().says("Undone", "undone")
	w.send(undo, nil).is(409)
	for address, want := range map[string]string{
		"/correct?kind=unit&field=total_depth&from=ft&to=ft":               "two of",
		"/correct?kind=unit&field=total_depth&from=ft&to=m&from_year=soon": "no whole number",
		"/correct?kind=text&field=strata.description&from=a&to=b":          "no text that is changed",
		"/correct?kind=material&field=&from=&to=clay":                      "which words",
	} {
		w.get(address).is(422).sound().says(want)
	}
	w.get("/correct?kind=magic").is(400).sound()
	w.get("/correct?kind=unit&field=yield&from=gpm&to=L/s&driller=nobody+at+all").is(200).sound().says("Nothing would change")
	w.send("/correct", url.Values{"correction": {"{}"}}).is(400)
}
