package draw_test

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tallybook/server/draw"
)

func plateFace() *draw.PlateFace {
	return &draw.PlateFace{Title: "Plate 4?17", Authority: "Invented Office", Number: "4?17", Series: "series A", Against: "record T-1", Columns: 3, Fields: []draw.PlateField{
		{Label: "depth", Stamped: "305 ft", Record: "305 ft", Agree: "agrees"}, {Label: "yield", Stamped: "5 gpm", Record: "6 gpm", Agree: "near"},
		{Label: "date", Stamped: "15 June 2004", Record: "15 July 2004", Agree: "differs"}, {Label: "pump at", Stamped: "280 ft", Agree: "missing"},
	}}
}

// How a field agrees is said by a sign and a word, never by the colour alone; a
// digit that could not be read is marked.
func TestPlateDrawing(t *testing.T) {
	for _, theme := range []draw.Theme{draw.Light, draw.Dark, draw.Print} {
		d, err := readDots(draw.PlateDrawing(plateFace(), theme, "p"))
		if err != nil {
			t.Fatal(err)
		}
		for _, want := range []string{"INVENTED OFFICE", "?", "305 ft", "=\n305 ft\nagrees", "≈\n6 gpm\nnear", "≠\n15 July 2004\ndiffers", "–\nnot recorded\ncannot be told"} {
			if !strings.Contains(d.words, want) {
				t.Errorf("%s: the plate does not say %q: %q", theme, want, d.words)
			}
		}
	}
	bare := plateFace()
	bare.Against = ""
	if d, err := readDots(draw.PlateDrawing(bare, draw.Light, "p")); err != nil || strings.Contains(d.words, "agrees") {
		t.Errorf("held against nothing, and it says that something agrees (%v)", err)
	}
}

// Whatever is stamped, the drawing is well-formed, and everything lies within it.
func TestPlateDrawingOfAnything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		any := rapid.String()
		f := &draw.PlateFace{Title: any.Draw(t, "title"), Authority: any.Draw(t, "authority"), Number: any.Draw(t, "number"), Series: any.Draw(t, "series"), Against: any.Draw(t, "against"), Columns: rapid.IntRange(-1, 4).Draw(t, "columns")}
		for range rapid.IntRange(0, 9).Draw(t, "fields") {
			f.Fields = append(f.Fields, draw.PlateField{Label: any.Draw(t, "label"), Stamped: any.Draw(t, "stamped"), Record: any.Draw(t, "record"), Agree: rapid.SampledFrom([]string{"agrees", "near", "differs", "missing", ""}).Draw(t, "agree")})
		}
		d, err := readDots(draw.PlateDrawing(f, draw.Light, "p"))
		if err != nil {
			t.Fatal(err)
		}
		inside(t, d)
	})
}

func inside(t *rapid.T, d *dotRead) {
	for i := range d.xs {
		if !(d.xs[i] >= 0 && d.xs[i] <= d.w && d.ys[i] >= 0 && d.ys[i] <= d.h) {
			t.Fatalf("a mark at %v, %v is outside %v by %v", d.xs[i], d.ys[i], d.w, d.h)
		}
	}
}

// All places lie on the map, wherever they are, and are named.
func TestPlateMapHoldsItsPlaces(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := &draw.PlateMap{Title: "Where", W: 340, H: 300, Metric: rapid.Bool().Draw(t, "metric")}
		for i := range rapid.IntRange(0, 6).Draw(t, "places") {
			m.Points = append(m.Points, draw.PlatePoint{X: rapid.Float64Range(-6000, 6000).Draw(t, "x"), Y: rapid.Float64Range(-6000, 6000).Draw(t, "y"),
				Accuracy: rapid.Float64Range(0, 1e5).Draw(t, "accuracy"), Label: fmt.Sprintf("place%d", i), Seen: rapid.Bool().Draw(t, "seen"), Chosen: rapid.Bool().Draw(t, "chosen"), Href: "/plates/1?record=2"})
		}
		d, err := readDots(draw.PlateMapDrawing(m, draw.Dark, "w"))
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range m.Points {
			if !strings.Contains(d.words, p.Label) {
				t.Fatalf("%s is not named", p.Label)
			}
		}
		inside(t, d)
	})
}
