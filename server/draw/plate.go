package draw

import (
	"math"
	"strings"
)

// PlateFace is a plate as it is stamped, with what a record says under each of
// its fields.
type PlateFace struct {
	Title     string // for those who cannot see it
	Authority string
	Number    string // '?' where a digit could not be read
	Series    string
	Fields    []PlateField
	// Against names the record that is held against it: 'record T-12'; "": none.
	Against string
	Columns int // of fields
}

// PlateField is one thing that is stamped.
type PlateField struct {
	Label, Stamped string
	// Record is what the record says, and Agree how that goes with the plate:
	// agrees, near, differs or missing.
	Record string
	Agree  string
}

// PlateSign is the sign for how a field of a plate and of a record agree, and
// the word for it: never the colour alone.
func PlateSign(agree string) (sign, word string) {
	switch agree {
	case "agrees":
		return "=", "agrees"
	case "near":
		return "≈", "near"
	case "differs":
		return "≠", "differs"
	}
	return "–", "cannot be told"
}

// Sizes of a plate, pixels.
const (
	plateCellW  = 176.0
	plateCellH  = 46.0 // of what is stamped
	plateSlipH  = 40.0 // of what the record says, under it
	platePad    = 22.0
	plateHeadH  = 74.0
	plateRivet  = 5.0
	plateNumber = 34.0
	plateMono   = `ui-monospace, "DejaVu Sans Mono", monospace`
	monoAdvance = 0.61 // of a letter, in font sizes: DejaVu Sans Mono's 0.602, on the wide side
)

// plateMetal are the colours of the metal and of its edge.
var plateMetal = [themeCount][2]string{Light: {"#e4e2db", "#8f8a7d"}, Dark: {"#34332f", "#8d877a"}, Print: {"#ffffff", "#6e6e6e"}}

// PlateDrawing draws a plate of metal with struck letters and, on slips under
// what is stamped, what the record says. Besides its colour each part bears a
// class that names the colour, so that a page can recolour it.
func PlateDrawing(f *PlateFace, t Theme, prefix string) []byte {
	c, metal := t.Colours(), plateMetal[min(t, Print)]
	s := NewSVG(prefix)
	cols := max(1, f.Columns)
	rows := (len(f.Fields) + cols - 1) / cols
	slip := plateSlipH
	if f.Against == "" {
		slip = 0
	}
	head := plateHeadH
	if f.Authority != "" {
		head += 16
	}
	if f.Series != "" {
		head += 18
	}
	w := 2*platePad + float64(cols)*plateCellW
	h := platePad + head + float64(rows)*(plateCellH+slip+12) + platePad
	s.Start("svg").A("xmlns", "http://www.w3.org/2000/svg").A("viewBox", "0 0 "+trim(w)+" "+trim(h)).
		N("width", w).N("height", h).A("role", "img").A("aria-labelledby", s.ID("title")).
		A("font-family", mapFont).A("fill", c.Ink).A("class", "fill-ink").Open()
	s.Start("title").IDAttr("title").Text(f.Title)
	s.Start("rect").N("x", 1.5).N("y", 1.5).N("width", w-3).N("height", h-3).N("rx", 12).
		A("fill", metal[0]).A("stroke", metal[1]).N("stroke-width", 2).A("class", "metal").End()
	s.Start("rect").N("x", 6.5).N("y", 6.5).N("width", w-13).N("height", h-13).N("rx", 8).
		A("fill", "none").A("stroke", metal[1]).N("stroke-width", 0.8).A("class", "metal-edge").End()
	for _, at := range [][2]float64{{20, 20}, {w - 20, 20}, {20, h - 20}, {w - 20, h - 20}} {
		s.Start("circle").N("cx", at[0]).N("cy", at[1]).N("r", plateRivet).A("fill", c.Paper).A("stroke", metal[1]).N("stroke-width", 1.4).A("class", "fill-paper metal-line").End()
	}
	y := platePad + 8
	if f.Authority != "" {
		s.middle(w/2, y+6, 12, strings.ToUpper(f.Authority), c.Muted, "fill-muted", w-2*platePad-40)
		y += 16
	}
	y += 42
	s.struck(w/2, y, f.Number, w-2*platePad-30, c)
	if f.Series != "" {
		s.middle(w/2, y+24, 12, f.Series, c.Muted, "fill-muted", w-2*platePad)
	}
	top := platePad + head
	for i := range f.Fields {
		x := platePad + float64(i%cols)*plateCellW
		s.plateField(&f.Fields[i], x, top+float64(i/cols)*(plateCellH+slip+12), slip > 0, c)
	}
	s.Close()
	return s.Bytes()
}

// middle writes a line around x, shortened to a width.
func (s *SVG) middle(x, y, size float64, t, fill, class string, width float64) {
	s.Start("text").N("x", x).N("y", y).N("font-size", size).A("text-anchor", "middle").A("fill", fill).A("class", class).
		Text(Shorten(plainText(t), size, false, width))
}

// struck writes the number; a digit that could not be read is a box with a
// question mark in it.
func (s *SVG) struck(x, y float64, number string, width float64, c Colours) {
	letters := []rune(plainText(number))
	size := plateNumber
	step := func() float64 { return size * (monoAdvance + 0.12) }
	for size > 12 && float64(len(letters))*step() > width {
		size--
	}
	if most := int(width / step()); len(letters) > most && most > 1 {
		letters = append(letters[:most-1], '…')
	}
	x -= float64(len(letters)) * step() / 2
	for _, r := range letters {
		mid := x + step()/2
		if r == '?' {
			s.Start("rect").N("x", x+1).N("y", y-size*0.82).N("width", step()-2).N("height", size).A("fill", "none").
				A("stroke", c.Signal).N("stroke-width", 1.4).A("stroke-dasharray", "3 2").A("class", "line-signal").End()
			s.Start("text").N("x", mid).N("y", y).N("font-size", size*0.8).A("text-anchor", "middle").A("font-family", plateMono).A("fill", c.Signal).A("class", "fill-signal").Text("?")
		} else if r != ' ' {
			s.Start("text").N("x", mid).N("y", y).N("font-size", size).A("text-anchor", "middle").A("font-family", plateMono).A("font-weight", "700").Text(string(r))
		}
		x += step()
	}
}

// plateField draws what is stamped and, under it, the slip with what the record
// says.
func (s *SVG) plateField(f *PlateField, x, y float64, slip bool, c Colours) {
	inner := plateCellW - 14
	s.Start("text").N("x", x+7).N("y", y+14).N("font-size", 11.5).A("fill", c.Muted).A("class", "fill-muted").Text(Shorten(strings.ToUpper(f.Label), 11.5, false, inner))
	value, size := plainText(f.Stamped), 17.0
	for size > 11 && float64(len([]rune(value)))*size*monoAdvance > inner {
		size--
	}
	if most := int(inner / (size * monoAdvance)); len([]rune(value)) > most {
		value = string([]rune(value)[:max(1, most-1)]) + "…"
	}
	if value == "" {
		s.Start("text").N("x", x+7).N("y", y+34).N("font-size", 12.5).A("fill", c.Muted).A("class", "fill-muted").Text("not stamped")
	} else {
		s.Start("text").N("x", x+7).N("y", y+36).N("font-size", size).A("font-family", plateMono).A("font-weight", "700").Text(value)
	}
	if !slip {
		return
	}
	sign, word := PlateSign(f.Agree)
	fill, class, weight := c.Muted, "fill-muted", "400"
	edge, edgeClass := c.Line, "line-muted"
	switch f.Agree {
	case "differs":
		fill, class, weight, edge, edgeClass = c.Signal, "fill-signal", "700", c.Signal, "line-signal"
	case "agrees":
		fill, class, weight = c.Ink, "fill-ink", "600"
	case "near":
		fill, class = c.Ink, "fill-ink"
	}
	top := y + plateCellH
	s.Start("rect").N("x", x+2).N("y", top).N("width", plateCellW-4).N("height", plateSlipH).A("fill", c.Paper).A("stroke", edge).N("stroke-width", 1).A("class", "fill-paper "+edgeClass).End()
	s.Start("text").N("x", x+10).N("y", top+27).N("font-size", 22).A("font-weight", "700").A("fill", fill).A("class", class).Text(sign)
	said := plainText(f.Record)
	if said == "" {
		said = "not recorded"
	}
	small := 13.0
	for small > 10.5 && TextWidth(said, small, weight != "400") > plateCellW-40 {
		small -= 0.5
	}
	s.Start("text").N("x", x+31).N("y", top+17).N("font-size", small).A("fill", fill).A("class", class).A("font-weight", weight).Text(Shorten(said, small, weight != "400", plateCellW-40))
	s.Start("text").N("x", x+31).N("y", top+33).N("font-size", 11.5).A("fill", fill).A("class", class).Text(word)
}

// PlateMap is where a plate was seen against where the records lie.
type PlateMap struct {
	Title  string
	W, H   float64
	Metric bool
	Points []PlatePoint
}

// PlatePoint is a place on it, metres east and north of any one point.
type PlatePoint struct {
	X, Y     float64
	Accuracy float64 // metres; 0: not known
	Label    string
	Title    string
	Href     string
	Seen     bool // where the plate was seen; else a record
	Chosen   bool // the record that is looked at
}

// platePoints is the least ground that is shown, metres.
const leastPlateM = 40.0

// PlateMapDrawing draws the places with north up, to a common scale.
func PlateMapDrawing(m *PlateMap, t Theme, prefix string) []byte {
	c := t.Colours()
	s := NewSVG(prefix)
	v := fitPlate(m)
	s.Start("svg").A("xmlns", "http://www.w3.org/2000/svg").A("viewBox", "0 0 "+trim(m.W)+" "+trim(m.H)).
		N("width", m.W).N("height", m.H).A("role", "img").A("aria-labelledby", s.ID("title")).
		A("font-family", mapFont).A("fill", c.Ink).A("class", "fill-ink").Open()
	s.Start("title").IDAttr("title").Text(m.Title)
	s.Start("rect").N("x", 0.5).N("y", 0.5).N("width", m.W-1).N("height", m.H-1).A("fill", c.Paper).A("stroke", c.Hair).A("class", "fill-paper line-hair").End()
	for i := range m.Points {
		if p := &m.Points[i]; p.Accuracy > 0 {
			x, y := v.at(p)
			s.Start("circle").N("cx", x).N("cy", y).N("r", min(p.Accuracy/v.mpp, 4*m.W)).A("fill", "none").A("stroke", c.Line).A("stroke-dasharray", "4 3").A("class", "line-muted").End()
		}
	}
	var placed labelBoxes
	for i := range m.Points {
		x, y := v.at(&m.Points[i])
		placed = append(placed, rect{x - 8, y - 8, x + 8, y + 8})
	}
	for _, seen := range []bool{false, true} {
		for i := range m.Points {
			if p := &m.Points[i]; p.Seen == seen {
				s.platePoint(p, v, m, &placed, c)
			}
		}
	}
	s.plateScale(m, v.mpp, c)
	s.Close()
	return s.Bytes()
}

// plateView maps metres to pixels.
type plateView struct{ x0, y0, mpp, w, h float64 }

func (v plateView) at(p *PlatePoint) (x, y float64) {
	return v.w/2 + (p.X-v.x0)/v.mpp, v.h/2 - (p.Y-v.y0)/v.mpp
}

// fitPlate shows all places; accuracies as far as they are not much wider than
// the places are apart.
func fitPlate(m *PlateMap) plateView {
	v := plateView{mpp: 1, w: m.W, h: m.H}
	if len(m.Points) == 0 {
		return v
	}
	west, east, south, north := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	for _, p := range m.Points {
		west, east, south, north = min(west, p.X), max(east, p.X), min(south, p.Y), max(north, p.Y)
	}
	spread := max(east-west, north-south, leastPlateM)
	for _, p := range m.Points {
		r := min(p.Accuracy, spread)
		west, east, south, north = min(west, p.X-r), max(east, p.X+r), min(south, p.Y-r), max(north, p.Y+r)
	}
	v.x0, v.y0 = (west+east)/2, (south+north)/2
	v.mpp = max((east-west)/(m.W-90), (north-south)/(m.H-90), leastPlateM/m.W)
	return v
}

// labelBoxes are the places of labels that stand already.
type labelBoxes []rect

// free finds a place for a label around a point, the first that hits nothing.
func (b *labelBoxes) free(x, y, w, h float64, m *PlateMap) rect {
	var first rect
	for i, d := range [][2]float64{{10, -h / 2}, {-w - 10, -h / 2}, {-w / 2, -h - 10}, {-w / 2, 10}, {10, 8}, {-w - 10, 8}, {10, -h - 8}, {-w - 10, -h - 8}} {
		r := rect{x + d[0], y + d[1], x + d[0] + w, y + d[1] + h}
		if i == 0 {
			first = r
		}
		if r.x0 < 2 || r.y0 < 2 || r.x1 > m.W-2 || r.y1 > m.H-2 {
			continue
		}
		hit := false
		for _, o := range *b {
			hit = hit || r.x0 < o.x1 && o.x0 < r.x1 && r.y0 < o.y1 && o.y0 < r.y1
		}
		if !hit {
			first = r
			break
		}
	}
	*b = append(*b, first)
	return first
}

// platePoint draws a place: a lozenge where the plate was seen, a ring for a
// record, full for the one that is looked at.
func (s *SVG) platePoint(p *PlatePoint, v plateView, m *PlateMap, placed *labelBoxes, c Colours) {
	x, y := v.at(p)
	if s.Start("a"); p.Href != "" {
		s.Link(p.Href)
	}
	s.Open()
	s.Title(p.Title)
	if p.Seen {
		var d Path
		d.M(x, y-8).L(x+8, y).L(x, y+8).L(x-8, y).Z()
		s.Start("path").D(&d).A("fill", c.Signal).A("stroke", c.Paper).A("class", "fill-signal").End()
	} else {
		fill, class := c.Paper, "fill-paper line-ink"
		if p.Chosen {
			fill, class = c.Ink, "fill-ink line-ink"
		}
		s.Start("circle").N("cx", x).N("cy", y).N("r", 6).A("fill", fill).A("stroke", c.Ink).N("stroke-width", 1.8).A("class", class).End()
	}
	w := TextWidth(p.Label, 13, true)
	r := placed.free(x, y, w, 15, m)
	s.Start("text").N("x", r.x0).N("y", r.y1-3).N("font-size", 13).A("font-weight", "600").A("stroke", c.Paper).N("stroke-width", 3).A("paint-order", "stroke").
		A("class", "halo").Text(p.Label)
	s.Close()
}

// plateScale draws the scale bar and north.
func (s *SVG) plateScale(m *PlateMap, mpp float64, c Colours) {
	unitM, name := 0.3048, "ft"
	most := m.W / 3 * mpp
	switch {
	case m.Metric && most >= 1000:
		unitM, name = 1000, "km"
	case m.Metric:
		unitM, name = 1, "m"
	case most >= 0.25*1609.344:
		unitM, name = 1609.344, "mile"
	}
	length := roundDown(most / unitM)
	px, x, y := length*unitM/mpp, 12.0, m.H-12
	var p Path
	p.M(x, y-5).V(y).H(x + px).V(y - 5)
	s.Start("path").D(&p).A("fill", "none").A("stroke", c.Ink).N("stroke-width", 1.4).A("class", "line-ink no-fill").End()
	s.Start("text").N("x", x+px+6).N("y", y).N("font-size", 12).Text(measure(length, name))
	var n Path
	n.M(m.W-16, 26).V(10).L(m.W-20, 17).M(m.W-16, 10).L(m.W-12, 17)
	s.Start("path").D(&n).A("fill", "none").A("stroke", c.Ink).N("stroke-width", 1.4).A("class", "line-ink no-fill").End()
	s.Start("text").N("x", m.W-16).N("y", 39).N("font-size", 12).A("text-anchor", "middle").Text("N")
}
