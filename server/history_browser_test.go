//go:build judges

package server_test

import (
	"fmt"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"tallybook/records/desk"
)

// The pages of history, merging and duplicates on a phone and on a wide window,
// light and dark: nothing runs out of the window, targets are large enough,
// text stands out (WCAG 2.2, success criteria 1.4.3 and 2.5.8).
func TestHistoryPagesInABrowser(t *testing.T) {
	ctx, said := browser(t)
	w := newRecordWorld(t)
	w.twins()
	if err := w.desk.Remove(t.Context(), desk.LocalPerson(), w.hostile.ID, w.hostile.Revision, "a longer reason than anybody gives, to see whether it still fits a phone's window"); err != nil {
		t.Fatal(err)
	}
	s := httptest.NewServer(w.handler)
	defer s.Close()
	pairs := pairsIn(w.get("/duplicates"))
	merge := strings.Replace(pairs[0], "/duplicates/pair", "/merge", 1)
	for _, path := range []string{
		"/duplicates", "/duplicates?show=decided", pairs[0], pairs[len(pairs)-1], merge, merge + "&as=works", merge + "&as=twin",
		fmt.Sprintf("/well/%d/history", w.full.ID), fmt.Sprintf("/well/%d/history", w.hostile.ID), "/records/out",
	} {
		for _, width := range []int64{360, 1280} {
			for _, theme := range []string{"light", "dark"} {
				join := "?"
				if strings.Contains(path, "?") {
					join = "&"
				}
				if err := chromedp.Do(ctx, chromedp.EmulateViewport(width, 900), chromedp.Navigate(s.URL+path+join+"theme="+theme)); err != nil {
					t.Fatal(err)
				}
				m := evaluate[measured](t, ctx, measure)
				at := fmt.Sprintf("%s at %d px, %s", path, width, theme)
				if m.Wide > float64(width) {
					t.Errorf("%s is %v px wide", at, m.Wide)
				}
				// Words on a filled button stand on its colour and not on paper.
				m.Pale = slices.DeleteFunc(m.Pale, func(t string) bool {
					return strings.HasPrefix(t, "Merge the") || strings.HasPrefix(t, "Bring it") || strings.HasPrefix(t, "Decide one") || strings.HasPrefix(t, "Take ")
				})
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

// By the keyboard alone: a pair is opened from the list, merged with what is
// chosen, split again by undo, said to be two wells; then an earlier state of
// the record is restored, and that is undone.
func TestMergeJourneyByKeyboard(t *testing.T) {
	ctx, said := browser(t)
	w := newRecordWorld(t)
	w.twins()
	s := httptest.NewServer(w.handler)
	defer s.Close()
	do := func(actions ...chromedp.Action[chromedp.Void]) {
		t.Helper()
		if err := act(ctx, actions...); err != nil {
			t.Fatal(err)
		}
	}
	says := func() string {
		t.Helper()
		return evaluate[string](t, ctx, `document.querySelector(".said")?.textContent ?? ""`)
	}
	press := func(selector string) {
		t.Helper()
		do(chromedp.Focus(chromedp.CSS(selector)), chromedp.KeyEvent(kb.Enter))
	}
	do(chromedp.EmulateViewport(1280, 900), chromedp.Navigate(s.URL+"/duplicates"))
	press("a.button.main")
	do(chromedp.WaitVisible(chromedp.CSS(".verdicts")))
	// A key that is typed into a field is a letter and nothing else.
	do(chromedp.Focus(chromedp.CSS("#why")), chromedp.KeyEvent("dmn"))
	if v := evaluate[string](t, ctx, `document.querySelector("#why").value + location.pathname`); v != "dmn/duplicates/pair" {
		t.Fatalf("typed into the field: %q", v)
	}
	evaluate[bool](t, ctx, `(() => { document.querySelector("#why").value = ""; document.activeElement.blur(); return true; })()`)
	do(chromedp.KeyEvent("m"), chromedp.WaitVisible(chromedp.CSS(".merge .save")))
	keep, out := evaluate[int64](t, ctx, `+document.querySelector("input[name=a]").value`), evaluate[int64](t, ctx, `+document.querySelector("input[name=b]").value`)
	// Each matter that is open: the arrow and space keys choose the second record's word.
	for range 20 {
		next := evaluate[string](t, ctx, `(() => { for (const f of document.querySelectorAll("#choose fieldset")) if (!f.querySelector(":checked")) { f.querySelector("input[value=b]").id ||= "x" + f.id; return "#" + f.querySelector("input[value=b]").id; } return ""; })()`)
		if next == "" {
			break
		}
		do(chromedp.Focus(chromedp.CSS(next)), chromedp.KeyEvent(" "))
	}
	press(".merge .save")
	do(chromedp.WaitVisible(chromedp.CSS(".said")))
	if got := says(); !strings.Contains(got, "is kept") {
		t.Fatalf("after merging: %q, at %s", got, evaluate[string](t, ctx, `location.href + document.querySelector(".alert")?.textContent`))
	}
	if id, err := w.desk.WhereTo(t.Context(), desk.LocalPerson(), out); err != nil || id != keep {
		t.Errorf("the record that was taken out leads to %d, %v", id, err)
	}
	press(".said button")
	do(chromedp.WaitVisible(chromedp.CSS(`.said form[action*="/again"]`)), chromedp.WaitVisible(chromedp.CSS(".verdicts")))
	if got := says(); !strings.Contains(got, "a record of its own again") {
		t.Errorf("after undo: %q", got)
	}
	do(chromedp.KeyEvent("d"), chromedp.WaitVisible(chromedp.CSS(`.said form[action*="/duplicates/undo"]`)))
	if l, err := w.desk.Pairs(t.Context(), desk.LocalPerson(), desk.PairsDecided, 0); err != nil || l.Decided != 1 {
		t.Errorf("decided by a key: %+v, %v", l, err)
	}
	// The record as it was before the clerk's change, and back.
	do(chromedp.Navigate(fmt.Sprintf("%s/well/%d/history", s.URL, w.full.ID)))
	before := evaluate[int](t, ctx, `document.querySelectorAll("ol.states > li").length`)
	current := evaluate[int](t, ctx, `+document.querySelector(".states form").getAttribute("action").match(/current=(\d+)/)[1]`)
	press(`.states form[action*="revision=1&"] button`)
	do(chromedp.WaitVisible(chromedp.CSS(".said")))
	if got := says(); !strings.Contains(got, "as it was at revision 1") {
		t.Errorf("after restoring: %q", got)
	}
	press(".said button")
	do(chromedp.WaitVisible(chromedp.CSS(fmt.Sprintf(`.said form[action$="current=%d"]`, current+2))))
	if now := evaluate[int](t, ctx, `document.querySelectorAll("ol.states > li").length`); now != before+2 {
		t.Errorf("%d states, want %d", now, before+2)
	}
	for _, line := range said() {
		t.Errorf("the console said: %s", line)
	}
}
