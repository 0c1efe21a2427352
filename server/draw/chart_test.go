package draw_test

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tallybook/server/draw"
)

// chanceChart is what a chart looks like in use: a chance by depth with its
// band, what is needed and where the hole stands now.
func chanceChart() *draw.Chart {
	x := []float64{200, 240, 300, 330, 420, 500}
	return &draw.Chart{
		Title: "Chance of 5 gpm by depth", Desc: "It rises to one half at 500 ft.", W: 520, H: 240,
		X: draw.ChartAxis{Label: "depth, feet", Figure: figure},
		Y: draw.ChartAxis{Label: "chance", Low: 0, High: 1, Figure: figure},
		Marks: []draw.ChartMark{
			{Kind: draw.BandMark, Tone: draw.WaterTone, X: x, Low: []float64{0, 0, .05, .1, .2, .2}, High: []float64{.1, .2, .4, .5, .7, .8}},
			{Kind: draw.StepsMark, Tone: draw.WaterTone, X: x, Y: []float64{0, .1, .2, .3, .45, .5}, Label: "enough by then"},
			{Kind: draw.PointsMark, Tone: draw.InkTone, X: []float64{260}, Y: []float64{.15}, Low: []float64{.1}, High: []float64{.3}},
			{Kind: draw.ColumnsMark, Tone: draw.MutedTone, X: []float64{200, 300, 400}, Y: []float64{.05, .1}},
			{Kind: draw.AcrossMark, Tone: draw.MutedTone, Y: []float64{.8}, Dashed: true, Label: "eight in ten"},
			{Kind: draw.UprightMark, Tone: draw.SignalTone, X: []float64{240}, Dashed: true, Label: "now"},
		},
	}
}

// TestChartIsSoundSVG: whatever the values, a chart is well-formed, all of it
// within its frame, with no number that is not one.
func TestChartIsSoundSVG(t *testing.T) {
	value := rapid.OneOf(rapid.Float64Range(-50, 700), rapid.Just(math.NaN()), rapid.Just(math.Inf(1)), rapid.Float64Range(1e5, 1e7), rapid.Just(0.0))
	values := rapid.SliceOfN(value, 0, 12)
	rapid.Check(t, func(t *rapid.T) {
		c := chanceChart()
		c.W, c.H = rapid.Float64Range(0, 900).Draw(t, "w"), rapid.Float64Range(0, 500).Draw(t, "h")
		for i := range c.Marks {
			m := &c.Marks[i]
			m.X, m.Y, m.Low, m.High = values.Draw(t, "x"), values.Draw(t, "y"), values.Draw(t, "low"), values.Draw(t, "high")
			m.Label = rapid.StringN(0, 20, 40).Draw(t, "label")
		}
		if rapid.Bool().Draw(t, "free") {
			c.Y.Low, c.Y.High = 0, 0
		}
		b := draw.DrawChart(c, draw.Light, "c")
		d, err := read(b, "c")
		if err != nil {
			t.Fatalf("%v\n%s", err, b)
		}
		for _, r := range d.rects {
			if strings.HasPrefix(r["x"], "-") && r["class"] != "fill-paper" {
				t.Fatalf("a column begins left of the chart: %v", r)
			}
		}
		if !strings.Contains(d.words, "depth, feet") {
			t.Fatal("the axis does not say its unit")
		}
	})
}

// TestChartSaysWhatItMarks: words of marks and axes are there, and a chart of
// the same data is the same file.
func TestChartSaysWhatItMarks(t *testing.T) {
	b := draw.DrawChart(chanceChart(), draw.Light, "c")
	for _, want := range []string{"enough by then", "eight in ten", "now", "chance"} {
		if !bytes.Contains(b, []byte(">"+want+"<")) {
			t.Errorf("it does not say %q", want)
		}
	}
	if !bytes.Equal(b, draw.DrawChart(chanceChart(), draw.Light, "c")) {
		t.Error("the same chart is not the same file")
	}
	if *look != "" {
		if err := os.WriteFile(filepath.Join(*look, "chart.svg"), b, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
