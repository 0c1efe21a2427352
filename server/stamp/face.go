package stamp

import (
	"fmt"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// The plates' letters: the Go fonts, under a BSD licence, which know the Latin,
// Greek and Cyrillic letters of Europe. A PDF carries them with it; an SVG asks
// for a plain face and holds each text to the width it has in these.
var (
	plain = sync.OnceValue(func() *face { return newFace(goregular.TTF) })
	heavy = sync.OnceValue(func() *face { return newFace(gobold.TTF) })
)

func faceOf(bold bool) *face {
	if bold {
		return heavy()
	}
	return plain()
}

// face measures and outlines text. It is safe for concurrent use.
type face struct {
	font *sfnt.Font
	unit fixed.Int26_6 // an em, in the font's own units
	ttf  []byte
	wide map[rune]float64 // widths of the signs of Latin, Greek and Cyrillic, in ems
}

func newFace(ttf []byte) *face {
	f, err := sfnt.Parse(ttf)
	if err != nil { // the font is part of the program
		panic(fmt.Sprintf("stamp: the font: %v", err))
	}
	out := &face{font: f, unit: fixed.I(int(f.UnitsPerEm())), ttf: ttf, wide: map[rune]float64{}}
	for r := ' '; r < 0x500; r++ {
		out.wide[r] = out.advance(r)
	}
	return out
}

// advance is how far a sign moves the pen, in ems.
func (f *face) advance(r rune) float64 {
	if w, ok := f.wide[r]; ok {
		return w
	}
	var b sfnt.Buffer
	i, err := f.font.GlyphIndex(&b, r)
	if err != nil {
		return 0
	}
	a, err := f.font.GlyphAdvance(&b, i, f.unit, font.HintingNone)
	if err != nil {
		return 0
	}
	return float64(a) / float64(f.unit)
}

// lacks gives the first sign of a text that the font does not have.
func (f *face) lacks(text string) (rune, bool) {
	var b sfnt.Buffer
	for _, r := range text {
		if i, err := f.font.GlyphIndex(&b, r); err != nil || i == 0 {
			return r, true
		}
	}
	return 0, false
}

// width is how wide a text is at a size, in the unit of the size.
func (f *face) width(text string, size float64) float64 {
	sum := 0.0
	for _, r := range text {
		sum += f.advance(r)
	}
	return sum * size
}

// step is one step of a pen: 'M' to move, 'L' a line, 'C' a curve with two
// points that draw it, 'Z' back to where it began.
type step struct {
	Do byte
	At [3][2]float64
}

// outline is the edge of every letter of a text whose baseline begins at x, y.
func (f *face) outline(text string, x, y, size float64) []step {
	var b sfnt.Buffer
	var out []step
	scale := size / float64(f.unit)
	for _, r := range text {
		i, err := f.font.GlyphIndex(&b, r)
		if err != nil {
			continue
		}
		at := func(p fixed.Point26_6) [2]float64 { return [2]float64{x + float64(p.X)*scale, y + float64(p.Y)*scale} }
		segments, err := f.font.LoadGlyph(&b, i, f.unit, nil)
		if err != nil {
			continue
		}
		open := false
		var here [2]float64
		for _, s := range segments {
			switch s.Op {
			case sfnt.SegmentOpMoveTo:
				if open {
					out = append(out, step{Do: 'Z'})
				}
				open, here = true, at(s.Args[0])
				out = append(out, step{Do: 'M', At: [3][2]float64{here}})
			case sfnt.SegmentOpLineTo:
				here = at(s.Args[0])
				out = append(out, step{Do: 'L', At: [3][2]float64{here}})
			case sfnt.SegmentOpQuadTo:
				c, end := at(s.Args[0]), at(s.Args[1])
				out = append(out, step{Do: 'C', At: [3][2]float64{toward(here, c), toward(end, c), end}})
				here = end
			case sfnt.SegmentOpCubeTo:
				here = at(s.Args[2])
				out = append(out, step{Do: 'C', At: [3][2]float64{at(s.Args[0]), at(s.Args[1]), here}})
			}
		}
		if open {
			out = append(out, step{Do: 'Z'})
		}
		x += f.advance(r) * size
	}
	return out
}

// toward goes two thirds of the way: what a curve of the second degree, drawn
// by one point c, is drawn by as one of the third.
func toward(from, c [2]float64) [2]float64 {
	return [2]float64{from[0] + (c[0]-from[0])*2/3, from[1] + (c[1]-from[1])*2/3}
}
