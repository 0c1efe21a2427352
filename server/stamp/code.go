package stamp

import (
	"tallybook/records"

	"rsc.io/qr/coding"
)

// QuietModules is the free border that a code needs on every side, in modules
// (ISO/IEC 18004, 'quiet zone').
const QuietModules = 4

// Dots are those of a label printer: 300 to the inch.
const dotMM = 25.4 / 300

// LeastModuleMM is how small a module of a code may be: four dots of a label
// printer (common practice, no source; that it reads is tested). A code of 25 mm
// then still has room for 65 modules beside its border.
const LeastModuleMM = 4 * dotMM

// Code is a QR code (ISO/IEC 18004).
type Code struct {
	Text  string
	Size  int // modules on a side, without the border
	Level string
	dark  []bool
}

// Dark says whether a module is dark.
func (c *Code) Dark(x, y int) bool { return c.dark[y*c.Size+x] }

// tries are the ways in which a code is made, the sturdiest first.
//
// Of the levels, ISO/IEC 18004 says that H restores about 30 % of a code's words
// and Q about 25 %. A stain of a tenth of the area touches more than a tenth of
// the words, so that M (15 %) would not always do.
//
// From version 7 on a code has several of the patterns by which a reader finds
// its modules, so that one under a stain is made up for by the others; below,
// there is a single one. Version 3 is the smallest of which such a stain cannot
// touch more words than are restored. Both were tried with zbarimg.
var tries = [...]struct {
	name   string
	level  coding.Level
	least  coding.Version
	module float64 // no smaller than this, millimetres
}{
	{"H", coding.H, 7, 5 * dotMM},
	{"H", coding.H, 3, LeastModuleMM},
	{"Q", coding.Q, 3, LeastModuleMM},
}

// candidate is a code in one of those ways, with the side that it needs at
// least, millimetres, border included.
type candidate struct {
	*Code
	least float64
}

// candidates are the codes of a text, the sturdiest first, with modules no smaller
// than a tool can make.
func candidates(text string, tool float64) (out []candidate, err error) {
	for _, t := range tries {
		c, wrong := encode(text, t.level, t.least, t.name)
		if wrong != nil {
			err = wrong
			continue
		}
		out = append(out, candidate{c, float64(c.Size+2*QuietModules) * max(t.module, tool)})
	}
	if len(out) > 0 {
		err = nil
	}
	return out, err
}

// fitting is the first that fits a square; nil where none does.
func fitting(codes []candidate, side float64) *candidate {
	for i := range codes {
		if codes[i].least <= side+1e-9 {
			return &codes[i]
		}
	}
	return nil
}

// encode makes the smallest code of a text at a level, from a version on, with
// the mask that the standard's rules find best.
func encode(text string, level coding.Level, least coding.Version, name string) (*Code, error) {
	for i := range len(text) {
		if text[i] < ' ' || text[i] > '~' { // what lies beyond is read otherwise by every reader
			return nil, records.Errorf(records.Invalid, "a code cannot hold %q safely: its letters are not those of plain English", text)
		}
	}
	var words coding.Encoding = coding.String(text)
	if coding.Num(text).Check() == nil {
		words = coding.Num(text)
	} else if coding.Alpha(text).Check() == nil {
		words = coding.Alpha(text)
	}
	v := least
	for ; words.Bits(v) > v.DataBytes(level)*8; v++ {
		if v == coding.MaxVersion {
			return nil, records.Errorf(records.TooLarge, "a code cannot hold %d signs: shorten the address", len(text))
		}
	}
	var best *Code
	fewest := 0
	for mask := coding.Mask(0); mask < 8; mask++ {
		plan, err := coding.NewPlan(v, level, mask)
		if err != nil {
			return nil, err
		}
		drawn, err := plan.Encode(words)
		if err != nil {
			return nil, err
		}
		c := &Code{Text: text, Size: drawn.Size, Level: name, dark: make([]bool, drawn.Size*drawn.Size)}
		for y := range c.Size {
			for x := range c.Size {
				c.dark[y*c.Size+x] = drawn.Black(x, y)
			}
		}
		if p := c.penalty(); best == nil || p < fewest {
			best, fewest = c, p
		}
	}
	return best, nil
}

// penalty is how hard a code is to read, by the four rules of ISO/IEC 18004
// ('evaluation of data masking results'): runs of five and more, blocks of four,
// what looks like a finder, and how far dark is from a half.
func (c *Code) penalty() int {
	n, sum, dark := c.Size, 0, 0
	finder := [...]bool{true, false, true, true, true, false, true}
	for _, at := range []func(i, j int) bool{func(i, j int) bool { return c.Dark(j, i) }, func(i, j int) bool { return c.Dark(i, j) }} {
		for i := range n {
			run := 0
			for j := range n {
				if j > 0 && at(i, j) == at(i, j-1) {
					run++
				} else {
					run = 1
				}
				if run == 5 {
					sum += 3
				} else if run > 5 {
					sum++
				}
			}
			light := func(from, to int) bool { // outside lies the border
				for j := from; j < to; j++ {
					if j >= 0 && j < n && at(i, j) {
						return false
					}
				}
				return true
			}
			for j := 0; j+len(finder) <= n; j++ {
				same := true
				for k, want := range finder {
					same = same && at(i, j+k) == want
				}
				if same && (light(j-4, j) || light(j+len(finder), j+len(finder)+4)) {
					sum += 40
				}
			}
		}
	}
	for y := range n {
		for x := range n {
			if c.Dark(x, y) {
				dark++
			}
			if x > 0 && y > 0 && c.Dark(x, y) == c.Dark(x-1, y) && c.Dark(x, y) == c.Dark(x, y-1) && c.Dark(x, y) == c.Dark(x-1, y-1) {
				sum += 3
			}
		}
	}
	off := 20*dark - 10*n*n // in twentieths of the whole
	if off < 0 {
		off = -off
	}
	return sum + 10*(off/(n*n))
}

// runs visits the dark stretches of each row.
func (c *Code) runs(fn func(x, y, wide int)) {
	for y := range c.Size {
		for x := 0; x < c.Size; x++ {
			wide := 0
			for x+wide < c.Size && c.Dark(x+wide, y) {
				wide++
			}
			if wide > 0 {
				fn(x, y, wide)
				x += wide
			}
		}
	}
}
