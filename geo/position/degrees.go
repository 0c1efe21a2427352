package position

import (
	"math"
	"slices"
	"strconv"
	"strings"
)

// parseDegrees reads a pair of angles. Where a comma inside a number may be a
// decimal comma or the separator, both are tried and exactly one must hold.
func parseDegrees(tokens []token) (Reading, *ParseError) {
	commas, points, numbers := 0, 0, 0
	for _, tok := range tokens {
		if tok.kind == tokNumber {
			numbers++
			commas += strings.Count(tok.text, ",")
			points += strings.Count(tok.text, ".")
		}
	}
	if commas == 0 {
		return readPair(tokens)
	}
	split, splitProblem := readPair(splitCommas(tokens))
	if points > 0 {
		return split, splitProblem
	}
	decimal, decimalProblem := readPair(decimalCommas(tokens))
	switch {
	case splitProblem == nil && decimalProblem == nil:
		return Reading{}, refuse("a comma may be a decimal comma or stand between two numbers here",
			"write decimal points, as in 43.2, -71.5")
	case splitProblem == nil:
		return split, nil
	case decimalProblem == nil:
		return decimal, nil
	case numbers == 1:
		return Reading{}, splitProblem
	}
	return Reading{}, decimalProblem
}

// splitCommas reads every comma inside a number as a separator.
func splitCommas(tokens []token) []token {
	var out []token
	for _, tok := range tokens {
		if tok.kind != tokNumber || !strings.Contains(tok.text, ",") {
			out = append(out, tok)
			continue
		}
		for i, part := range strings.Split(tok.text, ",") {
			if i > 0 {
				out = append(out, token{kind: tokSeparator})
			}
			piece := tok
			piece.text, piece.spaced = part, tok.spaced && i == 0
			out = append(out, piece)
		}
	}
	return out
}

// decimalCommas reads every comma inside a number as a decimal comma.
func decimalCommas(tokens []token) []token {
	out := slices.Clone(tokens)
	for i := range out {
		if out[i].kind == tokNumber {
			out[i].text = strings.ReplaceAll(out[i].text, ",", ".")
		}
	}
	return out
}

// angle is one half of a pair: up to three numbers with what was said of them.
type angle struct {
	parts    []anglePart
	axis     Axis    // 0 where no letter or word says
	compass  byte    // n, s, e, w, or 0
	sign     int     // -1, 0, 1 as written
	linked   bool    // by colons or dashes
	valueDeg float64 // without sign
	stepDeg  float64 // one unit of the last digit
}

// anglePart is a number of an angle.
type anglePart struct {
	text string
	mark unit
}

// readPair reads tokens whose numbers hold no commas.
func readPair(tokens []token) (Reading, *ParseError) {
	tokens, problem := settleSeconds(tokens)
	if problem != nil {
		return Reading{}, problem
	}
	first, second, problem := divide(tokens)
	if problem != nil {
		return Reading{}, problem
	}
	for _, half := range []*angle{&first, &second} {
		if problem := half.evaluate(); problem != nil {
			return Reading{}, problem
		}
	}
	bare := func(a angle) bool { return a.axis == 0 && !a.linked && a.parts[0].mark == unitNone }
	if len(first.parts) != len(second.parts) && bare(first) && bare(second) {
		return Reading{}, refuse("one half has more numbers than the other", "write both in the same form, or mark the degrees: 43°12′ 71°30′")
	}
	named := first.axis != 0 || second.axis != 0
	lat, lon, problem := assignAxes(first, second)
	if problem != nil {
		return Reading{}, problem
	}
	at := LonLat{Lon: lon.signed(), Lat: lat.signed()}
	if problem := refuseSigns(lat, lon, at); problem != nil {
		return Reading{}, problem
	}
	if problem := refuseRange(at, named); problem != nil {
		return Reading{}, problem
	}
	return Reading{
		At:         cleanZero(at),
		Form:       DecimalDegrees + Form(max(len(lat.parts), len(lon.parts))-1),
		PrecisionM: groundStepM(at.Lat, lat.stepDeg, lon.stepDeg),
	}, nil
}

// assignAxes says which half is the latitude: the first, unless letters or
// words say otherwise.
func assignAxes(first, second angle) (lat, lon angle, problem *ParseError) {
	if first.axis != 0 && first.axis == second.axis {
		return lat, lon, refusef("give one latitude (N or S) and one longitude (E or W)", "two %ss are given", first.axis)
	}
	if first.axis == Longitude || second.axis == Latitude {
		return second, first, nil
	}
	return first, second, nil
}

// signed is the value with its sign, the letter's where there is a letter.
func (a *angle) signed() float64 {
	if a.compass == 's' || a.compass == 'w' || a.compass == 0 && a.sign < 0 {
		return -a.valueDeg
	}
	return a.valueDeg
}

// refuseSigns refuses a sign beside a letter: "-71.5 W" may mean west or, minus
// west being east, the opposite. Plus beside N or E says the same twice.
func refuseSigns(lat, lon angle, byLetters LonLat) *ParseError {
	for _, a := range []angle{lat, lon} {
		if a.compass == 0 || a.sign == 0 || a.sign > 0 && (a.compass == 'n' || a.compass == 'e') {
			continue
		}
		sign := "minus"
		if a.sign > 0 {
			sign = "plus"
		}
		return refusef("write the sign or the letter, not both",
			"a %s sign stands beside the letter %c", sign, a.compass-'a'+'A').suggest(byLetters)
	}
	return nil
}

// refuseRange refuses what lies beyond the axes, and says what was probably
// meant. named is whether a letter or word told the axes apart.
func refuseRange(at LonLat, named bool) *ParseError {
	absLat, absLon := math.Abs(at.Lat), math.Abs(at.Lon)
	write := func(deg float64) string { return strconv.FormatFloat(deg, 'f', -1, 64) }
	switch {
	case absLat > 90 && !named && absLat <= 180 && absLon <= 90:
		return refusef("latitude comes first unless letters say otherwise", "the first number, %s, is beyond 90 and no latitude",
			write(at.Lat)).suggest(LonLat{Lon: at.Lat, Lat: at.Lon})
	case absLat > 90:
		return refuse("latitude "+write(at.Lat)+" is beyond 90 degrees", "check the number; latitude comes first unless letters say otherwise")
	case absLon > 180 && absLon <= 360:
		return refuse("longitude "+write(at.Lon)+" is beyond 180 degrees", "count from 0 to 180 east or west").
			suggest(LonLat{Lon: at.Lon - math.Copysign(360, at.Lon), Lat: at.Lat})
	case absLon > 180:
		return refuse("longitude "+write(at.Lon)+" is beyond 180 degrees", "check the number")
	}
	return nil
}

// groundStepM is the ground size of a step in latitude and one in longitude,
// the larger of the two.
func groundStepM(latDeg, stepLatDeg, stepLonDeg float64) float64 {
	meridianM, primeVerticalM := WGS84().RadiiM(latDeg)
	return max(stepLatDeg*degToRad*meridianM,
		stepLonDeg*degToRad*primeVerticalM*math.Cos(latDeg*degToRad))
}

// evaluate computes the value from the parts and refuses parts that no angle
// has.
func (a *angle) evaluate() *ParseError {
	names := [...]string{"degrees", "minutes", "seconds"}
	if len(a.parts) > 3 {
		return refuse("there are too many numbers for a latitude and a longitude", "give degrees, minutes and seconds of each")
	}
	scale := 1.0
	for i, part := range a.parts {
		if part.mark != unitNone && part.mark != unit(i) {
			return refusef("write degrees, minutes, seconds in that order, 0 where there are none",
				"%s is marked as %s where %s belong", part.text, names[part.mark], names[i])
		}
		point := strings.IndexByte(part.text, '.')
		if point >= 0 && i == 0 && a.linked {
			return refuse("a dash after decimal degrees may be a minus sign or stand between the numbers", "put a comma between latitude and longitude")
		}
		if point >= 0 && i < len(a.parts)-1 {
			return refusef("put decimals on the last number only", "%s %s have decimals and %s follow", part.text, names[i], names[i+1])
		}
		value, err := strconv.ParseFloat(part.text, 64)
		if err != nil {
			return refusef("write it with digits and one decimal point", "%q is not a number", part.text)
		}
		if i > 0 && value >= 60 {
			return refusef(names[i]+" run from 0 to less than 60", "%s %s are too many", part.text, names[i])
		}
		a.valueDeg += value / scale
		a.stepDeg = 1 / scale
		if point >= 0 {
			a.stepDeg *= math.Pow(10, -float64(len(part.text)-point-1))
		}
		scale *= 60
	}
	return nil
}

// settleSeconds turns an s that marks seconds (33d18m30s) from the letter of a
// compass direction into a mark.
func settleSeconds(tokens []token) ([]token, *ParseError) {
	out := tokens
	for i := 3; i < len(out); i++ {
		tok := out[i]
		afterMinutes := tok.kind == tokCompass && tok.letter == 's' && !tok.word &&
			out[i-1].kind == tokNumber && out[i-2].kind == tokMark && out[i-2].byLetter && out[i-2].unit == unitMinute
		if !afterMinutes {
			continue
		}
		directionFollows := i+1 < len(out) && out[i+1].kind == tokCompass && (out[i+1].letter == 'n' || out[i+1].letter == 's')
		if tok.upper && !directionFollows && out[0].kind != tokCompass {
			return nil, refuse("the letter S may mark seconds or mean south here", `write " for seconds, or the word south`)
		}
		if &out[0] == &tokens[0] {
			out = slices.Clone(tokens) // the caller may read them another way too
		}
		out[i] = token{kind: tokMark, text: tok.text, unit: unitSecond, byLetter: true}
	}
	return out, nil
}
