//go:build judges

package server_test

import (
	"fmt"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// One driller's name is corrected and taken back by the keyboard alone, and the
// pages of finding and correcting fit a phone.
func TestCorrectByKeyboard(t *testing.T) {
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
	do(chromedp.EmulateViewport(1280, 900), chromedp.Navigate(s.URL+"/correct?kind=text&field=crew.firm"), chromedp.WaitReady(chromedp.CSS("#c-from")))
	do(chromedp.Focus(chromedp.CSS("#c-from")), chromedp.KeyEvent("Plumb Line Wells (invented)"+kb.Tab+"Plumb Wells (invented)"+kb.Enter), chromedp.WaitReady(chromedp.CSS("#c-why")))
	if got := evaluate[string](t, ctx, `document.querySelector(".look").innerText`); !strings.Contains(got, "would change") || !strings.Contains(got, "Plumb Wells") {
		t.Errorf("it shows %q", got)
	}
	keepShot(t, ctx, "correct-look")
	do(chromedp.Focus(chromedp.CSS("#c-why")), chromedp.KeyEvent("they wrote it so"+kb.Tab+kb.Enter), chromedp.WaitReady(chromedp.CSS(".said form button")))
	if got := evaluate[string](t, ctx, `document.querySelector(".said").innerText`); !strings.Contains(got, "corrected") {
		t.Errorf("it says %q", got)
	}
	do(chromedp.Focus(chromedp.CSS(".said form button")), chromedp.KeyEvent(kb.Enter), chromedp.WaitNotPresent(chromedp.CSS(".said form")))
	if got := evaluate[string](t, ctx, `document.querySelector(".said").innerText`); !strings.Contains(got, "Undone") {
		t.Errorf("after undo it says %q", got)
	}
	for i, path := range []string{"/correct", "/correct?kind=text&field=crew.firm&from=*&to=x&filter=total_depth_ft+%3E+200", "/correct?kind=unit&field=total_depth&from=ft&to=m&filter=total_depth_ft+%3E+200+AND+depth+%3E+3", "/find?q=granite", "/find?q=granite&class=void", "/records"} {
		for _, theme := range []string{"light", "dark"} {
			join := "?"
			if strings.Contains(path, "?") {
				join = "&"
			}
			do(chromedp.EmulateViewport(390, 844), chromedp.Navigate(s.URL+path+join+"theme="+theme))
			fitsAThumb(t, ctx, path+" "+theme, 390)
			keepShot(t, ctx, fmt.Sprintf("desk-%d-%s", i, theme))
		}
	}
	for _, line := range said() {
		if !strings.Contains(line, "422") {
			t.Errorf("the console said: %s", line)
		}
	}
}
