package draw_test

import (
	"fmt"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/server/draw"
	"tallybook/server/say"
)

func TestSideBySideIsLegible(t *testing.T) {
	for n := 0; n <= 8; n++ {
		for _, width := range []float64{350, 820, 1240, 1900} {
			for _, hang := range []draw.Hang{draw.HangGround, draw.HangSeaLevel} {
				for _, units := range []say.System{say.US, say.SI} {
					t.Run(fmt.Sprintf("%d %.0f %d %s", n, width, hang, units), func(t *testing.T) {
						o := draw.Options{Prefix: "s", Width: width, Hang: hang, Units: units, Join: true, Theme: draw.Theme(n % 3)}
						d := check(t, draw.SideBySide(inventedRow(n), o), "s")
						if want := draw.SideBySideWidth(width, n); d.w != want {
							t.Errorf("%v wide, said to be %v", d.w, want)
						}
					})
				}
			}
		}
	}
}

func TestSideBySideNamesWhatIsLeftOut(t *testing.T) {
	row := append(inventedRow(8), inventedRow(3)...)
	d := check(t, draw.SideBySide(row, draw.Options{Prefix: "s"}), "s")
	if !strings.Contains(d.words, "3 more chosen, not drawn") {
		t.Error("it does not say that three are left out")
	}
	sea := check(t, draw.SideBySide(inventedRow(3), draw.Options{Prefix: "s", Hang: draw.HangSeaLevel}), "s")
	if !strings.Contains(sea.words, "The elevation of the") {
		t.Error("it does not say that an elevation is missing")
	}
}

// The picks are joined only when asked, and never across a bound.
func TestBedrockIsJoinedOnlyWhenAsked(t *testing.T) {
	const joined = "joined along the line"
	count := func(row []draw.ColumnData, join bool) int {
		b := draw.SideBySide(row, draw.Options{Prefix: "s", Join: join})
		d := check(t, b, "s")
		n := 0
		for _, p := range d.paths {
			n += strings.Count(p["d"], "C")
		}
		if strings.Contains(d.words, joined) != (n > 0) {
			t.Errorf("%d curves, but the legend says otherwise", n)
		}
		return n
	}
	line := inventedLine()
	apart := append([]draw.ColumnData(nil), line...)
	apart[1].Bedrock = records.Pick{Depth: records.MoreThan(records.Depth(50))}
	both, none, broken := count(line, true), count(line, false), count(apart, true)
	if both != 2 || none != 0 || broken != 0 {
		t.Errorf("curves: %d where three picks are joined, want 2; %d unasked; %d across a bound", both, none, broken)
	}
}

// Hung on sea level, equal elevations stand at one height.
func TestSeaLevel(t *testing.T) {
	at := func(elevation, top float64) draw.ColumnData {
		w := &records.Well{Number: "A", TotalDepth: records.Of(records.Depth(100)), Place: records.Place{Elevation: records.Of(records.Height(elevation))},
			Strata: []records.Stratum{{Top: records.Of(records.Depth(0)), Bottom: records.Of(records.Depth(top)), Description: "sand"},
				{Top: records.Of(records.Depth(top)), Bottom: records.Of(records.Depth(100)), Description: "granite"}}}
		return draw.ColumnOf(w, records.Picks{}, testVocab())
	}
	// Granite at 180 m in both.
	d := check(t, draw.SideBySide([]draw.ColumnData{at(200, 20), at(230, 50)}, draw.Options{Prefix: "s", Hang: draw.HangSeaLevel, Units: say.SI}), "s")
	var ys []string
	for _, r := range d.rects {
		if r["fill"] == "url(#s-ground-granite)" && r["rx"] == "" {
			ys = append(ys, r["y"])
		}
	}
	if len(ys) != 2 || ys[0] != ys[1] {
		t.Errorf("granite at one elevation is drawn at y %v", ys)
	}
}
