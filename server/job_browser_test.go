//go:build judges

package server_test

import (
	"fmt"
	"net/http/httptest"
	"net/url"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"tallybook/records"
)

// The pages of jobs on a phone and on a wide window, light and dark, empty,
// filled and at fault: nothing runs out of the window, targets are large
// enough, text stands out (WCAG 2.2, success criterion 1.4.3, contrast 4.5:1).
func TestJobPagesInABrowser(t *testing.T) {
	ctx, said := browser(t)
	w := newRecordWorld(t)
	s := httptest.NewServer(w.handler)
	defer s.Close()
	measureAt := func(at string, width int64) {
		t.Helper()
		m := evaluate[measured](t, ctx, measure)
		if m.Wide > float64(width) {
			t.Errorf("%s is %v px wide", at, m.Wide)
		}
		for what, found := range map[string][]string{"too small to hit": m.Small, "runs out of the window": m.Beyond, "is pale": m.Pale} {
			if len(found) > 0 {
				t.Errorf("%s: %s: %q", at, what, found[:min(len(found), 6)])
			}
		}
	}
	look := func(paths ...string) {
		t.Helper()
		for _, width := range []int64{360, 1280} {
			for _, theme := range []string{"light", "dark"} {
				for _, path := range paths {
					u, err := url.Parse(path)
					if err != nil {
						t.Fatal(err)
					}
					q := u.Query()
					q.Set("theme", theme)
					u.RawQuery = q.Encode()
					if err := chromedp.Do(ctx, chromedp.EmulateViewport(width, 900), chromedp.Navigate(s.URL+u.String())); err != nil {
						t.Fatal(err)
					}
					evaluate[bool](t, ctx, `(() => { for (const d of document.querySelectorAll("details")) d.open = true; return true; })()`)
					measureAt(fmt.Sprintf("%s at %d px, %s", path, width, theme), width)
				}
			}
		}
	}
	look("/jobs", "/job/new")
	w.inventOffice()
	at := w.place()
	w.send("/scout/keep", url.Values{"at": {fmt.Sprintf("%f,%f", at.Lat, at.Lon)}, "label": {"Invented site with a name that is longer than any window of a telephone is wide"}}).is(303)
	w.openJob("label", "Anhouselongerthanthewindowofanytelephone"+attack, "stage", "finished", "quote.low", "1,234,567.89", "quote.mid", "2,345,678.90", "quote.high", "98,765,432.10", "actual", "123,456,789.01",
		"filing.due", "2026-11-02", "at", "44.25, -38.75", "customer.name", attack, "customer.telephone", "555 0100", "notes", attack, "done.finished", "2026-11-20", "note.finished", attack)
	kept := formOf(w.get(fmt.Sprintf("/job/new?at=%f%%2C%f", at.Lat, at.Lon)))
	w.send("/job/new", kept).is(303)
	w.send("/job/2/move", url.Values{"revision": {"1"}, "stage": {"finished"}, "on": {"2026-11-25"}}).is(303)
	w.send("/job/2/end", url.Values{"revision": {"2"}, "number": {"NF-0001"}, "actual": {"12000"}}).is(303)
	w.send("/forecast/1/outcome", url.Values{"revision": {"0"}, "is": {"yes"}, "well": {w.job(2).WellUID}}).is(303)
	look("/jobs", "/jobs?stage=filed", "/job/1", "/job/2", "/job/2/edit", fmt.Sprintf("/job/new?at=%f%%2C%f", at.Lat, at.Lon))
	// A form that is refused, sent from the browser.
	for _, width := range []int64{360, 1280} {
		if err := chromedp.Do(ctx, chromedp.EmulateViewport(width, 900), chromedp.Navigate(s.URL+"/job/new?theme=light"), chromedp.SetValue(chromedp.CSS("#j-quote-mid"), "twelve thousand"),
			chromedp.SetValue(chromedp.CSS("#j-at"), "behind the barn"), chromedp.Focus(chromedp.CSS("#j-label")), chromedp.KeyEvent(kb.Enter), chromedp.WaitVisible(chromedp.CSS("#j-quote-mid-fault"))); err != nil {
			t.Fatal(err)
		}
		if on := evaluate[string](t, ctx, `document.activeElement.id`); on != "j-at" {
			t.Errorf("the keyboard is at %q, not at the first fault", on)
		}
		measureAt(fmt.Sprintf("a refused form at %d px", width), width)
	}
	for _, line := range said() {
		if line != "Failed to load resource: the server responded with a status of 422 (Unprocessable Entity) "+s.URL+"/job/new" {
			t.Errorf("the console said: %s", line)
		}
	}
}

// By the keyboard alone: from a scouting to a job, through two stages, and
// back by undo.
func TestJobJourneyByKeyboard(t *testing.T) {
	ctx, said := browser(t)
	w := newRecordWorld(t)
	w.inventOffice()
	s := httptest.NewServer(w.handler)
	defer s.Close()
	do := func(actions ...chromedp.Action[chromedp.Void]) {
		t.Helper()
		if err := act(ctx, actions...); err != nil {
			t.Fatal(err)
		}
	}
	at := w.place()
	do(chromedp.EmulateViewport(1280, 900), chromedp.Navigate(fmt.Sprintf("%s/scout?at=%f,%f", s.URL, at.Lat, at.Lon)),
		chromedp.Focus(chromedp.CSS(`a[href^="/job/new"]`)), chromedp.KeyEvent(kb.Enter), chromedp.WaitVisible(chromedp.CSS("#j-label")))
	if quoted := evaluate[string](t, ctx, `document.querySelector("#j-quote-low").value`); quoted == "" {
		t.Error("no sum is filled in")
	}
	do(chromedp.Focus(chromedp.CSS("#j-label")), chromedp.KeyEvent("By keyboard"+kb.Enter), chromedp.WaitVisible(chromedp.CSS(".said")))
	stage := func() string {
		t.Helper()
		return evaluate[string](t, ctx, `document.querySelector(".stages .now .word").textContent`)
	}
	if got := stage(); got != records.JobScouted {
		t.Errorf("opened at %s", got)
	}
	reached := func(n int) chromedp.Action[chromedp.Void] { // the page that says so has come
		return chromedp.WaitVisible(chromedp.CSS(fmt.Sprintf(".stages li.now:nth-child(%d)", n)))
	}
	for i, want := range []string{records.JobQuoted, records.JobScheduled} {
		do(chromedp.Focus(chromedp.CSS(".move button.main")), chromedp.KeyEvent(kb.Enter), reached(3+i))
		if got := stage(); got != want {
			t.Errorf("moved to %s, want %s", got, want)
		}
	}
	do(chromedp.Focus(chromedp.CSS(".said button")), chromedp.KeyEvent(kb.Enter), reached(3))
	if got := stage(); got != records.JobQuoted {
		t.Errorf("after undo it is %s", got)
	}
	// From the list, with one press, and back again.
	do(chromedp.Navigate(s.URL+"/jobs"), chromedp.Focus(chromedp.CSS(".joblist .step button")), chromedp.KeyEvent(kb.Enter), chromedp.WaitVisible(chromedp.CSS(".said")))
	if where := evaluate[string](t, ctx, `location.pathname + " " + document.querySelector(".said").textContent.trim().slice(0, 11)`); where != "/jobs By keyboard" {
		t.Errorf("moved from the list, and at %q", where)
	}
	if j := w.job(1); j.Stage != records.JobScheduled || j.Revision != 5 {
		t.Errorf("moved to %s, revision %d", j.Stage, j.Revision)
	}
	do(chromedp.Focus(chromedp.CSS(".said button")), chromedp.KeyEvent(kb.Enter), chromedp.WaitVisible(chromedp.CSS(".stages")))
	if j := w.job(1); j.Stage != records.JobQuoted {
		t.Errorf("after undo it is %s", j.Stage)
	}
	for _, line := range said() {
		t.Errorf("the console said: %s", line)
	}
}
