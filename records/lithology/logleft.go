package lithology

import (
	"regexp"
	"strconv"

	"tallybook/records"
)

// What the words of an interval may still hold that speaks of depths: then the
// log says more of the ground than was read of it, and a reading that leaves it
// out would be a wrong one.
var (
	// leftRange is 'boulder 18-21' within the words of 0-42.
	leftRange = regexp.MustCompile(`[0-9]\s*['"]?\s*(?:-|–|—|\bto\b)\s*[0-9]`)
	// leftList is '305/42/5/22'.
	leftList = regexp.MustCompile(`[0-9]+/[0-9]+/[0-9]+/[0-9]`)
	// leftRock is 'struck ledge at 22', which begins ground of its own.
	leftGround = regexp.MustCompile(`(?i)\b([a-z]+)\s*(?:@|\bat\b)\s*[0-9]`)
	// leftThen is 'hardpan then ledge', 'rest ledge'.
	leftThen = regexp.MustCompile(`(?i)\b(?:then|rest|after that|below that|till|until|all the way)\b`)
	// leftUnsure is what nobody could read.
	leftUnsure  = regexp.MustCompile(`\?`)
	leftNumbers = regexp.MustCompile(`(?i)\b(?:ten|twelve|fifteen|twenty|thirty|forty|fifty|sixty|seventy|eighty|ninety|hundred)\b`)
	// endsAt is how people say where the hole ends without 'total depth'.
	endsAt = regexp.MustCompile(`(?i)\b(?:bottom at|bottomed at|bot|drilled to|quit|quit at|stopped at|finished|finished at|total|total depth|td)\s*([0-9]+)(\s*(?:gpm|gal|gallons|l/s|lps))?`)
	// leftCount is '33 hp, ledge': a depth that was taken for a word.
	leftCount = regexp.MustCompile(`^[0-9]+\s+[A-Za-z]`)
	clauses   = regexp.MustCompile(`[;,/]`)
)

// leftOut looks for what the reading leaves out.
func (r *logReader) leftOut() {
	l := r.log
	known := false
	for i := range l.Intervals {
		in := &l.Intervals[i]
		words := l.Words(*in)
		reading := r.v.Read(words)
		known = known || reading.Class != records.ClassUnknown
		switch {
		case leftList.MatchString(words), leftUnsure.MatchString(words), leftNumbers.MatchString(words), leftCount.MatchString(words),
			in.Bottom.Known() && in.Bottom.Value <= in.Top.Value, r.groundWithin(words, reading.Material):
			l.Doubts |= LogPartUnread
		case r.otherGround(words, reading.Class):
			l.Doubts |= LogPartUnread
		case in.Bottom.Qualifier == records.Missing && reading.Class == records.ClassUnknown:
			l.Doubts |= LogPartUnread // '47- refusal' is no ground
		}
	}
	if !known {
		l.Doubts |= LogPartUnread // none of its words is ground
	}
	r.shortOfEnd()
}

// groundWithin says whether a part of the words, behind the first, is another
// ground with depths of its own: 'clay, boulder 18-21' is, 'gneiss, fractures
// 88-92' is not.
func (r *logReader) groundWithin(words, material string) bool {
	for i, part := range clauses.Split(words, -1) {
		if i == 0 || !leftRange.MatchString(part) {
			continue
		}
		if x := r.v.Read(part); x.Class != records.ClassUnknown && x.Material != material {
			return true
		}
	}
	return false
}

// otherGround says whether the words of an interval tell of another ground that
// begins in it: of another class at a depth, or behind 'then'.
func (r *logReader) otherGround(words string, class records.Class) bool {
	other := func(text string) bool {
		c := r.v.Read(text).Class
		return c != records.ClassUnknown && c != class
	}
	for _, m := range leftGround.FindAllStringSubmatch(words, -1) {
		if other(m[1]) {
			return true
		}
	}
	for _, m := range leftThen.FindAllStringIndex(words, -1) {
		before, after := words[:m[0]], words[m[1]:]
		a, b := r.v.Read(before).Class, r.v.Read(after).Class
		if b != records.ClassUnknown && a != b {
			return true
		}
	}
	return false
}

// shortOfEnd says that ground is missing where the log itself tells of a hole
// that goes on below its last interval.
func (r *logReader) shortOfEnd() {
	l := r.log
	deepest := l.Intervals[0]
	for _, in := range l.Intervals {
		if in.Bottom.Qualifier == records.Missing || in.Bottom.Qualifier == records.GreaterThan {
			return // it is open below, and says so
		}
		if in.Bottom.Value > deepest.Bottom.Value {
			deepest = in
		}
	}
	if l.Total.Known() && l.Total.Value-deepest.Bottom.Value > depthSlack {
		l.Doubts |= LogPartUnread
		return
	}
	for _, m := range endsAt.FindAllStringSubmatch(l.Text, -1) {
		n, err := strconv.ParseFloat(m[1], 64)
		if err != nil || m[2] != "" || r.unit == records.NoUnit {
			continue // a yield in all
		}
		if records.Depth(r.unit.ToBase(n))-deepest.Bottom.Value > depthSlack {
			l.Doubts |= LogPartUnread
		}
	}
}
