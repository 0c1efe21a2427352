//go:build judges

package server_test

import (
	"context"
	"fmt"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"tallybook/records/desk"
)

// until waits until a script says yes.
func until(t *testing.T, ctx context.Context, what, script string) {
	t.Helper()
	for range 200 {
		if evaluate[bool](t, ctx, "(() => { try { return !!("+script+"); } catch { return false; } })()") {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	t.Fatalf("after ten seconds still not: %s\n%s", what, evaluate[string](t, ctx, `location.href + " " + document.activeElement?.id + " " + document.querySelector("main").innerText.slice(0, 1200) + document.querySelector("[data-column]")?.innerHTML.slice(0, 300)`))
}

// Two clerks at one record in two browsers. The first types a log of ten strata
// by the keyboard alone, the second changes the same record meanwhile; neither
// loses a word. What is typed is judged, drawn and kept while it is typed.
func TestEditJourneyOfTwoClerks(t *testing.T) {
	w := newRecordWorld(t)
	s := httptest.NewServer(w.handler)
	defer s.Close()
	one, saidOne := browser(t)
	two, saidTwo := browser(t)
	do := func(ctx context.Context, actions ...chromedp.Action[chromedp.Void]) {
		t.Helper()
		if err := act(ctx, actions...); err != nil {
			t.Fatal(err)
		}
	}
	path := fmt.Sprintf("%s/well/%d/edit", s.URL, w.empty.ID)
	do(one, chromedp.EmulateViewport(1280, 900), chromedp.Navigate(path))
	do(two, chromedp.EmulateViewport(390, 844), chromedp.Navigate(path))

	// By the keyboard alone: Tab within a row, Enter to the next, whose top is
	// the bottom above.
	log := []struct{ bottom, words string }{{"4", "loam"}, {"12", "brn clay w/ cobbles"}, {"40", "hardpan"}, {"52", "rotten ledge"}, {"88", "gry gneiss"}, {"89", "soft seam"}, {"140", "gry gneiss, hard"}, {"141'6\"", "quartz vein"}, {"210", "blk & white gneiss"}, {"305", "gneiss"}}
	do(one, chromedp.Focus(chromedp.CSS("#e-number")), chromedp.KeyEvent("B-7"), chromedp.Focus(chromedp.CSS("#e-strata-0-top")), chromedp.KeyEvent("0"+kb.Tab))
	for _, x := range log {
		do(one, chromedp.KeyEvent(x.bottom+kb.Tab+x.words+kb.Enter))
	}
	until(t, one, "the log is drawn", `document.querySelector("[data-column] svg").textContent.includes("hardpan")`)
	until(t, one, "a draft is kept", `document.querySelector("[data-state]").textContent.startsWith("draft kept") && location.search.startsWith("?draft=")`)
	// A fault is told beside its field and goes when it is mended.
	do(one, chromedp.Focus(chromedp.CSS("#e-total_depth")), chromedp.KeyEvent("deep"))
	until(t, one, "a fault is told", `document.querySelector('[data-field="total_depth"] .fault') && document.querySelector("#e-total_depth").getAttribute("aria-invalid") === "true"`)
	do(one, chromedp.KeyEvent(strings.Repeat(kb.Backspace, 4)+"305"))
	until(t, one, "the fault is gone", `!document.querySelector('[data-field="total_depth"] .fault')`)
	// A row is moved and put back, one taken out and brought back.
	words := `[...document.querySelectorAll('[data-list="strata"] [name$=".description"]')].map((f) => f.value).filter(Boolean).join("|")`
	typed := evaluate[string](t, one, words)
	do(one, chromedp.Focus(chromedp.CSS("#e-strata-3-description")))
	do(one, chromedp.KeyEvent(kb.ArrowUp, chromedp.KeyModifiers(1)))
	if moved := evaluate[string](t, one, words); moved == typed {
		t.Error("a row did not move")
	}
	do(one, chromedp.KeyEvent("z", chromedp.KeyModifiers(2)))
	do(one, chromedp.KeyEvent(kb.Delete, chromedp.KeyModifiers(2)))
	if out := evaluate[string](t, one, words); strings.Count(out, "|") != len(log)-2 {
		t.Errorf("one taken out: %s", out)
	}
	do(one, chromedp.KeyEvent("z", chromedp.KeyModifiers(2)))
	if again := evaluate[string](t, one, words); again != typed {
		t.Errorf("moved, taken out, and both undone: %s, not %s", again, typed)
	}

	// The second clerk, on a phone, saves first.
	do(two, chromedp.Focus(chromedp.CSS("#e-number")), chromedp.KeyEvent("B-8"), chromedp.Focus(chromedp.CSS("#e-crew-driller")), chromedp.KeyEvent("Invented Driller"),
		chromedp.Focus(chromedp.CSS("#e-crew-driller")), chromedp.KeyEvent(kb.Enter, chromedp.KeyModifiers(2)), chromedp.WaitVisible(chromedp.CSS(".said")))
	// The first meets it, chooses, and saves both.
	do(one, chromedp.Focus(chromedp.CSS("#e-remarks")), chromedp.KeyEvent("typed from paper"), chromedp.KeyEvent(kb.Enter, chromedp.KeyModifiers(2)), chromedp.WaitVisible(chromedp.CSS(".meet")))
	do(one, chromedp.Focus(chromedp.CSS(`input[name="~choose:number"][value="ours"]`)), chromedp.KeyEvent(" "), chromedp.Focus(chromedp.CSS(`button[value="save"]`)), chromedp.KeyEvent(kb.Enter), chromedp.WaitVisible(chromedp.CSS(".said")))
	x := w.well(w.empty.ID)
	if x.Number != "B-7" || x.Crew.Driller != "Invented Driller" || x.Remarks != "typed from paper" || x.TotalDepth.Given.Text != "305" || len(x.Strata) != len(log) {
		t.Fatalf("both together: %+v", x)
	}
	for i, want := range log {
		st := &x.Strata[i]
		if st.Description != want.words || st.Bottom.Given.Text != want.bottom || i > 0 && st.Top.Value != x.Strata[i-1].Bottom.Value {
			t.Errorf("stratum %d is %q from %q to %q", i+1, st.Description, st.Top.Given.Text, st.Bottom.Given.Text)
		}
	}
	if drafts, err := w.desk.Drafts(t.Context(), desk.LocalPerson()); err != nil || len(drafts) != 0 {
		t.Errorf("%d drafts were left: %v", len(drafts), err)
	}
	for _, said := range [][]string{saidOne(), saidTwo()} {
		for _, line := range said {
			if !strings.Contains(line, "409") { // a conflict is told with its own status
				t.Errorf("the console said: %s", line)
			}
		}
	}
}

// measureFields measures what is hit: the fields themselves, not their names.
var measureFields = strings.Replace(measure, "main label, ", `main input:not([type=hidden], [type=checkbox], .hidden), main select, `, 1)

// The form on a phone and on a wide window, light and dark: nothing runs out of
// the window, targets are large enough, text stands out.
func TestEditPagesInABrowser(t *testing.T) {
	ctx, said := browser(t)
	w := newRecordWorld(t)
	s := httptest.NewServer(w.handler)
	defer s.Close()
	form := formIn(w.get(fmt.Sprintf("/well/%d/edit", w.full.ID)))
	w.send(fmt.Sprintf("/well/%d/edit", w.full.ID), with(form, "do", "keep")).is(303)
	for _, width := range []int64{360, 1280} {
		for _, theme := range []string{"light", "dark"} {
			for _, path := range []string{"/well/new", fmt.Sprintf("/well/%d/edit", w.full.ID), "/drafts"} {
				if err := chromedp.Do(ctx, chromedp.EmulateViewport(width, 900), chromedp.Navigate(s.URL+path+"?theme="+theme)); err != nil {
					t.Fatal(err)
				}
				m := evaluate[measured](t, ctx, measureFields)
				at := fmt.Sprintf("%s at %d px, %s", path, width, theme)
				if m.Wide > float64(width) {
					t.Errorf("%s is %v px wide", at, m.Wide)
				}
				for what, found := range map[string][]string{"too small to hit": m.Small, "runs out of the window": m.Beyond, "is pale": notOnButtons(m.Pale)} {
					if len(found) > 0 {
						t.Errorf("%s: %s: %q", at, what, found[:min(len(found), 8)])
					}
				}
			}
		}
	}
	// A log pasted into a row becomes rows, cells of a spreadsheet behind them;
	// a click on the map is the place.
	paste := func(id, text string) {
		t.Helper()
		evaluate[bool](t, ctx, fmt.Sprintf(`(() => { const d = new DataTransfer(); d.setData("text/plain", %q); const f = document.querySelector(%q); f.focus(); return !f.dispatchEvent(new ClipboardEvent("paste", {clipboardData: d, bubbles: true, cancelable: true})); })()`, text, id))
	}
	if err := chromedp.Do(ctx, chromedp.Navigate(s.URL+"/well/new")); err != nil {
		t.Fatal(err)
	}
	words := `[...document.querySelectorAll('[data-list="strata"] [name$=".description"]')].map((f) => f.value).filter(Boolean).join("|")`
	paste("#e-strata-0-top", "0-12 brn clay; 12-40 hardpan, wtr @ 30 2 gpm; 40-305 gry gneiss")
	until(t, ctx, "the log is in rows", words+` === "brn clay|hardpan, wtr @ 30 2 gpm|gry gneiss" && document.querySelector('[name="strikes[0].depth"]').value === "30"`)
	paste("#e-strata-3-top", "305\t310\tquartz\n310\t400\tgneiss")
	until(t, ctx, "the cells are in rows", words+` === "brn clay|hardpan, wtr @ 30 2 gpm|gry gneiss|quartz|gneiss" && document.querySelector('[name="strata[4].bottom"]').value === "400" && document.querySelector("#e-strata-4-bottom")`)
	paste("#e-strata-1-description", "hard, 3 to 5 in, broken") // words of one row
	if err := chromedp.Do(ctx, chromedp.Click(chromedp.CSS("[data-map-of-place]"))); err != nil {
		t.Fatal(err)
	}
	until(t, ctx, "the place is on the map", `document.querySelector("[data-map-of-place]").src.includes("at=") && document.querySelector("#e-coordinates_given").value.includes(",")`)
	for _, line := range said() {
		t.Errorf("the console said: %s", line)
	}
}

// notOnButtons leaves out the words of the filled button, which stand on its
// colour and not on paper.
func notOnButtons(pale []string) []string {
	var out []string
	for _, t := range pale {
		if !strings.HasPrefix(t, "Save ") {
			out = append(out, t)
		}
	}
	return out
}
