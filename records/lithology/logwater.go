package lithology

import (
	"strings"

	"tallybook/records"
)

var (
	flowWords = wordSet("gpm gph gal gals gallon gallons lps lpm l liter liters litre litres usgpm igpm cfs")
	strikeGo  = wordSet("at near around from between encountered hit struck found met first strike strikes bearing level zone fracture fractures seam vein vein's crevice in entry some good small little trace more came increase inflow")
	noStrike  = wordSet("no not none without nil level static swl table lost loss added used injected standing stands stood dry rose test tested yield yields pump pumped until")
)

// findWater lists what is said of water at a depth.
func (r *logReader) findWater() {
	for i := 0; i < len(r.tokens); i++ {
		t := &r.tokens[i]
		isWater := t.kind == logWord && waterWords[t.word]
		if !isWater && !(t.kind == logNumber && r.flowEnds(i) > i) {
			continue
		}
		if next := r.waterAt(i, isWater); next > i {
			i = next - 1
		}
	}
}

// flowEnds gives the token behind a flow that begins at i, or i where none
// does: 5 gpm, 1/2 gpm, 5-7 gpm.
func (r *logReader) flowEnds(i int) int {
	k := i
	if k < len(r.tokens) && (r.tokens[k].mark == '<' || r.tokens[k].mark == '>' || r.tokens[k].mark == '~' || aboutWords[r.tokens[k].word]) {
		k++
	}
	for n := 0; k < len(r.tokens) && n < 3; n++ {
		t := &r.tokens[k]
		if t.kind != logNumber {
			return i
		}
		if t.other && r.isFlow(t) {
			return k + 1
		}
		if k+2 < len(r.tokens) && joins(&r.tokens[k+1]) {
			k += 2
			continue
		}
		return i
	}
	return i
}

// isFlow says whether the number bears a unit of flow.
func (r *logReader) isFlow(t *logToken) bool {
	tail := strings.ToLower(strings.TrimSpace(r.log.Text[t.number:t.end]))
	tail = strings.TrimLeft(tail, "+?")
	word := strings.ReplaceAll(strings.TrimSpace(tail), ".", "")
	return flowWords[word]
}

// flow reads the flow of tokens from up to, with the rest of its unit.
func (r *logReader) flow(from, to int) (a records.Amount[records.Flow], end int) {
	start := r.tokens[from].start
	end = r.tokens[to-1].end
	tail := strings.ToLower(r.log.Text[end:])
	for _, more := range []string{" per minute", " per min", " a minute", "/minute", "/min", "/m", "/s", "/hr", "/h", "."} {
		if strings.HasPrefix(tail, more) {
			end += len(more)
			break
		}
	}
	got, err := records.ParseAmount(strings.TrimRight(r.log.Text[start:end], "."), records.DimFlow, records.GallonPerMinute)
	if err != nil {
		return a, end
	}
	return records.Amount[records.Flow]{Qualifier: got.Qualifier, Value: records.Flow(got.Value), High: records.Flow(got.High), Given: got.Given}, end
}

// waterAt reads a remark on water at token i, and gives the token behind it.
func (r *logReader) waterAt(i int, isWater bool) int {
	w := LogWater{Plain: r.tokens[i].word != "wet"}
	from, k := i, i
	p := r.pieceOf(i)
	if p == nil {
		return i + 1
	}
	for b := i - 1; b >= p.from && b >= i-4; b-- {
		t := &r.tokens[b]
		if noStrike[t.word] || casingWords[t.word] || b == i-1 && t.word == "to" { // depth to water
			w.Plain = false
		}
	}
	if p.kind == RemarkCasing || p.kind == RemarkLevel || p.kind == RemarkYield && !isWater || p.kind == RemarkTotal {
		w.Plain = false
	}
	depth := -1
	var flowEnd int
	takeFlow := func() {
		if e := r.flowEnds(k); e > k && !w.Flow.Known() {
			w.Flow, flowEnd = r.flow(k, e)
			k = e
			for k < len(r.tokens) && r.tokens[k].start < flowEnd {
				k++
			}
		}
	}
	// Before the water: '5 gpm water @ 88', 'at 88 water', '88 ft water'.
	if !isWater {
		takeFlow()
		if k < p.to && waterWords[r.tokens[k].word] {
			isWater = true
			k++
		}
	} else {
		k++
	}
	for k < p.to && depth < 0 {
		t := &r.tokens[k]
		switch {
		case t.depthable() && !r.isTaken(t):
			depth = k
		case noStrike[t.word]:
			w.Plain = false
			k++
			continue
		case t.kind == logAt, t.kind == logDash, strikeGo[t.word], waterWords[t.word], aboutWords[t.word], t.mark == '~', t.mark == ':', t.mark == '(':
			k++
			continue
		default:
			if e := r.flowEnds(k); e > k && !w.Flow.Known() {
				takeFlow()
				continue
			}
		}
		break
	}
	if depth < 0 {
		// 'at 88 water', '@ 88, 5 gpm'
		b := i - 1
		for b >= 0 && (r.tokens[b].mark == '(' || r.tokens[b].mark == ':' || r.tokens[b].kind == logDash || r.tokens[b].mark == ',' || strikeGo[r.tokens[b].word] && !atWords[r.tokens[b].word]) {
			b--
		}
		if b >= 1 && r.tokens[b].depthable() && (r.tokens[b-1].kind == logAt || r.tokens[b-1].word == "at") && !r.inWater(b) {
			w.Depth = r.depth(&r.tokens[b], records.NoUnit)
			from = b - 1
		} else {
			return max(k, i+1)
		}
	} else {
		w.Depth = r.depth(&r.tokens[depth], records.NoUnit)
		if before := &r.tokens[depth-1]; w.Flow.Known() && before.kind != logAt && !atWords[before.word] && before.word != "from" {
			w.Plain = false // water 22 gpm 6
		}
		if r.aboutBefore(depth) {
			w.Depth.Qualifier = records.About
		}
		k = depth + 1
		if c, ok := r.rangeAt(depth); ok && c.bottom.Known() && !c.backwards {
			w.Depth = records.Amount[records.Depth]{Qualifier: records.Between, Value: c.top.Value, High: c.bottom.Value, Given: records.Given{Text: r.log.Text[c.start:c.end], Unit: c.bottom.Given.Unit}}
			k = c.to
		}
	}
	end := k
	for k < len(r.tokens) && (r.tokens[k].kind == logAt || r.tokens[k].mark == '(' || r.tokens[k].mark == ',' || r.tokens[k].mark == ':' || r.tokens[k].mark == '=' || r.tokens[k].kind == logDash) {
		k++
	}
	if r.flowEnds(k) > k && !w.Flow.Known() && !r.depthFollows(r.flowEnds(k)) {
		takeFlow()
		end = k
	}
	w.Start, w.End = r.tokens[from].start, max(r.tokens[end-1].end, flowEnd)
	end = r.closeBracket(&w, end)
	r.log.Water = append(r.log.Water, w)
	return r.moreDepths(w.Plain, end)
}

// closeBracket takes in the bracket that closes one within the remark.
func (r *logReader) closeBracket(w *LogWater, k int) int {
	s := r.log.Text[w.Start:w.End]
	if strings.Count(s, "(") > strings.Count(s, ")") && k < len(r.tokens) && r.tokens[k].mark == ')' {
		w.End = r.tokens[k].end
		return k + 1
	}
	return k
}

// moreDepths reads on where the remark is a list: 'water @ 88, 210 and 290',
// 'at 180 ft (3 gpm) and 205 ft (7 gpm)'.
func (r *logReader) moreDepths(plain bool, end int) int {
	for {
		k := end
		for k < len(r.tokens) && (r.tokens[k].mark == ',' || r.tokens[k].mark == '&' || r.tokens[k].mark == '+' || r.tokens[k].mark == ';' || r.tokens[k].word == "and" || r.tokens[k].kind == logAt || r.tokens[k].word == "at") {
			k++
		}
		if k == end || k >= len(r.tokens) || !r.tokens[k].depthable() || r.isTaken(&r.tokens[k]) {
			return end
		}
		if _, isRange := r.rangeAt(k); isRange {
			return end
		}
		t := &r.tokens[k]
		w := LogWater{Start: t.start, End: t.end, Plain: plain, Depth: r.depth(t, records.NoUnit)}
		next := k + 1
		f := next
		for f < len(r.tokens) && (r.tokens[f].mark == '(' || r.tokens[f].kind == logDash || r.tokens[f].mark == ':' || r.tokens[f].mark == '=') {
			f++
		}
		if e := r.flowEnds(f); e > f && !r.depthFollows(e) {
			w.Flow, w.End = r.flow(f, e)
			next = e
			for next < len(r.tokens) && r.tokens[next].start < w.End {
				next++
			}
		} else if next < len(r.tokens) && (r.tokens[next].kind == logWord && r.tokens[next].word != "and" || r.tokens[next].kind == logDash) {
			return end // 'water @ 88, 210 granite' is no list
		}
		next = r.closeBracket(&w, next)
		r.log.Water = append(r.log.Water, w)
		end = next
	}
}

// depthFollows says whether '@ 210' stands at token k: then the flow before it
// is of that depth.
func (r *logReader) depthFollows(k int) bool {
	return k+1 < len(r.tokens) && (r.tokens[k].kind == logAt || r.tokens[k].word == "at") && r.tokens[k+1].depthable()
}

// isTaken says whether the number is one of the depths of an interval.
func (r *logReader) isTaken(t *logToken) bool {
	for i := range r.log.Intervals {
		in := &r.log.Intervals[i]
		if t.start >= in.Start && t.end <= in.End && (t.end <= in.WordsStart || t.start >= in.WordsEnd && t.start < in.AlsoStart) {
			return true
		}
	}
	return false
}

// inWater says whether the token is already part of a remark on water.
func (r *logReader) inWater(i int) bool {
	for _, w := range r.log.Water {
		if r.tokens[i].start >= w.Start && r.tokens[i].end <= w.End {
			return true
		}
	}
	return false
}
