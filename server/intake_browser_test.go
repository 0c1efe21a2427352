//go:build judges

package server_test

import (
	"bytes"
	"context"
	"fmt"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/xuri/excelize/v2"
)

// pictureFolder is where the pages are kept as pictures, to be looked at, when
// the variable names a folder.
var pictureFolder = os.Getenv("TALLYBOOK_TEST_PICTURES")

// A spreadsheet from the choice of the file to its records, in a browser with
// its scripts: sent, looked at, mapped by the keyboard, rehearsed, accepted;
// what was refused is had as a workbook, mended, sent again; then all of it is
// taken back by the undo of the message. On the way the pages are held to a
// phone and to a wide window, light and dark.
func TestIntakeJourney(t *testing.T) {
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
	here := func() string {
		t.Helper()
		return evaluate[string](t, ctx, `location.pathname`)
	}
	// press finds a control by its words and presses it by the keyboard.
	press := func(words, then string) {
		t.Helper()
		if !evaluate[bool](t, ctx, fmt.Sprintf(`(() => { const e = [...document.querySelectorAll("main button, main a, .said button")].find((e) => e.textContent.trim().startsWith(%q) && e.checkVisibility()); e?.focus(); return !!e; })()`, words)) {
			t.Fatalf("%s has no %q", here(), words)
		}
		do(chromedp.KeyEvent(kb.Enter), chromedp.WaitVisible(chromedp.CSS(then)))
	}
	look := func(name string) {
		t.Helper()
		w.lookAt(t, ctx, s.URL, name)
	}
	send := func(path string) {
		t.Helper()
		do(chromedp.EmulateViewport(1280, 900), chromedp.Navigate(s.URL+"/intake"))
		do(chromedp.SetUploadFiles(chromedp.CSS("#f-file"), []string{path}))
		press("Send it", ".steps")
	}
	dir := t.TempDir()
	file := filepath.Join(dir, "logs.xlsx")
	if err := os.WriteFile(file, workbook(t, "three hundred"), 0o600); err != nil {
		t.Fatal(err)
	}
	do(chromedp.Navigate(s.URL + "/intake"))
	look("1 choose")
	send(file)
	look("2 look")
	at := here()
	do(chromedp.Navigate(s.URL + at + "/columns"))
	look("3 columns")
	do(chromedp.EmulateViewport(1280, 900), chromedp.Navigate(s.URL+at+"/columns"))
	press("Rehearse it", "#verdict-head")
	if at+"/report" != here() {
		t.Fatalf("after the columns: %s", here())
	}
	look("4 report")
	do(chromedp.EmulateViewport(1280, 900), chromedp.Navigate(s.URL+at+"/report"))
	press("Accept it", "#became-head")
	first := here()
	look("5 in")
	if n := w.desk.Picture().Len(); n != 44 {
		t.Fatalf("%d wells", n)
	}
	mended := filepath.Join(dir, "mended.xlsx")
	mendBook(t, w.get(first+"/refused").is(200).body, mended)
	send(mended)
	press("Go on to the columns", ".columns")
	press("Rehearse it", "#verdict-head")
	press("Accept it", "#became-head")
	if n := w.desk.Picture().Len(); n != 45 {
		t.Fatalf("%d wells after the mended rows were sent", n)
	}
	press("Undo", ".alert")
	if n := w.desk.Picture().Len(); n != 44 {
		t.Errorf("%d wells after the undo", n)
	}
	do(chromedp.Navigate(s.URL + "/intakes"))
	look("6 list")

	// A later copy with a clash, and what its rows speak for.
	one := w.mustFile("county 2025.csv", fourWells)
	w.send(one+"/rehearse", nil)
	w.over(one)
	w.send(one+"/accept", url.Values{"revision": {"1"}})
	county := w.over(one).header.Get("Location")
	well := w.numbered(t, "N-1")
	well.Owner.Name = "The office knows better"
	w.save(well, "")
	copied := w.mustFile("county 2026.csv", strings.Replace(strings.Replace(fourWells, "Invented One", "Invented Other", 1), ",210,", ",215,", 1))
	do(chromedp.Navigate(s.URL + copied))
	look("7 look at a later copy")
	w.send(copied, url.Values{"copy_of": {county[len("/intakes/"):]}, "table": {"1"}})
	w.send(copied+"/rehearse", nil)
	w.over(copied)
	do(chromedp.Navigate(s.URL + copied + "/report"))
	look("8 report of a later copy")
	w.send(copied+"/accept", url.Values{"revision": {"2"}})
	second := w.over(copied).header.Get("Location")
	do(chromedp.EmulateViewport(1280, 900), chromedp.Navigate(s.URL+second))
	look("9 a later copy")
	do(chromedp.EmulateViewport(1280, 900), chromedp.Navigate(s.URL+second))
	press("Take the copy's", ".said")
	if now := w.numbered(t, "N-1"); now.Owner.Name != "Invented Other" {
		t.Errorf("after the copy's was taken the owner is %q", now.Owner.Name)
	}
	press("Undo", ".said:not(:has(form))")
	if now := w.numbered(t, "N-1"); now.Owner.Name != "The office knows better" {
		t.Errorf("after the undo the owner is %q", now.Owner.Name)
	}
	for _, line := range said() {
		t.Errorf("the console said: %s", line)
	}
}

// mendBook writes a workbook of refused rows with the depth put right.
func mendBook(t *testing.T, refused, path string) {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader([]byte(refused)))
	if err == nil {
		err = f.SetCellValue("Wells", "D2", "300")
	}
	if err == nil {
		err = f.SaveAs(path)
	}
	if err == nil {
		err = f.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
}

// lookAt holds the page that is open to a phone and to a wide window.
func (w *recordWorld) lookAt(t *testing.T, ctx context.Context, base, name string) {
	t.Helper()
	path := evaluate[string](t, ctx, `location.pathname + location.search`)
	for _, width := range []int64{390, 1280} {
		for _, theme := range []string{"light", "dark"} {
			join := "?"
			if strings.Contains(path, "?") {
				join = "&"
			}
			if err := chromedp.Do(ctx, chromedp.EmulateViewport(width, 900), chromedp.Navigate(base+path+join+"theme="+theme)); err != nil {
				t.Fatal(err)
			}
			m := evaluate[measured](t, ctx, measure)
			at := fmt.Sprintf("%s at %d px, %s", name, width, theme)
			if m.Wide > float64(width) {
				t.Errorf("%s is %v px wide", at, m.Wide)
			}
			// Words on a filled button stand on its colour and not on paper; what
			// scrolls by itself may be wider than the window.
			m.Pale = slices.DeleteFunc(m.Pale, func(t string) bool {
				return strings.HasPrefix(t, "Send it") || strings.HasPrefix(t, "Rehearse it") || strings.HasPrefix(t, "Accept it") || strings.HasPrefix(t, "Go on") || strings.HasPrefix(t, "Take a file in")
			})
			if evaluate[bool](t, ctx, `!!document.querySelector(".scroll")`) {
				m.Beyond = nil
			}
			for what, found := range map[string][]string{"too small to hit": m.Small, "runs out of the window": m.Beyond, "is pale": m.Pale} {
				if len(found) > 0 {
					t.Errorf("%s: %s: %q", at, what, found[:min(len(found), 6)])
				}
			}
			if pictureFolder != "" {
				png, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
				if err == nil {
					err = os.WriteFile(filepath.Join(pictureFolder, fmt.Sprintf("%s %d %s.png", name, width, theme)), png, 0o600)
				}
				if err != nil {
					t.Fatal(err)
				}
			}
		}
	}
}
