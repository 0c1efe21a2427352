package draw

import (
	"math"
	"strconv"
	"strings"
)

// SitePlan is what stands around a pin, seen from above, north up: things that
// a well keeps away from, each with the ground that it forbids.
type SitePlan struct {
	Title  string
	HalfM  float64 // from the pin to each side
	Things []SiteThing
	Scale  SiteScale
	// PinOffM is how far off the pin may be; 0: as good as it is drawn.
	PinOffM float64
}

// SiteThing is one of them. Coordinates are metres east and north of the pin.
type SiteThing struct {
	Words string // beside it: 'septic tank 80 ft'
	Title string
	Kind  SiteKind
	Parts [][][2]float64
	KeepM float64 // the distance that the rule asks; 0: none
	Near  bool    // nearer than that, or never far enough: drawn in the signal colour
}

// SiteKind says what the positions of a thing make.
type SiteKind uint8

// The kinds.
const (
	SitePoint SiteKind = iota
	SiteLine
	SiteArea
)

// SiteScale is the bar that tells the scale.
type SiteScale struct {
	LengthM float64
	Words   string
}

// SiteSize is the width and height of a site plan, pixels: fixed, so that a
// place pressed on it can be told from the pixels alone.
const SiteSize = 320

// SiteOffset turns a place pressed on a plan, in pixels from its top left, to
// metres east and north of the pin.
func SiteOffset(halfM, x, y float64) (eastM, northM float64) {
	perPixel := 2 * halfM / SiteSize
	return (x - SiteSize/2) * perPixel, (SiteSize/2 - y) * perPixel
}

// Site draws the plan. The forbidden ground of all things is one tint, however
// often it overlaps.
func Site(p *SitePlan, t Theme, prefix string) []byte {
	c := t.Colours()
	s := NewSVG(prefix)
	s.Start("svg").A("xmlns", "http://www.w3.org/2000/svg").N("width", SiteSize).N("height", SiteSize).
		A("viewBox", "0 0 "+strconv.Itoa(SiteSize)+" "+strconv.Itoa(SiteSize)).A("role", "img").
		A("aria-labelledby", s.ID("title")+" "+s.ID("desc")).A("font-family", mapFont).Open()
	s.Start("title").IDAttr("title").Text(p.Title)
	s.Start("desc").IDAttr("desc").Text(p.said())
	s.Start("defs").Open()
	s.Start("clipPath").IDAttr("frame").Open()
	s.Start("rect").N("width", SiteSize).N("height", SiteSize).End()
	s.Close()
	s.Close()
	s.Start("rect").N("width", SiteSize).N("height", SiteSize).A("fill", c.Paper).End()
	s.Start("g").A("clip-path", s.URL("frame")).Open()
	d := sitePlan{svg: s, plan: p, colours: c, perM: SiteSize / 2 / p.HalfM}
	d.rings()
	d.forbidden()
	for i := range p.Things {
		d.thing(&p.Things[i])
	}
	d.pin()
	d.words()
	s.Close()
	d.frame()
	return s.Bytes()
}

// said is the plan in words, for those who cannot see it.
func (p *SitePlan) said() string {
	if len(p.Things) == 0 {
		return "Nothing is drawn around the pin."
	}
	words := make([]string, len(p.Things))
	for i := range p.Things {
		words[i] = p.Things[i].Title
	}
	return "Around the pin: " + strings.Join(words, "; ") + "."
}

type sitePlan struct {
	svg     *SVG
	plan    *SitePlan
	colours Colours
	perM    float64
}

func (d *sitePlan) at(p [2]float64) (x, y float64) {
	return SiteSize/2 + p[0]*d.perM, SiteSize/2 - p[1]*d.perM
}

// rings are circles around the pin at whole lengths of the scale bar.
func (d *sitePlan) rings() {
	step := d.plan.Scale.LengthM
	for r := step; step > 0 && r < d.plan.HalfM*math.Sqrt2; r += step {
		d.svg.Start("circle").N("cx", SiteSize/2).N("cy", SiteSize/2).N("r", r*d.perM).A("fill", "none").A("stroke", d.colours.Hair).End()
	}
}

// forbidden tints the ground where a rule allows no well. One group bears the
// opacity, so that where two such grounds overlap they are no darker.
func (d *sitePlan) forbidden() {
	s := d.svg
	s.Start("g").A("opacity", "0.16").A("fill", d.colours.Signal).A("stroke", d.colours.Signal).A("stroke-linecap", "round").A("stroke-linejoin", "round").Open()
	for i := range d.plan.Things {
		th := &d.plan.Things[i]
		if !(th.KeepM > 0) {
			continue
		}
		if th.Kind == SitePoint {
			for _, part := range th.Parts {
				for _, p := range part {
					x, y := d.at(p)
					s.Start("circle").N("cx", x).N("cy", y).N("r", th.KeepM*d.perM).A("stroke", "none").End()
				}
			}
			continue
		}
		path := d.path(th)
		s.Start("path").D(&path).N("stroke-width", 2*th.KeepM*d.perM)
		if th.Kind == SiteLine {
			s.A("fill", "none")
		}
		s.End()
	}
	s.Close()
}

func (d *sitePlan) path(th *SiteThing) Path {
	var p Path
	for _, part := range th.Parts {
		for i, at := range part {
			x, y := d.at(at)
			if i == 0 {
				p.M(x, y)
			} else {
				p.L(x, y)
			}
		}
		if th.Kind == SiteArea {
			p.Z()
		}
	}
	return p
}

func (d *sitePlan) thing(th *SiteThing) {
	s, colour := d.svg, d.colours.Ink
	if th.Near {
		colour = d.colours.Signal
	}
	s.Start("g").A("stroke", colour).A("fill", "none").N("stroke-width", 1.6).A("stroke-linejoin", "round").Open()
	s.Title(th.Title)
	if th.Kind == SitePoint {
		for _, part := range th.Parts {
			for _, p := range part {
				x, y := d.at(p)
				s.Start("rect").N("x", x-4.5).N("y", y-4.5).N("width", 9).N("height", 9).A("fill", d.colours.Paper).End()
			}
		}
	} else {
		path := d.path(th)
		s.Start("path").D(&path).End()
	}
	s.Close()
}

// pin is the well as planned: a ring, and a cross that reaches out of it.
func (d *sitePlan) pin() {
	s, m := d.svg, float64(SiteSize)/2
	if d.plan.PinOffM > 0 {
		s.Start("circle").N("cx", m).N("cy", m).N("r", d.plan.PinOffM*d.perM).A("fill", "none").A("stroke", d.colours.Muted).A("stroke-dasharray", "3 3").End()
	}
	var p Path
	p.M(m-11, m).H(m+11).M(m, m-11).V(m + 11)
	s.Start("path").D(&p).A("stroke", d.colours.Ink).N("stroke-width", 1.4).A("fill", "none").End()
	s.Start("circle").N("cx", m).N("cy", m).N("r", 5.5).A("fill", d.colours.Paper).A("stroke", d.colours.Ink).N("stroke-width", 2).End()
}

// words stand beside what they speak of, in the order of the things; those for
// which there is no room are left to the table beside the plan.
func (d *sitePlan) words() {
	taken := []box{{SiteSize/2 - 14, SiteSize/2 - 14, SiteSize/2 + 14, SiteSize/2 + 14}, {0, SiteSize - 30, 140, SiteSize}, {SiteSize - 34, 0, SiteSize, 40}}
	for i := range d.plan.Things {
		if x, y, ok := d.anchor(&d.plan.Things[i]); ok {
			taken = append(taken, box{x - 6, y - 6, x + 6, y + 6})
		}
	}
	for i := range d.plan.Things {
		th := &d.plan.Things[i]
		x, y, ok := d.anchor(th)
		if !ok || th.Words == "" {
			continue
		}
		w := TextWidth(th.Words, sizeSmall, false)
		for _, b := range []box{{x + 9, y - 8, x + 9 + w, y + 7}, {x - 9 - w, y - 8, x - 9, y + 7}, {x - w/2, y + 8, x + w/2, y + 23}, {x - w/2, y - 24, x + w/2, y - 9}} {
			if b.x0 < 2 || b.y0 < 2 || b.x1 > SiteSize-2 || b.y1 > SiteSize-2 || b.meets(taken) {
				continue
			}
			taken = append(taken, b)
			colour := d.colours.Ink
			if th.Near {
				colour = d.colours.Signal
			}
			d.svg.Start("text").N("x", b.x0).N("y", b.y1-3).N("font-size", sizeSmall).A("fill", colour).
				A("stroke", d.colours.Paper).N("stroke-width", 3).A("paint-order", "stroke").A("stroke-linejoin", "round").Text(th.Words)
			break
		}
	}
}

type box struct{ x0, y0, x1, y1 float64 }

func (b box) meets(others []box) bool {
	for _, o := range others {
		if b.x0 < o.x1 && o.x0 < b.x1 && b.y0 < o.y1 && o.y0 < b.y1 {
			return true
		}
	}
	return false
}

// anchor is the place of a thing that is nearest to the pin, within the frame.
func (d *sitePlan) anchor(th *SiteThing) (x, y float64, ok bool) {
	best := math.Inf(1)
	try := func(p [2]float64) {
		px, py := d.at(p)
		if away := math.Hypot(p[0], p[1]); away < best && px >= 0 && px <= SiteSize && py >= 0 && py <= SiteSize {
			best, x, y, ok = away, px, py, true
		}
	}
	for _, part := range th.Parts {
		for i, p := range part {
			try(p)
			if th.Kind != SitePoint && i > 0 {
				try(nearestOn(part[i-1], p))
			}
		}
	}
	return x, y, ok
}

// nearestOn is the place between two points that is nearest to the pin.
func nearestOn(a, b [2]float64) [2]float64 {
	dx, dy := b[0]-a[0], b[1]-a[1]
	l2 := dx*dx + dy*dy
	if l2 == 0 {
		return a
	}
	t := min(max(-(a[0]*dx+a[1]*dy)/l2, 0), 1)
	return [2]float64{a[0] + t*dx, a[1] + t*dy}
}

// frame is the border, the scale bar and the arrow to the north.
func (d *sitePlan) frame() {
	s, c := d.svg, d.colours
	s.Start("rect").N("x", 0.5).N("y", 0.5).N("width", SiteSize-1).N("height", SiteSize-1).A("fill", "none").A("stroke", c.Line).End()
	if l := d.plan.Scale.LengthM * d.perM; l > 0 {
		var p Path
		p.M(10, SiteSize-16).V(SiteSize - 10).H(10 + l).V(SiteSize - 16)
		s.Start("path").D(&p).A("fill", "none").A("stroke", c.Ink).N("stroke-width", 1.2).End()
		s.Start("text").N("x", 14).N("y", SiteSize-15).N("font-size", sizeSmall).A("fill", c.Ink).Text(d.plan.Scale.Words)
	}
	var p Path
	p.M(SiteSize-17, 32).V(12).M(SiteSize-21, 18).L(SiteSize-17, 11).L(SiteSize-13, 18)
	s.Start("path").D(&p).A("fill", "none").A("stroke", c.Ink).N("stroke-width", 1.2).End()
	s.Start("text").N("x", SiteSize-21.5).N("y", 44).N("font-size", sizeSmall).A("fill", c.Ink).Text("N")
}
