package draw

import (
	"sort"
	"strconv"

	"tallybook/server/say"
)

// heads sets out what stands over each column and gives its height.
func (k *sideSheet) heads() float64 {
	most := 0.0
	for i := range k.columns {
		c := &k.columns[i]
		c.x = k.axisX + 14 + float64(i)*k.colW
		add := func(t, fill string, size float64, bold bool, lines int) {
			ls, _ := Wrap(t, size, bold, k.colW-20, lines)
			for _, l := range ls {
				c.head = append(c.head, headLine{l, fill, size, bold})
			}
		}
		name := c.d.Number
		if name == "" {
			name = "no number"
		}
		add(name, k.c.Ink, 17, true, 1)
		add(joined(k.where(c.d), year(c.d.Year), c.d.Purpose), k.c.Muted, sizeSmall+0.5, false, 2)
		yield, fill := held(k.u.Yield(c.d.Yield)), k.c.Water
		if c.d.Dry {
			yield, fill = "dry hole", k.c.Ink
		} else if yield == "" {
			yield, fill = "yield not recorded", k.c.Muted
		}
		add(joined(yield, k.static(c.d)), fill, sizeSmall+0.5, false, 2)
		if t := c.d.bedrockPhrase(k.u); t != "" {
			add(t, k.c.Signal, sizeSmall+0.5, false, 2)
		} else {
			add("bedrock cannot be told", k.c.Muted, sizeSmall+0.5, false, 2)
		}
		if k.o.Hang == HangSeaLevel && c.drawn && c.d.GroundFrom != "" {
			unit := k.u.LengthUnit()
			add("hung at "+held(k.u.Figure(unit.FromBase(c.d.ElevationM), 0)+" "+unit.Symbol())+", read from "+c.d.GroundFrom, k.c.Muted, sizeSmall+0.5, false, 3)
		}
		if len(c.d.Marked) > 0 {
			add(c.d.markedPhrase(), k.c.Signal, sizeSmall, true, 3)
		}
		h := 0.0
		for _, l := range c.head {
			h += l.size + 5
		}
		most = max(most, h)
	}
	return most
}

func (k *sideSheet) where(d *ColumnData) string {
	if !d.HasPlace {
		return ""
	}
	t := held(k.u.Distance(d.DistanceM))
	if b := say.Bearing(d.BearingDeg); b != "" && d.DistanceM > 0 {
		t += " " + b
	}
	return t
}

func (k *sideSheet) static(d *ColumnData) string {
	if !d.Static.Known() {
		return ""
	}
	if v, ok := d.Static.Number(); ok && v < 0 {
		return "flows"
	}
	return "static " + held(k.u.Depth(d.Static))
}

func year(y int) string {
	if y == 0 {
		return ""
	}
	return strconv.Itoa(y)
}

// joined sets a middle dot between the parts that there are.
func joined(parts ...string) string {
	out := ""
	for _, p := range parts {
		if p == "" {
			continue
		}
		if out != "" {
			out += " · "
		}
		out += p
	}
	return out
}

// mostLines is how many lines a stratum's words may take beside a column.
func (k *sideSheet) mostLines(c *sideColumn) int {
	switch n := len(c.d.Strata); {
	case n <= 7:
		return 3
	case n <= 14:
		return 2
	}
	return 1
}

// labels sets out the words right of one column, each stratum's on at most
// the given lines.
func (k *sideSheet) labels(c *sideColumn, most int) {
	d := c.d
	c.labels = c.labels[:0]
	width := k.wordsWidth()
	srcX := c.x + k.ground
	add := func(m float64, span Span, t, fill, leader, title string, bold bool, rank int) {
		n := max(most, 2)
		if rank == 0 {
			n = most
		}
		lines, _ := Wrap(t, sizeSmall+0.5, bold, width, n)
		l := label{m: m, span: span, rank: rank, srcX: srcX, colour: leader, title: title, first: lineSmall / 2, height: float64(len(lines)) * lineSmall}
		for i, s := range lines {
			l.pieces = append(l.pieces, piece{0, (float64(i) + 0.5) * lineSmall, sizeSmall + 0.5, s, fill, bold, false})
		}
		c.labels = append(c.labels, l)
	}
	for i := range d.Strata {
		s := &d.Strata[i]
		words := plainText(clip(s.Words, 400))
		if words == "" {
			words = s.Label
		}
		add((s.TopM+s.BottomM)/2, s.Span, s.interval(k.u)+" "+words, k.c.Ink, k.c.Line, stratumTitle(s), false, 0)
	}
	for _, g := range d.Gaps {
		t := k.u.LengthFigure(g.TopM) + "–" + k.u.LengthFigure(g.BottomM) + " not logged"
		if len(d.Strata) == 0 && len(d.Unplaced) == 0 {
			t = "no strata were logged"
		}
		add((g.TopM+g.BottomM)/2, g, t, k.c.Muted, k.c.Line, "", false, 2)
	}
	for i := range d.Own {
		p := &d.Own[i]
		fill := k.c.Ink
		if p.Water {
			fill = k.c.Water
		}
		add(p.M, Span{}, p.phrase(k.u), fill, k.c.Line, p.Title, true, 1)
	}
	for i := range d.Strikes {
		s := &d.Strikes[i]
		add(s.DepthM, Span{}, s.phrase(k.u), k.c.Water, k.c.Water, "", true, 1)
	}
}

// wordsWidth is the width of the words beside a column.
func (k *sideSheet) wordsWidth() float64 { return k.colW - k.ground - 38 }

// spare is how far the words of a column may run below its foot, pixels.
const spare = 44.0

// roomFor is the room beside one column for its words.
func (k *sideSheet) roomFor(c *sideColumn) float64 {
	return max(c.d.BottomM*k.h/k.spanM, 4*lineSmall) + 8 + spare
}

// crowded says whether some column has more words than room.
func (k *sideSheet) crowded() bool {
	for i := range k.columns {
		if c := &k.columns[i]; labelRoom(c.labels) > k.roomFor(c) {
			return true
		}
	}
	return false
}

// thin shortens the words beside a column where there is no room for all, and
// then leaves out those of the thinnest strata and says how many: side by side
// is for comparing, the whole log is a page of its own.
func (k *sideSheet) thin(c *sideColumn) {
	if !c.drawn {
		return
	}
	for most := k.mostLines(c) - 1; most >= 1 && labelRoom(c.labels) > k.roomFor(c); most-- {
		k.labels(c, most)
	}
	over := labelRoom(c.labels) - k.roomFor(c)
	if over <= 0 {
		return
	}
	over += 2*lineSmall + labelGap // for the note
	byThickness := make([]int, 0, len(c.labels))
	for i, l := range c.labels {
		if l.rank == 0 {
			byThickness = append(byThickness, i)
		}
	}
	sort.SliceStable(byThickness, func(a, b int) bool {
		x, y := c.labels[byThickness[a]].span, c.labels[byThickness[b]].span
		return x.BottomM-x.TopM < y.BottomM-y.TopM
	})
	gone := map[int]bool{}
	for _, i := range byThickness {
		if over <= 0 {
			break
		}
		gone[i] = true
		over -= c.labels[i].height + labelGap
	}
	kept := c.labels[:0]
	for i, l := range c.labels {
		if !gone[i] {
			kept = append(kept, l)
		}
	}
	if len(gone) == 0 {
		return
	}
	note := label{m: c.d.BottomM, rank: 9, first: lineSmall / 2}
	lines, _ := Wrap("and "+k.u.Figure(float64(len(gone)), 0)+"\u00a0thinner ones", sizeSmall, false, k.wordsWidth(), 2)
	for i, t := range lines {
		note.pieces = append(note.pieces, piece{0, (float64(i) + 0.5) * lineSmall, sizeSmall, t, k.c.Muted, false, false})
	}
	note.height = float64(len(lines)) * lineSmall
	c.labels = append(kept, note)
}
