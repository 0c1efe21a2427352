package lithology

import (
	"strings"

	"tallybook/records"
)

// logRange is a place in the text that may be the depths of an interval.
type logRange struct {
	from, to    int // tokens, to exclusive
	start, end  int // bytes
	top, bottom records.Amount[records.Depth]
	begins      int  // how strong a break stands before it
	nested      bool // lies within an earlier one
	aside       bool // speaks of water, casing and the like
	inches      bool // one of its ends is in inches
	fitting     bool // speaks of casing, a level or the whole hole
	open        bool // '40+ gneiss': goes on below
	columns     bool // two numbers side by side
	backwards   bool
}

// maxLogRanges bounds how many places are weighed against one another.
const maxLogRanges = 400

// readRanges reads a log that writes from and to. It reports whether there is
// any interval.
func (r *logReader) readRanges() bool {
	found := r.findRanges()
	if len(found) == 0 {
		return false
	}
	if len(found) > maxLogRanges {
		r.log.Doubts |= LogTooLong
		return false
	}
	chosen := r.chooseRanges(found)
	if len(chosen) == 0 || len(chosen) == 1 && found[chosen[0]].open {
		return false
	}
	chosen = overlapping(found, chosen)
	r.log.Form = FormRanges
	r.tellLeftOver(found, chosen)
	r.describe(found, chosen)
	return true
}

// findRanges lists every place that has the shape of an interval.
func (r *logReader) findRanges() []logRange {
	var out []logRange
	for i := 0; i < len(r.tokens); i++ {
		c, ok := r.rangeAt(i)
		if !ok {
			var last *logRange
			if len(out) > 0 {
				last = &out[len(out)-1]
			}
			if c, ok = r.columnsAt(i, last); !ok {
				if c, ok = r.openAt(i); !ok {
					continue
				}
			}
		}
		r.judge(&c, out)
		if c.begins == noBreak && (c.inches || c.open) {
			continue // with 2-4" cobbles
		}
		out = append(out, c)
		i = c.to - 1
	}
	return out
}

// rangeAt reads an interval that begins at token i: 0-12, 0' to 12', from 0 to
// 12, surface to 12, 40-TD, 40+.
func (r *logReader) rangeAt(i int) (c logRange, ok bool) {
	low, next, ok := r.end(i, true)
	if !ok || next >= len(r.tokens) {
		return c, false
	}
	if i > 0 && r.tokens[i-1].kind == logDash && i > 1 && r.tokens[i-2].kind == logNumber {
		return c, false // the middle of 6-12-87
	}
	c = logRange{from: i, start: r.tokens[i].start}
	join := next
	if !joins(&r.tokens[join]) {
		return c, false
	}
	high, after, ok := r.end(join+1, false)
	if !ok {
		return c, false
	}
	if after < len(r.tokens) && r.tokens[after].kind == logDash && after+1 < len(r.tokens) && r.tokens[after+1].kind == logNumber &&
		r.tokens[after].start == r.tokens[after-1].end {
		return c, false // 6-12-87
	}
	c.to, c.end = after, r.tokens[after-1].end
	lowUnit, highUnit := unitAt(low), unitAt(high)
	c.inches = lowUnit == records.Inch || highUnit == records.Inch
	if lowUnit == records.Inch && highUnit == records.NoUnit {
		return c, false // 6"-8 may be anything
	}
	if low == nil {
		c.top = records.Of(records.Depth(0))
	} else {
		c.top = r.depth(low, highUnit)
	}
	if high != nil {
		c.bottom = r.depth(high, lowUnit)
		if high.plus {
			c.bottom.Qualifier = records.GreaterThan
			c.bottom.Given.Text = r.log.Text[high.start:high.end]
		}
		if r.aboutBefore(join + 1) {
			c.bottom.Qualifier = records.About
		}
	} else {
		c.bottom = r.total()
	}
	if low != nil && r.aboutBefore(i) {
		c.top.Qualifier = records.About
	}
	if c.bottom.Known() {
		c.backwards = c.bottom.Value <= c.top.Value
		if c.bottom.Value == c.top.Value {
			return c, false
		}
	}
	return c, true
}

func unitAt(t *logToken) records.Unit {
	switch {
	case t == nil:
		return records.NoUnit
	case t.inch:
		return records.Inch
	}
	return t.unit
}

// openAt reads '40+ gneiss', 'below 40 gneiss', '40 - gneiss': ground that
// goes on to the bottom of the hole.
func (r *logReader) openAt(i int) (c logRange, ok bool) {
	word := ""
	if r.tokens[i].kind == logWord {
		word = r.tokens[i].word
	}
	k := i
	if word == "below" || word == "from" {
		k++
	}
	if k >= len(r.tokens) || !r.tokens[k].depthable() {
		return c, false
	}
	t := &r.tokens[k]
	to := k + 1
	plus := t.plus || word == "below"
	for to < len(r.tokens) && (r.tokens[to].word == "and" || r.tokens[to].word == "on" || r.tokens[to].word == "down" || r.tokens[to].word == "below" || r.tokens[to].word == "plus") {
		plus = true
		to++
	}
	if !plus && to < len(r.tokens) && r.tokens[to].kind == logDash {
		after := to + 1
		plus = after < len(r.tokens) && (r.tokens[after].kind == logWord && !bottomWords[r.tokens[after].word] && !strings.ContainsAny(r.tokens[after].word, "0123456789") || r.tokens[after].mark == ':')
		to++
	}
	if !plus || to >= len(r.tokens) || r.tokens[to].kind != logWord && r.tokens[to].mark != ':' && r.tokens[to].mark != ',' {
		return c, false
	}
	c = logRange{from: i, to: to, start: r.tokens[i].start, end: r.tokens[to-1].end, open: true}
	c.top, c.bottom = r.depth(t, records.NoUnit), r.total()
	c.backwards = c.bottom.Known() && c.bottom.Value <= c.top.Value
	return c, true
}

// aboutBefore says whether the number at or behind token i is 'about' so much.
func (r *logReader) aboutBefore(i int) bool {
	about := func(k int) bool {
		return k >= 0 && k < len(r.tokens) && (r.tokens[k].mark == '~' || r.tokens[k].mark == '±' || aboutWords[r.tokens[k].word])
	}
	return about(i) || i > 0 && about(i-1)
}

// end reads one end of an interval at token i: a number, or a word for the
// surface (top) or for the bottom of the hole. t is nil for a word.
func (r *logReader) end(i int, top bool) (t *logToken, next int, ok bool) {
	for i < len(r.tokens) && (r.tokens[i].mark == '~' || r.tokens[i].mark == '±' || aboutWords[r.tokens[i].word]) {
		if i+1 < len(r.tokens) && r.tokens[i+1].mark == '.' {
			i++
		}
		i++
	}
	if i >= len(r.tokens) {
		return nil, i, false
	}
	t = &r.tokens[i]
	switch {
	case t.depthable() || t.inch:
		return t, i + 1, true
	case top && t.kind == logWord && surfaceWords[t.word]:
		return nil, i + 1, true
	case top && t.word == "o" && i+1 < len(r.tokens) && r.tokens[i+1].kind == logDash && i+2 < len(r.tokens) && r.tokens[i+2].depthable():
		return nil, i + 1, true // the letter O for a nought
	case !top && t.kind == logWord && bottomWords[t.word]:
		if i+1 < len(r.tokens) && (r.tokens[i+1].word == "depth" || r.tokens[i+1].word == "hole") {
			i++
		}
		return nil, i + 1, true
	case !top && t.mark == '?':
		return nil, i + 1, true
	}
	return nil, i, false
}

// columnsAt reads two numbers side by side at the beginning of a line, as a
// table has them: '0 12 clay'. The line must have words behind them.
// Within a line they must go on where the pair before them ended.
func (r *logReader) columnsAt(i int, last *logRange) (c logRange, ok bool) {
	if i+1 >= len(r.tokens) {
		return c, false
	}
	begins := beginsLine(r, i)
	if i+2 == len(r.tokens) {
		if begins || !r.tokens[i].depthable() || !r.tokens[i+1].depthable() {
			return c, false
		}
		return r.columnsBehind(i, last)
	}
	low, high := &r.tokens[i], &r.tokens[i+1]
	skip := 0
	if high.kind == logMark && (high.mark == ',' || high.mark == ':') {
		high, skip = &r.tokens[i+2], 1
	}
	words := i + 2 + skip
	if !low.depthable() || !high.depthable() || words >= len(r.tokens) {
		return c, false
	}
	if !begins && skip == 0 && r.breakAt(words) == strongBreak {
		return r.columnsBehind(i, last)
	}
	if r.tokens[words].mark == ',' || r.tokens[words].mark == ':' {
		words++
	}
	if words >= len(r.tokens) || r.tokens[words].kind != logWord || joins(&r.tokens[words]) || atWords[r.tokens[words].word] {
		return c, false
	}
	c = logRange{from: i, to: i + 2 + skip, start: low.start, end: high.end, columns: true}
	c.top, c.bottom = r.depth(low, high.unit), r.depth(high, low.unit)
	if !begins && (last == nil || !last.columns || abs(c.top.Value-last.bottom.Value) > depthSlack) {
		return c, false
	}
	return c, c.bottom.Value > c.top.Value
}

// beginsLine says whether token i begins a line.
func beginsLine(r *logReader, i int) bool { return i == 0 || r.breakAt(i-1) == strongBreak }

// columnsBehind reads two numbers at the end of a line of words: 'clay 0 12'.
// The first pair must begin at the surface, and each other where the one
// before it ended.
func (r *logReader) columnsBehind(i int, last *logRange) (c logRange, ok bool) {
	low, high := &r.tokens[i], &r.tokens[i+1]
	if r.tokens[i-1].kind != logWord || joins(&r.tokens[i-1]) || atWords[r.tokens[i-1].word] || waterWords[r.tokens[i-1].word] {
		return c, false
	}
	c = logRange{from: i, to: i + 2, start: low.start, end: high.end, columns: true}
	c.top, c.bottom = r.depth(low, high.unit), r.depth(high, low.unit)
	if last == nil && c.top.Value != 0 || last != nil && (!last.columns || abs(c.top.Value-last.bottom.Value) > depthSlack) {
		return c, false
	}
	return c, c.bottom.Value > c.top.Value
}

// judge says how a place stands in the text.
func (r *logReader) judge(c *logRange, before []logRange) {
	i := c.from - 1
	for i >= 0 {
		t := &r.tokens[i]
		bullet := t.kind == logDash && (i == 0 || r.breakAt(i-1) == strongBreak)
		if t.mark == '(' || t.mark == '[' || t.mark == '~' || bullet || aboutWords[t.word] || t.word == "from" || t.word == "fr" || t.word == "frm" || t.word == "then" || t.word == "depth" && i == 0 {
			i--
			continue
		}
		break
	}
	switch {
	case i < 0:
		c.begins = strongBreak
	case r.tokens[i].mark == ':':
		c.begins = softBreak
		if p := r.pieceOf(i); p != nil && r.ground(logPiece{from: p.from, to: i}) {
			c.begins = noBreak // clay: 0-12
		}
	case r.tokens[i].mark == ')':
		c.begins = softBreak
	default:
		c.begins = r.breakAt(i)
	}
	if i >= 0 {
		t := &r.tokens[i]
		c.aside = t.kind == logAt || waterWords[t.word] || atWords[t.word] || t.word == "between" || t.kind == logNumber && t.other
	}
	if p := r.pieceOf(c.from); p != nil && (p.kind == RemarkCasing || p.kind == RemarkTotal || p.kind == RemarkYield || p.kind == RemarkLevel) {
		c.aside, c.fitting = true, true
	}
	for k := range before {
		b := &before[k]
		if !b.aside && b.bottom.Known() && c.bottom.Known() && c.top.Value >= b.top.Value-depthSlack && c.bottom.Value <= b.bottom.Value+depthSlack {
			c.nested = true
			return
		}
	}
}
