package draw

import (
	"math"

	"tallybook/server/say"
)

// Options are how a drawing is to be made.
type Options struct {
	Prefix string     // of the ids, so that several drawings can share a page
	Units  say.System // of everything that is written
	Theme  Theme
	Width  float64 // pixels; 0 means 820
	Title  string  // for screen readers; "" means one made from the data

	// Heading writes number, year and purpose above a Column: for a drawing
	// that leaves the page that names it.
	Heading bool

	// Patterns are those of the office's own vocabulary; nil means those of
	// the default one.
	Patterns *Patterns

	// For SideBySide alone.
	Hang Hang
	Join bool // join the picks of bedrock: only for wells along a line
}

const (
	wideFrom     = 700.0 // from this width on the labels stand on both sides
	defaultWidth = 820.0
	leastWidth   = 300.0
)

func (o Options) width() float64 {
	if !(o.Width > 0) || o.Width > 6000 {
		return defaultWidth
	}
	return max(math.Round(o.Width), leastWidth)
}

// Column draws one well's log as the hole stands in the ground, with the
// driller's words beside it, as a whole SVG document. It is a pure function of
// its arguments: the same log and options give the same bytes. The height
// follows from the log: what is written is never squeezed.
func Column(d ColumnData, o Options) []byte {
	return newColumnSheet(d, o).render().Bytes()
}

// columnSheet is one Column being laid out.
type columnSheet struct {
	d    *ColumnData
	o    Options
	u    say.System
	c    Colours
	w    float64
	wide bool

	axisX            float64 // where the axis stands
	laneX0, laneX1   float64 // penetration rate; equal when there is none
	holeX0, holeX1   float64 // labels of what is in the hole; equal when narrow
	ground0, ground1 float64
	depthX           float64 // depths of strata
	wordsX, wordsW   float64
	tagX, tagW       float64 // what the words were read as
	half, ann        float64

	left, right []label
	y0, h       float64
	footY       float64 // where the notes begin
}

func newColumnSheet(d ColumnData, o Options) *columnSheet {
	k := &columnSheet{d: &d, o: o, u: o.Units, c: o.Theme.Colours(), w: o.width()}
	k.wide = k.w >= wideFrom
	k.across()
	k.rightLabels()
	k.leftLabels()
	return k
}

// across lays out what stands beside what.
func (k *columnSheet) across() {
	margin := 10.0
	if k.wide {
		margin = 18
	}
	figures := TextWidth(k.u.Figure(math.Ceil(k.u.LengthUnit().FromBase(k.d.BottomM)), 0), sizeSmall, false)
	k.axisX = margin + max(figures, 28) + 6
	x := k.axisX + 6
	k.laneX0, k.laneX1 = x, x
	if len(k.d.Rates) > 0 {
		k.laneX0 = x + 4
		k.laneX1 = k.laneX0 + 54
		if !k.wide {
			k.laneX1 = k.laneX0 + 30
		}
		x = k.laneX1
	}
	if k.wide {
		k.holeX0, k.holeX1 = x+12, x+12+122
		k.ground0 = k.holeX1 + 26
		k.ground1 = k.ground0 + 118
		k.half, k.ann = 12, 6
		// Many strata need a wider fan of leaders.
		k.depthX = k.ground1 + 34 + min(max(float64(len(k.d.Strata)-12)*1.5, 0), 40)
	} else {
		k.holeX0, k.holeX1 = x, x
		k.ground0 = x + 12
		k.ground1 = k.ground0 + 72
		k.half, k.ann = 8.5, 4.5
		k.depthX = k.ground1 + 22
	}
	end := k.w - margin
	depthW := 0.0
	for i := range k.d.Strata {
		depthW = max(depthW, TextWidth(k.d.Strata[i].interval(k.u), sizeSmall, false))
		k.tagW = max(k.tagW, TextWidth(k.d.Strata[i].Label, sizeSmall, false))
	}
	for _, g := range k.d.Gaps {
		depthW = max(depthW, TextWidth(k.gapInterval(g), sizeSmall, false))
	}
	if !k.wide {
		k.wordsX, k.wordsW = k.depthX, end-k.depthX
		k.tagX, k.tagW = k.depthX, k.wordsW
		return
	}
	k.tagW = min(max(k.tagW, 40), 124)
	k.tagX = end - k.tagW
	k.wordsX = k.depthX + max(depthW, 34) + 14
	k.wordsW = k.tagX - 16 - k.wordsX
	if k.wordsW < 120 { // a middling width: what it was read as goes below
		k.tagX, k.tagW = k.wordsX, 0
		k.wordsW = end - k.wordsX
	}
}

// naturalHeight is how tall a log of this depth is drawn when its words do not
// ask for more, pixels.
func naturalHeight(depthM float64) float64 { return min(400+1.4*depthM, 1000) }

// mostHeight is how far a drawing is stretched to keep leaders short, pixels;
// labels that need more room than this get it.
const mostHeight, mostNarrow = 1100.0, 900.0

// place sets the labels beside the scale.
func (k *columnSheet) place() (Scale, []float64, []float64) {
	sc := Scale{PerUnit: k.u.LengthUnit().FromBase(1), Zero: k.y0, PxPerM: k.h / max(k.d.BottomM, 1)}
	return sc, stackLabels(k.right, sc, k.y0-10, k.y0+k.h+12), stackLabels(k.left, sc, k.y0-14, k.y0+k.h+12)
}

func (k *columnSheet) render() *SVG {
	d := k.d
	k.y0 = k.headsY() + 44
	h := max(naturalHeight(d.BottomM), labelRoom(k.right)-4, labelRoom(k.left)-4)
	if d.BottomM <= 0 {
		h = 90
	}
	k.h = math.Ceil(h)
	sc, rtops, ltops := k.place()
	most := mostHeight
	if !k.wide {
		most = mostNarrow
	}
	// A crowd of labels at one depth pulls leaders long; a taller drawing
	// spreads what they speak of.
	for range 8 {
		if k.h >= most || max(farthest(k.right, rtops, sc), farthest(k.left, ltops, sc)) < 44 || d.BottomM <= 0 {
			break
		}
		k.h = math.Ceil(min(k.h*1.15, most))
		sc, rtops, ltops = k.place()
	}
	notes := k.notes()
	k.footY = k.y0 + k.h + 19 + 2*lineWords + 8
	height := k.footY + float64(len(notes))*lineSmall + 10

	title := k.o.Title
	if title == "" {
		title = "Log of a well"
		if d.Number != "" {
			title = "Log of " + clip(d.Number, 80)
		}
	}
	s := newSheet(k.o.Prefix, k.w, math.Ceil(height), k.c, title, d.prose(k.u))
	s.Start("defs").Open()
	holeDefs(s, k.o.Theme)
	k.o.patterns().Defs(s, k.o.groundCodes([]ColumnData{*d}), k.o.Theme)
	s.Close()
	s.Line()

	k.axis(s, sc)
	k.heads(s)
	k.rates(s, sc)
	f := &holeFrame{SVG: s, c: k.c, d: d, sc: sc, x0: k.ground0, x1: k.ground1, half: k.half, ann: k.ann,
		over: k.over(), left: k.wide, paint: k.o.paint(s)}
	f.draw()
	s.Line()
	s.drawLabels(k.right, rtops, sc, k.depthX, 5, "")
	if k.wide {
		s.drawLabels(k.left, ltops, sc, k.holeX1, -5, k.c.Paper)
	}
	k.foot(s, notes)
	return s
}

// newSheet starts a document: paper, fonts, title and description.
func newSheet(prefix string, w, h float64, c Colours, title, desc string) *SVG {
	s := NewSVG(prefix)
	s.Start("svg").A("xmlns", "http://www.w3.org/2000/svg").N("width", w).N("height", h)
	s.A("viewBox", "0 0 "+string(s.number(nil, w))+" "+string(s.number(nil, h)))
	s.A("role", "img").A("aria-labelledby", s.ID("title")+" "+s.ID("desc"))
	s.A("font-family", fontFamily).A("font-variant", "tabular-nums").A("fill", c.Ink).Open()
	s.Start("title").IDAttr("title").Text(title)
	s.Start("desc").IDAttr("desc").Text(desc)
	s.Start("rect").N("width", w).N("height", h).A("fill", c.Paper).End()
	s.Line()
	return s
}
