package stamp

import (
	"fmt"
	"math"
	"strings"

	"tallybook/records"
)

// Drawing is a plate laid out, millimetres from its upper left corner.
type Drawing struct {
	Name   string // what it shows, in words
	Width  float64
	Height float64
	Tool   records.PlateTool
	Line   float64 // width of an engraver's line
	Holes  []Hole
	Texts  []Text

	Code         *Code
	CodeX, CodeY float64 // of its first module; the free border lies outside
	Module       float64
}

// Hole is where the plate is drilled.
type Hole struct{ X, Y, Radius float64 }

// Text is one line of words; X, Y is where its baseline begins.
type Text struct {
	X, Y, Size, Width float64
	Bold              bool
	Words             string
}

// The smallest letters, by the height of their line (an em), millimetres: about
// five points for a printer, seven for a point that cuts, or twelve times the
// width of its line. Ours, no source.
const (
	leastLabelEm    = 1.8
	leastEngraverEm = 2.4
)

// Shares of a plate and sizes of its words; ours, no source.
const (
	mostEm       = 4.2  // of the lines
	headingEm    = 3.2  // at most
	mostNumberEm = 13.0 // at most
	lineHigh     = 1.28 // of a line, in ems
	rise         = 0.95 // from the top of a line to its baseline, in ems
	labelGap     = 0.7  // between label and value, in ems
	columnGap    = 2.5  // millimetres
	codeGap      = 1.5  // between words and code's border, millimetres
	mostCodeSide = 32.0 // millimetres, border included
)

// The code's share of a plate's longer side, and how much smaller than their
// most heading and number are: tried in turn. Ours, no source.
var (
	codeShares = [...]float64{0.46, 0.38, 0.3}
	headShares = [...]float64{1, 0.8, 0.6}
)

// box is an oblong that something is fitted into.
type box struct{ x, y, w, h float64 }

// Lay lays a plate out. Where something cannot be shown, faults say what and how
// to mend it, and the drawing must not be used: there is none.
func Lay(p Plate, f records.PlateFormat) (*Drawing, []records.Fault) {
	f = f.Filled()
	d := &Drawing{Name: "Plate " + p.Number, Width: f.WidthMM, Height: f.HeightMM, Tool: f.Tool, Line: f.LineMM}
	if faults := unshown(p); len(faults) > 0 {
		return nil, faults
	}
	content := d.drill(f.HolesMM)
	codes, err := candidates(p.Code, d.leastModule())
	if err != nil {
		return nil, []records.Fault{{Severity: records.Refusal, Field: "code", Message: records.MessageOf(err), Mend: "give the plate a number in plain letters and digits, or shorten the public address"}}
	}
	var fault *records.Fault
	for _, share := range codeShares { // where the lines have too little room, code and number give way
		for _, head := range headShares {
			d.Texts = d.Texts[:0]
			var words box
			if words, fault = d.placeCode(codes, content, share); fault == nil {
				fault = d.placeWords(p, words, head)
			}
			if fault == nil {
				return d, nil
			}
		}
	}
	return nil, []records.Fault{*fault}
}

// unshown says what has no place on any plate.
func unshown(p Plate) (faults []records.Fault) {
	if p.Number == "" {
		faults = append(faults, records.Fault{Severity: records.Refusal, Field: "number", Message: "there is no number to stamp", Mend: "give one"})
	}
	if strings.Contains(p.Number, "?") {
		faults = append(faults, records.Fault{Severity: records.Refusal, Field: "number", Message: "the number " + p.Number + " is not whole: '?' stands for a digit that could not be read", Mend: "find out the digit first"})
	}
	add := func(f *records.Fault) {
		if f != nil {
			faults = append(faults, *f)
		}
	}
	add(unfit("number", p.Number, true))
	add(unfit("heading", p.Heading, false))
	for _, l := range p.Lines {
		add(unfit(l.Label, l.Value, true))
	}
	return faults
}

// drill sets the holes and gives what they leave.
func (d *Drawing) drill(across float64) box {
	margin := min(max(0.05*min(d.Width, d.Height), 1.5), 4)
	b := box{margin, margin, d.Width - 2*margin, d.Height - 2*margin}
	if across <= 0 {
		return b
	}
	const land = 1.5 // metal left around a hole
	off := across/2 + land
	for _, x := range []float64{off, d.Width - off} {
		for _, y := range []float64{off, d.Height - off} {
			d.Holes = append(d.Holes, Hole{x, y, across / 2})
		}
	}
	in := across + 2*land
	if d.Width >= d.Height {
		return box{in, margin, d.Width - 2*in, d.Height - 2*margin}
	}
	return box{margin, in, d.Width - 2*margin, d.Height - 2*in}
}

// leastEm is the floor of the letters.
func (d *Drawing) leastEm() float64 {
	if d.Tool == records.PlateEngraver {
		return max(leastEngraverEm, 12*d.Line)
	}
	return leastLabelEm
}

// leastModule is the smallest module that the tool can make: a module is wider
// than the line that fills it (ours, no source).
func (d *Drawing) leastModule() float64 {
	if d.Tool == records.PlateEngraver {
		return 1.5 * d.Line
	}
	return LeastModuleMM
}

// placeCode sets the code at the right, or at the foot of an upright plate, and
// gives what is left for words.
func (d *Drawing) placeCode(codes []candidate, in box, share float64) (box, *records.Fault) {
	across := in.w >= in.h
	long, short := in.w, in.h
	if !across {
		long, short = in.h, in.w
	}
	side := min(short, share*long, mostCodeSide)
	c := fitting(codes, side)
	if c == nil { // a little more of a small plate
		side = min(short, 0.7*long)
		if c = fitting(codes, side); c == nil {
			least := codes[len(codes)-1].least
			return in, &records.Fault{Severity: records.Refusal, Field: "size", Message: fmt.Sprintf("the code needs a square of %.0f mm, and the plate of %s mm has %.0f mm for it", math.Ceil(least), SizeWords(d.Width, d.Height), math.Floor(max(side, 0))), Mend: "choose a larger plate or a shorter public address"}
		}
		side = c.least
	}
	n := float64(c.Size + 2*QuietModules)
	module := side / n
	if d.Tool == records.PlateLabel { // whole dots, so that each module is as wide as the next
		module = math.Floor(module/dotMM+1e-9) * dotMM
	}
	side = n * module
	d.Code, d.Module = c.Code, module
	x, y := in.x+in.w-side, in.y+(in.h-side)/2
	left := box{in.x, in.y, in.w - side - codeGap, in.h}
	if !across {
		x, y = in.x+(in.w-side)/2, in.y+in.h-side
		left = box{in.x, in.y, in.w, in.h - side - codeGap}
	}
	d.CodeX, d.CodeY = x+QuietModules*module, y+QuietModules*module
	return left, nil
}

// placeWords sets heading, number and lines from the top.
func (d *Drawing) placeWords(p Plate, in box, head float64) *records.Fault {
	y, floor := in.y, d.leastEm()
	if p.Heading != "" {
		em, rows := fitWords(plain(), p.Heading, in.w, head*min(headingEm, in.h*0.12), floor, 2)
		if rows == nil {
			return d.noRoom("heading", "the heading “"+p.Heading+"”", "shorten it")
		}
		for _, t := range rows {
			d.add(t, in.x, y+rise*em, em, false)
			y += lineHigh * em
		}
	}
	em, rows := fitWords(heavy(), p.Number, in.w, head*min(mostNumberEm, max(in.h*0.28, 1.6*floor)), 1.4*floor, 1)
	if rows == nil {
		return d.noRoom("number", "the number "+p.Number, "choose a larger plate")
	}
	d.add(p.Number, in.x, y+0.92*em, em, true)
	y += 1.18 * em
	return d.placeLines(p.Lines, box{in.x, y, in.w, in.y + in.h - y})
}

// placeLines sets the fields as large as they fit, in one to three columns.
func (d *Drawing) placeLines(lines []Line, in box) *records.Fault {
	if len(lines) == 0 {
		return nil
	}
	var best *setting
	for columns := 1; columns <= 3 && columns <= len(lines); columns++ {
		wide := (in.w - columnGap*float64(columns-1)) / float64(columns)
		least := d.leastEm()
		if best != nil {
			least = best.em + 0.2 // more columns only where they are worth it
		}
		for em := mostEm; em >= least-1e-9; em -= 0.05 {
			if s := set(lines, em, wide, in.h, columns); s != nil {
				best = s
				break
			}
		}
	}
	if best == nil {
		return d.noRoom("fields", fmt.Sprintf("the %d lines with “%s”", len(lines), longest(lines)), "choose a larger plate, or have fewer fields stamped")
	}
	for _, t := range best.texts {
		d.add(t.Words, in.x+t.X, in.y+t.Y, best.em, t.Bold)
	}
	return nil
}

// setting is the lines set at one size.
type setting struct {
	em    float64
	texts []Text
}

// set tries a size; nil where it does not fit.
func set(lines []Line, em, wide, high float64, columns int) *setting {
	labels := 0.0
	for _, l := range lines {
		labels = max(labels, plain().width(l.Label, em))
	}
	room := wide - labels - labelGap*em
	if room <= 0 {
		return nil
	}
	values, total := make([][]string, len(lines)), 0
	for i, l := range lines {
		if values[i] = wrap(heavy(), l.Value, room, em); values[i] == nil {
			return nil
		}
		total += len(values[i])
	}
	most := int(high/(lineHigh*em) + 1e-9)
	even := (total + columns - 1) / columns
	s := &setting{em: em}
	for limit := even; limit <= most; limit++ { // as even as the lines let
		column, row := 0, 0
		s.texts = s.texts[:0]
		for i, l := range lines {
			if row > 0 && row+len(values[i]) > limit {
				column, row = column+1, 0
			}
			x := float64(column) * (wide + columnGap)
			for j, v := range values[i] {
				y := (float64(row) + rise/lineHigh) * lineHigh * em
				if j == 0 {
					s.texts = append(s.texts, Text{X: x, Y: y, Words: l.Label})
				}
				s.texts = append(s.texts, Text{X: x + labels + labelGap*em, Y: y, Bold: true, Words: v})
				row++
			}
			if row > limit {
				column = columns
			}
		}
		if column < columns {
			return s
		}
	}
	return nil
}

// add sets a text at its own width.
func (d *Drawing) add(words string, x, y, em float64, bold bool) {
	d.Texts = append(d.Texts, Text{X: x, Y: y, Size: em, Width: faceOf(bold).width(words, em), Bold: bold, Words: words})
}

// fitWords finds the largest size at which a text fits in some rows; nil where
// none from most down to least does.
func fitWords(f *face, text string, wide, most, least float64, mostRows int) (float64, []string) {
	for em := max(most, least); em >= least-1e-9; em -= 0.05 {
		if rows := wrap(f, text, wide, em); rows != nil && len(rows) <= mostRows {
			return em, rows
		}
	}
	return 0, nil
}

// wrap breaks a text at its blanks; nil where one word is too long.
func wrap(f *face, text string, wide, em float64) []string {
	var rows []string
	row := ""
	for _, word := range strings.Split(text, " ") {
		longer := strings.TrimPrefix(row+" "+word, " ")
		switch {
		case f.width(longer, em) <= wide:
			row = longer
		case f.width(word, em) <= wide && row != "":
			rows, row = append(rows, row), word
		default:
			return nil
		}
	}
	return append(rows, row)
}

func longest(lines []Line) string {
	out := lines[0].Value
	for _, l := range lines {
		if heavy().width(l.Value, 1) > heavy().width(out, 1) {
			out = l.Value
		}
	}
	return out
}

// noRoom says what does not fit even in the smallest letters.
func (d *Drawing) noRoom(field, what, mend string) *records.Fault {
	return &records.Fault{
		Severity: records.Refusal, Field: field, Mend: mend,
		Message: fmt.Sprintf("%s cannot stand on %s mm in letters of %.1f mm, the smallest that are made", what, SizeWords(d.Width, d.Height), d.leastEm()),
	}
}

// SizeWords says a size: '80 × 50'.
func SizeWords(w, h float64) string { return number(w) + " × " + number(h) }
