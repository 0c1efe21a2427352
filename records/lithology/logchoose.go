package lithology

import (
	"slices"
	"sort"
)

// weight says how much speaks for the place by itself. The weights are ours:
// what matters is that one interval that goes on where the last one ended
// outweighs one that merely stands behind a comma.
func (c *logRange) weight() int {
	w := 2
	switch c.begins {
	case strongBreak:
		w += 3
	case softBreak:
		w++
	}
	if c.top.Value == 0 {
		w += 3
	}
	if c.nested {
		w -= 7
	}
	if c.aside {
		w -= 5
	}
	if c.fitting {
		w -= 20
	}
	if c.open {
		w -= 3 // only where the one above it ends there
	}
	return w
}

// chooseRanges takes the chain of places down the hole that most speaks for;
// where a log is not written from the top down, all that begin a part of it
// and do not overlap.
func (r *logReader) chooseRanges(all []logRange) []int {
	best := make([]int, len(all))
	from := make([]int, len(all))
	top := -1
	for i := range all {
		c := &all[i]
		best[i], from[i] = c.weight(), -1
		if c.backwards {
			best[i] = -1 << 20
			continue
		}
		for k := range i {
			b := &all[k]
			if b.backwards || !b.bottom.Known() && b.top.Value >= c.top.Value || b.bottom.Known() && c.top.Value < b.bottom.Value-depthSlack {
				continue
			}
			if c.open && !(b.bottom.Known() && abs(c.top.Value-b.bottom.Value) <= depthSlack) {
				continue
			}
			w := best[k] + c.weight()
			if b.bottom.Known() && c.top.Value-b.bottom.Value <= depthSlack || !b.bottom.Known() {
				w += 4
			}
			if w > best[i] {
				best[i], from[i] = w, k
			}
		}
		if top < 0 || best[i] > best[top] {
			top = i
		}
	}
	if top < 0 || best[top] <= 0 {
		return nil
	}
	var chain []int
	for i := top; i >= 0; i = from[i] {
		chain = append(chain, i)
	}
	sort.Ints(chain)
	if loose := apart(all); len(loose) > len(chain) {
		return loose
	}
	return chain
}

// apart gives the places that begin a part of the text, if no two of them
// overlap; nil otherwise.
func apart(all []logRange) []int {
	var out []int
	for i := range all {
		if c := &all[i]; c.begins > noBreak && !c.aside && !c.nested && !c.backwards && c.bottom.Known() {
			out = append(out, i)
		}
	}
	for a := range out {
		for _, k := range out[a+1:] {
			x, y := &all[out[a]], &all[k]
			if x.top.Value < y.bottom.Value-depthSlack && y.top.Value < x.bottom.Value-depthSlack {
				return nil
			}
		}
	}
	return out
}

// overlapping adds the intervals that begin a part of the text and overlap a
// chosen one, so that both are told.
func overlapping(all []logRange, chosen []int) []int {
	var more []int
	for i := range all {
		c := &all[i]
		if c.aside || c.nested || c.backwards || c.begins == noBreak || !c.bottom.Known() || c.open {
			continue
		}
		if within, overlaps := relate(c, all, chosen); overlaps && !within && !slices.Contains(chosen, i) {
			more = append(more, i)
		}
	}
	chosen = append(chosen, more...)
	sort.Ints(chosen)
	return chosen
}

// tellLeftOver tells of places that are no intervals of the log.
func (r *logReader) tellLeftOver(all []logRange, chosen []int) {
	zone := -1
	taken := make(map[int]bool, len(chosen))
	for _, i := range chosen {
		taken[i] = true
	}
	for i := range all {
		c := &all[i]
		if taken[i] {
			continue
		}
		if p := r.pieceOf(c.from); p != nil && p.kind != 0 && p.kind != RemarkWater {
			continue // casing 0-40
		}
		switch within, overlaps := relate(c, all, chosen); {
		case c.backwards && (c.begins > noBreak || followsOn(c, all, chosen)):
			r.log.Doubts |= LogBackwards
			r.unread(c.start, c.end, "runs up instead of down")
		case within:
			r.remark(c.start, c.end, RemarkZone)
			if c.begins > noBreak && zone >= 0 && abs(all[zone].bottom.Value-c.top.Value) <= depthSlack && all[zone].begins > noBreak {
				r.log.Doubts |= LogOverlap // a log within the interval
			}
			zone = i
		case overlaps:
			r.log.Doubts |= LogOverlap
			r.unread(c.start, c.end, "overlaps another interval")
		case c.open:
		default:
			r.log.Doubts |= LogPartUnread
			r.unread(c.start, c.end, "does not fit with the other intervals")
		}
	}
}

// followsOn says whether the place begins where a chosen one ends.
func followsOn(c *logRange, all []logRange, chosen []int) bool {
	for _, k := range chosen {
		if b := all[k].bottom; b.Known() && abs(b.Value-c.top.Value) <= depthSlack {
			return true
		}
	}
	return false
}

func relate(c *logRange, all []logRange, chosen []int) (within, overlaps bool) {
	for _, k := range chosen {
		x := &all[k]
		if !x.bottom.Known() || !c.bottom.Known() {
			within = within || c.top.Value >= x.top.Value
			continue
		}
		if c.top.Value >= x.top.Value-depthSlack && c.bottom.Value <= x.bottom.Value+depthSlack {
			return true, false
		}
		if c.top.Value < x.bottom.Value-depthSlack && x.top.Value < c.bottom.Value-depthSlack {
			overlaps = true
		}
	}
	return false, overlaps
}
