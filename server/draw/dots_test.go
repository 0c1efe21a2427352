package draw_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tallybook/server/draw"
)

// dotRead is what the tests read out of a dot plot.
type dotRead struct {
	full, hollow int
	w, h         float64
	needX        float64 // of the dashed line; NaN: none
	words        string
	xs, ys       []float64
}

func readDots(b []byte) (*dotRead, error) {
	d := &dotRead{needX: math.NaN()}
	dec := xml.NewDecoder(bytes.NewReader(b))
	var words strings.Builder
	for {
		tok, err := dec.Token()
		if errors.Is(err, io.EOF) {
			d.words = words.String()
			return d, nil
		}
		if err != nil {
			return nil, err
		}
		switch t := tok.(type) {
		case xml.CharData:
			words.Write(t)
			words.WriteByte('\n')
		case xml.StartElement:
			attr := map[string]string{}
			for _, a := range t.Attr {
				attr[a.Name.Local] = a.Value
			}
			num := func(n string) float64 {
				v, err := strconv.ParseFloat(attr[n], 64)
				if err != nil {
					v = math.NaN()
				}
				return v
			}
			switch {
			case t.Name.Local == "svg":
				d.w, d.h = num("width"), num("height")
			case t.Name.Local == "circle":
				if attr["stroke"] != "" {
					d.hollow++
				} else {
					d.full++
				}
				d.xs, d.ys = append(d.xs, num("cx")), append(d.ys, num("cy"))
			case t.Name.Local == "line" && attr["stroke-dasharray"] != "":
				d.needX = num("x1")
			}
		}
	}
}

func figure(v float64) string { return strconv.FormatFloat(v, 'g', 3, 64) }

// TestDotsThatNeverCome: outcomes that never come stand hollow beside the
// axis, counted in words, and none is lost.
func TestDotsThatNeverCome(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.Float64Range(50, 500), 0, 20).Draw(t, "come")
		never := rapid.IntRange(0, 20).Draw(t, "never")
		all := append([]float64(nil), values...)
		for range never {
			all = append(all, math.Inf(1))
		}
		d, err := readDots(draw.Dots(&draw.DotPlot{Values: all, Never: "not by 500 ft", Unit: "feet", Figure: figure}, draw.Light, "d"))
		if err != nil {
			t.Fatal(err)
		}
		if d.full != len(values) || d.hollow != never {
			t.Fatalf("%d full and %d hollow, not %d and %d", d.full, d.hollow, len(values), never)
		}
		if said := strings.Contains(d.words, fmt.Sprintf("%d not by 500 ft", never)); said != (never > 0) {
			t.Fatalf("%d never come, and it says %q", never, d.words)
		}
		for i := range d.xs {
			if d.xs[i] < 0 || d.xs[i] > d.w || d.ys[i] < 0 || d.ys[i] > d.h {
				t.Fatalf("a dot at %g, %g lies outside %g x %g", d.xs[i], d.ys[i], d.w, d.h)
			}
		}
	})
}

// TestDotsAlwaysAll: every outcome is a dot within the plot, whatever the
// values; those that miss what is needed are hollow.
func TestDotsAlwaysAll(t *testing.T) {
	value := rapid.OneOf(rapid.Float64Range(0, 300), rapid.Just(0.0), rapid.Just(math.Inf(1)), rapid.Float64Range(0, 1e-6), rapid.Float64Range(1e5, 1e6), rapid.Just(7.0))
	rapid.Check(t, func(t *rapid.T) {
		p := draw.DotPlot{Title: "x", Values: rapid.SliceOfN(value, 20, 20).Draw(t, "values"), Log: rapid.Bool().Draw(t, "log"), Unit: "feet", Figure: figure,
			Need: rapid.SampledFrom([]float64{0, 3, 50}).Draw(t, "need"), Least: rapid.SampledFrom([]float64{0, 0.1}).Draw(t, "least")}
		d, err := readDots(draw.Dots(&p, draw.Light, "p"))
		if err != nil {
			t.Fatal(err)
		}
		short := 0
		for _, v := range p.Values {
			if p.Need > 0 && v < p.Need {
				short++
			}
		}
		if d.full+d.hollow != 20 || d.hollow != short {
			t.Fatalf("%d full and %d hollow dots for %v, need %g", d.full, d.hollow, p.Values, p.Need)
		}
		if math.IsNaN(d.needX) != (p.Need == 0) {
			t.Fatalf("need %g is at %g", p.Need, d.needX)
		}
		seen := map[string]bool{}
		for i := range d.xs {
			if !(d.xs[i] > 0 && d.xs[i] < d.w && d.ys[i] > 0 && d.ys[i] < d.h) {
				t.Fatalf("a dot at %g, %g of %g×%g", d.xs[i], d.ys[i], d.w, d.h)
			}
			at := fmt.Sprint(d.xs[i], d.ys[i])
			if seen[at] {
				t.Fatalf("two dots at %s: %v", at, p.Values)
			}
			seen[at] = true
		}
		if strings.Contains(d.words, "NaN") || strings.Contains(d.words, "Inf") {
			t.Fatalf("words %q", d.words)
		}
	})
}

func TestDotsCases(t *testing.T) {
	repeat := func(v float64, n int) []float64 {
		out := make([]float64, n)
		for i := range out {
			out[i] = v
		}
		return out
	}
	for name, c := range map[string]struct {
		plot draw.DotPlot
		want string // among the words
	}{
		"all equal":       {draw.DotPlot{Values: repeat(40, 20)}, ""},
		"all nothing":     {draw.DotPlot{Values: repeat(0, 20), Log: true, Least: 0.1, Need: 3}, "2"},
		"all unknowable":  {draw.DotPlot{Values: repeat(math.Inf(1), 20)}, "beyond"},
		"a tail beyond":   {draw.DotPlot{Values: append(repeat(10, 19), math.Inf(1))}, "beyond"},
		"one far out":     {draw.DotPlot{Values: append(repeat(10, 19), 400)}, "up to 400"},
		"none":            {draw.DotPlot{}, ""},
		"zeros on ratios": {draw.DotPlot{Values: append(repeat(0, 6), 1, 2, 5, 10, 20), Log: true, Least: 0.1}, "up to 20"},
	} {
		t.Run(name, func(t *testing.T) {
			c.plot.Title, c.plot.Unit, c.plot.Figure = name, "feet", figure
			b := draw.Dots(&c.plot, draw.Dark, "p")
			d, err := readDots(b)
			if err != nil {
				t.Fatal(err)
			}
			if d.full+d.hollow != len(c.plot.Values) {
				t.Errorf("%d dots of %d", d.full+d.hollow, len(c.plot.Values))
			}
			if !strings.Contains(d.words, c.want) {
				t.Errorf("%q is not among %q", c.want, d.words)
			}
			if !bytes.Equal(b, draw.Dots(&c.plot, draw.Dark, "p")) {
				t.Error("the same values gave other bytes")
			}
		})
	}
}

// TestDotsOrder: a larger value never stands to the left of a smaller one.
func TestDotsOrder(t *testing.T) {
	for _, log := range []bool{false, true} {
		p := draw.DotPlot{Title: "x", Log: log, Least: 0.1, Unit: "u", Figure: figure}
		for i := range 20 {
			p.Values = append(p.Values, math.Pow(1.35, float64(i)))
		}
		d, err := readDots(draw.Dots(&p, draw.Light, "p"))
		if err != nil {
			t.Fatal(err)
		}
		for i := 1; i < len(d.xs); i++ {
			if d.xs[i] < d.xs[i-1] {
				t.Errorf("log %t: dot %d at %g after %g", log, i, d.xs[i], d.xs[i-1])
			}
		}
	}
}

// TestDotsWordsClear: the word of what lies beyond the axis stands clear of
// the dots under it.
func TestDotsWordsClear(t *testing.T) {
	for n := 1; n <= 12; n++ {
		p := draw.DotPlot{Title: "x", Unit: "feet", Figure: figure}
		for i := range 20 {
			v := float64(1 + i)
			if i >= 20-n {
				v = math.Inf(1)
			}
			p.Values = append(p.Values, v)
		}
		b := draw.Dots(&p, draw.Light, "p")
		d, err := readDots(b)
		if err != nil {
			t.Fatal(err)
		}
		at := bytes.Index(b, []byte(">beyond "))
		if at < 0 {
			t.Fatalf("%d beyond, and no word", n)
		}
		tag := string(b[bytes.LastIndexByte(b[:at], '<'):at])
		y, err := strconv.ParseFloat(strings.SplitN(strings.SplitN(tag, ` y="`, 2)[1], `"`, 2)[0], 64)
		if err != nil {
			t.Fatal(err)
		}
		for i := range d.xs {
			if d.xs[i] > d.w-40 && d.ys[i]-6.2 < y {
				t.Errorf("%d beyond: a dot at %g reaches the word at %g", n, d.ys[i], y)
			}
		}
	}
}
