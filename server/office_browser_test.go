//go:build judges

package server_test

import (
	"fmt"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"tallybook/records"
	"tallybook/records/desk"
)

// The pages of the office on a phone and on a wide window, light and dark, empty
// and filled and with faults: nothing runs out of the window, targets are large
// enough, text stands out (WCAG 2.2, success criterion 1.4.3, contrast 4.5:1).
func TestOfficePagesInABrowser(t *testing.T) {
	ctx, said := browser(t)
	w := newRecordWorld(t)
	s := httptest.NewServer(w.handler)
	defer s.Close()
	look := func(state string, paths ...string) {
		for _, width := range []int64{360, 1280} {
			for _, theme := range []string{"light", "dark"} {
				for _, path := range paths {
					join := "?"
					if strings.Contains(path, "?") {
						join = "&"
					}
					if err := chromedp.Do(ctx, chromedp.EmulateViewport(width, 900), chromedp.Navigate(s.URL+path+join+"theme="+theme)); err != nil {
						t.Fatal(err)
					}
					m := evaluate[measured](t, ctx, measure)
					at := fmt.Sprintf("%s, %s, at %d px, %s", path, state, width, theme)
					if m.Wide > float64(width) {
						t.Errorf("%s is %v px wide", at, m.Wide)
					}
					// Words on a filled button stand on its colour and not on paper.
					m.Pale = slices.DeleteFunc(m.Pale, func(t string) bool { return strings.HasPrefix(t, "Save ") })
					for what, found := range map[string][]string{"too small to hit": m.Small, "runs out of the window": m.Beyond, "is pale": m.Pale} {
						if len(found) > 0 {
							t.Errorf("%s: %s: %q", at, what, found[:min(len(found), 6)])
						}
					}
				}
			}
		}
	}
	pages := []string{"/office", "/office/rates", "/office/practice", "/office/rules", "/office/copies"}
	look("empty", pages...)
	w.inventOffice()
	look("filled", append(pages, "/office/rates?from=example")...)
	v := records.SettingValue{Name: desk.SettingRates, Revision: 1, Value: `{"units":"us","currency":"dollars","mobilisation_cents":"ten","drilling":[{"ground":"rock","from_ft":9,"to_ft":3,"cents_per_ft":100},{"ground":"lava"}],"fuel":3}`}
	if err := w.desk.SaveSetting(t.Context(), desk.LocalPerson(), &v, "a longer reason than anybody gives, to see whether it still fits a phone's window"); err != nil {
		t.Fatal(err)
	}
	look("with faults", pages[:2]...)
	for _, line := range said() {
		t.Errorf("the console said: %s", line)
	}
}

// From a scouting to the rates and back, by the keyboard alone: a price is
// changed, the scouting's cost changes with it, and undo brings it back.
func TestOfficeJourneyByKeyboard(t *testing.T) {
	ctx, said := browser(t)
	w := newRecordWorld(t)
	w.inventOffice()
	s := httptest.NewServer(w.handler)
	defer s.Close()
	sheet, err := w.desk.Well(t.Context(), desk.LocalPerson(), w.first)
	if err != nil {
		t.Fatal(err)
	}
	scouting := fmt.Sprintf("/scout?at=%f,%f", sheet.Well.Place.Lat, sheet.Well.Place.Lon)
	do := func(actions ...chromedp.Action[chromedp.Void]) {
		t.Helper()
		if err := act(ctx, actions...); err != nil {
			t.Fatal(err)
		}
	}
	cost := func() string {
		t.Helper()
		return evaluate[string](t, ctx, `[...document.querySelectorAll(".outcome")].find((o) => o.textContent.includes("Cost at your rates"))?.textContent ?? ""`)
	}
	do(chromedp.EmulateViewport(1280, 900), chromedp.Navigate(s.URL+scouting))
	before := cost()
	if before == "" {
		t.Fatal("the scouting says no cost")
	}
	do(chromedp.Navigate(s.URL + "/office/rates?back=" + url.QueryEscape(scouting)))
	evaluate[bool](t, ctx, `(() => { const f = document.querySelector("#f-mobilisation_cents"); f.focus(); f.select(); return true; })()`)
	do(chromedp.KeyEvent("51,000.50"+kb.Enter), chromedp.WaitVisible(chromedp.CSS(".said")))
	if at := evaluate[string](t, ctx, `location.pathname + location.search`); at != scouting {
		t.Errorf("saved and sent to %s", at)
	}
	if after := cost(); after == before || after == "" {
		t.Errorf("the cost is %q after the change", after)
	}
	do(chromedp.Focus(chromedp.CSS(".said button")), chromedp.KeyEvent(kb.Enter), chromedp.WaitVisible(chromedp.CSS(`.said form[action*="revision=2"]`)))
	if k := w.rates(); k.Value.Mobilisation.Cents != 100000 {
		t.Errorf("after undo mobilisation is %d cents", k.Value.Mobilisation.Cents)
	}
	if again := cost(); again != before {
		t.Errorf("after undo the scouting says %q, not %q", again, before)
	}
	// A row is added where the keyboard is, and nothing is saved by it.
	do(chromedp.Navigate(s.URL+"/office/rates"), chromedp.Focus(chromedp.CSS(`button[value="row:drilling"]`)), chromedp.KeyEvent(kb.Enter), chromedp.WaitReady(chromedp.CSS("#f-drilling-6-ground")))
	if on := evaluate[string](t, ctx, `document.activeElement.id`); on != "f-drilling-6-ground" {
		t.Errorf("the keyboard is at %q after a row was added", on)
	}
	if k := w.rates(); len(k.Value.Drilling) != 5 {
		t.Errorf("%d steps are kept", len(k.Value.Drilling))
	}
	for _, line := range said() {
		t.Errorf("the console said: %s", line)
	}
}
