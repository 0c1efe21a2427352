package position

import (
	"fmt"
	"strings"
)

// Reading is what Parse made of a text.
type Reading struct {
	// At is the position on WGS 84.
	At LonLat
	// Form is the form it was written in; where the halves differ, the finer.
	Form Form
	// Given is the text as it came, to the byte.
	Given string
	// PrecisionM is the ground size in metres of one unit of the last digit
	// given, the larger of the two axes. It says how finely the position was
	// written, not how well it was located.
	PrecisionM float64
	// Zone is the UTM zone of a UTM reading, otherwise no zone.
	Zone Zone
	// Datum is the datum that the text or the options named, DatumUnknown where
	// neither did.
	Datum Datum
	// UncertaintyM is the "u" of a geo: URI (RFC 5870, section 3.4.3), the
	// stated uncertainty in metres; 0 where none was stated.
	UncertaintyM float64
	// Note says in words what was taken for granted ("no hemisphere was given;
	// read as north"), and is empty where nothing was.
	Note string
}

// Options is what an office has settled about the positions it is given. The
// zero value settles nothing.
type Options struct {
	// Zone is the UTM zone for eastings and northings that name none.
	Zone Zone
	// Datum is the datum of coordinates whose text names none.
	Datum Datum
}

// ParseError says why a text is not read as a position and how to mend it.
type ParseError struct {
	Text    string  // as it came
	Problem string  // what is wrong, a clause without a full stop
	Mend    string  // what to write instead, may be empty
	Suggest *LonLat // the position that was probably meant, if there is one
}

// Error is the problem and the remedy in one line.
func (e *ParseError) Error() string {
	text := fmt.Sprintf("position %q: %s", shorten(e.Text), e.Problem)
	if e.Mend != "" {
		text += "; " + e.Mend
	}
	return text
}

// maxTextBytes bounds the work that a text can cause: the longest honest form
// is far shorter.
const maxTextBytes = 256

// Parse reads a position from text with nothing settled beforehand; see
// ParseIn.
func Parse(text string) (Reading, error) { return ParseIn(text, Options{}) }

// ParseIn reads a position from text. An error is always a *ParseError.
//
// Degrees may be decimal ("43.2, -71.5"), with minutes ("43 12.0 N 71 30.0 W"),
// or with seconds ("43°12′00″N 71°30′00″W", "43d12m0s", "43:12:00",
// "43-12-00N"). The two halves are told apart by comma, semicolon, letters,
// signs, degree marks or, between bare numbers, by their even count. Latitude
// comes first unless a letter or word (N, south, lat, longitude) says
// otherwise. A comma inside a number is a decimal comma where only that makes
// sense. Letters are of either case; words are English.
//
// UTM is a zone with an easting and a northing ("18N 627106 4484124", "zone 18
// 627106E 4484124N", "627106 4484124 18T"). After a zone number N is north
// either way (latitude band N lies in the north). S alone is the southern
// hemisphere or the latitude band S, 32 to 40 degrees north; it is taken as
// the one that puts the northing where it can be, and refused where both can.
// The words north and south are never ambiguous. Other letters are latitude
// bands, held against the northing.
//
// Also read: WKT "POINT (lon lat)" with or without SRID, the URI "geo:lat,lon"
// of RFC 5870, and "+43.2-071.5/" of ISO 6709.
//
// Whatever can be read in two ways is refused, as is a value beyond its limits
// (minutes of 60, latitude 91), a sign beside a letter, two latitudes, a
// missing half, and coordinates on NAD27, which need a grid shift.
func ParseIn(text string, options Options) (Reading, error) {
	reading, problem := parse(text, options)
	if problem != nil {
		problem.Text = text
		return Reading{}, problem
	}
	reading.Given = text
	return reading, nil
}

func parse(text string, options Options) (Reading, *ParseError) {
	if len(text) > maxTextBytes {
		return Reading{}, refuse("the text is too long to be a position", "give the coordinates alone")
	}
	trimmed := strings.TrimSpace(text)
	if trimmed == "" {
		return Reading{}, refuse("no position was given", "write for example 43.2000, -71.5000")
	}
	lower := strings.ToLower(trimmed)
	if strings.HasPrefix(lower, "geo:") {
		return parseURI(trimmed[len("geo:"):])
	}
	if strings.HasPrefix(lower, "srid=") || strings.HasPrefix(lower, "point") {
		return parseWKT(lower)
	}
	if isMilitary(lower) {
		return Reading{}, refuse("a military grid reference with square letters is not read here", writeGrid)
	}
	tokens, problem := scan(trimmed)
	if problem != nil {
		return Reading{}, problem
	}
	tokens, datum, problem := takeDatum(tokens, options.Datum)
	if problem != nil {
		return Reading{}, problem
	}
	var reading Reading
	if isGrid(tokens) {
		reading, problem = parseGrid(tokens, options.Zone)
	} else {
		reading, problem = parseDegrees(tokens)
	}
	if problem != nil {
		return Reading{}, problem
	}
	reading.Datum = datum
	return reading, nil
}

// isMilitary reports a text, in lower case, like "18TWL8564511111" or
// "18T WL 85645 11111": a zone, its band, two letters of a square, digits.
func isMilitary(text string) bool {
	rest := strings.TrimLeft(text, "0123456789")
	if n := len(text) - len(rest); n < 1 || n > 2 {
		return false
	}
	rest = strings.ReplaceAll(rest, " ", "")
	digits := strings.TrimLeft(rest, "abcdefghijklmnopqrstuvwxyz")
	for _, mark := range []string{"deg", "min", "sec"} {
		if strings.HasPrefix(rest, mark) {
			return false
		}
	}
	return len(rest)-len(digits) == 3 && strings.Trim(digits, "0123456789") == ""
}

// takeDatum removes the name of a datum from the tokens and refuses a datum
// whose coordinates cannot be taken as WGS 84.
func takeDatum(tokens []token, otherwise Datum) ([]token, Datum, *ParseError) {
	datum, kept := DatumUnknown, tokens[:0] // in place: the tokens are ours
	for _, tok := range tokens {
		if tok.kind != tokDatum {
			kept = append(kept, tok)
			continue
		}
		if datum != DatumUnknown && datum != tok.datum {
			return nil, datum, refuse("two datums are named", "name the one the coordinates are on")
		}
		datum = tok.datum
	}
	if datum == DatumUnknown {
		datum = otherwise
	}
	if datum == DatumNAD27 {
		return nil, datum, refuse("coordinates on NAD27 differ from WGS 84 by 10 to 100 m on the ground and need a grid shift",
			"shift them with a tool that holds the grids, then give the result as NAD83 or WGS 84")
	}
	return kept, datum, nil
}

// refuse is a ParseError; its Text is filled in at the top.
func refuse(problem, mend string) *ParseError { return &ParseError{Problem: problem, Mend: mend} }

func refusef(mend, problem string, args ...any) *ParseError {
	return refuse(fmt.Sprintf(problem, args...), mend)
}

// suggest adds the position that was probably meant, if it is one.
func (e *ParseError) suggest(at LonLat) *ParseError {
	if at.Valid() == nil {
		at = cleanZero(at)
		e.Suggest = &at
		e.Mend = strings.TrimPrefix(e.Mend+"; did you mean "+at.String()+"?", "; ")
	}
	return e
}

// cleanZero turns minus zero into zero.
func cleanZero(at LonLat) LonLat {
	if at.Lon == 0 {
		at.Lon = 0
	}
	if at.Lat == 0 {
		at.Lat = 0
	}
	return at
}

// shorten keeps an error message to one line of bearable length.
func shorten(text string) string {
	runes := []rune(text)
	if len(runes) > 60 {
		return string(runes[:60]) + "…"
	}
	return text
}
