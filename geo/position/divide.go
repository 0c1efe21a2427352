package position

import (
	"slices"
	"strconv"
	"strings"
)

// pairText is the tokens of a pair sorted around its numbers: gap i stands
// before number i, the last gap after the last number.
type pairText struct {
	numbers []token
	marks   []unit
	gaps    [][]token
}

const writePlainly = "write for example 43.2000, -71.5000 or 43°12′00″N 71°30′00″W"

// divide sorts tokens into two angles. Everything that parts two angles
// (separator, sign, letter, a degree mark, the end of a chain of colons) must
// point at the same place; bare numbers part in the middle.
func divide(tokens []token) (first, second angle, problem *ParseError) {
	text, problem := sortAround(tokens)
	if problem != nil {
		return first, second, problem
	}
	count := len(text.numbers)
	switch {
	case count == 0:
		return first, second, refuse("there are no numbers in it", writePlainly)
	case count == 1:
		return first, second, refuse("only one number is given; a position has a latitude and a longitude", writePlainly)
	case count > 6:
		return first, second, refuse("there are too many numbers for a latitude and a longitude", writePlainly)
	}
	at, problem := text.border()
	if problem != nil {
		return first, second, problem
	}
	before, after, problem := text.shareBorder(at)
	if problem != nil {
		return first, second, problem
	}
	head, tail := axisTokens(text.gaps[0]), axisTokens(text.gaps[count])
	if order := labels(head); len(order) == 2 && len(head) == 2 && order[0] != order[1] {
		// "lat/lon 43.2 -71.5": a heading that tells the order of both.
		before, after = slices.Concat(before, head[:1]), slices.Concat(head[1:], after)
	} else {
		before = slices.Concat(head, before)
	}
	after = slices.Concat(after, tail)
	if first, problem = text.angle(0, at, before); problem != nil {
		return first, second, problem
	}
	second, problem = text.angle(at, count, after)
	return first, second, problem
}

// sortAround sorts tokens around the numbers and refuses strays.
func sortAround(tokens []token) (pairText, *ParseError) {
	text := pairText{gaps: [][]token{nil}}
	for i, tok := range tokens {
		last := len(text.gaps) - 1
		switch tok.kind {
		case tokNumber:
			if i > 0 && tokens[i-1].kind == tokSign && tok.spaced && i > 1 {
				switch tokens[i-2].kind {
				case tokSeparator, tokLabel, tokCompass:
				default:
					return text, refuse("a dash between two spaces may be a minus sign or stand between the numbers", "write the minus sign close to its number")
				}
			}
			text.numbers = append(text.numbers, tok)
			text.marks = append(text.marks, unitNone)
			text.gaps = append(text.gaps, nil)
		case tokMark:
			if i == 0 || tokens[i-1].kind != tokNumber {
				return text, refuse("a mark for degrees, minutes or seconds does not follow a number", writePlainly)
			}
			text.marks[len(text.marks)-1] = tok.unit
		case tokLink, tokSign:
			stray := tok.kind == tokLink && (i == 0 || tokens[i-1].kind != tokNumber && tokens[i-1].kind != tokMark)
			if stray || i+1 >= len(tokens) || tokens[i+1].kind != tokNumber {
				return text, refuse("a sign or colon does not stand by a number", writePlainly)
			}
			text.gaps[last] = append(text.gaps[last], tok)
		case tokCompass, tokLabel, tokSeparator:
			text.gaps[last] = append(text.gaps[last], tok)
		default:
			return text, refusef(writePlainly, "%q is not part of a latitude or longitude", tok.text)
		}
	}
	return text, nil
}

// border is the index of the number that begins the second angle.
func (t pairText) border() (int, *ParseError) {
	count := len(t.numbers)
	linked := func(gap []token) bool {
		return slices.ContainsFunc(gap, func(tok token) bool { return tok.kind == tokLink })
	}
	anyLink := slices.ContainsFunc(t.gaps, linked)
	var borders []int
	for i := 1; i < count; i++ {
		gap := t.gaps[i]
		switch {
		case linked(gap):
		case len(gap) > 0, anyLink, t.marks[i] == unitDegree,
			t.marks[i-1] != unitNone && t.marks[i] != unitNone && t.marks[i] <= t.marks[i-1],
			t.marks[i-1] == unitSecond:
			borders = append(borders, i)
		}
	}
	switch {
	case len(borders) == 1:
		return borders[0], nil
	case len(borders) > 1:
		return 0, refuse("it is not clear where the first coordinate ends", writePlainly)
	case (anyLink || t.marks[0] != unitNone) && count <= 3:
		return 0, refuse("only one coordinate is given; a position has a latitude and a longitude", writePlainly)
	case anyLink || t.marks[0] != unitNone || count%2 != 0:
		// Of marked angles the second would show a mark of its own.
		return 0, refusef(writePlainly, "%d numbers do not part into two coordinates", count)
	case count == 2 && t.maybeOneAngle():
		return 0, refuse("the two numbers may be degrees and minutes of one coordinate", writePlainly)
	}
	return count / 2, nil
}

// maybeOneAngle reports two bare numbers with a single letter before or after
// both, such as "43 12 N", where the second may be minutes.
func (t pairText) maybeOneAngle() bool {
	if len(axisTokens(t.gaps[0]))+len(axisTokens(t.gaps[2])) != 1 || strings.Contains(t.numbers[0].text, ".") {
		return false
	}
	minutes, err := strconv.ParseFloat(t.numbers[1].text, 64)
	return err == nil && minutes < 60
}

// shareBorder gives the letters and words between the two angles to the one
// or the other.
func (t pairText) shareBorder(at int) (before, after []token, problem *ParseError) {
	gap := t.gaps[at]
	if i := slices.IndexFunc(gap, func(tok token) bool { return tok.kind == tokSeparator }); i >= 0 {
		return axisTokens(gap[:i]), axisTokens(gap[i:]), nil
	}
	between := axisTokens(gap)
	head, tail := axisTokens(t.gaps[0]), axisTokens(t.gaps[len(t.gaps)-1])
	if i := slices.IndexFunc(between, func(tok token) bool { return tok.kind == tokLabel }); i >= 0 {
		if len(labels(tail)) > 0 {
			return between, nil, nil
		}
		return between[:i], between[i:], nil
	}
	switch {
	case len(between) == 0:
		return nil, nil, nil
	case len(between) == 2:
		return between[:1], between[1:], nil
	case len(between) > 2:
		return nil, nil, refuse("there are too many compass letters", writePlainly)
	}
	isCompass := func(tok token) bool { return tok.kind == tokCompass }
	leading, trailing := slices.ContainsFunc(head, isCompass), slices.ContainsFunc(tail, isCompass)
	next := t.numbers[at]
	if len(gap) > 1 { // a sign between the letter and the number
		next = gap[1]
	}
	closeBefore, closeAfter := !between[0].spaced, !next.spaced
	switch {
	case leading && !trailing, !leading && !trailing && closeAfter && !closeBefore:
		return nil, between, nil
	case trailing && !leading, !leading && !trailing && closeBefore && !closeAfter:
		return between, nil, nil
	}
	return nil, nil, refusef(writePlainly, "it is not clear which number the letter %s belongs to", compassName(between[0].letter))
}

// angle gathers the numbers from one index to another and what is said of
// them.
func (t pairText) angle(from, to int, said []token) (angle, *ParseError) {
	var a angle
	for i := from; i < to; i++ {
		a.parts = append(a.parts, anglePart{t.numbers[i].text, t.marks[i]})
		for _, tok := range t.gaps[i] {
			switch {
			case tok.kind == tokLink:
				a.linked = true
			case tok.kind == tokSign && a.sign != 0:
				return a, refuse("there are two signs before one number", writePlainly)
			case tok.kind == tokSign && tok.minus:
				a.sign = -1
			case tok.kind == tokSign:
				a.sign = 1
			}
		}
	}
	for _, tok := range said {
		axis := tok.axis()
		if a.axis != 0 && a.axis != axis {
			return a, refuse("one coordinate is called both latitude and longitude", "check the letters and words")
		}
		a.axis = axis
		if tok.kind != tokCompass {
			continue
		}
		if a.compass != 0 {
			return a, refuse("one coordinate has two compass letters", "give each coordinate one letter")
		}
		a.compass = tok.letter
	}
	return a, nil
}

// axis is the axis that a letter or label names.
func (tok token) axis() Axis {
	switch {
	case tok.kind == tokLabel && tok.label == labelLatitude,
		tok.kind == tokCompass && (tok.letter == 'n' || tok.letter == 's'):
		return Latitude
	}
	return Longitude
}

// axisTokens are the compass letters and labels among tokens.
func axisTokens(tokens []token) []token {
	var out []token
	for _, tok := range tokens {
		if tok.kind == tokCompass || tok.kind == tokLabel {
			out = append(out, tok)
		}
	}
	return out
}

// labels are the labels among tokens.
func labels(tokens []token) []labelKind {
	var out []labelKind
	for _, tok := range tokens {
		if tok.kind == tokLabel {
			out = append(out, tok.label)
		}
	}
	return out
}

// compassName is the capital letter of a direction.
func compassName(letter byte) string { return string(letter - 'a' + 'A') }
