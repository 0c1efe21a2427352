package draw

import "math"

func tileName(code string) string { return "tile-" + code }

// paint draws ground over a box, with a title. On a screen it is a rectangle
// filled by the pattern. On paper the tiles are laid one by one, where the
// pattern would have them: printers' drivers turn a pattern into a picture,
// either as large as the page or too coarse to be told from another, while
// strokes stay strokes.
func (p *Patterns) paint(s *SVG, code string, box rect, theme Theme, title string) {
	code = p.known(code)
	t := p.tiles[code]()
	fill := p.Fill(s, code)
	if theme == Print {
		m, _ := p.v.Material(code)
		fill = groundColours(m, theme, t.dark).ground
	}
	w, h := box.x1-box.x0, box.y1-box.y0
	s.Start("rect").N("x", box.x0).N("y", box.y0).N("width", w).N("height", h).A("fill", fill).Open()
	if title != "" {
		s.Title(title)
	}
	s.Close()
	if theme != Print {
		return
	}
	// An inner drawing clips what reaches over its edges.
	s.Start("svg").N("x", box.x0).N("y", box.y0).N("width", w).N("height", h).Open()
	href := "#" + s.ID(tileName(code))
	for y := math.Floor(box.y0/t.h) * t.h; y < box.y1; y += t.h {
		for x := math.Floor(box.x0/t.w) * t.w; x < box.x1; x += t.w {
			s.Start("use").Link(href).N("x", x-box.x0).N("y", y-box.y0).End()
		}
	}
	s.Close()
}
