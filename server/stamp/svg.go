package stamp

import (
	"bytes"
	"encoding/xml"
	"math"
	"strconv"

	"tallybook/records"
)

// lettering is what an SVG asks for: whatever plain face the machine has, held
// to the width that the text has in the plates' own letters.
const lettering = "Go, 'Liberation Sans', Arial, 'Helvetica Neue', 'DejaVu Sans', sans-serif"

// SVG draws a plate at true size, in millimetres. A label has real text; for an
// engraver all is lines: the edges of the letters, and a code of strokes side
// by side, each as wide as the point cuts.
func (d *Drawing) SVG() []byte { return svg(d.Width, d.Height, d.Name, func(p *pen) { p.plate(d) }) }

func svg(w, h float64, name string, draw func(*pen)) []byte {
	p := &pen{}
	p.s(`<svg xmlns="http://www.w3.org/2000/svg" width="`, number(w), `mm" height="`, number(h), `mm" viewBox="0 0 `, number(w), " ", number(h), `"><title>`)
	p.text(name)
	p.s("</title>\n")
	draw(p)
	p.s("</svg>\n")
	return p.b.Bytes()
}

// pen writes SVG.
type pen struct{ b bytes.Buffer }

func (p *pen) s(parts ...string) {
	for _, t := range parts {
		p.b.WriteString(t)
	}
}

func (p *pen) text(t string) {
	if err := xml.EscapeText(&p.b, []byte(t)); err != nil { // a buffer takes all
		panic(err)
	}
}

// number writes millimetres to a thousandth, without trailing noughts.
func number(v float64) string {
	v = math.Round(v*1000) / 1000
	if v == 0 { // no minus zero
		v = 0
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

func (p *pen) plate(d *Drawing) {
	if d.Tool == records.PlateEngraver {
		p.lines(d)
		return
	}
	p.s(`<rect width="`, number(d.Width), `" height="`, number(d.Height), `" fill="#fff"/>`, "\n")
	for _, h := range d.Holes {
		p.s(`<circle cx="`, number(h.X), `" cy="`, number(h.Y), `" r="`, number(h.Radius), `" fill="none" stroke="#000" stroke-width="0.1"/>`, "\n")
	}
	for _, t := range d.Texts {
		p.s(`<text x="`, number(t.X), `" y="`, number(t.Y), `" font-size="`, number(t.Size), `" font-family="`, lettering, `"`)
		if t.Bold {
			p.s(` font-weight="700"`)
		}
		p.s(` fill="#000" textLength="`, number(t.Width), `" lengthAdjust="spacingAndGlyphs">`)
		p.text(t.Words)
		p.s("</text>\n")
	}
	if d.Code == nil {
		return
	}
	p.s(`<path fill="#000" shape-rendering="crispEdges" d="`)
	d.Code.runs(func(x, y, wide int) {
		p.s("M", number(d.CodeX+float64(x)*d.Module), " ", number(d.CodeY+float64(y)*d.Module), "h", number(float64(wide)*d.Module), "v", number(d.Module), "h", number(-float64(wide)*d.Module), "z")
	})
	p.s(`"/>`, "\n")
}

// lines draws a plate for an engraver.
func (p *pen) lines(d *Drawing) {
	p.s(`<desc>`)
	for i, t := range d.Texts {
		if i > 0 {
			p.s("; ")
		}
		p.text(t.Words)
	}
	p.s("</desc>\n", `<g fill="none" stroke="#000" stroke-linejoin="round" stroke-width="`, number(d.Line), `">`, "\n")
	for _, h := range d.Holes {
		p.s(`<circle cx="`, number(h.X), `" cy="`, number(h.Y), `" r="`, number(h.Radius), `"/>`, "\n")
	}
	for _, t := range d.Texts {
		p.s(`<path d="`)
		for _, s := range faceOf(t.Bold).outline(t.Words, t.X, t.Y, t.Size) {
			p.step(s)
		}
		p.s(`"/>`, "\n")
	}
	p.s("</g>\n")
	if d.Code == nil {
		return
	}
	p.s(`<path fill="none" stroke="#000" stroke-linecap="round" stroke-width="`, number(d.Line), `" d="`)
	d.strokes(func(x0, x1, y float64) {
		p.s("M", number(x0), " ", number(y), "h", number(x1-x0))
	})
	p.s(`"/>`, "\n")
}

// strokes visits the lines of an engraver's code: side by side in each module,
// and short of its edges by half the line, so that the point cuts just to them.
func (d *Drawing) strokes(line func(x0, x1, y float64)) {
	half := d.Line / 2
	n := max(1, int(math.Ceil(d.Module/d.Line-1e-9)))
	between := 0.0
	if n > 1 {
		between = (d.Module - d.Line) / float64(n-1)
	}
	d.Code.runs(func(x, y, run int) {
		left, top := d.CodeX+float64(x)*d.Module, d.CodeY+float64(y)*d.Module
		for i := range n {
			line(left+half, left+float64(run)*d.Module-half, top+half+float64(i)*between)
		}
	})
}

func (p *pen) step(s step) {
	p.s(string(s.Do))
	n := map[byte]int{'M': 1, 'L': 1, 'C': 3}[s.Do]
	for i, at := range s.At[:n] {
		if i > 0 {
			p.s(" ")
		}
		p.s(number(at[0]), " ", number(at[1]))
	}
}
