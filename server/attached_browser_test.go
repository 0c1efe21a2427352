//go:build judges

package server_test

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"net/http/httptest"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// aScan is a picture with something to see, as a scanner would give it.
func aScan(t *testing.T) string {
	t.Helper()
	img := image.NewGray(image.Rect(0, 0, 1200, 1700))
	for y := range 1700 {
		for x := range 1200 {
			if tone := uint8(245); y%60 > 3 || x < 90 {
				img.SetGray(x, y, color.Gray{tone})
			}
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "invented log.png")
	if err := os.WriteFile(path, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// From a record to its plate and back, by the keyboard alone: the plate is shown
// and put on record, its code on the screen reads by zbarimg; a scan is attached
// and stands beside the record, and stays in sight above the form to its end.
func TestPlateAndScanByKeyboard(t *testing.T) {
	ctx, said := browser(t)
	w := newRecordWorld(t)
	x := w.plateWell()
	if err := w.desk.Refresh(t.Context()); err != nil {
		t.Fatal(err)
	}
	s := httptest.NewServer(w.handler)
	defer s.Close()
	do := func(actions ...chromedp.Action[chromedp.Void]) {
		t.Helper()
		if err := act(ctx, actions...); err != nil {
			t.Fatal(err)
		}
	}
	press := func(css string, then ...chromedp.Action[chromedp.Void]) {
		t.Helper()
		do(append([]chromedp.Action[chromedp.Void]{chromedp.Focus(chromedp.CSS(css)), chromedp.KeyEvent(kb.Enter)}, then...)...)
	}
	here := func() string { t.Helper(); return evaluate[string](t, ctx, `location.pathname`) }
	do(chromedp.EmulateViewport(1280, 900), chromedp.Navigate(s.URL+wellPath(x.ID)))
	press(fmt.Sprintf(`a[href="%s/plate"]`, wellPath(x.ID)), chromedp.WaitVisible(chromedp.CSS(".made svg")))
	shot, err := chromedp.Run(ctx, chromedp.ScreenshotScale(chromedp.CSS(".made"), 3))
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "plate.png")
	if err := os.WriteFile(file, shot, 0o600); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command("zbarimg", "--raw", "--quiet", file).Output(); strings.TrimSpace(string(out)) != "W-1042" {
		t.Errorf("the code on the screen reads %q (%v)", out, err)
	}
	press(".make button", chromedp.WaitVisible(chromedp.CSS(".said button")))
	if at := here(); !strings.HasSuffix(at, "/print") {
		t.Errorf("put on record, and at %s", at)
	}
	do(chromedp.Navigate(s.URL + "/p/W-1042"))
	if at := here(); at != wellPath(x.ID) {
		t.Errorf("the plate's number leads to %s", at)
	}
	do(chromedp.SetUploadFiles(chromedp.CSS("#attach-file"), []string{aScan(t)}))
	press("#attached .attach button", chromedp.WaitVisible(chromedp.CSS(".said button")))
	press("#scan-1 summary", chromedp.WaitVisible(chromedp.CSS("#scan-1 .pane img")))
	wide := `(async () => { const i = document.querySelector("#scan-1 .pane img"); await i.decode(); return i.naturalWidth; })()`
	if n := evaluate[int](t, ctx, wide); n != 1200 {
		t.Errorf("the scan beside the record is %d pixels wide", n)
	}
	do(chromedp.Navigate(s.URL + wellPath(x.ID) + "/edit"))
	press("#scan-1 summary", chromedp.WaitVisible(chromedp.CSS("#scan-1 .pane img")))
	if n := evaluate[int](t, ctx, wide); n != 1200 {
		t.Errorf("the scan beside the form is %d pixels wide", n)
	}
	const inSight = `(() => { document.querySelector('[name="remarks"]').scrollIntoView({block: "end", behavior: "instant"}); const b = document.querySelector("#scan-1 .pane").getBoundingClientRect(); return b.bottom > 100 && b.top < innerHeight / 2; })()`
	if !evaluate[bool](t, ctx, inSight) {
		t.Error("the scan is out of sight at the end of the form")
	}
	for _, line := range said() {
		t.Errorf("the console said: %s", line)
	}
}

// The pages of plates to print and of scans on a phone and on a wide window,
// light and dark.
func TestPlatePrintPagesInABrowser(t *testing.T) {
	ctx, said := browser(t)
	w := newRecordWorld(t)
	x := w.plateWell()
	data, err := os.ReadFile(aScan(t))
	if err != nil {
		t.Fatal(err)
	}
	w.attach(x.ID, "a note of some length about what it is and where it was found, invented", "", scanFile{strings.Repeat("long-name", 9) + ".png", "image/png", data}).is(303)
	s := httptest.NewServer(w.handler)
	defer s.Close()
	for _, width := range []int64{360, 1280} {
		for _, theme := range []string{"light", "dark"} {
			for _, path := range []string{
				wellPath(x.ID) + "/plate?", wellPath(x.ID) + "/plate?size=120x80&tool=engraver&", wellPath(w.empty.ID) + "/plate?", wellPath(x.ID) + "/plate?size=22x20&", "/plates/print?",
				"/plates/print?numbers=W-1042,NOT-THERE&", "/office/plates?", wellPath(x.ID) + "?", wellPath(x.ID) + "/edit?", "/plate/" + idText(w.linked.ID) + "/print?",
			} {
				if err := chromedp.Do(ctx, chromedp.EmulateViewport(width, 900), chromedp.Navigate(s.URL+path+"theme="+theme)); err != nil {
					t.Fatal(err)
				}
				evaluate[bool](t, ctx, `(() => { document.querySelectorAll(".scans details").forEach((d) => d.open = true); return true; })()`)
				m := evaluate[measured](t, ctx, measure)
				at := fmt.Sprintf("%s at %d px, %s", path, width, theme)
				if m.Wide > float64(width) {
					t.Errorf("%s is %v px wide", at, m.Wide)
				}
				m.Pale = slices.DeleteFunc(m.Pale, func(t string) bool { // words on a filled button stand on its colour
					return strings.HasPrefix(t, "Put plate") || strings.HasPrefix(t, "Lay them out") || strings.HasPrefix(t, "Save")
				})
				if strings.HasSuffix(path, "/edit?") {
					m.Small = nil // the form's own test measures it
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
		if !strings.Contains(line, "422") && !strings.Contains(line, url.PathEscape("/plate")) {
			t.Errorf("the console said: %s", line)
		}
	}
}
