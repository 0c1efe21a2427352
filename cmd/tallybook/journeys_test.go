//go:build judges

package main

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// mapReady is true when the drawing fits its window.
const mapReady = `(() => { const b = document.querySelector("[data-map]"), s = b && b.querySelector("svg");
	return !!s && !b.classList.contains("waiting") && Math.abs(s.viewBox.baseVal.width - b.clientWidth) < 5 && Math.abs(s.viewBox.baseVal.height - b.clientHeight) < 5; })()`

func TestJourneyDriver(t *testing.T) {
	b := open(t, look{w: 1440, h: 900})
	b.goTo("/")
	b.until("the map fits its window", mapReady)
	b.shot("map-wide")

	// Another surface.
	b.do(chromedp.SetValue(chromedp.CSS("#c-field"), "yield"))
	b.until("the legend speaks of yield", `location.search.includes("field=yield") && document.querySelector("[data-part=key]")?.textContent.includes("Yield")`)
	b.until("the map fits its window", mapReady)
	b.shot("map-yield-wide")

	// A spot is clicked.
	b.goTo("/?lon=-38.75&lat=44.25&mpp=4")
	b.until("the map fits its window", mapReady)
	b.shot("map-cores-wide")
	b.do(chromedp.MouseClickXY(620, 560))
	b.until("the panel answers", `!!document.querySelector("[data-panel]")`)
	panel := b.text("[data-panel]")
	for _, want := range []string{"Depth to sound bedrock", "Yield", "in 20 reach", "8 in 10 between", "not a promise"} {
		if !strings.Contains(panel, want) {
			t.Errorf("the panel does not say %q", want)
		}
	}
	b.until("the map fits its window", mapReady)
	b.shot("panel-wide")

	// Three neighbours side by side.
	for i := range 3 {
		b.do(chromedp.Click(chromedp.CSS(`.nearest li:nth-child(` + string(rune('1'+i)) + `) .toggle`)))
		b.until("the tray has it", `document.querySelectorAll(".chosen").length === `+string(rune('1'+i)))
	}
	b.do(chromedp.Click(chromedp.CSS(`.tray .button.main`)))
	b.until("the wells stand side by side", `location.pathname === "/compare" && !!document.querySelector("main svg")`)
	b.shot("compare-wide")
	eval[any](b, `history.back()`)
	b.until("the tray is as it was", `document.querySelectorAll(".chosen").length === 3`)
}

func TestJourneyClerk(t *testing.T) {
	b := open(t, look{w: 1440, h: 900})
	b.goTo("/")
	b.do(chromedp.SendKeys(chromedp.CSS("#q"), "nf-0777"+kb.Enter))
	b.until("the well is open", `location.pathname.startsWith("/well/") && !!document.querySelector("h1")`)
	if h := b.text("h1"); !strings.Contains(h, "NF-0777") {
		t.Errorf("the heading is %q", h)
	}
	b.shot("well-wide")
	b.pdf("well")

	plate := ""
	for _, n := range []string{"0860", "0861", "0862", "0863", "0864", "0865", "0866", "0867"} {
		b.goTo("/find?q=NF-" + n)
		if plate = eval[string](b, `(document.body.textContent.match(/\b4\d{4}\b/) || [""])[0]`); plate != "" {
			break
		}
	}
	if plate == "" {
		t.Fatal("none of eight late wells shows a plate")
	}
	where := eval[string](b, `location.pathname`)
	b.goTo("/")
	b.do(chromedp.SendKeys(chromedp.CSS("#q"), plate+kb.Enter))
	b.until("plate "+plate+" leads to its well", `location.pathname === "`+where+`"`)
}

func TestJourneyByKeyboardAlone(t *testing.T) {
	b := open(t, look{w: 1440, h: 900})
	b.goTo("/?lon=-38.75&lat=44.25&mpp=4")
	b.until("the map fits its window", mapReady)
	before := eval[string](b, `location.search`)
	// Tab until the map has the focus, as a person would.
	reached := false
	for range 40 {
		b.do(chromedp.KeyEvent(kb.Tab))
		if reached = eval[bool](b, `document.activeElement.matches("[data-map]")`); reached {
			break
		}
	}
	if !reached {
		t.Fatal("forty tabs do not reach the map")
	}
	b.do(chromedp.KeyEvent(kb.ArrowRight))
	b.until("the map has moved", `location.search !== "`+before+`" && !document.querySelector("[data-map]").classList.contains("moving")`)
	b.do(chromedp.KeyEvent("+"))
	b.until("the map is drawn closer", mapReady)
	b.do(chromedp.KeyEvent(kb.Enter))
	b.until("the middle is answered for", `!!document.querySelector("[data-panel]")`)
	// Two neighbours are put side by side, and another surface is chosen.
	for i := range 2 {
		n := string(rune('1' + i))
		b.focus(`.nearest li:nth-child(` + n + `) .toggle`)
		b.do(chromedp.KeyEvent(kb.Enter))
		b.until("the tray has it", `document.querySelectorAll(".chosen").length === `+n)
	}
	b.focus("#c-field")
	b.do(chromedp.KeyEvent("y"))
	b.until("the legend speaks of yield", `document.querySelector("[data-part=key]")?.textContent.includes("Yield")`)
	b.focus(".tray .button.main")
	b.do(chromedp.KeyEvent(kb.Enter))
	b.until("the wells stand side by side", `location.pathname === "/compare" && !!document.querySelector("main svg")`)
	// A well is found by its plate or number, and a well on the map is a link.
	b.focus("#q")
	b.do(chromedp.KeyEvent("NF-0042" + kb.Enter))
	b.until("a well is open", `location.pathname.startsWith("/well/")`)
	b.goTo("/?lon=-38.75&lat=44.25&mpp=4")
	b.until("the map fits its window", mapReady)
	b.focus(`[data-map] a[href^="/well/"]`)
	b.do(chromedp.KeyEvent(kb.Enter))
	b.until("a well is open", `location.pathname.startsWith("/well/")`)
}

func TestJourneyBackAndReload(t *testing.T) {
	b := open(t, look{w: 1440, h: 900})
	b.goTo("/?lon=-38.75&lat=44.25&mpp=6&from=1990")
	b.until("the map fits its window", mapReady)
	const drawing = `document.querySelector("[data-map] svg").outerHTML`
	first := eval[string](b, drawing)
	b.do(chromedp.Reload())
	b.until("the map fits its window", mapReady)
	if first != eval[string](b, drawing) {
		t.Error("a reload draws something else")
	}
	b.focus("[data-map]")
	b.do(chromedp.KeyEvent(kb.ArrowDown))
	b.until("the map has moved", `!location.search.includes("lat=44.25&")`)
	b.until("the map fits its window", mapReady)
	b.do(chromedp.NavigateBack())
	b.until("Back is where it was", `location.search.includes("lat=44.25&") && `+mapReady)
	if first != eval[string](b, drawing) {
		t.Error("Back draws something else")
	}
}

func TestJourneyOnAPhone(t *testing.T) {
	b := open(t, look{w: 390, h: 844})
	for _, p := range []struct{ path, name string }{
		{"/", "map-phone"}, {"/?lon=-38.75&lat=44.25&mpp=4&at=44.25,-38.75", "panel-phone"},
		{"/well/700", "well-phone"}, {"/compare?ids=700,701,702", "compare-phone"}, {"/find?q=NF-07", "found-phone"},
	} {
		b.goTo(p.path)
		if strings.HasPrefix(p.path, "/?") || p.path == "/" {
			b.until("the map fits its window", mapReady)
		}
		b.fitsWindow()
		b.shot(p.name)
	}
}

func TestJourneyInTheDark(t *testing.T) {
	b := open(t, look{w: 1440, h: 900, dark: true})
	for _, p := range []struct{ path, name string }{
		{"/?lon=-38.75&lat=44.25&mpp=4&at=44.25,-38.75", "map-dark"}, {"/well/700", "well-dark"}, {"/compare?ids=700,701,702,703", "compare-dark"},
	} {
		b.goTo(p.path)
		b.until("the drawing is dark", `[...document.querySelectorAll("[data-drawn-for]")].every((e) => (e.querySelector("svg > rect") || {getAttribute: () => "#1a1916"}).getAttribute("fill") === "#1a1916")`)
		b.shot(p.name)
		b.pdf(p.name)
	}
}

func TestJourneyWithoutScripts(t *testing.T) {
	b := open(t, look{w: 1000, h: 900, noScripts: true})
	b.goTo("/")
	b.shot("map-noscript")
	b.do(chromedp.Click(chromedp.CSS(`.moves .in`)))
	b.until("the map is closer", `location.search.includes("mpp=") && !!document.querySelector(".under a")`)
	b.do(chromedp.Click(chromedp.CSS(`.under noscript a`)))
	b.until("the map can be clicked", `!!document.querySelector("input[type=image]")`)
	b.do(chromedp.Click(chromedp.CSS(`input[type=image]`)))
	b.until("the panel answers", `!!document.querySelector("[data-panel]")`)
	if p := b.text("[data-panel]"); !strings.Contains(p, "8 in 10 between") {
		t.Errorf("the panel says %q", p)
	}
	b.do(chromedp.SendKeys(chromedp.CSS("#q"), "NF-0500"+kb.Enter))
	b.until("a well is open", `location.pathname.startsWith("/well/") && !!document.querySelector("h1")`)
	if h := b.text("h1"); !strings.Contains(h, "NF-0500") {
		t.Errorf("the heading is %q", h)
	}
}
