//go:build judges

package main

import (
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// typeOver replaces what a field holds, by the keyboard.
func typeOver(b *browser, sel, text string) {
	b.focus(sel)
	eval[any](b, "document.activeElement.select()")
	b.do(chromedp.KeyEvent(text))
}

// pageOfPDF matches a page among the objects of a PDF file (ISO 32000-1, 7.7.3.3).
var pageOfPDF = regexp.MustCompile(`/Type\s*/Page[^s]`)

// TestJourneyScouting: from a pin to the sheet. The need and the rates change
// the answer, the forecast is kept, and the sheet prints on two pages.
func TestJourneyScouting(t *testing.T) {
	b := open(t, look{w: 1440, h: 900})
	b.goTo("/?at=44.2505,-38.7499")
	b.until("the panel answers", `!!document.querySelector("[data-panel]")`)
	b.focus(`[data-panel] header .button.main`)
	b.do(chromedp.KeyEvent(kb.Enter))
	b.until("the spot is scouted", `location.pathname === "/scout" && !!document.querySelector("#hole")`)
	first := b.text(".short-answer")
	for _, want := range []string{"Sound bedrock at about", "reach 5 gpm", "$"} {
		if !strings.Contains(first, want) {
			t.Errorf("the answer does not say %q: %s", want, first)
		}
	}
	b.shot("scout-wide")

	// Another need, by the keyboard.
	typeOver(b, "#a-need", "1"+kb.Enter)
	b.until("the need is another", `location.search.includes("need=1") && document.querySelector(".short-answer").textContent.includes("reach 1 gpm")`)
	if again := b.text(".short-answer"); again == first {
		t.Error("another need gives the same answer")
	}
	// Something is paced off from the pin.
	typeOver(b, "#n-away", "40")
	b.do(chromedp.KeyEvent(kb.Enter))
	b.until("it is held against the rules", `document.querySelector("#place table").textContent.includes("Septic tank")`)

	// The sheet, on paper.
	b.goTo("/scout/sheet?at=44.2505,-38.7499&stop=300&tank=500")
	b.shot("sheet-wide")
	paper := b.pdf("sheet")
	if n := len(pageOfPDF.FindAll(paper, -1)); n != 2 {
		t.Errorf("the sheet prints on %d pages, not two", n)
	}
	b.goTo("/scout?at=44.2505,-38.7499")
	b.pdf("scout")
}

// TestJourneyScoutingOnAPhone: the same on a phone and in the dark, nothing
// beyond its edge.
func TestJourneyScoutingOnAPhone(t *testing.T) {
	b := open(t, look{w: 390, h: 844})
	b.goTo("/scout?at=44.2505,-38.7499&near=septic_tank,80,NE&near=overhead_line,30,S")
	b.until("the spot is scouted", `!!document.querySelector("#cost")`)
	b.fitsWindow()
	b.shot("scout-phone")
	b.goTo("/scout/sheet?at=44.2505,-38.7499")
	b.fitsWindow()
	b.shot("sheet-phone")
	b.goTo("/scout?at=44.2505,-38.7499&theme=dark")
	b.shot("scout-phone-dark")
}

// TestJourneyScoutingInTheDark: where the device is dark and no theme is
// chosen, the drawings of the page are coloured for it.
func TestJourneyScoutingInTheDark(t *testing.T) {
	b := open(t, look{w: 1440, h: 900, dark: true})
	b.goTo("/scout?at=44.2505,-38.7499")
	b.until("map and logs are dark", `(() => { const all = [...document.querySelectorAll("[data-drawn-for]")];
		return all.length >= 2 && all.every((f) => f.dataset.drawnFor === "dark" && !!f.querySelector("svg")); })()`)
	b.shot("scout-dark")
}
