package draw

import "math"

// run is a stretch of stations that belong together.
type run struct{ from, to int } // to is exclusive

// runs parts the stations into stretches for which keep holds.
func (k *sectionSheet) runs(keep func(t *SectionStation) bool) []run {
	var out []run
	from := -1
	for i := range k.d.Stations {
		switch yes := keep(&k.d.Stations[i]); {
		case yes && from < 0:
			from = i
		case !yes && from >= 0:
			out = append(out, run{from, i})
			from = -1
		}
	}
	if from >= 0 {
		out = append(out, run{from, len(k.d.Stations)})
	}
	return out
}

// edges gives a stretch the places where it begins and ends: half the way to
// the station before and behind it, so that stretches meet.
func (k *sectionSheet) edges(r run) (x0, x1 float64) {
	st := k.d.Stations
	x0, x1 = k.x(st[r.from].AlongM), k.x(st[r.to-1].AlongM)
	if r.from > 0 {
		x0 = (x0 + k.x(st[r.from-1].AlongM)) / 2
	}
	if r.to < len(st) {
		x1 = (x1 + k.x(st[r.to].AlongM)) / 2
	}
	return x0, x1
}

// told says whether bedrock can be drawn at a station.
func (k *sectionSheet) told(t *SectionStation) bool {
	return !k.gone(t.MiddleM) && !k.gone(t.LowM) && !math.IsNaN(t.HighM) && !k.gone(k.at(t, 0))
}

// untold hatches the ground where no well supports an estimate, and says so
// where there is room.
func (k *sectionSheet) untold() {
	if !k.d.Estimated {
		return
	}
	for _, r := range k.runs(func(t *SectionStation) bool { return !k.told(t) }) {
		x0, x1 := k.edges(r)
		if x1-x0 < 1 {
			continue
		}
		var p Path
		p.M(x0, k.y(k.bottomM))
		top := k.y0
		for i := r.from; i < r.to; i++ {
			t := &k.d.Stations[i]
			y := k.y0
			if g := k.at(t, 0); !k.gone(g) {
				y = k.y(g)
			}
			top = max(top, y)
			if i == r.from {
				p.L(x0, y)
			}
			p.L(k.x(t.AlongM), y)
			if i == r.to-1 {
				p.L(x1, y)
			}
		}
		p.L(x1, k.y(k.bottomM)).Z()
		k.Start("path").D(&p).A("fill", k.URL("gap")).N("fill-opacity", 0.75).A("data-part", "untold").Open()
		k.Title("No well near enough tells where bedrock lies here.")
		k.Close()
		k.untoldWords(x0, x1, top)
	}
}

func (k *sectionSheet) untoldWords(x0, x1, top float64) {
	const t = "no well near enough to tell"
	w := TextWidth(t, sizeSmall, false)
	y := k.y0 + k.h - 22
	if x1-x0 < w+24 || y < top+16 {
		return
	}
	mid := (x0 + x1) / 2
	for i := range k.cols { // words behind a column would not be read
		if c := &k.cols[i]; abs(c.cx-mid) < (w+c.w)/2+6 && k.y(c.ground-c.d.BottomM) > y-12 {
			return
		}
	}
	k.Start("rect").N("x", mid-w/2-5).N("y", y-9).N("width", w+10).N("height", 18).A("fill", k.c.Paper).End()
	k.Start("text").N("x", mid).N("y", y+sizeSmall*0.36).N("font-size", sizeSmall).A("fill", k.c.Muted).A("text-anchor", "middle").Text(t)
}

// rangeKind is what a range of bedrock is worth.
type rangeKind uint8

const (
	rangeNear rangeKind = iota // told by the wells near by
	rangeOpen                  // no more is known than that it is deeper than its upper end
	rangeFlat                  // that of the area: wells near by tell no more
)

func kindOf(t *SectionStation) rangeKind {
	switch {
	case t.Flat:
		return rangeFlat
	case math.IsInf(t.HighM, 1):
		return rangeOpen
	}
	return rangeNear
}

// bedrock draws the range of sound bedrock and its middle.
func (k *sectionSheet) bedrock() {
	st := k.d.Stations
	for _, kind := range [...]rangeKind{rangeFlat, rangeOpen, rangeNear} {
		for _, r := range k.runs(func(t *SectionStation) bool { return k.told(t) && kindOf(t) == kind }) {
			x0, x1 := k.edges(r)
			if x1-x0 < 0.5 {
				continue
			}
			upper := func(i int) float64 { return k.y(k.at(&st[i], max(st[i].LowM, 0))) }
			lower := func(i int) float64 {
				if kind == rangeOpen {
					return k.y0 + k.h
				}
				return k.y(k.at(&st[i], st[i].HighM))
			}
			middle := func(i int) float64 { return k.y(k.at(&st[i], max(st[i].MiddleM, 0))) }
			var band, edge, mid Path
			for _, p := range [...]*Path{&band, &edge, &mid} {
				p.tenths = true
			}
			k.trace(&band, r, x0, x1, upper, true)
			k.back(&band, r, x0, x1, lower)
			band.Z()
			k.trace(&edge, r, x0, x1, upper, true)
			if kind != rangeOpen {
				k.trace(&edge, r, x0, x1, lower, true)
			}
			k.trace(&mid, r, x0, x1, middle, true)
			opacity, edges := 0.15, "1.5 3"
			if kind != rangeNear {
				opacity = 0.07
			}
			k.Start("path").D(&band).A("fill", k.c.Signal).N("fill-opacity", opacity).A("data-part", "range").Open()
			k.Title("8 in 10 for the top of sound bedrock, from the wells around")
			k.Close()
			k.Start("path").D(&edge).A("stroke", k.c.Signal).N("stroke-width", 0.8).A("stroke-dasharray", edges).A("fill", "none").End()
			if kind != rangeFlat {
				k.Start("path").D(&mid).A("stroke", k.c.Signal).N("stroke-width", 1.5).A("stroke-dasharray", "7 4").A("fill", "none").A("data-part", "middle").End()
			}
		}
	}
}

// trace draws a line through a stretch, level over its outermost halves.
func (k *sectionSheet) trace(p *Path, r run, x0, x1 float64, y func(i int) float64, begin bool) {
	if begin {
		p.M(x0, y(r.from))
	}
	for i := r.from; i < r.to; i++ {
		p.L(k.x(k.d.Stations[i].AlongM), y(i))
	}
	p.L(x1, y(r.to-1))
}

// back goes on with a path through a stretch from its end to its beginning.
func (k *sectionSheet) back(p *Path, r run, x0, x1 float64, y func(i int) float64) {
	p.L(x1, y(r.to-1))
	for i := r.to - 1; i >= r.from; i-- {
		p.L(k.x(k.d.Stations[i].AlongM), y(i))
	}
	p.L(x0, y(r.from))
}

// groundLine draws the ground: firm from a grid, broken where it is read
// between wells.
func (k *sectionSheet) groundLine() {
	if k.d.ByDepth {
		var p Path
		p.M(k.x0-sectionPad, k.y(0)).H(k.x1 + sectionPad)
		k.Start("path").D(&p).A("stroke", k.c.Ink).N("stroke-width", 1.3).End()
		return
	}
	for _, read := range [...]bool{true, false} {
		for _, r := range k.runs(func(t *SectionStation) bool { return !k.gone(k.at(t, 0)) && t.GroundRead == read }) {
			x0, x1 := k.edges(r)
			p := Path{tenths: true}
			k.trace(&p, r, x0, x1, func(i int) float64 { return k.y(k.d.Stations[i].GroundM) }, true)
			k.Start("path").D(&p).A("stroke", k.c.Ink).N("stroke-width", 1.2).A("fill", "none").A("stroke-linejoin", "round").A("data-part", "ground")
			if read {
				k.A("stroke-dasharray", "6 3")
			}
			k.End()
		}
	}
}
