package server_test

import (
	"html"
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
	// A filter is told to be wrong beside its field, and stays as it was typed.
	wrong := w.get("/correct?kind=unit&field=total_depth&from=ft&to=m&filter=depth+%3E+3").is(422).sound().says(`The filter at character 1, "depth > 3": `).saysNot("What would change")
	for _, part := range []string{`aria-invalid="true" aria-describedby="c-filter-wrong c-filter-hint"`, `id="c-filter-wrong">The filter`, `value="depth &gt; 3"`} {
		if !strings.Contains(wrong.body, part) {
			t.Errorf("a filter that is wrong is shown without %s", part)
		}
	}
	w.get("/correct?kind=magic").is(400).sound()
	w.get("/correct?kind=unit&field=yield&from=gpm&to=L/s&driller=nobody+at+all").is(200).sound().says("Nothing would change")
	w.send("/correct", url.Values{"correction": {"{}"}}).is(400)
}

// Records are chosen by a filter: shown, applied, and told in the list of what
// was corrected, undone from there.
func TestCorrectPageByAFilter(t *testing.T) {
	w := newRecordWorld(t)
	w.get("/correct").is(200).says("such as completed < DATE('1990-01-01') AND total_depth_ft BETWEEN 200 AND 300", "what can be asked for")
	const filter = "total_depth_ft > 200 AND uid <> '<b>'"
	ask := "/correct?kind=text&field=land_use&from=*&to=pasture+(invented)&filter=" + url.QueryEscape(filter)
	a := w.get(ask).is(200).sound()
	a.says("records are meant of the 29 that the filter chooses", "2 would change", "pasture (invented)")
	w.get("/correct?kind=text&field=land_use&from=*&to=pasture&filter=total_depth_ft+%3C+3").is(200).sound().says("0 records are meant of the 0 that the filter chooses", "Nothing would change")
	form := url.Values{}
	for _, m := range hiddenField.FindAllStringSubmatch(a.body, -1) {
		form.Set(m[1], html.UnescapeString(m[2]))
	}
	page, undo := next(t, w.handler, w.send("/correct", form))
	page.sound().says("2 records are corrected.", "filtered by "+filter)
	w.send("/correct", form).is(409).says("look again")
	page, _ = next(t, w.handler, w.send(undo, nil))
	page.sound().says("Undone: 2 records are as they were")
	form.Set("correction", strings.Replace(form.Get("correction"), "total_depth_ft", "gold_ft", 1))
	w.send("/correct", form).is(400).says("gold_ft")
}
