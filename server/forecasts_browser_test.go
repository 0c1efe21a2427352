//go:build judges

package server_test

import (
	"context"
	"fmt"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// tabTo presses the tab key until the wanted element has the focus.
func tabTo(t *testing.T, ctx context.Context, selector string) {
	t.Helper()
	for range 120 {
		if err := act(ctx, chromedp.KeyEvent(kb.Tab)); err != nil {
			t.Fatal(err)
		}
		if evaluate[bool](t, ctx, fmt.Sprintf(`document.activeElement.matches(%q)`, selector)) {
			return
		}
	}
	t.Fatalf("the tab key does not come to %s on %s", selector, evaluate[string](t, ctx, "location.href"))
}

// pressed presses a key and waits until the page that follows has words.
func pressed(t *testing.T, ctx context.Context, key, words string) {
	t.Helper()
	if err := act(ctx, chromedp.KeyEvent(key)); err != nil {
		t.Fatal(err)
	}
	shows(t, ctx, words)
}

func shows(t *testing.T, ctx context.Context, words string) {
	t.Helper()
	for end := time.Now().Add(20 * time.Second); ; time.Sleep(50 * time.Millisecond) {
		text, err := chromedp.Run(ctx, chromedp.Evaluate[string](`document.readyState === "complete" ? document.body.innerText : ""`))
		if err == nil && strings.Contains(text, words) {
			return
		}
		if time.Now().After(end) {
			t.Fatalf("the page does not come to say %q (%v):\n%.600s", words, err, text)
		}
	}
}

// From keeping a forecast to its score and back, by the keyboard alone.
func TestForecastJourneyByKeyboard(t *testing.T) {
	ctx, said := browser(t)
	d, h := scoutWorld(t, changed(120, nil))
	s := httptest.NewServer(h)
	defer s.Close()
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(1280, 900), chromedp.Navigate(s.URL+"/scout?at="+spot)); err != nil {
		t.Fatal(err)
	}
	tabTo(t, ctx, "#k-label")
	if err := act(ctx, chromedp.KeyEvent("Upper pasture")); err != nil {
		t.Fatal(err)
	}
	pressed(t, ctx, kb.Enter, "Kept as a forecast “Upper pasture”")
	well := drilledAt(t, d, "NEW-1", 34, "2026-11-25")
	drilledAt(t, d, "NEW-2", 90, "2026-11-25")
	tabTo(t, ctx, `a[href="/forecasts"]`)
	pressed(t, ctx, kb.Enter, "Near 1 forecast a well was drilled since")
	tabTo(t, ctx, `button[aria-label="No, NEW-2 is another well"]`)
	pressed(t, ctx, kb.Enter, "NEW-2 is not the outcome")
	tabTo(t, ctx, `.kept td:first-child a`)
	pressed(t, ctx, kb.Enter, "What was decided")
	tabTo(t, ctx, "#c-number")
	if err := act(ctx, chromedp.KeyEvent("new-1")); err != nil {
		t.Fatal(err)
	}
	pressed(t, ctx, kb.Enter, "NEW-1 is linked")
	shows(t, ctx, "ranges held")
	if got, want := evaluate[string](t, ctx, `document.querySelector(".lead a").getAttribute("href")`), fmt.Sprintf("/well/%d", well.ID); got != want {
		t.Errorf("what came leads to %s, want %s", got, want)
	}
	tabTo(t, ctx, ".said button")
	pressed(t, ctx, kb.Enter, "Undone.")
	shows(t, ctx, "Is this it?")
	for _, line := range said() {
		t.Errorf("the console said: %s", line)
	}
}

// The score of the past comes by itself while the page is open.
func TestPastComesByItself(t *testing.T) {
	ctx, said := browser(t)
	_, h := scoutWorld(t, changed(260, nil))
	s := httptest.NewServer(h)
	defer s.Close()
	if err := chromedp.Do(ctx, chromedp.Navigate(s.URL+"/forecasts?field=total_depth")); err != nil {
		t.Fatal(err)
	}
	shows(t, ctx, "8-in-10 ranges of total depth held")
	for end := time.Now().Add(30 * time.Second); evaluate[bool](t, ctx, `!!document.querySelector("[data-working]")`); time.Sleep(200 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatal("the page still says that it is being worked")
		}
	}
	if n := evaluate[int](t, ctx, `document.querySelectorAll(".scorechart svg").length`); n != 4 {
		t.Errorf("%d charts, want 4", n)
	}
	for _, line := range said() {
		t.Errorf("the console said: %s", line)
	}
}

// On a phone and on a wide window, light and dark: see
// TestRecordPagesInABrowser. On paper no control is left.
func TestForecastPagesInABrowser(t *testing.T) {
	ctx, said := browser(t)
	d, h := scoutWorld(t, changed(260, nil))
	s := httptest.NewServer(h)
	defer s.Close()
	id := keepSpot(t, h, "upper pasture")
	other := keepSpot(t, h, attack)
	w := drilledAt(t, d, "NEW-1", 34, "2026-11-25")
	next(t, h, sent(t, h, forecastAt(id)+"/outcome", map[string][]string{"revision": {"0"}, "well": {w.UID}}))
	pastReady(t, h, "/forecasts")
	for _, size := range [][2]int64{{360, 740}, {1280, 900}} {
		for _, theme := range []string{"light", "dark"} {
			for _, path := range []string{"/forecasts?theme=", "/forecasts?field=yield&theme=", forecastAt(id) + "?theme=", forecastAt(other) + "?theme=", "/scout?at=" + spot + "&theme="} {
				if err := chromedp.Do(ctx, chromedp.EmulateViewport(size[0], size[1]), chromedp.Navigate(s.URL+path+theme)); err != nil {
					t.Fatal(err)
				}
				m := evaluate[measured](t, ctx, measure)
				at := fmt.Sprintf("%s at %d px, %s", path, size[0], theme)
				if m.Wide > float64(size[0]) {
					t.Errorf("%s is %v px wide", at, m.Wide)
				}
				if strings.HasPrefix(path, "/scout") {
					continue // its own test measures the rest
				}
				for what, found := range map[string][]string{"too small to hit": m.Small, "runs out of the window": m.Beyond, "is pale": m.Pale} {
					if len(found) > 0 {
						t.Errorf("%s: %s: %q", at, what, found[:min(len(found), 6)])
					}
				}
			}
		}
	}
	media(t, ctx, emulation.SetEmulatedMediaParams{Media: "print"})
	for _, path := range []string{"/forecasts", forecastAt(id)} {
		if err := chromedp.Do(ctx, chromedp.Navigate(s.URL+path)); err != nil {
			t.Fatal(err)
		}
		if n := evaluate[int](t, ctx, `[...document.querySelectorAll("main button, main input, main progress")].filter((e) => e.checkVisibility()).length`); n != 0 {
			t.Errorf("%s: %d controls are printed", path, n)
		}
	}
	for _, line := range said() {
		t.Errorf("the console said: %s", line)
	}
}
