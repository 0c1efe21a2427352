//go:build judges

package server_test

import (
	"context"
	"errors"
	"fmt"
	"net/http/httptest"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// browser starts Chromium. It returns a context
// and what the console complained of.
func browser(t *testing.T) (context.Context, func() []string) {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil {
		t.Fatalf("chromium is missing, so nobody has looked at the pages: %v", err)
	}
	opts := append([]chromedp.ExecAllocatorOption{}, chromedp.DefaultExecAllocatorOptions[:]...)
	opts = append(opts, chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.UserDataDir(t.TempDir()))
	alloc, stop := chromedp.NewExecAllocator(t.Context(), opts...)
	t.Cleanup(stop)
	var mu sync.Mutex
	var said []string
	ctx, cancel := chromedp.NewContext(alloc, chromedp.WithListener(func(event any) {
		mu.Lock()
		defer mu.Unlock()
		switch e := event.(type) {
		case *runtime.EventExceptionThrown:
			said = append(said, e.ExceptionDetails.Text)
		case *log.EventEntryAdded:
			if e.Entry.Level == log.EntryLevelError {
				said = append(said, e.Entry.Text+" "+e.Entry.URL)
			}
		}
	}))
	t.Cleanup(cancel)
	ctx, late := context.WithTimeout(ctx, 2*time.Minute)
	t.Cleanup(late)
	if _, err := chromedp.Call(ctx, log.Enable, cdp.Empty{}); err != nil {
		t.Fatal(err)
	}
	return ctx, func() []string {
		mu.Lock()
		defer mu.Unlock()
		return said
	}
}

// device makes the browser say that the device is light or dark.
func device(t *testing.T, ctx context.Context, scheme string) {
	t.Helper()
	media(t, ctx, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
}

func media(t *testing.T, ctx context.Context, p emulation.SetEmulatedMediaParams) {
	t.Helper()
	if _, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, p); err != nil {
		t.Fatal(err)
	}
}

// allThere waits until the page and its styles are there: what is measured or
// given the focus before that may still change.
func allThere(ctx context.Context) error {
	for range 200 {
		state, err := chromedp.Run(ctx, chromedp.Evaluate[string](`document.readyState`))
		if err == nil && state == "complete" {
			return nil
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(50 * time.Millisecond):
		}
	}
	return errors.New("the page is not all there after ten seconds")
}

// act does something in a page that is all there.
func act(ctx context.Context, actions ...chromedp.Action[chromedp.Void]) error {
	if err := allThere(ctx); err != nil {
		return err
	}
	return chromedp.Do(ctx, actions...)
}

// evaluate runs a script in a page that is all there.
func evaluate[T any](t *testing.T, ctx context.Context, script string) T {
	t.Helper()
	if err := allThere(ctx); err != nil {
		t.Fatal(err)
	}
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](script, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// measured is what the script below finds on a page.
type measured struct {
	Wide   float64  // of the page, pixels
	Small  []string // targets that a gloved thumb would miss
	Beyond []string // text that runs out of the window and cannot be scrolled to
	Pale   []string // text whose contrast is below 4.5:1
}

// measure looks at every visible link, button and fold outside of running
// text, and at the contrast of all text against what it stands on.
const measure = `(() => {
  const out = {Wide: document.scrollingElement.scrollWidth, Small: [], Beyond: [], Pale: []};
  const seen = (e) => e.checkVisibility() && e.getBoundingClientRect().width > 1;
  for (const e of document.querySelectorAll("main a, main button, main summary, main label, main input[type=search]")) {
    if (!seen(e) || e.closest("svg") || e.classList.contains("hidden")) continue;
    const b = e.getBoundingClientRect();
    if (b.height < 44) out.Small.push(e.textContent.trim() + " " + b.height);
  }
  const lum = (c) => { const [r, g, b] = c.match(/[\d.]+/g).map(Number).map((v) => (v /= 255) <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4); return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
  const ground = (e) => { const c = getComputedStyle(e).backgroundColor; return /^rgba\(.*, 0\)$/.test(c) && e.parentElement ? ground(e.parentElement) : lum(c); };
  const walk = document.createTreeWalker(document.querySelector("main"), NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const e = walk.currentNode.parentElement;
    if (!walk.currentNode.data.trim() || !seen(e) || e.closest("svg, .hidden, .screen, thead")) continue;
    const range = document.createRange();
    range.selectNodeContents(walk.currentNode);
    if (range.getBoundingClientRect().right > innerWidth + 1) out.Beyond.push(e.textContent.trim().slice(0, 60));
    const l = lum(getComputedStyle(e).color), paper = ground(e), ratio = (Math.max(l, paper) + 0.05) / (Math.min(l, paper) + 0.05);
    if (ratio < 4.5) out.Pale.push(e.textContent.trim().slice(0, 40) + " " + ratio.toFixed(2));
  }
  return out;
})()`

// The pages of records on a phone and on a wide window, light and dark: nothing
// runs out of the window, targets are large enough, text stands out (WCAG 2.2,
// success criterion 1.4.3, contrast 4.5:1), and the console is silent.
func TestRecordPagesInABrowser(t *testing.T) {
	ctx, said := browser(t)
	w := newRecordWorld(t)
	s := httptest.NewServer(w.handler)
	defer s.Close()
	paths := []string{
		fmt.Sprintf("/well/%d?written=1", w.full.ID), fmt.Sprintf("/well/%d", w.empty.ID), fmt.Sprintf("/well/%d", w.hostile.ID), fmt.Sprintf("/well/%d", w.first),
		fmt.Sprintf("/compare?ids=%d,%d,%d&order=line", w.first, w.first+1, w.full.ID), fmt.Sprintf("/compare?ids=%d,%d,%d&hang=sea", w.first, w.hostile.ID, w.empty.ID),
		fmt.Sprintf("/plate/%d", w.linked.ID), fmt.Sprintf("/plate/%d", w.loose.ID), "/find?q=NF-00", "/find?q=nothing",
	}
	for _, size := range [][2]int64{{360, 740}, {1280, 900}} {
		for _, theme := range []string{"light", "dark"} {
			for _, path := range paths {
				join := "?"
				if strings.Contains(path, "?") {
					join = "&"
				}
				if err := chromedp.Do(ctx, chromedp.EmulateViewport(size[0], size[1]), chromedp.Navigate(s.URL+path+join+"theme="+theme)); err != nil {
					t.Fatal(err)
				}
				m := evaluate[measured](t, ctx, measure)
				at := fmt.Sprintf("%s at %d px, %s", path, size[0], theme)
				if m.Wide > float64(size[0]) {
					t.Errorf("%s is %v px wide", at, m.Wide)
				}
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

// A device that turns dark gets its drawings coloured anew, though the server
// had not been told.
func TestDrawingsFollowTheDevice(t *testing.T) {
	ctx, said := browser(t)
	w := newRecordWorld(t)
	s := httptest.NewServer(w.handler)
	defer s.Close()
	for _, path := range []string{fmt.Sprintf("/well/%d", w.full.ID), fmt.Sprintf("/compare?ids=%d,%d", w.first, w.full.ID)} {
		device(t, ctx, "light")
		if err := chromedp.Do(ctx, chromedp.EmulateViewport(1200, 900), chromedp.Navigate(s.URL+path), chromedp.WaitReady(chromedp.CSS(`[data-drawn-for="light"]`))); err != nil {
			t.Fatal(path, err)
		}
		device(t, ctx, "dark")
		if err := chromedp.Do(ctx, chromedp.WaitReady(chromedp.CSS(`[data-drawn-for="dark"]`))); err != nil {
			t.Fatal(path, err)
		}
		fills := evaluate[string](t, ctx, `[...document.querySelectorAll("[data-drawing] svg")].map((s) => s.querySelector("rect").getAttribute("fill")).join(" ")`)
		written := evaluate[bool](t, ctx, `(() => { const l = document.querySelector(".written-label"); if (!l) return true; const g = document.querySelector(".given"), was = g.checkVisibility(); l.click(); return !was && g.checkVisibility(); })()`)
		for _, f := range strings.Fields(fills) {
			if f != "#1a1916" {
				t.Errorf("%s: drawn on %s in the dark", path, f)
			}
		}
		if fills == "" {
			t.Errorf("%s: no drawing", path)
		}
		if !written {
			t.Errorf("%s: what was written is not shown when asked for", path)
		}
	}
	for _, line := range said() {
		t.Errorf("the console said: %s", line)
	}
}

// On paper the drawing is the one for paper, and it is there although it is
// loaded only when it is wanted.
func TestPrintedRecord(t *testing.T) {
	ctx, _ := browser(t)
	w := newRecordWorld(t)
	s := httptest.NewServer(w.handler)
	defer s.Close()
	if err := chromedp.Do(ctx, chromedp.Navigate(s.URL+fmt.Sprintf("/well/%d?theme=dark", w.full.ID))); err != nil {
		t.Fatal(err)
	}
	data, err := chromedp.Run(ctx, chromedp.PrintToPDF(chromedp.PDFPrintBackground()))
	if err != nil {
		t.Fatal(err)
	}
	private := `[...document.querySelectorAll(".private")].filter((e) => { e.closest("details")?.setAttribute("open", ""); return e.checkVisibility(); }).length`
	if n := evaluate[int](t, ctx, private); n < 4 {
		t.Errorf("%d private things on the screen, want the owner's, the address and a change of the owner", n)
	}
	media(t, ctx, emulation.SetEmulatedMediaParams{Media: "print"})
	if n := evaluate[int](t, ctx, private); n != 0 {
		t.Errorf("%d private things are printed", n)
	}
	shown := evaluate[string](t, ctx, `(() => { const i = document.querySelector(".paper"); return i.decode().then(() => [i.naturalWidth > 300, getComputedStyle(document.documentElement).backgroundColor, document.querySelector(".screen").checkVisibility(), i.checkVisibility(), getComputedStyle(document.querySelector(".essentials .water")).color].join(" ")); })()`)
	if want := "true rgb(255, 255, 255) false true rgb(13, 82, 116)"; shown != want {
		t.Errorf("on paper: %s, want %s", shown, want)
	}
	if len(data) < 20000 {
		t.Errorf("the printed record is %d bytes", len(data))
	}
}
