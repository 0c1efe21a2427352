//go:build judges

package server_test

import (
	"context"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// keepShot writes what the window shows beside the others where somebody
// wants to look at it (TALLYBOOK_SHOTS names a folder).
func keepShot(t *testing.T, ctx context.Context, name string) {
	t.Helper()
	dir := os.Getenv("TALLYBOOK_SHOTS")
	if dir == "" {
		return
	}
	b, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name+".png"), b, 0o600); err != nil {
		t.Fatal(err)
	}
}

// thumb is measure with two things seen as they are: words on a filled button
// stand on its colour, and what is hit beside a label is its field; a tick within a
// label is hit with the label.
const thumb = `(() => {
  const out = {Wide: document.scrollingElement.scrollWidth, Small: [], Beyond: [], Pale: []};
  const seen = (e) => e.checkVisibility() && e.getBoundingClientRect().width > 1;
  for (const e of document.querySelectorAll("main a, main button, main summary, main input:not([type=hidden]), main select, main textarea")) {
    if (!seen(e) || e.closest("svg") || e.classList.contains("hidden")) continue;
    const b = (e.matches("[type=radio], [type=checkbox]") && e.closest("label") || e).getBoundingClientRect();
    if (b.height < 48) out.Small.push(e.textContent.trim() + " " + b.height);
    if (b.right > innerWidth + 1) out.Beyond.push(e.textContent.trim().slice(0, 60));
  }
  const rgb = (c) => c.match(/[\d.]+/g).map(Number);
  const lum = (c) => { const [r, g, b] = rgb(c).map((v) => (v /= 255) <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4); return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
  const under = (e) => { for (; e; e = e.parentElement) { const c = getComputedStyle(e).backgroundColor, v = rgb(c); if (v.length === 3 || v[3] === 1) return lum(c); } return lum(getComputedStyle(document.documentElement).backgroundColor); };
  const walk = document.createTreeWalker(document.querySelector("main"), NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const e = walk.currentNode.parentElement;
    if (!walk.currentNode.data.trim() || !seen(e) || e.closest("svg, .hidden, option, thead")) continue;
    const range = document.createRange();
    range.selectNodeContents(walk.currentNode);
    if (range.getBoundingClientRect().right > innerWidth + 1) out.Beyond.push(e.textContent.trim().slice(0, 60));
    const l = lum(getComputedStyle(e).color), p = under(e), ratio = (Math.max(l, p) + 0.05) / (Math.min(l, p) + 0.05);
    if (ratio < 4.5) out.Pale.push(e.textContent.trim().slice(0, 40) + " " + ratio.toFixed(2));
  }
  return out;
})()`

// fitsAThumb holds a page on a phone: nothing runs out of the window, targets
// are 48 px high or more, text stands out (WCAG 2.2, success criterion 1.4.3,
// contrast 4.5:1).
func fitsAThumb(t *testing.T, ctx context.Context, where string, width float64) {
	t.Helper()
	m := evaluate[measured](t, ctx, thumb)
	if m.Wide > width || len(m.Beyond) > 0 {
		t.Errorf("%s is %v px wide; beyond the window: %q", where, m.Wide, m.Beyond)
	}
	if len(m.Small) > 0 {
		t.Errorf("%s: too small to hit: %q", where, m.Small)
	}
	if len(m.Pale) > 0 {
		t.Errorf("%s: pale: %q", where, m.Pale)
	}
}

// Beside the drill, on a phone and with the keyboard alone: from scouting to
// the rig, the numbers typed, the answer read, a rod added, its facts unfolded,
// and back.
func TestRigOnAPhone(t *testing.T) {
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
	for _, theme := range []string{"light", "dark"} {
		do(chromedp.EmulateViewport(390, 844), chromedp.Navigate(s.URL+"/choose?theme="+theme+"&back=/scout%3Fat=44.25,-38.75"), chromedp.WaitReady(chromedp.CSS(`a[href^="/rig"]`)))
		do(chromedp.Focus(chromedp.CSS(`a[href^="/rig"]`)), chromedp.KeyEvent(kb.Enter), chromedp.WaitReady(chromedp.CSS("#r-depth")))
		fitsAThumb(t, ctx, "the empty form", 390)
		do(chromedp.Focus(chromedp.CSS("#r-depth")), chromedp.KeyEvent("180"+kb.Tab+"1"+kb.Enter), chromedp.WaitReady(chromedp.CSS(".answer .big")))
		if big := evaluate[string](t, ctx, `document.querySelector(".answer .big").textContent`); !strings.HasSuffix(big, " in 20") {
			t.Errorf("the answer is %q", big)
		}
		if top := evaluate[float64](t, ctx, `document.querySelector(".answer .big").getBoundingClientRect().bottom`); top > 844 {
			t.Errorf("the answer ends at %v px, below the window", top)
		}
		if open := evaluate[int](t, ctx, `document.querySelectorAll("main details[open]").length`); open != 0 {
			t.Errorf("%d folds stand open", open)
		}
		fitsAThumb(t, ctx, "the answer", 390)
		keepShot(t, ctx, "rig-answer-"+theme)
		do(chromedp.Focus(chromedp.CSS(".rods a")), chromedp.KeyEvent(kb.Enter), chromedp.WaitReady(chromedp.CSS(`#r-depth[value="200"]`)))
		do(chromedp.Focus(chromedp.CSS(".stretch summary")), chromedp.KeyEvent(kb.Enter), chromedp.WaitVisible(chromedp.CSS(".stretch[open] li")))
		evaluate[bool](t, ctx, `(() => { for (const d of document.querySelectorAll("main details")) d.open = true; return true; })()`)
		fitsAThumb(t, ctx, "all unfolded", 390)
		keepShot(t, ctx, "rig-unfolded-"+theme)
		do(chromedp.Focus(chromedp.CSS("#r-casing")), chromedp.KeyEvent("soon"+kb.Enter), chromedp.WaitReady(chromedp.CSS("#r-casing-fault")))
		fitsAThumb(t, ctx, "a fault", 390)
		keepShot(t, ctx, "rig-fault-"+theme)
		do(chromedp.Navigate(s.URL+"/rig?at=44.25,-38.75&in=us&depth=20&casing=60"), chromedp.WaitReady(chromedp.CSS(".answer .big")))
		fitsAThumb(t, ctx, "casing enough?", 390)
		keepShot(t, ctx, "rig-casing-"+theme)
		do(chromedp.Focus(chromedp.CSS(`.acts a[href^="/scout"]`)), chromedp.KeyEvent(kb.Enter), chromedp.WaitReady(chromedp.CSS(".scout")))
	}
	for _, line := range said() {
		t.Errorf("the console said: %s", line)
	}
}

// Something seen, on a phone: from the map's panel to the form, one tap, the
// message with its undo, and the mark on the map; then the same with the
// keyboard, Enter in the one depth.
func TestSightingOnAPhone(t *testing.T) {
	ctx, said := browser(t)
	d, h := scoutWorld(t, changed(200, nil))
	s := httptest.NewServer(h)
	defer s.Close()
	do := func(actions ...chromedp.Action[chromedp.Void]) {
		t.Helper()
		if err := act(ctx, actions...); err != nil {
			t.Fatal(err)
		}
	}
	do(chromedp.EmulateViewport(390, 844), chromedp.Navigate(s.URL+"/?at=44.25,-38.75"), chromedp.WaitReady(chromedp.CSS(`.panel a[href^="/sighting/new"]`)))
	if high := evaluate[float64](t, ctx, `document.querySelector('.panel a[href^="/sighting/new"]').getBoundingClientRect().height`); high < 44 {
		t.Errorf("the way from the panel is %v px high", high)
	}
	do(chromedp.Focus(chromedp.CSS(`.panel a[href^="/sighting/new"]`)), chromedp.KeyEvent(kb.Enter), chromedp.WaitReady(chromedp.CSS(".four")))
	fitsAThumb(t, ctx, "the form", 390)
	keepShot(t, ctx, "sighting-form")
	do(chromedp.Click(chromedp.CSS(`.pick button[value="ledge"]`)), chromedp.WaitVisible(chromedp.CSS(".said button")))
	fitsAThumb(t, ctx, "its page", 390)
	keepShot(t, ctx, "sighting-page")
	if n := d.Picture().CountSightings(); n != 1 {
		t.Fatalf("%d sightings after one tap, want 1", n)
	}
	do(chromedp.Click(chromedp.CSS(".said button")), chromedp.WaitVisible(chromedp.CSS(".alert")))
	if n := d.Picture().CountSightings(); n != 0 {
		t.Errorf("%d sightings after the undo, want none", n)
	}
	do(chromedp.Navigate(s.URL+"/sighting/new?at=44.25,-38.75"), chromedp.Focus(chromedp.CSS("#d-refusal")), chromedp.KeyEvent("6"+kb.Enter), chromedp.WaitVisible(chromedp.CSS(".said")))
	if head := evaluate[string](t, ctx, `document.querySelector("h1").textContent`); head != "A pit or probe met rock at 6 ft" {
		t.Errorf("Enter kept %q", head)
	}
	do(chromedp.Navigate(s.URL+"/?lon=-38.75&lat=44.25&mpp=3"), chromedp.WaitReady(chromedp.CSS(`[data-part="seen"] a`)))
	keepShot(t, ctx, "sighting-map")
	do(chromedp.Click(chromedp.CSS(`[data-part="seen"] a`)), chromedp.WaitReady(chromedp.CSS(".part h2")))
	if path := evaluate[string](t, ctx, "location.pathname"); !strings.HasPrefix(path, "/sighting/") {
		t.Errorf("the mark leads to %s", path)
	}
	do(chromedp.Focus(chromedp.CSS(`a[href$="/edit"]`)), chromedp.KeyEvent(kb.Enter), chromedp.WaitReady(chromedp.CSS(".save")))
	fitsAThumb(t, ctx, "the form of a change", 390)
	keepShot(t, ctx, "sighting-edit")
	for _, line := range said() {
		t.Errorf("the console said: %s", line)
	}
}
