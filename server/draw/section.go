package draw

import (
	"math"

	"tallybook/geo/section"
	"tallybook/server/say"
)

// Limits of a section's drawing, pixels.
const (
	leastSection, mostSection = 640.0, 2400.0
	sectionHigh               = 540.0 // about how high the ground is drawn
	sectionPad                = 34.0  // beside the first and the last place of the line
	mostSectionHigh           = 2400.0
)

// SectionWidth is the width that Section draws n wells in on a page of width
// px: the page's own, and more where the columns would be too slender.
func SectionWidth(width float64, n int) float64 {
	o := Options{Width: width}
	return min(max(o.width(), leastSection, 140+float64(n)*34), mostSection)
}

// Section draws the ground along a line as a whole SVG document: each well as
// a column at its place along the line, hung at its own elevation, with its
// name and its true distance from the line above it; the ground's line; the
// estimate of bedrock with its range; distance along the line below. It is a
// pure function of its arguments.
//
// Bedrock is never joined from well to well: what lies between is the
// estimate, broken and hatched where no well supports one.
func Section(d SectionData, o Options) []byte {
	k := &sectionSheet{d: &d, o: o, u: o.Units, c: o.Theme.Colours()}
	return k.render().Bytes()
}

// sectionSheet is one Section being laid out.
type sectionSheet struct {
	*SVG
	d *SectionData
	o Options
	u say.System
	c Colours

	w, axisX, x0, x1 float64 // x0 and x1 are the ends of the line
	pxPerM           float64 // along the line
	topM, bottomM    float64 // elevations, or depths turned round, at the plot's edges
	times            float64
	y0, h            float64
	labelsH          float64
	bare             bool // there is nothing to draw
	upright          bool // names stand upright, for there are many
	cols             []sectionColumn
	movedM           float64 // how far the column moved farthest stands from its place
	taken            *occupied
}

type sectionColumn struct {
	nr     int
	d      *SectionWell
	cx, w  float64 // middle and width of the column
	atX    float64 // its true place
	ground float64 // elevation that it hangs at; 0 by depth
	sc     Scale
	head   []headLine
	headX  float64
}

func (k *sectionSheet) render() *SVG {
	k.w = SectionWidth(k.o.width(), len(k.d.Wells))
	k.heights()
	k.axisX = max(46, k.figuresWidth()+18)
	k.x0, k.x1 = k.axisX+sectionPad, k.w-14-sectionPad
	if !(k.d.LengthM > 0) {
		k.d.LengthM = 1
	}
	k.pxPerM = (k.x1 - k.x0) / k.d.LengthM
	k.exaggerate()
	k.columns()
	k.heads()
	const endsH = 62
	k.y0 = endsH + k.labelsH + 30
	for i := range k.cols {
		c := &k.cols[i]
		c.sc = Scale{PerUnit: k.u.LengthUnit().FromBase(1), PxPerM: k.perM(), Zero: k.y(c.ground)}
	}
	legend := k.legend()
	legendY := k.y0 + k.h + 76
	s := newSheet(k.o.Prefix, k.w, math.Ceil(legendY+legend.height+10), k.c, k.title(), k.prose())
	k.SVG = s
	s.Start("defs").Open()
	holeDefs(s, k.o.Theme)
	k.o.patterns().Defs(s, k.o.groundCodes(k.columnData()), k.o.Theme)
	s.Start("clipPath").IDAttr("plot").Open()
	s.Start("rect").N("x", k.axisX).N("y", k.y0).N("width", k.w-14-k.axisX).N("height", k.h).End()
	s.Close()
	s.Close()
	s.Line()
	k.ends()
	k.axis()
	s.Start("g").A("clip-path", s.URL("plot")).Open()
	k.untold()
	k.bedrock()
	k.groundLine()
	s.Close()
	s.Line()
	k.along()
	k.wells()
	legend.draw(s, k.axisX, legendY)
	return s
}

// x is where a place along the line is drawn.
func (k *sectionSheet) x(alongM float64) float64 { return k.x0 + alongM*k.pxPerM }

// y is where an elevation is drawn; by depth, elevations are depths with their
// sign turned.
func (k *sectionSheet) y(m float64) float64 { return k.y0 + (k.topM-m)*k.perM() }

// perM is how many pixels a metre of height has.
func (k *sectionSheet) perM() float64 { return k.h / (k.topM - k.bottomM) }

// groundOf is what a column hangs at.
func (k *sectionSheet) groundOf(w *SectionWell) float64 {
	if k.d.ByDepth {
		return 0
	}
	return w.GroundM
}

// hangs says whether a well can be drawn.
func (k *sectionSheet) hangs(w *SectionWell) bool {
	return k.d.ByDepth || !math.IsNaN(w.GroundM) && math.Abs(w.GroundM) <= deepestM
}

// at is the elevation of a depth at a station, NaN where the ground's is not
// known.
func (k *sectionSheet) at(t *SectionStation, depthM float64) float64 {
	if k.d.ByDepth {
		return -depthM
	}
	return t.GroundM - depthM
}

// heights finds what lies highest and lowest.
func (k *sectionSheet) heights() {
	top, bottom := math.Inf(-1), math.Inf(1)
	see := func(m float64) {
		if !math.IsNaN(m) && math.Abs(m) <= 2*deepestM {
			top, bottom = max(top, m), min(bottom, m)
		}
	}
	for i := range k.d.Wells {
		if w := &k.d.Wells[i]; k.hangs(w) {
			see(k.groundOf(w))
			see(k.groundOf(w) - w.BottomM)
		}
	}
	for i := range k.d.Stations {
		t := &k.d.Stations[i]
		see(k.at(t, 0))
		see(k.at(t, t.MiddleM))
		see(k.at(t, t.LowM))
		see(k.at(t, t.HighM))
	}
	if k.bare = !(top > bottom); k.bare { // nothing to draw: a strip that says so
		top, bottom = 0, -10
		if !k.d.ByDepth && len(k.d.Stations) > 0 && !k.gone(k.d.Stations[0].GroundM) {
			top, bottom = k.d.Stations[0].GroundM, k.d.Stations[0].GroundM-10
		}
	}
	room := (top - bottom) * 0.045
	k.topM, k.bottomM = top+room, bottom-room
}

// exaggerate settles how many times as high as long the drawing is, and so its
// height.
func (k *sectionSheet) exaggerate() {
	span := k.topM - k.bottomM
	k.times = k.d.Times
	if !(k.times > 0) {
		most := sectionHigh
		if k.bare {
			most = 80
		}
		k.times = section.Exaggeration(k.d.LengthM, k.x1-k.x0, span, most)
	}
	k.h = span * k.pxPerM * k.times
	if k.h < 60 || k.h > mostSectionHigh {
		k.h = min(max(k.h, 60), mostSectionHigh)
		k.times = k.h / span / k.pxPerM
	}
}

func (k *sectionSheet) figuresWidth() float64 {
	w := 0.0
	for _, m := range [...]float64{k.topM, k.bottomM} {
		w = max(w, TextWidth(k.u.Figure(math.Round(k.u.LengthUnit().FromBase(m)), 0), sizeSmall, false))
	}
	return w
}

func (k *sectionSheet) columnData() []ColumnData {
	out := make([]ColumnData, 0, len(k.cols))
	for i := range k.cols {
		out = append(out, k.cols[i].d.ColumnData)
	}
	return out
}

// timesWords says how much higher than long it is drawn.
func (k *sectionSheet) timesWords() string {
	switch t := k.times; {
	case math.Abs(t-1) < 0.005:
		return "drawn as high as long, at one scale"
	case t > 1:
		return "drawn " + k.u.Figure(t, 1) + " times as high as long"
	default:
		return "drawn " + k.u.Figure(1/t, 1) + " times as long as high"
	}
}
