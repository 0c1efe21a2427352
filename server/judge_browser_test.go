//go:build judges

package server_test

import (
	"fmt"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// A log is judged by the keyboard alone: a pick is typed and leads on to the
// next well, which keeps the set; a mark is set and taken back. The pages fit a
// phone, in the light and in the dark.
func TestJudgeByKeyboard(t *testing.T) {
	ctx, said := browser(t)
	w := newRecordWorld(t)
	s := httptest.NewServer(w.handler)
	defer s.Close()
	do := func(actions ...chromedp.Action[chromedp.Void]) {
		t.Helper()
		if err := act(ctx, actions...); err != nil {
			t.Fatal(err)
		}
	}
	well := fmt.Sprintf("/well/%d", w.first)
	do(chromedp.EmulateViewport(1280, 900), chromedp.Navigate(s.URL+well+"/judge"), chromedp.WaitReady(chromedp.CSS(".next")))
	do(chromedp.Focus(chromedp.CSS("#j-set")), chromedp.KeyEvent("keyboard reading"+kb.Tab+kb.Tab+"~44"+kb.Tab+"the ledge is a boulder"+kb.Tab+"Reviewer A"),
		chromedp.Focus(chromedp.CSS(`button[name="then"]`)), chromedp.KeyEvent(kb.Enter), chromedp.WaitReady(chromedp.CSS(".said form button")))
	if got := evaluate[string](t, ctx, `document.querySelector(".said").innerText + location.pathname + document.querySelector("#j-set").value + document.querySelector("#j-by").value`); !strings.Contains(got, "kept in the set") || strings.Contains(got, well+"/") || !strings.Contains(got, "keyboard readingReviewer A") {
		t.Errorf("on the next well it says %q", got)
	}
	do(chromedp.Navigate(s.URL+well+"/judge"), chromedp.WaitReady(chromedp.CSS(".next")), chromedp.Focus(chromedp.CSS(`input[name="about"]`)), chromedp.KeyEvent(" "+kb.Tab+"copied from the next lot"+kb.Tab+kb.Enter), chromedp.WaitReady(chromedp.CSS(".said form button")))
	if got := evaluate[string](t, ctx, `document.querySelector("#unreliable").innerText`); !strings.Contains(got, "copied from the next lot") || !strings.Contains(got, "All of the log") {
		t.Errorf("marked, it says %q", got)
	}
	keepShot(t, ctx, "judge-wide")
	at := url.QueryEscape(fmt.Sprintf("%g,%g", w.full.Place.Lat, w.full.Place.Lon))
	for i, path := range []string{well + "/judge", well, "/inventory?at=" + at + "&radius=1+mi", "/inventory?by=outline", "/unreliable", "/correct?kind=mark_unreliable"} {
		for _, theme := range []string{"light", "dark"} {
			join := "?"
			if strings.Contains(path, "?") {
				join = "&"
			}
			do(chromedp.EmulateViewport(390, 844), chromedp.Navigate(s.URL+path+join+"theme="+theme), chromedp.WaitReady(chromedp.CSS("main")))
			if path != well { // has its own test
				fitsAThumb(t, ctx, path+" "+theme, 390)
			}
			keepShot(t, ctx, fmt.Sprintf("judge-%d-%s", i, theme))
		}
	}
	for _, line := range said() {
		t.Errorf("the console said: %s", line)
	}
}
