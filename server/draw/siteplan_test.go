package draw_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tallybook/server/draw"
)

// TestSitePlan: the drawing is sound whatever stands where, and says what there
// is room for within its frame.
func TestSitePlan(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := &draw.SitePlan{Title: "t", HalfM: rapid.Float64Range(5, 300).Draw(t, "half"), Scale: draw.SiteScale{LengthM: 10, Words: "10 m"}, PinOffM: rapid.Float64Range(0, 50).Draw(t, "off")}
		for range rapid.IntRange(0, 12).Draw(t, "things") {
			th := draw.SiteThing{Kind: draw.SiteKind(rapid.IntRange(0, 2).Draw(t, "kind")), KeepM: rapid.Float64Range(0, 90).Draw(t, "keep"), Near: rapid.Bool().Draw(t, "near"), Title: "<x>", Words: rapid.StringN(0, 20, 40).Draw(t, "words")}
			for range rapid.IntRange(0, 2).Draw(t, "parts") {
				var part [][2]float64
				for range rapid.IntRange(0, 4).Draw(t, "points") {
					part = append(part, [2]float64{rapid.Float64Range(-900, 900).Draw(t, "e"), rapid.Float64Range(-900, 900).Draw(t, "n")})
				}
				th.Parts = append(th.Parts, part)
			}
			p.Things = append(p.Things, th)
		}
		d, err := read(draw.Site(p, draw.Theme(rapid.IntRange(0, 2).Draw(t, "theme")), "s"), "s")
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range d.texts {
			if x.x0 < 0 || x.y0 < 0 || x.x1 > draw.SiteSize+1 || x.y1 > draw.SiteSize+1 {
				t.Fatalf("%q stands outside of the plan: %+v", x.text, x)
			}
		}
	})
}

// TestSiteOffset: what is pressed is where it is drawn.
func TestSiteOffset(t *testing.T) {
	e, n := draw.SiteOffset(30, draw.SiteSize/2, draw.SiteSize/2)
	if e != 0 || n != 0 {
		t.Errorf("the middle is %g, %g", e, n)
	}
	e, n = draw.SiteOffset(30, draw.SiteSize, 0)
	if math.Abs(e-30) > 1e-9 || math.Abs(n-30) > 1e-9 {
		t.Errorf("the north-east corner is %g, %g; want 30, 30", e, n)
	}
	p := &draw.SitePlan{HalfM: 30, Things: []draw.SiteThing{{Parts: [][][2]float64{{{15, 15}}}, KeepM: 3}}}
	svg := string(draw.Site(p, draw.Light, "s"))
	if !strings.Contains(svg, `cx="240" cy="80" r="16"`) { // 320/60 pixels to a metre, by hand
		t.Error("the forbidden ground is not drawn where the thing stands")
	}
}
