package lithology

import (
	"strings"

	"tallybook/records"
)

// logStep is one piece of a log that writes one depth a stratum.
type logStep struct {
	form                 logStepForm
	said                 bool // the words settle the form: 'to 12', '12 ft of', '12 thick'
	depth                bool
	start, end           int
	wordsStart, wordsEnd int
	bottom               records.Amount[records.Depth] // the number, whatever it is
	strong               bool
}

type logStepForm uint8

const (
	stepTrailing  logStepForm = iota // clay 12, clay to 12
	stepLeading                      // 12 clay
	stepThickness                    // 12 ft of clay
	stepTop                          // clay at 12, below 12 clay
	stepWords                        // clay
	stepRest                         // gneiss to TD, rest gneiss
)

// bottomPiece reads a piece as words and the bottom of the stratum.
// The first stratum may have its depth before its words, since its thickness
// is its bottom.
func (r *logReader) bottomPiece(p *logPiece, first bool) (logStep, bool) {
	if p.kind != 0 && p.kind != RemarkWater {
		return logStep{}, false
	}
	steps := r.steps(p.from, p.to, p.strong)
	if len(steps) != 1 || steps[0].form != stepTrailing && !(first && (steps[0].form == stepLeading || steps[0].form == stepThickness)) || steps[0].wordsStart == steps[0].wordsEnd {
		return logStep{}, false
	}
	return steps[0], r.namesGround(r.log.Text[steps[0].wordsStart:steps[0].wordsEnd])
}

// steps cuts tokens into steps: behind each depth that words follow.
func (r *logReader) steps(from, to int, strong bool) []logStep {
	var out []logStep
	at := from
	for i := from; i < to; i++ {
		t := &r.tokens[i]
		if !t.depthable() || r.pointed(i, from) {
			continue
		}
		lead := i == at || i == at+1 && (r.tokens[at].word == "then" || r.tokens[at].word == "to" || r.tokens[at].kind == logDash || continueWords[r.tokens[at].word] || r.tokens[at].word == "first")
		if lead {
			continue // the words follow
		}
		if i+1 < to && (thickWords[r.tokens[i+1].word] || r.tokens[i+1].word == "of") {
			continue
		}
		out = append(out, r.step(at, i+1, strong))
		at, strong = i+1, false
		if rest := (logPiece{from: at, to: to}); at < to && r.onlyTotal(rest) {
			if !r.log.Total.Known() {
				r.log.Total = r.depth(t, records.NoUnit) // gneiss to 305 TD
			}
			r.remark(r.tokens[at].start, r.tokens[to-1].end, RemarkTotal)
			at = to
		}
	}
	for k := at; k < to; k++ {
		if r.tokens[k].kind == logWord || r.tokens[k].kind == logNumber {
			return append(out, r.step(at, to, strong))
		}
	}
	return out
}

// onlyTotal says whether a piece holds nothing but words for the total depth.
func (r *logReader) onlyTotal(p logPiece) bool {
	words := 0
	for i := p.from; i < p.to; i++ {
		switch t := &r.tokens[i]; {
		case t.kind == logWord && (t.word == "td" || t.word == "total" || t.word == "depth" || t.word == "eoh"):
			words++
		case t.kind != logMark:
			return false
		}
	}
	return words > 0
}

// pointed says whether the number speaks of a place within a stratum: soft @
// 88, water 60.
func (r *logReader) pointed(i, from int) bool {
	for k := i - 1; k >= from; k-- {
		t := &r.tokens[k]
		switch {
		case t.kind == logAt, atWords[t.word], waterWords[t.word]:
			return true
		case aboutWords[t.word] || t.mark == '~':
		default:
			return false
		}
	}
	return false
}

// step reads the tokens of one step.
func (r *logReader) step(from, to int, strong bool) logStep {
	s := logStep{form: stepWords, strong: strong, start: r.tokens[from].start, end: r.tokens[to-1].end}
	s.wordsStart, s.wordsEnd = r.trimWords(s.start, s.end)
	first, last := from, to-1
	for last > first && r.tokens[last].kind == logMark {
		last--
	}
	number := -1
	for i := from; i < to; i++ {
		if r.tokens[i].depthable() && !r.pointed(i, from) {
			if number >= 0 && r.tokens[i].kind == logNumber {
				return s // two depths that are no interval
			}
			number = i
		}
	}
	word := func(i int) string {
		if i < from || i >= to {
			return ""
		}
		return r.tokens[i].word
	}
	if number < 0 {
		return r.stepWithout(s, from, to)
	}
	t := &r.tokens[number]
	s.depth, s.bottom = true, r.depth(t, records.NoUnit)
	if t.plus {
		s.bottom.Qualifier = records.GreaterThan
	}
	if r.aboutBefore(number) {
		s.bottom.Qualifier = records.About
	}
	switch {
	case word(number+1) == "of" || word(number+1) == "thick" || word(number-1) == "first" || continueWords[word(number-1)]:
		s.form, s.said = stepThickness, true
		if number > first && word(number-1) != "first" && !continueWords[word(number-1)] && (number == last || number == last-1 && word(last) == "thick") { // clay 12 thick
			s.wordsStart, s.wordsEnd = r.trimWords(s.start, t.start)
		} else {
			s.wordsStart, s.wordsEnd = r.trimWords(r.tokens[number+1].start, s.end)
			if word(number+1) == "thick" {
				s.wordsStart, s.wordsEnd = r.trimWords(r.tokens[number+1].end, s.end)
			}
		}
	case number == last:
		s.form = stepTrailing
		cut := t.start
		k := number - 1
		for k > from && (aboutWords[word(k)] || r.tokens[k].mark == '~') {
			cut = r.tokens[k].start
			k--
		}
		if k >= from && (word(k) == "to" || word(k) == "until" || word(k) == "til" || word(k) == "thru") {
			s.said, cut = true, r.tokens[k].start
			if k > from && (word(k-1) == "down" || word(k-1) == "on") {
				cut = r.tokens[k-1].start
			}
		} else if k > from && (word(k) == "from" || word(k) == "below") {
			s.form, s.said, cut = stepTop, true, r.tokens[k].start
		}
		s.wordsStart, s.wordsEnd = r.trimWords(s.start, cut)
	case number == first:
		s.form = stepLeading
		s.wordsStart, s.wordsEnd = r.trimWords(t.end, s.end)
	case number == first+1 && (word(first) == "to" || word(first) == "until"):
		s.form, s.said = stepTrailing, true
		s.wordsStart, s.wordsEnd = r.trimWords(t.end, s.end)
	case number == first+1 && (word(first) == "below" || word(first) == "from"):
		s.form, s.said = stepTop, true
		s.wordsStart, s.wordsEnd = r.trimWords(t.end, s.end)
	default:
		s.form, s.depth = stepWords, false
	}
	return s
}

// stepWithout reads a step without a depth of its own: words, a stratum that
// goes to the bottom, or words at a depth.
func (r *logReader) stepWithout(s logStep, from, to int) logStep {
	last := to - 1
	if to-from >= 3 && bottomWords[r.tokens[last].word] && r.tokens[last-1].word == "to" {
		s.form, s.said = stepRest, true
		s.wordsStart, s.wordsEnd = r.trimWords(s.start, r.tokens[last-1].start)
		return s
	}
	switch w := r.tokens[from].word; {
	case to-from > 1 && (w == "rest" || w == "remainder" || w == "balance" || w == "then"):
		s.form, s.said = stepRest, true
		s.wordsStart, s.wordsEnd = r.trimWords(r.tokens[from].end, s.end)
	case to-from > 1 && r.tokens[last].word == "below":
		s.form, s.said = stepRest, true
		s.wordsStart, s.wordsEnd = r.trimWords(s.start, r.tokens[last].start)
	default:
		for i := from; i < to; i++ {
			if r.tokens[i].depthable() && i == last {
				s.form, s.depth, s.bottom = stepTop, true, r.depth(&r.tokens[i], records.NoUnit)
				cut := r.tokens[i].start
				if i > from {
					cut = r.tokens[i-1].start
				}
				s.wordsStart, s.wordsEnd = r.trimWords(s.start, cut)
			}
		}
	}
	return s
}

// readRunning reads a log that writes one depth a stratum: running bottoms,
// tops, or thicknesses where that is certain.
func (r *logReader) readRunning() {
	var steps []logStep
	for i := range r.pieces {
		p := &r.pieces[i]
		if p.kind != 0 {
			r.remark(r.tokens[p.from].start, r.tokens[p.to-1].end, p.kind)
			continue
		}
		from := p.from
		for k := p.from; k < p.to; k++ {
			if r.tokens[k].mark == ':' && r.allHeading(p.from, k) {
				r.remark(r.tokens[p.from].start, r.tokens[k].end, RemarkHeading)
				from = k + 1
			}
		}
		if from < p.to {
			steps = append(steps, r.steps(from, p.to, p.strong)...)
		}
	}
	steps = r.joinWords(steps)
	if len(steps) == 0 {
		return
	}
	form, why := r.settleForm(steps)
	if form == FormNone {
		r.log.Doubts |= LogAmbiguous
		for _, s := range steps {
			r.unread(s.start, s.end, why)
		}
		return
	}
	r.log.Form = form
	r.build(steps, form)
}

// joinWords joins words without a depth to the step that they belong to:
// 'clay, brown, 12' is one stratum, and 'gneiss to 305, soft @ 88' too.
func (r *logReader) joinWords(steps []logStep) []logStep {
	var out []logStep
	waiting := -1
	for i := range steps {
		s := steps[i]
		if s.form == stepWords || s.form == stepTop && !s.said {
			if s.form == stepTop && s.bottom.Value == 0 || s.form == stepTop && len(out) > 0 && out[0].form == stepTop && waiting < 0 {
				out = append(out, s) // clay at 0, hardpan at 12
				continue
			}
			if waiting < 0 || s.strong {
				if waiting >= 0 {
					out = r.giveBack(out, steps[waiting:i], false)
				}
				waiting = i
			}
			continue
		}
		if waiting >= 0 {
			lead := s.form == stepTrailing || s.form == stepRest || s.form == stepThickness && s.wordsEnd <= s.end && s.wordsStart == s.start
			if lead && !s.strong && s.wordsStart <= s.bottomAt() && steps[waiting].form == stepWords {
				s.start, s.wordsStart = steps[waiting].start, steps[waiting].wordsStart
				if s.wordsEnd < s.wordsStart || s.wordsEnd == s.wordsStart {
					s.wordsEnd = steps[i-1].wordsEnd
				}
				s.wordsStart, s.wordsEnd = r.trimWords(s.wordsStart, s.wordsEnd)
			} else {
				out = r.giveBack(out, steps[waiting:i], false)
			}
			waiting = -1
		}
		out = append(out, s)
	}
	if waiting >= 0 {
		out = r.giveBack(out, steps[waiting:], true)
	}
	return out
}

// bottomAt is where the words of a step that has them before its depth end.
func (s *logStep) bottomAt() int { return s.end }

// giveBack gives words without a depth to the step before them, or leaves them
// as a remark.
func (r *logReader) giveBack(out []logStep, words []logStep, final bool) []logStep {
	start, end := words[0].wordsStart, words[len(words)-1].end
	if len(out) == 0 || start >= end {
		if r.namesGround(r.log.Text[words[0].start:end]) {
			r.unread(words[0].start, end, "names a ground without a depth")
			r.log.Doubts |= LogPartUnread
		} else {
			r.remark(words[0].start, end, RemarkNote)
		}
		return out
	}
	last := &out[len(out)-1]
	if m := &words[0]; m.form == stepTop && last.depth && m.bottom.Value >= last.bottom.Value-depthSlack {
		if final && m.bottom.Value-last.bottom.Value <= depthSlack && r.namesGround(r.log.Text[m.wordsStart:m.wordsEnd]) && len(words) == 1 {
			m.said = true
			return append(out, *m) // clay to 12, ledge at 12
		}
		r.remark(words[0].start, end, RemarkZone) // 'ledge at 40' says where the next one begins
		return out
	}
	if words[0].strong && words[0].form == stepWords && r.namesGround(r.log.Text[start:end]) {
		r.unread(start, end, "names a ground without a depth")
		r.log.Doubts |= LogPartUnread
		return out
	}
	if words[0].form == stepWords && !lesser(r.log.Text[start:end]) && r.namesGround(r.log.Text[start:end]) {
		r.unread(start, end, "names a ground without a depth")
		r.log.Doubts |= LogPartUnread
		return out
	}
	r.tails = append(r.tails, logTail{len(out) - 1, start, end})
	return out
}

// lesser says whether the words add to the ground before them.
func lesser(s string) bool {
	s = strings.ToLower(s)
	for _, w := range []string{"w/", "with ", "some ", "few ", "and ", "& ", "trace ", "occ"} {
		if strings.HasPrefix(s, w) {
			return true
		}
	}
	return false
}

// logTail is what is said behind the depth of a step.
type logTail struct{ step, start, end int }
