package position

import (
	"math"
	"strconv"
	"strings"
)

const writeGrid = "write for example 19N 296887 4786059"

// isGrid reports that the tokens speak of eastings and northings: a word of
// the grid, a number of four digits before its point, or a zone with a letter.
func isGrid(tokens []token) bool {
	for i, tok := range tokens {
		switch {
		case tok.kind == tokZone,
			tok.kind == tokLetter && i > 0 && tokens[i-1].kind == tokNumber && len(tokens[i-1].text) <= 2,
			tok.kind == tokLabel && (tok.label == labelEasting || tok.label == labelNorthing),
			tok.kind == tokNumber && (strings.Count(tok.text, ",") > 1 && grouped(tok.text) || leadingDigits(tok.text) >= 4):
			return true
		}
	}
	return false
}

func leadingDigits(text string) int {
	if end := strings.IndexAny(text, ".,"); end >= 0 {
		return end
	}
	return len(text)
}

// grouped reports digits in groups of three by commas: 4,484,124 or 627,106.5.
func grouped(text string) bool {
	whole, _, _ := strings.Cut(text, ".")
	groups := strings.Split(whole, ",")
	if len(groups) < 2 || groups[0] == "" || len(groups[0]) > 3 {
		return false
	}
	for _, g := range groups[1:] {
		if len(g) != 3 {
			return false
		}
	}
	return true
}

// gridCommas settles the commas in eastings and northings: groups of
// thousands, a decimal comma, or a separator between two long numbers.
func gridCommas(tokens []token) []token {
	var out []token
	for _, tok := range tokens {
		_, fraction, found := strings.Cut(tok.text, ",")
		switch {
		case tok.kind != tokNumber || !found:
			out = append(out, tok)
		case grouped(tok.text):
			tok.text = strings.ReplaceAll(tok.text, ",", "")
			out = append(out, tok)
		case strings.Count(tok.text, ",") == 1 && !strings.Contains(tok.text, ".") && len(fraction) < 6 && leadingDigits(tok.text) >= 4:
			tok.text = strings.Replace(tok.text, ",", ".", 1)
			out = append(out, tok)
		default:
			out = append(out, splitCommas([]token{tok})...)
		}
	}
	return out
}

// gridText is what was found in a text of eastings and northings.
type gridText struct {
	zone       int  // 0 where none is given
	letter     byte // after the zone: hemisphere or band, lower case; 0 where none
	spelled    bool // the letter was the word north or south
	values     []gridValue
	zoneIsWord bool // the word utm or zone stands in the text
}

type gridValue struct {
	text string
	axis byte // 'e', 'n', or 0
}

// parseGrid reads an easting and a northing with their zone.
func parseGrid(tokens []token, office Zone) (Reading, *ParseError) {
	grid, problem := gatherGrid(gridCommas(tokens))
	if problem != nil {
		return Reading{}, problem
	}
	easting, northing, marked, problem := grid.order()
	if problem != nil {
		return Reading{}, problem
	}
	eastingM, errE := strconv.ParseFloat(easting.text, 64)
	northingM, errN := strconv.ParseFloat(northing.text, 64)
	if errE != nil || errN != nil {
		return Reading{}, refuse("an easting or northing is not a number", writeGrid)
	}
	if problem := refuseGridRange(eastingM, northingM, marked); problem != nil {
		return Reading{}, problem
	}
	zone, note, problem := grid.settleZone(office, eastingM, northingM, marked)
	if problem != nil {
		return Reading{}, problem
	}
	at := UTM(zone.Number, zone.North).Inverse(eastingM, northingM)
	if problem := grid.refusePlace(zone, at); problem != nil {
		return Reading{}, problem
	}
	return Reading{
		At:         cleanZero(at),
		Form:       UTMGrid,
		PrecisionM: max(lastDigit(easting.text), lastDigit(northing.text)),
		Zone:       zone,
		Note:       note,
	}, nil
}

// lastDigit is the size of one unit of the last digit of a number.
func lastDigit(text string) float64 {
	if point := strings.IndexByte(text, '.'); point >= 0 {
		return math.Pow(10, -float64(len(text)-point-1))
	}
	return 1
}

// gatherGrid finds the zone, its letter and the two coordinates.
func gatherGrid(tokens []token) (gridText, *ParseError) {
	var grid gridText
	zoneAt, problem := grid.findZone(tokens)
	if problem != nil {
		return grid, problem
	}
	var rest []token // numbers and axis letters, in order
	for i := 0; i < len(tokens); i++ {
		tok := tokens[i]
		switch tok.kind {
		case tokZone, tokSeparator:
		case tokNumber:
			if i != zoneAt {
				rest = append(rest, tok)
				continue
			}
			if i+1 < len(tokens) && grid.takeZoneLetter(tokens[i+1:]) {
				i++
			}
		case tokCompass:
			rest = append(rest, tok)
		case tokLabel:
			switch tok.label {
			case labelEasting:
				rest = append(rest, token{kind: tokCompass, letter: 'e'})
			case labelNorthing:
				rest = append(rest, token{kind: tokCompass, letter: 'n'})
			default:
				return grid, refuse("latitude or longitude and UTM are mixed", writeGrid)
			}
		case tokMark:
			// The m of metres after a number says nothing new.
			if tok.unit != unitMinute || !tok.byLetter || i == 0 || tokens[i-1].kind != tokNumber || i-1 == zoneAt {
				return grid, refuse("a mark for degrees, minutes or seconds stands among eastings and northings", writeGrid)
			}
		case tokSign, tokLink:
			return grid, refuse("eastings and northings have no sign, dash or colon", writeGrid)
		default:
			return grid, refusef("write a zone number with its letter close to it, as in 19T", "the letter %q stands by no zone number", tok.text)
		}
	}
	return grid, grid.assign(rest)
}

// findZone is the index of the zone number among the tokens, -1 where none is
// given.
func (g *gridText) findZone(tokens []token) (int, *ParseError) {
	var numbers []int
	for i, tok := range tokens {
		switch tok.kind {
		case tokNumber:
			numbers = append(numbers, i)
		case tokZone:
			g.zoneIsWord = true
		}
	}
	switch len(numbers) {
	case 2:
		for _, i := range numbers {
			if leadingDigits(tokens[i].text) <= 2 {
				return -1, refuse("an easting or northing is missing", writeGrid)
			}
		}
		return -1, nil
	case 3:
	default:
		return -1, refusef(writeGrid, "UTM takes a zone, an easting and a northing; %d numbers are given", len(numbers))
	}
	at := -1
	for _, i := range []int{numbers[0], numbers[2]} {
		if text := tokens[i].text; len(text) <= 2 && !strings.Contains(text, ".") {
			if at >= 0 {
				return -1, refuse("it is not clear which number is the zone", writeGrid)
			}
			at = i
		}
	}
	if at < 0 {
		return -1, refuse("no zone number is found before or after an easting and a northing", writeGrid)
	}
	number, err := strconv.Atoi(tokens[at].text)
	if err != nil || !(Zone{Number: number}).Valid() {
		return -1, refusef("UTM zones run from 1 to 60", "there is no zone %s", tokens[at].text)
	}
	g.zone = number
	return at, nil
}

// takeZoneLetter takes the letter after a zone number: close to it, any letter;
// after a space, the words north and south and the letters that mark no axis.
func (g *gridText) takeZoneLetter(after []token) bool {
	tok := after[0]
	switch {
	case tok.kind == tokCompass && tok.word && (tok.letter == 'n' || tok.letter == 's'):
		g.letter, g.spelled = tok.letter, true
		return true
	case tok.kind == tokLetter, tok.kind == tokMark && tok.byLetter, tok.kind == tokCompass && !tok.word && !tok.spaced:
		g.letter = tok.letter
		return true
	case tok.kind == tokCompass && !tok.word && (tok.letter == 'n' || tok.letter == 's'):
		// "18 N 627106 4484124": the hemisphere, unless this letter and an E
		// stand before the numbers as axis letters.
		letters := 0
		for _, t := range after {
			if t.kind == tokCompass {
				letters++
			}
		}
		if letters != 2 {
			g.letter = tok.letter
			return true
		}
	}
	return false
}

// assign gives the axis letters among the rest to their numbers.
func (g *gridText) assign(rest []token) *ParseError {
	// A lone direction at either end that is no axis letter is the hemisphere.
	letters := 0
	for _, tok := range rest {
		if tok.kind == tokCompass {
			letters++
		}
	}
	if g.letter == 0 && letters%2 == 1 {
		last := rest[len(rest)-1]
		if last.kind == tokCompass && (last.word || letters == 3 || last.letter == 's') && (last.letter == 'n' || last.letter == 's') {
			g.letter, g.spelled = last.letter, last.word
			rest = rest[:len(rest)-1]
		}
	}
	leading := len(rest) > 0 && rest[0].kind == tokCompass
	var pending byte
	for _, tok := range rest {
		switch {
		case tok.kind == tokNumber:
			g.values = append(g.values, gridValue{text: tok.text, axis: pending})
			pending = 0
		case tok.letter != 'e' && tok.letter != 'n':
			return refuse("eastings are counted to the east and northings to the north: W and S mark no UTM coordinate",
				"name the hemisphere after the zone, as in 19 south; degrees, minutes and seconds that run together need spaces, as in 43 12 00 N")
		case leading && pending == 0:
			pending = tok.letter
		case !leading && len(g.values) > 0 && g.values[len(g.values)-1].axis == 0:
			g.values[len(g.values)-1].axis = tok.letter
		default:
			return refuse("it is not clear what the letters E and N belong to", writeGrid)
		}
	}
	if pending != 0 {
		return refuse("a letter E or N stands before no number", writeGrid)
	}
	return nil
}

// order says which value is the easting: the one marked so, or the first.
// marked is whether letters said so.
func (g *gridText) order() (easting, northing gridValue, marked bool, problem *ParseError) {
	a, b := g.values[0], g.values[1]
	switch {
	case a.axis != 0 && a.axis == b.axis:
		return a, b, false, refuse("two eastings or two northings are given", writeGrid)
	case a.axis == 'n' || b.axis == 'e':
		return b, a, true, nil
	}
	return a, b, a.axis != 0 || b.axis != 0, nil
}

// refuseGridRange refuses eastings and northings beyond any zone.
func refuseGridRange(eastingM, northingM float64, marked bool) *ParseError {
	const minE, maxE, maxN = 100_000, 900_000, 10_000_000
	switch {
	case !marked && northingM >= minE && northingM <= maxE && eastingM > maxE && eastingM <= maxN:
		return refuse("the easting comes first, and the first number is too large for one", "write the easting, then the northing, or mark them E and N")
	case eastingM < minE || eastingM > maxE:
		return refuse("the easting "+strconv.FormatFloat(eastingM, 'f', -1, 64)+" is outside 100,000 to 900,000 m", "check its digits; a zone's middle is 500,000")
	case northingM > maxN:
		return refuse("the northing "+strconv.FormatFloat(northingM, 'f', -1, 64)+" is beyond 10,000,000 m", "check its digits")
	}
	return nil
}

// settleZone settles zone and hemisphere from the letter, the office's zone and
// what the northing allows.
func (g *gridText) settleZone(office Zone, eastingM, northingM float64, marked bool) (Zone, string, *ParseError) {
	zone := Zone{Number: g.zone}
	officeKnows := office.Valid() && (g.zone == 0 || g.zone == office.Number)
	if g.zone == 0 {
		if !office.Valid() {
			return zone, "", refuse("an easting and a northing are given without their zone", "write the zone before them, as in 19N 296887 4786059")
		}
		zone.Number = office.Number
	}
	place := func(north bool) LonLat { return UTM(zone.Number, north).Inverse(eastingM, northingM) }
	switch {
	case g.letter == 'n':
		zone.North = true
	case g.letter == 's' && !g.spelled && BandOf(place(true).Lat) == 'S':
		if officeKnows {
			zone.North = office.North
			return zone, "S was read as " + sMeaning(office.North) + ", as the office's zone has it", nil
		}
		return zone, "", refusef("write "+strconv.Itoa(zone.Number)+" north or "+strconv.Itoa(zone.Number)+" south",
			"the letter S may be the southern hemisphere or the latitude band S, which lies 32 to 40 degrees north").suggest(place(true))
	case g.letter == 's':
		zone.North = false
	case g.letter != 0:
		i := strings.IndexByte(bandLetters, g.letter-'a'+'A')
		if i < 0 {
			return zone, "", refusef("bands run from C to X without I and O; or write north or south", "there is no latitude band %s", compassName(g.letter))
		}
		zone.North = bandLetters[i] >= 'N'
	case officeKnows:
		zone.North = office.North
		return zone, "read in the office's zone " + office.String(), nil
	case marked:
		zone.North = true
		return zone, "no hemisphere was given; read as north", nil
	default:
		return zone, "", refusef("write "+strconv.Itoa(zone.Number)+" north or "+strconv.Itoa(zone.Number)+" south",
			"the hemisphere of zone %d is not given", zone.Number).suggest(place(true))
	}
	return zone, "", nil
}

func sMeaning(north bool) string {
	if north {
		return "the latitude band S, in the north"
	}
	return "south"
}

// bandTolerance lets a point written to the metre on the edge of a band pass,
// in degrees.
const bandTolerance = 0.01

// refusePlace refuses a position that its zone or band does not hold.
func (g *gridText) refusePlace(zone Zone, at LonLat) *ParseError {
	const edge = 1e-5 // a metre, for rounding at the limits
	lowest, highest := -80-edge, edge
	if zone.North {
		lowest, highest = -edge, 84+edge
	}
	if at.Valid() != nil || !(at.Lat >= lowest && at.Lat <= highest) {
		return refuse("no place in zone "+zone.String()+" has this northing", "check the northing and the hemisphere")
	}
	if off := math.Abs(wrapDeg(at.Lon - zone.CentralMeridianDeg())); off > 7 {
		return refusef("check the zone and the easting", "the easting lies %.0f degrees of longitude off the middle of zone %d there", off, zone.Number)
	}
	if g.letter == 0 || g.letter == 'n' || g.letter == 's' {
		return nil
	}
	band := g.letter - 'a' + 'A'
	if BandOf(at.Lat-bandTolerance) != band && BandOf(at.Lat+bandTolerance) != band {
		return refusef("check the northing and the letter, or write north or south",
			"the northing lies at latitude %.2f, in band %c and not in %c", at.Lat, max(BandOf(at.Lat), '?'), band)
	}
	return nil
}
