package stamp

import (
	"time"

	"tallybook/records"
)

// Paper is what a sheet of many plates is printed on.
type Paper struct {
	Word          string
	Label         string
	Width, Height float64 // millimetres
}

// Papers are those that are offered: ISO 216 A4 and A3, ANSI/ASME Y14.1 A
// (letter) and the legal size of the trade.
func Papers() []Paper {
	return []Paper{
		{"letter", "Letter, 8½ × 11 in", 215.9, 279.4},
		{"a4", "A4, 210 × 297 mm", 210, 297},
		{"legal", "Legal, 8½ × 14 in", 215.9, 355.6},
		{"a3", "A3, 297 × 420 mm", 297, 420},
	}
}

// PaperOf finds a paper by its word.
func PaperOf(word string) (Paper, bool) {
	for _, p := range Papers() {
		if p.Word == word {
			return p, true
		}
	}
	return Paper{}, false
}

// The sheet's edges, which no printer reaches, and the room between plates for a
// knife, millimetres; ours, no source.
const (
	sheetMargin = 8
	sheetGap    = 5
	markLong    = 3   // of a mark for the knife
	markOff     = 1   // from the plate's corner
	markWide    = 0.1 // of its line
)

// Sheet is plates of one size on pages of paper, row by row.
type Sheet struct {
	Paper         Paper
	Plates        []*Drawing
	across, down  int
	width, height float64 // of a plate
}

// NewSheet puts plates on pages. They are all of one size; none fits on the
// paper where the error says so.
func NewSheet(paper Paper, plates []*Drawing) (*Sheet, error) {
	if len(plates) == 0 {
		return nil, records.Errorf(records.Invalid, "there is no plate to print: name some")
	}
	s := &Sheet{Paper: paper, Plates: plates, width: plates[0].Width, height: plates[0].Height}
	fit := func(room, size float64) int { return int((room - 2*sheetMargin + sheetGap) / (size + sheetGap)) }
	s.across, s.down = fit(paper.Width, s.width), fit(paper.Height, s.height)
	if s.across < 1 || s.down < 1 {
		return nil, records.Errorf(records.Invalid, "a plate of %s mm does not fit on %s: choose another paper, or keep each plate as a file of its own", SizeWords(s.width, s.height), paper.Label)
	}
	return s, nil
}

// PerPage is how many stand on a page.
func (s *Sheet) PerPage() int { return s.across * s.down }

// Pages is how many there are.
func (s *Sheet) Pages() int { return (len(s.Plates) + s.PerPage() - 1) / s.PerPage() }

// each visits the plates of a page with their upper left corners.
func (s *Sheet) each(page int, fn func(d *Drawing, x, y float64)) {
	first := page * s.PerPage()
	for i, d := range s.Plates[first:min(first+s.PerPage(), len(s.Plates))] {
		fn(d, sheetMargin+float64(i%s.across)*(s.width+sheetGap), sheetMargin+float64(i/s.across)*(s.height+sheetGap))
	}
}

// marks gives the lines that show a knife where a plate at x, y ends.
func (s *Sheet) marks(x, y float64, line func(x0, y0, x1, y1 float64)) {
	for _, cx := range []float64{x, x + s.width} {
		for _, cy := range []float64{y, y + s.height} {
			dx, dy := 1.0, 1.0
			if cx == x {
				dx = -1
			}
			if cy == y {
				dy = -1
			}
			line(cx+dx*markOff, cy, cx+dx*(markOff+markLong), cy)
			line(cx, cy+dy*markOff, cx, cy+dy*(markOff+markLong))
		}
	}
}

// SVG draws one page, the first is 0.
func (s *Sheet) SVG(page int) []byte {
	return svg(s.Paper.Width, s.Paper.Height, "Plates", func(p *pen) {
		s.each(page, func(d *Drawing, x, y float64) {
			p.s(`<g stroke="#000" stroke-width="`, number(markWide), `" fill="none"><path d="`)
			s.marks(x, y, func(x0, y0, x1, y1 float64) {
				p.s("M", number(x0), " ", number(y0), "L", number(x1), " ", number(y1))
			})
			p.s(`"/></g><g transform="translate(`, number(x), " ", number(y), `)">`, "\n")
			p.plate(d)
			p.s("</g>\n")
		})
	})
}

// PDF draws all pages.
func (s *Sheet) PDF(at time.Time) ([]byte, error) {
	return pdf(s.Paper.Width, s.Paper.Height, "Plates", at, s.Pages(), func(q *page, i int) {
		s.each(i, func(d *Drawing, x, y float64) {
			q.f.SetDrawColor(0, 0, 0)
			q.f.SetLineWidth(markWide)
			s.marks(x, y, q.f.Line)
			q.plate(d, x, y)
		})
	})
}
