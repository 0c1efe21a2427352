//go:build judges

package server_test

import (
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// A section drawn on the map with the keyboard alone: the link, Enter for where
// it begins, the arrows, Enter for where it ends; then its page at a desk and on
// a phone, in both themes, a well left out and put back, and a bend.
func TestSectionDrawnOnTheMap(t *testing.T) {
	ctx, said := browser(t)
	_, h := scoutWorld(t, changed(200, nil))
	s := httptest.NewServer(h)
	defer s.Close()
	do := func(actions ...chromedp.Action[chromedp.Void]) {
		t.Helper()
		if err := act(ctx, actions...); err != nil {
			t.Fatal(err)
		}
	}
	do(chromedp.EmulateViewport(1280, 900), chromedp.Navigate(s.URL+"/?lon=-38.77&lat=44.25&mpp=10&from=1970"), chromedp.WaitReady(chromedp.CSS("[data-section]")))
	do(chromedp.Focus(chromedp.CSS("[data-section]")), chromedp.KeyEvent(kb.Enter), chromedp.WaitReady(chromedp.CSS(".lining")))
	do(chromedp.KeyEvent(kb.Enter), chromedp.WaitReady(chromedp.CSS(`[data-part="track"]`)))
	keepShot(t, ctx, "section-begun")
	if hint := evaluate[string](t, ctx, `document.querySelector("[data-hint]").textContent`); !strings.Contains(hint, "where the line ends") {
		t.Errorf("after its beginning the map says %q", hint)
	}
	do(chromedp.Focus(chromedp.CSS("[data-map]")), chromedp.KeyEvent(kb.ArrowRight+kb.ArrowRight), chromedp.WaitReady(chromedp.CSS(`[data-map]:not(.moving):not(.waiting)`)))
	do(chromedp.Focus(chromedp.CSS("[data-map]")), chromedp.KeyEvent(kb.Enter), chromedp.WaitReady(chromedp.CSS(".log.section svg")))
	q, err := url.ParseQuery(strings.TrimPrefix(evaluate[string](t, ctx, "location.search"), "?"))
	if err != nil {
		t.Fatal(err)
	}
	a, b, ok := strings.Cut(q.Get("line"), ";")
	if !ok || a != "-38.77,44.25" || b == a || q.Get("from") != "1970" {
		t.Errorf("the section's address says %v", q)
	}
	do(chromedp.EmulateViewport(390, 844), chromedp.Navigate(s.URL+"/"), chromedp.WaitReady(chromedp.CSS("[data-section]")))
	keepShot(t, ctx, "section-map-phone")
	if in := evaluate[bool](t, ctx, `(() => { const b = document.querySelector("[data-section]").getBoundingClientRect(); return b.width > 0 && b.left >= 0 && b.right <= innerWidth && b.height >= 40; })()`); !in {
		t.Error("on a phone the way to a section is cut off")
	}
	page := s.URL + "/section?line=-38.80,44.235%3B-38.76,44.25%3B-38.72,44.262&width=3000ft"
	for _, theme := range []string{"light", "dark"} {
		do(chromedp.EmulateViewport(390, 844), chromedp.Navigate(s.URL+"/choose?theme="+theme+"&back="+url.QueryEscape(strings.TrimPrefix(page, s.URL))), chromedp.WaitReady(chromedp.CSS(".log.section svg")))
		fitsAThumb(t, ctx, "the section", 390)
		if scrolls := evaluate[bool](t, ctx, `(() => { const f = document.querySelector(".log.section .screen"); return f.scrollWidth > f.clientWidth + 50 && document.querySelector(".hint").checkVisibility(); })()`); !scrolls {
			t.Error("on a phone the drawing does not scroll in its frame, or does not say so")
		}
		keepShot(t, ctx, "section-phone-"+theme)
		evaluate[bool](t, ctx, `(() => { for (const d of document.querySelectorAll("main details")) d.open = true; return true; })()`)
		fitsAThumb(t, ctx, "the section, all unfolded", 390)
	}
	do(chromedp.EmulateViewport(1280, 900), chromedp.Navigate(page), chromedp.WaitReady(chromedp.CSS(".log.section svg")))
	keepShot(t, ctx, "section-desk-dark")
	const rows = `document.querySelectorAll(".figures-under tbody tr").length`
	before := evaluate[int](t, ctx, rows)
	do(chromedp.Click(chromedp.CSS(".figures-under tbody tr:first-child td:last-child a")), chromedp.WaitReady(chromedp.CSS("main > article > details.fold")))
	if after := evaluate[int](t, ctx, rows); after != before-1 {
		t.Errorf("%d wells after one of %d was left out", after, before)
	}
	do(chromedp.Focus(chromedp.CSS(`button[value="bend"]`)), chromedp.KeyEvent(kb.Enter), chromedp.WaitReady(chromedp.CSS("#place-3")))
	if n := evaluate[int](t, ctx, `document.querySelectorAll("[name=p]").length`); n != 4 {
		t.Errorf("%d places after a bend was added to three", n)
	}
	for _, line := range said() {
		t.Errorf("the console said: %s", line)
	}
}
