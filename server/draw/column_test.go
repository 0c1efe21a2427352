package draw_test

import (
	"bytes"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/recordstest"
	"tallybook/server/draw"
	"tallybook/server/say"
)

func TestEveryInventedWellIsLegible(t *testing.T) {
	for name, d := range inventedColumns() {
		for _, units := range []say.System{say.US, say.SI} {
			for i, width := range []float64{300, 350, 390, 600, 699, 700, 820, 1100, 1400} {
				t.Run(fmt.Sprintf("%s %s %.0f", name, units, width), func(t *testing.T) {
					// A theme changes colours alone, so not each with each.
					o := draw.Options{Prefix: "c", Theme: draw.Theme(i % 3), Units: units, Width: width}
					b := draw.Column(d, o)
					check(t, b, "c")
					if !bytes.Equal(b, draw.Column(d, o)) {
						t.Error("drawn twice, it is not the same")
					}
				})
			}
		}
	}
}

func TestColumnSaysWhatTheLogSays(t *testing.T) {
	tests := map[string][]string{
		"schist": {"385 ft", "sound bedrock ~58 ft", "first rock 12 ft", "static level 24 ft", "1 gpm in all at 207 ft", "yields 1½ gpm",
			"16 to ~58", "ft/min", "drive shoe", "neat cement 0–80 ft", "pump at 360 ft", "schist, rusty seams", "Schist"},
		"deep":       {"1,500 ft", "sound bedrock 96 ft", "+¼ gpm at 640 ft", "0.5–1", "mud seam", "yields <1 gpm", "12 in steel casing to 40 ft"},
		"overburden": {"sound bedrock deeper than 100 ft", "Logged without usable depths, so not drawn: “boulder somewhere”"},
		"dry":        {"dry hole", "sound bedrock 28–52 ft", "not logged"},
		"empty":      {"no strata were logged", "210 ft", "static level 30 ft"},
		"nothing":    {"The record gives no depths, so there is nothing to draw.", "depth not recorded"},
		"wordy":      {"flows: level 3 ft above ground", ">50 gpm at ~92 ft", "water at 110 ft", "sound bedrock 45–52 ft"},
		"seams":      {"Strata say 60 ft, stated 63 ft", "by the strata 58 ft", "by the casing seat shallower than 38 ft", "screen 38–48 ft", "yields 40 gpm"},
	}
	all := inventedColumns()
	for name, want := range tests {
		t.Run(name, func(t *testing.T) {
			for _, width := range []float64{350, 820} {
				d := check(t, draw.Column(all[name], draw.Options{Prefix: "c", Width: width}), "c")
				var lines []string
				for _, b := range d.texts {
					lines = append(lines, b.text)
				}
				words := strings.Join(strings.Fields(strings.ReplaceAll(strings.Join(lines, " "), "\u00a0", " ")), " ")
				for _, w := range want {
					if !strings.Contains(words, w) {
						t.Errorf("at %.0f px it does not say %q\nbut: %s", width, w, words)
					}
				}
			}
		})
	}
}

// Which stratum is deeper is also lower, and each starts where the axis says.
func TestDepthGoesDown(t *testing.T) {
	for name, c := range inventedColumns() {
		d := check(t, draw.Column(c, draw.Options{Prefix: "c"}), "c")
		last, n := -1.0, 0
		for _, r := range d.rects {
			h, _ := strconv.ParseFloat(r["height"], 64)
			if !strings.HasPrefix(r["fill"], "url(#c-ground-") || h <= 3 {
				continue // thin ones are painted after
			}
			y, _ := strconv.ParseFloat(r["y"], 64)
			if y <= last {
				t.Errorf("%s: stratum at y=%v after one at %v", name, y, last)
			}
			last = y
			n++
		}
		if len(c.Strata) > 0 && n == 0 {
			t.Errorf("%s: no strata drawn", name)
		}
	}
}

func TestNoStratumIsTooThinToSee(t *testing.T) {
	c := inventedColumns()["deep"]
	d := check(t, draw.Column(c, draw.Options{Prefix: "c"}), "c")
	n := 0
	for _, r := range d.rects {
		if strings.HasPrefix(r["fill"], "url(#c-ground-") {
			n++
			if h, _ := strconv.ParseFloat(r["height"], 64); h < 3 {
				t.Errorf("a stratum is %v px high", h)
			}
		}
	}
	if n != len(c.Strata) {
		t.Errorf("%d strata drawn, want %d", n, len(c.Strata))
	}
}

func TestHostileWordsStayWords(t *testing.T) {
	evil := `"><script>alert(1)</script><style>*{}</style>&amp;&#x26;]]>` + "\x00\x01\xff\ufffe\u202etxt"
	w := &records.Well{UID: evil, Number: evil, PermitNumber: evil, Purpose: evil, TotalDepth: ft(100), StaticLevel: ft(10),
		Strata:  []records.Stratum{{Top: ft(0), Bottom: ft(50), Description: evil, Color: evil, Material: evil}, {Description: evil}},
		Casing:  []records.Casing{{To: ft(20), Material: evil}},
		Grout:   []records.Grout{{To: ft(20), Material: evil}},
		Screens: []records.Screen{{From: ft(20), To: ft(30), Material: evil}},
		Place:   records.Place{Elevation: records.Of(records.Height(100)), VertDatum: evil},
	}
	c := draw.ColumnOf(w, records.Picks{Bedrock: records.Pick{Depth: ft(50), Why: evil}, Disagree: true}, testVocab())
	o := draw.Options{Prefix: `p"><x`, Title: evil, Hang: draw.HangSeaLevel}
	for _, b := range [][]byte{draw.Column(c, o), draw.SideBySide([]draw.ColumnData{c, c}, o)} {
		d := check(t, b, "px")
		if !strings.Contains(d.words, "<script>alert(1)</script>") {
			t.Error("the words are not there as words")
		}
		if strings.ContainsRune(d.words, '\u202e') {
			t.Error("a character that turns text around came through")
		}
	}
}

func TestTextIsWholeInTheTitle(t *testing.T) {
	words := strings.Repeat("clay and stones ", 60) + "end"
	w := &records.Well{TotalDepth: ft(100), Strata: []records.Stratum{stratum(0, 100, words)}}
	b := draw.Column(draw.ColumnOf(w, records.Picks{}, testVocab()), draw.Options{Prefix: "c", Width: 350})
	if d := check(t, b, "c"); !strings.Contains(d.words, words) || !strings.Contains(d.words, "…") {
		t.Error("long words must be cut with an ellipsis and be whole in a title")
	}
}

func TestColumnOfKeepsEverything(t *testing.T) {
	about := func(v float64) records.Amount[records.Depth] { return aboutFt(v) }
	w := &records.Well{
		TotalDepth: ft(100), StrikesAs: "gain", Yield: gpm(0),
		Strata: []records.Stratum{
			{Bottom: ft(10), Description: "no top"},                             // from ground
			{Top: about(10), Description: "no bottom"},                          // to the next
			{Top: ft(20), Bottom: ft(30), Description: "clay", Color: "blue"},   // plain
			{Top: ft(60), Bottom: ft(50), Description: "upside down"},           // not drawn
			{Description: "nowhere"},                                            // not drawn
			{Top: ft(80), Description: "to the bottom"},                         // to the total depth
			{Top: records.Of(records.Depth(1e9)), Description: "in the mantle"}, // not drawn
		},
	}
	c := draw.ColumnOf(w, records.Picks{}, testVocab())
	if got := len(c.Strata) + len(c.Unplaced); got != len(w.Strata) {
		t.Errorf("%d strata of %d kept", got, len(w.Strata))
	}
	if len(c.Unplaced) != 3 {
		t.Errorf("unplaced: %q", c.Unplaced)
	}
	if len(c.Gaps) != 1 || !close(c.Gaps[0].TopM, 30*0.3048) || !close(c.Gaps[0].BottomM, 80*0.3048) {
		t.Errorf("gaps %v, want one from 30 to 80 ft", c.Gaps)
	}
	if c.Strata[1].BottomM != c.Strata[2].TopM || !c.Strata[1].TopAbout || !c.Strata[1].BottomAbout {
		t.Errorf("a stratum without a bottom goes about to the next: %+v", c.Strata[1])
	}
	if c.Strata[2].More != "blue" {
		t.Errorf("colour recorded apart is %q", c.Strata[2].More)
	}
	if got := draw.ColumnOf(&records.Well{Casing: []records.Casing{{Material: "steel"}}, Grout: []records.Grout{{}, {Material: "none"}},
		Strikes: []records.Strike{{Flow: gpm(3)}}}, records.Picks{}, testVocab()).Undrawn; len(got) != 3 {
		t.Errorf("undrawn: %q, want casing, grout, water met", got)
	}
	if !c.Dry {
		t.Error("a measured yield of nothing is a dry hole")
	}
	if c.Strata[3].BottomM != c.HoleM {
		t.Error("the last stratum goes to the total depth")
	}
}

// A missing yield must not be taken for a dry hole, nor a missing level for
// an empty one.
func TestMissingIsNotNothing(t *testing.T) {
	c := draw.ColumnOf(&records.Well{TotalDepth: ft(100)}, records.Picks{}, testVocab())
	d := check(t, draw.Column(c, draw.Options{Prefix: "c"}), "c")
	if strings.Contains(d.words, "Dry") || strings.Contains(d.words, "dry") {
		t.Error("nobody said that it is dry")
	}
	if !strings.Contains(d.words, "static level not recorded") {
		t.Error("it does not say that the level is not recorded")
	}
}

func close(a, b float64) bool { return a-b < 1e-9 && b-a < 1e-9 }

// Valid wells of every kind, with the picks that the program derives.
func TestRandomValidWells(t *testing.T) {
	for seed := range uint64(60) {
		w := recordstest.Random(seed)
		c := draw.ColumnOf(w, records.DerivePicks(w, testVocab()), testVocab())
		if len(c.Strata) != len(w.Strata) || len(c.Unplaced)+len(c.Undrawn) > 0 {
			t.Errorf("seed %d: %d strata drawn of %d, %q and %q not", seed, len(c.Strata), len(w.Strata), c.Unplaced, c.Undrawn)
		}
		for _, width := range []float64{350, 820} {
			check(t, draw.Column(c, draw.Options{Prefix: "r", Width: width, Units: say.System(seed % 2), Heading: seed%3 == 0}), "r")
		}
	}
}

func TestStickUpIsDrawn(t *testing.T) {
	w := &records.Well{TotalDepth: ft(100), Finish: records.Finish{StickUp: records.Of(records.Length(0.5))},
		Casing: []records.Casing{{From: ft(0), To: ft(20), Diameter: in(10)}, {From: ft(0), To: ft(60), Diameter: in(6)}}}
	c := draw.ColumnOf(w, records.Picks{}, testVocab())
	if c.Casing[0].TopM != 0 || c.Casing[1].TopM != -0.5 {
		t.Errorf("tops at %v and %v, want 0 and -0.5", c.Casing[0].TopM, c.Casing[1].TopM)
	}
}

func TestHeading(t *testing.T) {
	c := inventedColumns()["schist"]
	d := check(t, draw.Column(c, draw.Options{Prefix: "c", Heading: true}), "c")
	if !contains(d, "HT-0731") || !contains(d, "2011 · domestic") {
		t.Error("the heading does not name the well")
	}
	if d := check(t, draw.Column(c, draw.Options{Prefix: "c"}), "c"); contains(d, "HT-0731") {
		t.Error("a heading that nobody asked for")
	}
}

// A theme changes colours and nothing else, but that on paper the ground's
// strokes are laid tile by tile in an inner drawing, not by a pattern.
func TestThemesShareTheirPlaces(t *testing.T) {
	colour := regexp.MustCompile(`#[0-9a-f]{6}`)
	ground := regexp.MustCompile(`url\(#c-ground-[a-z_]+\)`)
	laid := regexp.MustCompile(`(?s)<svg x=[^>]*>(<use href="#c-tile-[a-z_]+"[^>]*/>)+</svg>`)
	c := inventedColumns()["schist"]
	var first []byte
	for _, theme := range []draw.Theme{draw.Light, draw.Dark, draw.Print} {
		b := draw.Column(c, draw.Options{Prefix: "c", Theme: theme})
		if painted, put := ground.Match(b), laid.Match(b); painted == (theme == draw.Print) || put != (theme == draw.Print) {
			t.Errorf("%s: ground by pattern %v, tile by tile %v", theme, painted, put)
		}
		b = laid.ReplaceAll(ground.ReplaceAll(defs.ReplaceAll(b, nil), []byte("#")), nil)
		b = colour.ReplaceAll(b, []byte("#"))
		if first == nil {
			first = b
		}
		if !bytes.Equal(b, first) {
			t.Errorf("%s differs from light in more than colours", theme)
		}
	}
}
