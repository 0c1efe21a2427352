package position

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

type tokenKind uint8

const (
	tokNumber    tokenKind = iota // digits with points and commas
	tokSign                       // + or -
	tokLink                       // : or a dash between two numbers of one angle
	tokMark                       // degree, minute or second mark
	tokCompass                    // n, s, e, w, as letter or word
	tokLetter                     // any other single letter: perhaps a latitude band
	tokSeparator                  // comma, semicolon, slash, bar, tab, line break
	tokLabel                      // latitude, longitude, easting, northing
	tokZone                       // the words utm and zone
	tokDatum
)

// unit is the rank of an angle mark, and the index of the number it marks.
type unit int8

const (
	unitNone unit = iota - 1
	unitDegree
	unitMinute
	unitSecond
)

// token is a piece of the text. Which fields count depends on the kind.
type token struct {
	text     string // as written, in lower case
	kind     tokenKind
	spaced   bool      // white space stood before it
	upper    bool      // the letter was a capital
	word     bool      // a direction or mark written as a word of several letters
	byLetter bool      // a mark written as d, m or s
	minus    bool      // of a sign
	letter   byte      // n, s, e, w of a direction, or the single letter
	unit     unit      // of a mark
	label    labelKind // of a label
	datum    Datum     // of a datum
}

type labelKind uint8

const (
	labelLatitude labelKind = iota + 1
	labelLongitude
	labelEasting
	labelNorthing
)

// words are the words of several letters that may stand in a position.
func wordToken(word string) (token, bool) {
	switch word {
	case "north":
		return token{kind: tokCompass, letter: 'n', word: true}, true
	case "south":
		return token{kind: tokCompass, letter: 's', word: true}, true
	case "east":
		return token{kind: tokCompass, letter: 'e', word: true}, true
	case "west":
		return token{kind: tokCompass, letter: 'w', word: true}, true
	case "deg", "degs", "degree", "degrees":
		return token{kind: tokMark, unit: unitDegree, word: true}, true
	case "min", "mins", "minute", "minutes":
		return token{kind: tokMark, unit: unitMinute, word: true}, true
	case "sec", "secs", "second", "seconds":
		return token{kind: tokMark, unit: unitSecond, word: true}, true
	case "lat", "latitude":
		return token{kind: tokLabel, label: labelLatitude}, true
	case "lon", "long", "lng", "longitude":
		return token{kind: tokLabel, label: labelLongitude}, true
	case "easting":
		return token{kind: tokLabel, label: labelEasting}, true
	case "northing":
		return token{kind: tokLabel, label: labelNorthing}, true
	case "utm", "zone":
		return token{kind: tokZone}, true
	}
	return token{}, false
}

// scan cuts a text into tokens. It refuses what no position contains.
func scan(text string) ([]token, *ParseError) {
	text, problem := unwrap(text)
	if problem != nil {
		return nil, problem
	}
	tokens := make([]token, 0, 16)
	spaced := false
	add := func(t token) {
		t.spaced = spaced
		spaced = false
		tokens = append(tokens, t)
	}
	for i := 0; i < len(text); {
		r, size := utf8.DecodeRuneInString(text[i:])
		rest := text[i:]
		switch {
		case r >= '0' && r <= '9' || r == '.' && len(rest) > 1 && rest[1] >= '0' && rest[1] <= '9':
			number := leadingNumber(rest)
			if strings.Count(number, ".") > 1 && strings.Count(number, ",") == 0 {
				return nil, refusef("write it with one decimal point", "%q is not a number", number)
			}
			add(token{kind: tokNumber, text: number})
			size = len(number)
		case r == '+':
			add(token{kind: tokSign})
		case strings.ContainsRune("-\u2212\u2013\u2014\u2010\u2011\ufe63\uff0d", r):
			after := text[i+size:]
			tight := !spaced && len(tokens) > 0 && after != "" && (after[0] >= '0' && after[0] <= '9' || after[0] == '.')
			if tight && joins(tokens) {
				add(token{kind: tokLink, text: "-"})
			} else {
				add(token{kind: tokSign, minus: true})
			}
		case r == ':' || r == '=':
			// After a label or the word zone it is mere punctuation.
			if n := len(tokens); n > 0 && (tokens[n-1].kind == tokLabel || tokens[n-1].kind == tokZone) {
				spaced = true
				break
			}
			// Before white space too: "UTM 17N: 713473 3962077".
			if r == ':' && strings.TrimLeft(rest[1:], " \t") != rest[1:] {
				spaced = true
				break
			}
			if r == '=' {
				return nil, refuse("there is a stray =", "write the two coordinates alone")
			}
			add(token{kind: tokLink, text: ":"})
		case strings.HasPrefix(rest, "''") || strings.HasPrefix(rest, "′′") || strings.HasPrefix(rest, "’’"):
			add(token{kind: tokMark, unit: unitSecond})
			size *= 2
		case strings.ContainsRune("°º˚", r):
			add(token{kind: tokMark, unit: unitDegree})
		case strings.ContainsRune("'′’‘ʹ´`", r):
			add(token{kind: tokMark, unit: unitMinute})
		case strings.ContainsRune("\"″”“ʺ", r):
			add(token{kind: tokMark, unit: unitSecond})
		case strings.ContainsRune(",;/|\t\n\r", r):
			spaced = true
			if n := len(tokens); n > 0 && tokens[n-1].kind != tokSeparator {
				add(token{kind: tokSeparator})
				spaced = true
			}
		case unicode.IsSpace(r), r == '(', r == ')':
			spaced = true
		case r == '.' && len(tokens) > 0:
			// A full stop after an abbreviation or at the end says nothing.
		case unicode.IsLetter(r):
			word := leadingWord(rest)
			found, taken, ok := lettersTokens(rest, word)
			if !ok {
				return nil, refusef("write the coordinates alone, for example 43.2000, -71.5000", "%q is not part of any form of coordinates read here", shorten(word))
			}
			size = taken
			for _, t := range found {
				add(t)
			}
		default:
			return nil, refusef("write the coordinates alone, for example 43.2000, -71.5000", "the sign %q is not part of any form of coordinates read here", string(r))
		}
		i += size
	}
	for len(tokens) > 0 && tokens[len(tokens)-1].kind == tokSeparator {
		tokens = tokens[:len(tokens)-1]
	}
	return tokens, nil
}

// joins reports that a dash close to what was scanned last joins two numbers
// of one angle, as in 43-12-30 and 43°-12′-30″, and is no minus sign.
func joins(tokens []token) bool {
	last := tokens[len(tokens)-1]
	if last.kind == tokNumber && len(tokens) == 2 && tokens[0].kind == tokSign && strings.Contains(last.text, ".") {
		return false // "+43.2-071.5/" of ISO 6709: each number bears its sign
	}
	if last.kind == tokMark && last.unit != unitSecond && len(tokens) > 1 {
		before := tokens[len(tokens)-2]
		return before.kind == tokNumber && !strings.ContainsAny(before.text, ".,")
	}
	return last.kind == tokNumber
}

// unwrap takes off quotation marks around the text and refuses square brackets, whose
// order is that of GeoJSON.
func unwrap(text string) (string, *ParseError) {
	// A leading quotation mark marks no number: it wraps the text, as in CSV.
	if len(text) > 1 && text[0] == '"' && text[len(text)-1] == '"' {
		text = text[1 : len(text)-1]
	}
	if strings.ContainsAny(text, "[]{}") {
		return "", refuse("square brackets put longitude first, as GeoJSON does, or latitude first, as many people do",
			"write POINT (longitude latitude), or latitude, longitude without brackets")
	}
	return text, nil
}

// leadingNumber is the run of digits, points and commas at the start of text,
// without a comma or point that ends it.
func leadingNumber(text string) string {
	end := 0
	for end < len(text) && (text[end] >= '0' && text[end] <= '9' || text[end] == '.' || text[end] == ',') {
		end++
	}
	return strings.TrimRight(text[:end], ".,")
}

// leadingWord is the run of letters at the start of text.
func leadingWord(text string) string {
	for i, r := range text {
		if !unicode.IsLetter(r) {
			return text[:i]
		}
	}
	return text
}

// lettersTokens reads a run of letters: a word, a single letter, a mark with a
// compass letter after it ("sN", "mE"), or the name of a datum, whose digits
// are part of it. taken is the count of bytes used.
func lettersTokens(rest, word string) (found []token, taken int, ok bool) {
	lower := strings.ToLower(word)
	if name := datumName(rest, lower); name > 0 {
		datum, known := ParseDatum(rest[:name])
		return []token{{kind: tokDatum, datum: datum}}, name, known
	}
	if tok, known := wordToken(lower); known {
		tok.text = lower
		return []token{tok}, len(word), true
	}
	switch len(word) {
	case 1:
		return []token{letterToken(word[0])}, 1, true
	case 2:
		if strings.ContainsRune("dms", rune(lower[0])) && strings.ContainsRune("nsew", rune(lower[1])) {
			return []token{letterToken(word[0]), letterToken(word[1])}, 2, true
		}
	}
	return nil, 0, false
}

// letterToken is a single ASCII letter. Which of its meanings holds, the
// context decides.
func letterToken(letter byte) token {
	lower := letter | 0x20
	tok := token{kind: tokLetter, text: string(lower), letter: lower, upper: lower != letter}
	switch lower {
	case 'n', 'e', 'w', 's':
		tok.kind = tokCompass
	case 'd':
		tok.kind, tok.unit, tok.byLetter = tokMark, unitDegree, true
	case 'm':
		tok.kind, tok.unit, tok.byLetter = tokMark, unitMinute, true
	}
	return tok
}

// datumName is the length of the datum's name that rest begins with, 0 if none:
// the word nad or wgs and the digits after it.
func datumName(rest, word string) int {
	if word != "nad" && word != "wgs" {
		return 0
	}
	end := len(word)
	for end < len(rest) && (rest[end] == ' ' || rest[end] == '-') {
		end++
	}
	digits := end
	for end < len(rest) && rest[end] >= '0' && rest[end] <= '9' {
		end++
	}
	if digits == end {
		return 0
	}
	return end
}
