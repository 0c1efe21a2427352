//go:build judges

package server_test

import (
	"net/http/httptest"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// From a question to a kept review, its report and its withdrawal, by the
// keyboard alone; on a phone nothing reaches over the edge.
func TestReviewJourneyByKeyboard(t *testing.T) {
	ctx, said := browser(t)
	_, h := scoutWorld(t, changed(160, nil))
	s := httptest.NewServer(h)
	defer s.Close()
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(1280, 900), chromedp.Navigate(s.URL+"/review?field=yield&from=1980")); err != nil {
		t.Fatal(err)
	}
	shows(t, ctx, "How much do neighbours differ?")
	tabTo(t, ctx, `.keep input[name="title"]`)
	if err := act(ctx, chromedp.KeyEvent("North half")); err != nil {
		t.Fatal(err)
	}
	pressed(t, ctx, kb.Enter, "Kept as it stands")
	shows(t, ctx, "The records are the same as then.")
	tabTo(t, ctx, `a[href="/review/1/report"]`)
	pressed(t, ctx, kb.Enter, "To repeat it")
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(390, 800), chromedp.Navigate(s.URL+"/review/1")); err != nil {
		t.Fatal(err)
	}
	shows(t, ctx, "The records are the same as then.")
	if wide := evaluate[int](t, ctx, `document.documentElement.scrollWidth`); wide > 390 {
		t.Errorf("on a phone the page is %d wide", wide)
	}
	if n := evaluate[int](t, ctx, `[...document.querySelectorAll("main a, main button, main summary")].filter(e => e.offsetParent && e.getBoundingClientRect().height < 44 && !e.closest("svg")).length`); n > 0 {
		t.Errorf("%d targets are too small for a thumb: %v", n, evaluate[[]string](t, ctx, `[...document.querySelectorAll("main a, main button, main summary")].filter(e => e.offsetParent && e.getBoundingClientRect().height < 44 && !e.closest("svg")).map(e => e.textContent).slice(0, 6)`))
	}
	tabTo(t, ctx, `form[action="/review/1/withdraw"] button`)
	pressed(t, ctx, kb.Enter, "Withdrawn. It stays as it was, and is marked.")
	tabTo(t, ctx, ".said button")
	pressed(t, ctx, kb.Enter, "It stands again.")
	for _, line := range said() {
		t.Errorf("the console said: %s", line)
	}
}
