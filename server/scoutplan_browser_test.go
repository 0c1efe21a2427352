//go:build judges

package server_test

import (
	"net/http/httptest"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"tallybook/records/desk"
)

// A thing is drawn by pressing the plan on a phone, and by pacing it off with
// the keyboard alone; both stand in the table, and nothing runs out of the
// window.
func TestDrawOnThePlan(t *testing.T) {
	ctx, said := browser(t)
	d, h := scoutWorld(t, changed(120, nil))
	if err := d.SetInventedOffice(t.Context(), desk.LocalPerson()); err != nil {
		t.Fatal(err)
	}
	s := httptest.NewServer(h)
	defer s.Close()
	do := func(actions ...chromedp.Action[chromedp.Void]) {
		t.Helper()
		if err := act(ctx, actions...); err != nil {
			t.Fatal(err)
		}
	}
	table := func() string {
		return evaluate[string](t, ctx, `document.querySelector("#place table")?.innerText ?? ""`)
	}
	for _, width := range []int64{360, 1280} {
		do(chromedp.EmulateViewport(width, 900), chromedp.Navigate(s.URL+"/scout?at="+spot), chromedp.WaitReady(chromedp.CSS(`#place input[type="image"]`)))
		evaluate[bool](t, ctx, `(() => { document.querySelector("#n-kind").value = "septic_tank"; document.querySelector('#place input[type="image"]').scrollIntoView({block: "center"}); return true; })()`)
		box := evaluate[[]float64](t, ctx, `(() => { const b = document.querySelector('#place input[type="image"]').getBoundingClientRect(); return [b.left, b.top, b.width, b.height]; })()`)
		if box[2] != 320 || box[3] != 320 {
			t.Fatalf("the plan is %v px on a window of %d: what is pressed would be elsewhere", box, width)
		}
		do(chromedp.MouseClickXY(box[0]+160, box[1]+80), chromedp.WaitReady(chromedp.CSS("#place table")))
		if got := table(); !strings.Contains(got, "Septic tank") || !strings.Contains(got, "paced off N") || !strings.Contains(got, "49 ft") {
			t.Errorf("after the press at %d px the table says %q", width, got)
		}
		keepShot(t, ctx, "scout-plan")
	}
	do(chromedp.Focus(chromedp.CSS("#n-away")), chromedp.KeyEvent("70"+kb.Tab+"E"+kb.Tab+kb.Enter), chromedp.WaitReady(chromedp.CSS(`#place tr:nth-child(2)`)))
	if got := table(); !strings.Contains(got, "70 ft") || !strings.Contains(got, "paced off E") {
		t.Errorf("after pacing off the table says %q", got)
	}
	for _, line := range said() {
		t.Errorf("the console said: %s", line)
	}
}

// The landowner's sheet stays two pages, on Letter and on A4, with as much drawn
// around the pin and noted of the way in as it holds; pdfinfo counts them.
func TestSheetWithAPlanIsTwoPages(t *testing.T) {
	ctx, _ := browser(t)
	d, h := scoutWorld(t, changed(400, nil))
	if err := d.SetInventedOffice(t.Context(), desk.LocalPerson()); err != nil {
		t.Fatal(err)
	}
	s := httptest.NewServer(h)
	defer s.Close()
	q := url.Values{"at": {spot}, "in": {"us"}, "near": {"septic_tank,40,NE", "building,60,200", "leach_field,120,80", "overhead_line,55,310", "stream,90,S", "pond,130,W", "road,70,E"},
		"access": {strings.Repeat("By the lower gate and over soft ground. ", 10)}}
	if err := act(ctx, chromedp.Navigate(s.URL+"/scout/sheet?"+q.Encode())); err != nil {
		t.Fatal(err)
	}
	for name, size := range map[string]chromedp.PaperSize{"Letter": chromedp.PaperLetter, "A4": chromedp.PaperA4} {
		data, err := chromedp.Run(ctx, chromedp.PrintToPDF(chromedp.PDFPaper(size), chromedp.PDFPrintBackground()))
		if err != nil {
			t.Fatal(err)
		}
		file := filepath.Join(t.TempDir(), "sheet.pdf")
		if dir := os.Getenv("TALLYBOOK_SHOTS"); dir != "" {
			file = filepath.Join(dir, "sheet-plan-"+name+".pdf")
		}
		if err := os.WriteFile(file, data, 0o600); err != nil {
			t.Fatal(err)
		}
		out, err := exec.Command("pdfinfo", file).Output()
		if err != nil {
			t.Fatalf("pdfinfo is missing, so nobody has counted the pages: %v", err)
		}
		if !regexp.MustCompile(`Pages:\s+2\n`).Match(out) {
			t.Errorf("on %s:\n%s", name, out)
		}
	}
}
