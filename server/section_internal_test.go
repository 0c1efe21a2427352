package server

import (
	"math"
	"testing"

	"tallybook/server/say"
)

// A line that is read is written so that it is read as the same, to a
// decimetre; whatever else comes is refused and nothing breaks.
func FuzzParseLine(f *testing.F) {
	for _, text := range []string{"-71.21,44.5;-71.18,44.51", "-71.21, 44.5 ; -71.18,44.51;", "179.9,1;-179.9,1", "1,2", ";", "NaN,1;1,1", "1e300,2", "200,1", "1;2", "-0,-0;0,0", "0x1p-2,3"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		line, err := parseLine(text)
		if err != nil {
			return
		}
		for _, at := range line {
			if at.Valid() != nil {
				t.Fatalf("%q gives %v", text, at)
			}
		}
		again, err := parseLine(lineText(line))
		if err != nil || len(again) != len(line) {
			t.Fatalf("%q is written as %q, which gives %v, %v", text, lineText(line), again, err)
		}
		for i := range line {
			if math.Abs(line[i].Lon-again[i].Lon) > 1e-6 || math.Abs(line[i].Lat-again[i].Lat) > 1e-6 {
				t.Fatalf("%v comes back as %v", line[i], again[i])
			}
		}
	})
}

// The width of a corridor is written with its unit and read as the same by
// somebody who goes by other units.
func FuzzParseWidth(f *testing.F) {
	for _, text := range []string{"1000 ft", "300m", "1/2 mi", "12' 6\"", "-3", "0", "1e9", "50+", "about 100", "NaN"} {
		f.Add(text, true)
	}
	f.Fuzz(func(t *testing.T, text string, us bool) {
		u, other := say.SI, say.US
		if us {
			u, other = other, u
		}
		w, canonical, err := parseWidth(text, u)
		if err != nil || w < 0.01 || w > 1e7 {
			return
		}
		again, same, err := parseWidth(canonical, other)
		if err != nil || same != canonical || math.Abs(again-w) > 0.005+1e-9*w {
			t.Fatalf("%q is %g m, written %q, read as %g (%q), %v", text, w, canonical, again, same, err)
		}
	})
}
