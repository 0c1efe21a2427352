package lithology

import (
	"strings"
	"unicode/utf8"

	"tallybook/records"
)

// describe gives each chosen interval its words: those behind the depths, or
// those before them where the log is written so.
func (r *logReader) describe(all []logRange, chosen []int) {
	first, last := &all[chosen[0]], &all[chosen[len(chosen)-1]]
	behind := r.depthsFirst(all, chosen)
	if behind {
		r.lead(0, first.start, first)
	}
	for k, i := range chosen {
		c := &all[i]
		next := len(r.log.Text)
		if k+1 < len(chosen) {
			next = r.opens(&all[chosen[k+1]])
		}
		in := LogInterval{Top: c.top, Bottom: c.bottom, Start: c.start, End: c.end}
		if behind {
			in.WordsStart, in.WordsEnd = r.trimWords(c.end, next)
			in.AlsoStart, in.AlsoEnd = in.WordsEnd, in.WordsEnd
			r.cutRemarks(&in, k+1 == len(chosen))
			if in.WordsEnd > in.WordsStart {
				in.End = in.WordsEnd
			}
			if words := r.log.Text[in.WordsStart:in.WordsEnd]; len(chosen) > 1 && lesser(words) {
				r.log.Doubts |= LogPartUnread // the ground may stand before the depths
				r.unread(in.Start, in.End, "has words that only add to a ground")
			}
			r.log.Intervals = append(r.log.Intervals, in)
			r.rest(k, all, chosen)
			continue
		}
		prev := 0
		if k > 0 {
			prev = all[chosen[k-1]].end
		}
		from := r.firstBreak(prev, c.start, k > 0)
		if k > 0 {
			r.also(prev, from)
		}
		if k == 0 {
			from = r.lead(0, c.start, c)
		}
		in.WordsStart, in.WordsEnd = r.trimWords(from, c.start)
		in.AlsoStart, in.AlsoEnd = in.WordsEnd, in.WordsEnd
		if in.WordsEnd > in.WordsStart {
			in.Start = in.WordsStart
		}
		r.log.Intervals = append(r.log.Intervals, in)
	}
	if !behind {
		r.also(last.end, len(r.log.Text))
	}
}

// opens is where the interval opens in the text: its list number, if it has
// one, goes with its depths.
func (r *logReader) opens(c *logRange) int {
	if c.from > 0 && r.tokens[c.from-1].mark == '•' {
		return r.tokens[c.from-1].start
	}
	return c.start
}

// depthsFirst says whether the depths stand before the words of each interval.
func (r *logReader) depthsFirst(all []logRange, chosen []int) bool {
	before, after := 0, 0
	for _, i := range chosen {
		c := &all[i]
		ends := strongBreak
		for k := c.to; k < len(r.tokens); k++ {
			t := &r.tokens[k]
			if t.mark == ')' || t.mark == ']' {
				continue
			}
			ends = r.breakAt(k)
			break
		}
		switch {
		case c.begins > ends:
			before++
		case c.begins < ends:
			after++
		}
	}
	if before != after {
		return before > after
	}
	first := &all[chosen[0]]
	s, e := r.trimWords(r.afterHeading(0, first.start), first.start)
	return s == e
}

// afterHeading passes over headings such as 'Log of well:' at the beginning.
func (r *logReader) afterHeading(start, end int) int {
	for i := range r.pieces {
		p := &r.pieces[i]
		from, to := r.tokens[p.from].start, r.tokens[p.to-1].end
		if from >= end {
			break
		}
		if p.kind == RemarkHeading && to <= end {
			start = to
		}
		for k := p.from; k < p.to && r.tokens[k].start < end; k++ {
			if r.tokens[k].mark == ':' && r.allHeading(p.from, k) {
				start = max(start, r.tokens[k].end)
			}
		}
	}
	return start
}

func (r *logReader) allHeading(from, to int) bool {
	for k := from; k < to; k++ {
		if t := &r.tokens[k]; t.kind == logNumber || t.kind == logWord && !headingWords[t.word] {
			return false
		}
	}
	return to > from
}

// lead deals with what stands before the first interval, and gives where the
// words of the first interval may begin.
func (r *logReader) lead(start, end int, first *logRange) int {
	at := r.afterHeading(start, end)
	r.remark(start, at, RemarkHeading)
	for i := range r.pieces {
		p := &r.pieces[i]
		from, to := r.tokens[p.from].start, r.tokens[p.to-1].end
		if from < at || to > end {
			continue
		}
		if next, ok := r.fill(p, 0, first.top, true); ok {
			r.log.Intervals = append(r.log.Intervals, next)
			at = to
			continue
		}
		if p.kind != 0 {
			r.remark(from, to, p.kind)
			at = to
		}
	}
	// 'topsoil 2, clay 2-14' in a log whose depths stand behind the words.
	if s, e := r.trimWords(at, end); s < e && r.depthLeads(first) {
		r.leftOver(s, e)
		at = end
	}
	return at
}

// depthLeads says whether words that stand right before the interval cannot
// be its own.
func (r *logReader) depthLeads(c *logRange) bool { return c.begins > noBreak }

// fill reads a piece such as 'topsoil to 2' that fills a hole between two
// intervals exactly.
func (r *logReader) fill(p *logPiece, above records.Depth, below records.Amount[records.Depth], known bool) (LogInterval, bool) {
	one, ok := r.bottomPiece(p, above == 0)
	if !ok || one.bottom.Value <= above || known && abs(one.bottom.Value-below.Value) > depthSlack || !known && !one.said {
		return LogInterval{}, false
	}
	in := LogInterval{Top: records.Of(above), Bottom: one.bottom, Start: one.start, End: one.end, WordsStart: one.wordsStart, WordsEnd: one.wordsEnd}
	in.AlsoStart, in.AlsoEnd = in.WordsEnd, in.WordsEnd
	return in, true
}

func abs(d records.Depth) records.Depth {
	if d < 0 {
		return -d
	}
	return d
}

// firstBreak is where the words of the next interval begin, in a log that
// writes them before the depths: behind the first of the strongest breaks.
func (r *logReader) firstBreak(start, end int, behind bool) int {
	if !behind {
		return start
	}
	strongest, at := noBreak, start
	for i := range r.tokens {
		t := &r.tokens[i]
		if t.start < start || t.end > end {
			continue
		}
		if b := r.breakAt(i); b > strongest {
			strongest, at = b, t.end
		}
	}
	return at
}

// also gives what stands behind the depths to the interval read last.
func (r *logReader) also(start, end int) {
	s, e := r.trimWords(start, end)
	if s >= e || len(r.log.Intervals) == 0 {
		return
	}
	in := &r.log.Intervals[len(r.log.Intervals)-1]
	for i := range r.pieces {
		p := &r.pieces[i]
		from, to := r.tokens[p.from].start, r.tokens[p.to-1].end
		if from < s || to > e && p.strong {
			continue
		}
		if from >= e {
			break
		}
		if next, ok := r.fill(p, in.Bottom.Value, records.Amount[records.Depth]{}, false); ok && in.Bottom.Known() {
			next.Top = in.Bottom
			r.log.Intervals = append(r.log.Intervals, next)
			return
		}
		if p.kind != 0 {
			if s2, e2 := r.trimWords(s, from); s2 < e2 {
				in.AlsoStart, in.AlsoEnd = s2, e2
				in.End = max(in.End, e2)
			}
			r.leftOver(from, e)
			return
		}
	}
	in.AlsoStart, in.AlsoEnd, in.End = s, e, max(in.End, e)
}

// cutRemarks takes from the end of a description what is no ground: 'TD 305',
// 'static 22', and the water of a new line or behind a semicolon.
func (r *logReader) cutRemarks(in *LogInterval, last bool) {
	for i := range r.pieces {
		p := &r.pieces[i]
		from, to := r.tokens[p.from].start, r.tokens[p.to-1].end
		if to <= in.WordsStart || from < in.WordsStart {
			continue
		}
		if from >= in.WordsEnd {
			break
		}
		if in.Bottom.Known() {
			if next, ok := r.fill(p, in.Bottom.Value, records.Amount[records.Depth]{}, false); ok {
				r.waiting = append(r.waiting, next)
				end := in.WordsEnd
				in.WordsStart, in.WordsEnd = r.trimWords(in.WordsStart, from)
				for _, q := range r.pieces[i+1:] {
					if r.tokens[q.from].start >= end {
						break
					}
					more, ok := r.fill(&q, next.Bottom.Value, records.Amount[records.Depth]{}, false)
					if !ok {
						break
					}
					r.waiting = append(r.waiting, more)
					next, to = more, r.tokens[q.to-1].end
				}
				r.leftOver(to, end)
				return
			}
		}
		if s := r.steps(p.from, p.to, p.strong); from > in.WordsStart && p.kind == 0 && last && in.Bottom.Known() && len(s) == 1 && s[0].form == stepRest && r.namesGround(r.log.Text[s[0].wordsStart:s[0].wordsEnd]) {
			// 'hardpan, gneiss below', 'hardpan then gneiss'
			r.waiting = append(r.waiting, LogInterval{Bottom: r.total(), Start: s[0].start, End: s[0].end, WordsStart: s[0].wordsStart, WordsEnd: s[0].wordsEnd, AlsoStart: s[0].wordsEnd, AlsoEnd: s[0].wordsEnd})
			end := in.WordsEnd
			in.WordsStart, in.WordsEnd = r.trimWords(in.WordsStart, from)
			r.leftOver(to, end)
			return
		}
		if p.kind == 0 || p.kind == RemarkWater && !p.strong && !p.sentence && from > in.WordsStart || from == in.WordsStart && p.kind == RemarkWater {
			continue
		}
		end := in.WordsEnd
		in.WordsStart, in.WordsEnd = r.trimWords(in.WordsStart, from)
		r.leftOver(from, end)
		return
	}
	in.AlsoStart, in.AlsoEnd = in.WordsEnd, in.WordsEnd
}

// rest puts the intervals that cutRemarks found behind their own.
func (r *logReader) rest(k int, all []logRange, chosen []int) {
	for _, next := range r.waiting {
		in := &r.log.Intervals[len(r.log.Intervals)-1]
		next.Top = in.Bottom
		if k+1 < len(chosen) && next.Bottom.Value-all[chosen[k+1]].top.Value > depthSlack {
			r.log.Doubts |= LogOverlap
		}
		r.log.Intervals = append(r.log.Intervals, next)
	}
	r.waiting = nil
}

// leftOver sorts a part of the text that belongs to no interval.
func (r *logReader) leftOver(start, end int) {
	for i := range r.pieces {
		p := &r.pieces[i]
		from, to := max(r.tokens[p.from].start, start), min(r.tokens[p.to-1].end, end)
		if from >= to {
			continue
		}
		if p.kind != 0 {
			r.remark(from, to, p.kind)
			continue
		}
		numbers, ground, at := false, r.ground(*p), false
		for k := p.from; k < p.to; k++ {
			t := &r.tokens[k]
			numbers = numbers || t.depthable() && t.start >= from && t.end <= to
			at = at || t.kind == logAt || atWords[t.word]
		}
		switch {
		case numbers && ground && !at:
			r.log.Doubts |= LogPartUnread
			r.unread(from, to, "has a depth that fits no interval")
		case numbers || ground:
			r.remark(from, to, RemarkZone)
		default:
			r.remark(from, to, RemarkNote)
		}
	}
}

// trimmedMarks are cut from both ends of a description.
const trimmedMarks = " \t\r\n\u00a0;,:-–—=|/\\•·*.→>"

// trimWords cuts blanks, marks and words such as 'then' and 'from' from both
// ends of a description.
func (r *logReader) trimWords(start, end int) (int, int) {
	text := r.log.Text
	if start >= end {
		return end, end
	}
	for {
		s := text[start:end]
		t := strings.TrimLeft(s, trimmedMarks)
		if c, n := utf8.DecodeRuneInString(t); (c == ')' || c == ']') && !strings.ContainsAny(t[n:], "([") || c == ')' && strings.IndexByte(t, '(') > 0 {
			t = t[n:]
		}
		for _, w := range []string{"of", "and then", "then", "TD", "T.D."} {
			if cut := cutWord(t, w, true); w[0] != 'T' || cut != "" && isASCIILetter(cut[0]) {
				t = cut // but TD 200 is a depth
			}
		}
		start = end - len(t)
		t = strings.TrimRight(t, trimmedMarks)
		if c, n := utf8.DecodeLastRuneInString(t); c == '(' || c == '[' || c == '~' || c == '&' {
			t = t[:len(t)-n]
		}
		if c, n := utf8.DecodeLastRuneInString(t); c == ')' && !strings.Contains(t, "(") || c == ']' && !strings.Contains(t, "[") {
			t = t[:len(t)-n]
		}
		if whole(t) {
			t = t[1 : len(t)-1]
			start++
		}
		for _, w := range []string{"then", "from", "and then", "next", "and"} {
			t = cutWord(t, w, false)
		}
		end = start + len(t)
		if len(t) == len(s) {
			return start, end
		}
		if len(t) == 0 {
			return start, start
		}
	}
}

// whole says whether one pair of brackets stands around the text.
func whole(s string) bool {
	return len(s) > 2 && s[0] == '(' && s[len(s)-1] == ')' && strings.IndexByte(s[1:], '(') < 0 && strings.IndexByte(s, ')') == len(s)-1
}

// cutWord takes a word from the beginning or the end of s.
func cutWord(s, word string, front bool) string {
	if len(s) <= len(word) {
		if strings.EqualFold(s, word) && word != "of" {
			return ""
		}
		return s
	}
	if front {
		if strings.EqualFold(s[:len(word)], word) && s[len(word)] == ' ' {
			return s[len(word)+1:]
		}
		return s
	}
	if strings.EqualFold(s[len(s)-len(word):], word) && !isASCIILetter(s[len(s)-len(word)-1]) {
		return s[:len(s)-len(word)]
	}
	return s
}
