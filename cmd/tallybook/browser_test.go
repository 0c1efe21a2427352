//go:build judges

package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
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

// town is the program serving the demonstration, as a user would run it.
type town struct {
	url string
	db  string
}

var startTown = sync.OnceValues(func() (*town, error) {
	dir, err := os.MkdirTemp("", "tallybook-town-")
	if err != nil {
		return nil, err
	}
	db := filepath.Join(dir, "demo.db")
	r, w := io.Pipe()
	go func() {
		run(townContext, []string{"demo", "--db", db, "--addr", "127.0.0.1:0"}, w, os.Stderr)
		w.CloseWithError(io.EOF)
		townEnded <- os.RemoveAll(dir)
	}()
	line, err := bufio.NewReader(r).ReadString('\n')
	if err != nil {
		return nil, fmt.Errorf("the program printed no address: %w", err)
	}
	return &town{url: strings.TrimSuffix(strings.TrimSpace(line), "/"), db: db}, nil
})

var (
	townContext, endTown = context.WithCancel(context.Background())
	townEnded            = make(chan error, 1)
)

// browser is a tab of a real Chromium that remembers what it complained of.
type browser struct {
	t    *testing.T
	ctx  context.Context
	url  string
	db   string
	mu   sync.Mutex
	said []string
}

// look is how a tab is opened.
type look struct {
	w, h      int64
	noScripts bool
	dark      bool
}

func open(t *testing.T, l look) *browser {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil {
		t.Fatalf("chromium is missing, so nobody has looked at the pages: %v", err)
	}
	tw, err := startTown()
	if err != nil {
		t.Fatal(err)
	}
	alloc, cancel := chromedp.NewExecAllocator(context.Background(), chromedp.ExecPath(path), chromedp.Headless, chromedp.NoSandbox,
		chromedp.DisableGPU, chromedp.Flag("disable-quic", true), chromedp.UserDataDir(t.TempDir()))
	t.Cleanup(cancel)
	ctx, cancel := chromedp.NewContext(alloc)
	t.Cleanup(cancel)
	b := &browser{t: t, ctx: ctx, url: tw.url, db: tw.db}
	if err := chromedp.Listen(ctx, b.hear); err != nil {
		t.Fatal(err)
	}
	var options []chromedp.EmulateViewportOption
	if l.w < 500 {
		options = append(options, chromedp.EmulateMobile, chromedp.EmulateTouch)
	}
	b.do(chromedp.EmulateViewport(l.w, l.h, options...), chromedp.Func(func(ctx context.Context, tab *chromedp.Target) error {
		if _, err := cdp.Call(ctx, tab, log.Enable, cdp.Empty{}); err != nil {
			return err
		}
		if l.dark {
			dark := emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: "dark"}}}
			if _, err := cdp.Call(ctx, tab, emulation.SetEmulatedMedia, dark); err != nil {
				return err
			}
		}
		_, err := cdp.Call(ctx, tab, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: l.noScripts})
		return err
	}))
	t.Cleanup(func() {
		b.mu.Lock()
		defer b.mu.Unlock()
		for _, s := range b.said {
			t.Errorf("the browser complains: %s", s)
		}
	})
	return b
}

// hear keeps what the browser complains of.
func (b *browser) hear(ev any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch e := ev.(type) {
	case *runtime.EventExceptionThrown:
		b.said = append(b.said, e.ExceptionDetails.Text)
	case *log.EventEntryAdded:
		if e.Entry.Level == log.EntryLevelError || e.Entry.Level == log.EntryLevelWarning {
			b.said = append(b.said, e.Entry.Text+" "+e.Entry.URL)
		}
	case *runtime.EventConsoleAPICalled:
		if e.Type == runtime.ConsoleAPICalledTypeError {
			b.said = append(b.said, "console.error")
		}
	}
}

// step is how long one action may take.
const step = time.Minute

func (b *browser) do(actions ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	for range 200 { // a page that is still coming changes under what is done to it
		state, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](`document.readyState`))
		if err == nil && state == "complete" {
			break
		}
		time.Sleep(25 * time.Millisecond)
	}
	ctx, cancel := context.WithTimeout(b.ctx, step)
	defer cancel()
	if err := chromedp.Do(b.ctx, chromedp.Func(func(context.Context, *chromedp.Target) error { return nil })); err != nil {
		b.t.Fatal(err) // the first action starts the browser and must bear no limit
	}
	if err := chromedp.Do(ctx, actions...); err != nil {
		b.shot("failed")
		b.t.Fatal(err)
	}
}

func (b *browser) goTo(path string) {
	b.t.Helper()
	b.do(chromedp.Navigate(b.url+path), chromedp.WaitReady(chromedp.CSS("main")))
}

// text is what a person reads in the first element of a kind.
func (b *browser) text(sel string) string {
	b.t.Helper()
	return eval[string](b, `document.querySelector(`+strconv.Quote(sel)+`)?.innerText || ""`)
}

func eval[T any](b *browser, js string) T {
	b.t.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](js))
	if err != nil {
		b.t.Fatal(err)
	}
	return v
}

// until waits for something to come true in the page.
func (b *browser) until(what, js string) {
	b.t.Helper()
	for range 400 {
		// While a page is being left, there is nothing to ask.
		if ok, err := chromedp.Run(b.ctx, chromedp.Evaluate[bool](js)); err == nil && ok {
			return
		}
		time.Sleep(100 * time.Millisecond)
	}
	b.shot("failed")
	b.t.Fatalf("waited in vain until %s", what)
}

// shot keeps a picture where TALLYBOOK_SHOTS names a folder, to be looked at.
// focus gives a thing of the page the focus, once the page is all there. It is
// found and focused in one step: a page that has just come, or a drawing that
// is made anew, cannot be changed in between.
func (b *browser) focus(sel string) {
	b.t.Helper()
	b.until(sel+" has the focus", `(() => { const e = document.querySelector(`+strconv.Quote(sel)+`);
		if (!e || document.readyState !== "complete") return false; e.focus(); return document.activeElement === e; })()`)
}

func (b *browser) shot(name string) {
	dir := os.Getenv("TALLYBOOK_SHOTS")
	if dir == "" {
		return
	}
	png, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	if err != nil {
		b.t.Logf("no picture %s: %v", name, err)
		return
	}
	if err := os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644); err != nil {
		b.t.Error(err)
	}
}

// pdf prints the page as a browser does, and keeps it where shots are kept.
func (b *browser) pdf(name string) []byte {
	b.t.Helper()
	data, err := chromedp.Run(b.ctx, chromedp.PrintToPDF(chromedp.PDFPreferCSSPageSize(), chromedp.PDFPrintBackground()))
	if err != nil {
		b.t.Fatal(err)
	}
	if dir := os.Getenv("TALLYBOOK_SHOTS"); dir != "" {
		if err := os.WriteFile(filepath.Join(dir, name+".pdf"), data, 0o644); err != nil {
			b.t.Error(err)
		}
	}
	return data
}

// fitsWindow fails where a page is wider than its window.
func (b *browser) fitsWindow() {
	b.t.Helper()
	if over := eval[int](b, `document.scrollingElement.scrollWidth - innerWidth`); over > 0 {
		b.t.Errorf("the page is %d pixels wider than the window", over)
	}
}

func TestMain(m *testing.M) {
	code := m.Run()
	endTown()
	select {
	case <-townEnded:
	case <-time.After(10 * time.Second):
	}
	os.Exit(code)
}
