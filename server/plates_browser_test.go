//go:build judges

package server_test

import (
	"fmt"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"

	cdpbrowser "github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// The pages of the desk on a phone and on a wide window, light and dark: nothing
// runs out of the window, targets are large enough, text stands out.
func TestPlatePagesInABrowser(t *testing.T) {
	ctx, said := browser(t)
	w := newPlateWorld(t)
	s := httptest.NewServer(w.h)
	defer s.Close()
	id := fmt.Sprint(w.swapped[0].ID)
	for _, width := range []int64{360, 1280} {
		for _, theme := range []string{"light", "dark"} {
			for _, path := range []string{"/plates?", "/plates/" + id + "?", fmt.Sprintf("/plates/%d?", w.loose.ID), "/plates/confirm?", "/plates/" + id + "/exchange?with=" + fmt.Sprint(w.swapped[1].ID) + "&", "/plates/new?", "/plates/" + id + "/edit?", "/plates/bring?", "/p?", "/p/40%3F%3F%3F?", "/plate/" + id + "?"} {
				if err := chromedp.Do(ctx, chromedp.EmulateViewport(width, 900), chromedp.Navigate(s.URL+path+"theme="+theme)); err != nil {
					t.Fatal(err)
				}
				m := evaluate[measured](t, ctx, thumb)
				at := fmt.Sprintf("%s at %d px, %s", path, width, theme)
				if m.Wide > float64(width) {
					t.Errorf("%s is %v px wide", at, m.Wide)
				}
				// A box to tick is hit by its label.
				m.Small = slices.DeleteFunc(m.Small, func(s string) bool { return strings.HasPrefix(s, " ") })
				m.Small = append(m.Small, evaluate[[]string](t, ctx, `[...document.querySelectorAll("main input:not([type=hidden])")].filter((e) => e.checkVisibility() && (e.type === "checkbox" ? e.closest("label") : e).getBoundingClientRect().height < 44).map((e) => e.name)`)...)
				for what, found := range map[string][]string{"too small to hit": m.Small, "runs out of the window": m.Beyond, "is pale": m.Pale} {
					if len(found) > 0 {
						t.Errorf("%s: %s: %q", at, what, found[:min(len(found), 6)])
					}
				}
			}
		}
	}
	for _, line := range said() {
		t.Errorf("the console said: %s", line)
	}
}

// A plate is linked by single keys, two are exchanged, and both are undone,
// without a hand on the mouse.
func TestPlateJourneyByKeyboard(t *testing.T) {
	ctx, said := browser(t)
	w := newPlateWorld(t)
	s := httptest.NewServer(w.h)
	defer s.Close()
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(1280, 1000), chromedp.Navigate(s.URL+"/plates")); err != nil {
		t.Fatal(err)
	}
	shot := func(name string) {
		t.Helper()
		keepShot(t, ctx, name)
	}
	tabTo(t, ctx, ".acts a.main")
	pressed(t, ctx, kb.Enter, "Whose is it?")
	shows(t, ctx, "Plate "+w.loose.Number)
	evaluate[bool](t, ctx, `document.querySelector("kbd").hidden === false`)
	if err := act(ctx, chromedp.KeyEvent("w")); err != nil {
		t.Fatal(err)
	}
	shows(t, ctx, "for it,")
	shot("plate-desk")
	// Keys do nothing while somebody types.
	tabTo(t, ctx, "#why")
	if err := act(ctx, chromedp.KeyEvent("all agrees")); err != nil {
		t.Fatal(err)
	}
	if got := evaluate[string](t, ctx, `document.querySelector("#why").value`); got != "all agrees" {
		t.Fatalf("typed %q", got)
	}
	tabTo(t, ctx, `button[value="later"]`)
	pressed(t, ctx, "l", "Plate "+w.loose.Number+" is linked to record "+w.own.Number)
	if w.plate(w.loose.ID).WellID != w.own.ID {
		t.Fatal("the key has not linked it")
	}
	shot("plate-linked")
	pressed(t, ctx, "u", "Undone: the plate is as it was before.")
	if w.plate(w.loose.ID).WellID != 0 {
		t.Error("the key has not undone it")
	}

	// Two that were exchanged.
	if err := chromedp.Do(ctx, chromedp.Navigate(s.URL+"/plates?show=doubtful")); err != nil {
		t.Fatal(err)
	}
	tabTo(t, ctx, ".acts a.main")
	pressed(t, ctx, kb.Enter, "Look at both")
	tabTo(t, ctx, ".alert a")
	pressed(t, ctx, kb.Enter, "is then linked to record")
	shot("plate-exchange")
	tabTo(t, ctx, "form button.main")
	pressed(t, ctx, kb.Enter, "The two plates have exchanged their records.")
	a, b := w.swapped[0], w.swapped[1]
	if w.plate(a.ID).WellID != b.WellID || w.plate(b.ID).WellID != a.WellID {
		t.Error("they are not exchanged")
	}
	tabTo(t, ctx, ".said button")
	pressed(t, ctx, kb.Enter, "as they were before")
	if w.plate(a.ID).WellID != a.WellID {
		t.Error("the exchange is not undone")
	}
	for _, line := range said() {
		t.Errorf("the console said: %s", line)
	}
}

// On a phone beside the well: the number is typed and is not known, what is
// stamped is recorded at the place that the phone tells, and the next time the
// number leads to it. A phone that may not tell says so in words.
func TestPlateReadOnAPhone(t *testing.T) {
	ctx, said := browser(t)
	w := newPlateWorld(t)
	s := httptest.NewServer(w.h)
	defer s.Close()
	lat, lon, accuracy := 44.251234, -38.701234, 7.0
	permit := func(setting cdpbrowser.PermissionSetting) {
		t.Helper()
		if _, err := chromedp.Call(ctx, cdpbrowser.SetPermission, cdpbrowser.SetPermissionParams{Permission: &cdpbrowser.PermissionDescriptor{Name: "geolocation"}, Setting: setting}); err != nil {
			t.Fatal(err)
		}
	}
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(390, 844), chromedp.Navigate(s.URL+"/p")); err != nil {
		t.Fatal(err)
	}
	tabTo(t, ctx, "#number")
	if err := act(ctx, chromedp.KeyEvent("88?1")); err != nil {
		t.Fatal(err)
	}
	pressed(t, ctx, kb.Enter, "Not known: 88?1")
	tabTo(t, ctx, "a.main")
	pressed(t, ctx, kb.Enter, "A plate seen")
	if got := evaluate[string](t, ctx, `document.querySelector("#f-number").value`); got != "88?1" {
		t.Errorf("the number is carried as %q", got)
	}
	tabTo(t, ctx, ".gps")
	permit(cdpbrowser.PermissionSettingDenied)
	pressed(t, ctx, kb.Enter, "The device may not tell where it is")
	permit(cdpbrowser.PermissionSettingGranted)
	if _, err := chromedp.Call(ctx, emulation.SetGeolocationOverride, emulation.SetGeolocationOverrideParams{Latitude: &lat, Longitude: &lon, Accuracy: &accuracy}); err != nil {
		t.Fatal(err)
	}
	if err := act(ctx, chromedp.Focus(chromedp.CSS(".gps"))); err != nil {
		t.Fatal(err)
	}
	pressed(t, ctx, kb.Enter, "Found, good to within 7 m.")
	if got := evaluate[string](t, ctx, `document.querySelector("#f-s0_at").value + "; " + document.querySelector("#f-s0_accuracy").value`); got != "44.251234, -38.701234; 7 m" {
		t.Errorf("the place is %q", got)
	}
	if err := act(ctx, chromedp.Focus(chromedp.CSS("#f-depth")), chromedp.KeyEvent("305")); err != nil {
		t.Fatal(err)
	}
	keepShot(t, ctx, "plate-phone-new")
	pressed(t, ctx, kb.Enter, "Kept: plate 88?1.")
	shows(t, ctx, "305 ft")
	if err := chromedp.Do(ctx, chromedp.Navigate(s.URL+"/p/8871")); err != nil {
		t.Fatal(err)
	}
	shows(t, ctx, "Plate 88?1")
	if !strings.Contains(evaluate[string](t, ctx, "location.pathname"), "/plate/") {
		t.Error("the number does not lead straight to the plate")
	}
	for _, line := range said() {
		if !strings.Contains(line, "404") {
			t.Errorf("the console said: %s", line)
		}
	}
}
