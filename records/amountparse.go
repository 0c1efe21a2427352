package records

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// maxAmountText is the longest text that is read as a quantity, in bytes.
const maxAmountText = 80

// seepFlow is what 'seep' stands for: water that shows and cannot be
// measured, less than half a US gallon a minute. Common practice, no source.
const seepFlow = 0.5

// ParseAmount reads a quantity as people write it: 62, 62', 62 ft, 18.9m,
// 62'6", 62'-6", 1/2, 2 1/2, 2½, 6-5/8, 1,200, <1, 50+, >100, ~5, 3-5, 3 to 5,
// 10 fathoms, 5 miner's inches (1/40), dry, seep. unit is what a bare number is taken to be in. The result is in the
// base unit of dim and keeps text and unit as given; an empty text, '-', 'n/a'
// and 'unknown' are Missing. A comma parts thousands where it can, else it is
// the decimal sign. What could be read in two ways is refused.
func ParseAmount(text string, dim Dimension, unit Unit) (Amount[float64], error) {
	var none Amount[float64]
	if len(text) > maxAmountText {
		return none, fmt.Errorf("%q is too long for a quantity", clip(text, 20))
	}
	if v, ok := bareNumber(text); ok {
		if v = unit.ToBase(v); !finite(v) {
			return none, fmt.Errorf("%q is too large", clip(text, 40))
		}
		return Amount[float64]{Qualifier: Exact, Value: v, Given: Given{Text: text, Unit: unit}}, nil
	}
	s := strings.TrimSpace(plainSigns.Replace(strings.ToLower(text)))
	switch strings.Trim(s, ".") {
	case "", "-", "--", "n/a", "na", "n.a", "unknown", "unkn", "unk", "not known", "not recorded", "not reported", "nr", "n/r", "?", "null", "none given":
		return none, nil
	}
	if dim == DimFlow {
		switch strings.Trim(s, ".") {
		case "dry", "dry hole", "no water", "none", "nil":
			return Amount[float64]{Qualifier: Exact, Given: Given{Text: text, Unit: unit}}, nil
		case "seep", "seeps", "seepage", "a seep", "trace", "damp", "weep", "weeps":
			return Amount[float64]{Qualifier: LessThan, Value: GallonPerMinute.ToBase(seepFlow), Given: Given{Text: text, Unit: unit}}, nil
		}
	}
	q, rest := takeQualifier(s)
	if low, high, ok := splitRange(rest); ok && q != LessThan && q != GreaterThan {
		return parseRange(text, low, high, dim, unit)
	}
	v, u, err := parseNumberUnit(rest, dim, unit)
	if err == nil && !finite(v) {
		err = fmt.Errorf("it is too large")
	}
	if err != nil {
		return none, fmt.Errorf("%q: %w", clip(text, 40), err)
	}
	return Amount[float64]{Qualifier: q, Value: v, Given: Given{Text: text, Unit: u}}, nil
}

// bareNumber reads digits with at most one point and a minus: most of what
// files hold.
func bareNumber(s string) (float64, bool) {
	digits, points := 0, 0
	for i := range len(s) {
		switch c := s[i]; {
		case c >= '0' && c <= '9':
			digits++
		case c == '.':
			points++
		case c == '-' && i == 0:
		default:
			return 0, false
		}
	}
	if digits == 0 || points > 1 {
		return 0, false
	}
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil
}

// plainSigns writes in ASCII what typewriters lack.
var plainSigns = strings.NewReplacer(
	"½", " 1/2", "¼", " 1/4", "¾", " 3/4", "⅓", " 1/3", "⅔", " 2/3",
	"⅛", " 1/8", "⅜", " 3/8", "⅝", " 5/8", "⅞", " 7/8", "⁄", "/",
	"−", "-", "–", "-", "—", "-", "‑", "-", "\u00a0", " ", "\u202f", " ", "\u2009", " ",
	"’", "'", "′", "'", "”", "\"", "″", "\"", "“", "\"", "''", "\"",
	"≤", "<=", "≥", ">=", "≈", "~", "±", "+/-", "³", "3",
)

func parseRange(text, low, high string, dim Dimension, unit Unit) (Amount[float64], error) {
	b, u, err := parseNumberUnit(high, dim, unit)
	if err == nil {
		var a float64
		a, _, err = parseNumberUnit(low, dim, u)
		if err == nil && a > b {
			err = fmt.Errorf("the range runs backwards")
		}
		if err == nil && (!finite(a) || !finite(b)) {
			err = fmt.Errorf("it is too large")
		}
		if err == nil {
			return Amount[float64]{Qualifier: Between, Value: a, High: b, Given: Given{Text: text, Unit: u}}, nil
		}
	}
	return Amount[float64]{}, fmt.Errorf("%q: %w", clip(text, 40), err)
}

var qualifierPrefixes = []struct {
	prefix string
	q      Qualifier
}{
	{"<=", LessThan}, {"<", LessThan}, {"less than", LessThan}, {"under", LessThan}, {"below", LessThan}, {"at most", LessThan}, {"up to", LessThan},
	{">=", GreaterThan}, {">", GreaterThan}, {"more than", GreaterThan}, {"greater than", GreaterThan}, {"over", GreaterThan}, {"deeper than", GreaterThan}, {"at least", GreaterThan},
	{"~", About}, {"+/-", About}, {"approximately", About}, {"approx", About}, {"about", About}, {"abt", About}, {"estimated", About}, {"est", About}, {"circa", About}, {"ca", About}, {"c", About}, {"around", About},
}

// takeQualifier separates what is said of a number from the number.
func takeQualifier(s string) (Qualifier, string) {
	for _, p := range qualifierPrefixes {
		rest, ok := strings.CutPrefix(s, p.prefix)
		if !ok {
			continue
		}
		if p.prefix[0] >= 'a' {
			if after, dotted := strings.CutPrefix(rest, ". "); dotted { // approx. 5
				rest = after
			} else if strings.HasPrefix(rest, ".") {
				continue // est.5 may be 'est. 5' or 'est .5'
			}
		}
		if rest = strings.TrimLeft(rest, " "); startsNumber(rest) {
			return p.q, rest
		}
	}
	// A sign behind the number, before or after its unit: 50+, 50+ gpm, 5+/-.
	for _, p := range []struct {
		sign string
		q    Qualifier
	}{{"+/-", About}, {"+", GreaterThan}, {"?", About}} {
		if i := strings.Index(s, p.sign); i > 0 && startsNumber(s) {
			rest := s[i+len(p.sign):]
			if !strings.ContainsAny(rest, "0123456789") {
				return p.q, strings.TrimSpace(s[:i] + " " + rest)
			}
		}
	}
	return Exact, s
}

func startsNumber(s string) bool {
	s = strings.TrimLeft(s, "-+ ")
	return startsDigit(s) || len(s) > 1 && s[0] == '.' && startsDigit(s[1:])
}

func startsDigit(s string) bool { return s != "" && s[0] >= '0' && s[0] <= '9' }

// splitRange finds 3-5, 3 - 5, 3 to 5. A leading minus is a sign, and 6-5/8 is
// six and five eighths.
func splitRange(s string) (low, high string, ok bool) {
	for _, sep := range []string{" to ", "-"} {
		if i := strings.Index(s, sep); i > 0 {
			low, high = strings.TrimSpace(s[:i]), strings.TrimSpace(s[i+len(sep):])
			if sep == "-" && strings.HasSuffix(feetAndInches.Replace(low), "'") && strings.HasSuffix(feetAndInches.Replace(high), "\"") {
				return "", "", false // 62'-6" is one depth
			}
			if startsNumber(low) && startsNumber(high) && high[0] != '-' && !strings.HasSuffix(low, "e") {
				return low, high, sep != "-" || !mixedNumber(low, high)
			}
		}
	}
	return "", "", false
}

// mixedNumber says whether whole and rest are the parts of 6-5/8.
func mixedNumber(whole, rest string) bool {
	n, errN := strconv.ParseUint(whole, 10, 32)
	num, tail, ok := strings.Cut(rest, "/")
	den := tail[:len(tail)-len(strings.TrimLeft(tail, "0123456789"))]
	a, errA := strconv.ParseUint(num, 10, 32)
	b, errB := strconv.ParseUint(den, 10, 32)
	return ok && errN == nil && errA == nil && errB == nil && n >= 1 && a < b
}

// parseNumberUnit reads a number and the unit behind it, in base units.
func parseNumberUnit(s string, dim Dimension, unit Unit) (float64, Unit, error) {
	if v, ok := feetInches(s, dim); ok {
		return v, Foot, nil
	}
	i := 0
	for i < len(s) && strings.IndexByte("0123456789.,/+- ", s[i]) >= 0 {
		i++
	}
	if i+1 < len(s) && s[i] == 'e' && strings.IndexByte("0123456789+-", s[i+1]) >= 0 { // 1e3
		for i++; i < len(s) && strings.IndexByte("0123456789+-", s[i]) >= 0; {
			i++
		}
	}
	number, word := strings.TrimSpace(s[:i]), strings.TrimSpace(s[i:])
	if number == "" {
		return 0, unit, fmt.Errorf("no number in it")
	}
	u := unit
	if word != "" {
		var err error
		if u, err = unitOfWord(word, dim, unit); err != nil {
			return 0, unit, err
		}
	}
	v, err := parseNumber(number)
	if err != nil {
		return 0, unit, err
	}
	return u.ToBase(v), u, nil
}

var feetAndInches = strings.NewReplacer("feet", "'", "ft.", "'", "ft", "'", "inches", "\"", "inch", "\"", "in.", "\"", "in", "\"")

// feetInches reads 62'6", 62' 6", 62'6, 62 ft 6 in, 6'.
func feetInches(s string, dim Dimension) (float64, bool) {
	if dim != DimLength || !strings.ContainsAny(s, "'f") {
		return 0, false
	}
	feetText, rest, ok := strings.Cut(feetAndInches.Replace(s), "'")
	if !ok {
		return 0, false
	}
	feet, err := parseNumber(strings.TrimSpace(feetText))
	if err != nil {
		return 0, false
	}
	rest = strings.TrimSpace(rest)
	if rest == "" {
		return Foot.ToBase(feet), true
	}
	if strings.HasSuffix(rest, "\"") {
		rest = strings.TrimLeft(strings.TrimPrefix(rest, "-"), " ") // 62'-6"
	}
	inchText, tail, _ := strings.Cut(rest, "\"")
	if strings.TrimSpace(tail) != "" {
		return 0, false
	}
	inches, err := parseNumber(strings.TrimSpace(inchText))
	if err != nil || inches < 0 || inches >= 12 || feet != math.Trunc(feet) {
		return 0, false
	}
	if strings.HasPrefix(strings.TrimSpace(feetText), "-") {
		inches = -inches
	}
	return Foot.ToBase(feet) + Inch.ToBase(inches), true
}

// parseNumber reads 12, 12.5, .5, 1/2, 2 1/2, 2-1/2, 1,200, 18,9 and 1e3.
func parseNumber(s string) (float64, error) {
	s = strings.TrimSpace(s)
	negative := strings.HasPrefix(s, "-")
	body := strings.TrimLeft(s, "+-")
	bad := fmt.Errorf("%q is not a number", clip(s, 20))
	if len(s)-len(body) > 1 || body == "" {
		return 0, bad
	}
	if whole, rest, ok := strings.Cut(body, "-"); ok && mixedNumber(whole, rest) {
		body = whole + " " + rest
	}
	sum := 0.0
	parts := strings.Fields(body)
	if len(parts) > 2 || len(parts) == 2 && !strings.Contains(parts[1], "/") {
		return 0, bad
	}
	for i, p := range parts {
		num, den, isFraction := strings.Cut(p, "/")
		v, err := plainNumber(num)
		if err != nil {
			return 0, err
		}
		if isFraction {
			d, err := plainNumber(den)
			if err != nil || d <= 0 || i == 1 && v >= d {
				return 0, bad
			}
			v /= d
		} else if i == 0 && len(parts) == 2 && v != math.Trunc(v) {
			return 0, bad // 2.5 1/2
		}
		sum += v
	}
	if len(parts) == 2 && strings.Contains(parts[0], "/") {
		return 0, bad // 1/2 1/2
	}
	if negative {
		sum = -sum
	}
	return sum, nil
}

// plainNumber reads digits with a decimal point; a comma counts as the
// decimal sign where it cannot part thousands.
func plainNumber(s string) (float64, error) {
	if i := strings.IndexByte(s, ','); i >= 0 {
		switch {
		case thousands(s):
			s = strings.ReplaceAll(s, ",", "")
		case strings.Count(s, ",") == 1 && !strings.Contains(s, ".") && i > 0 && i < len(s)-1:
			s = s[:i] + "." + s[i+1:]
		default:
			return 0, fmt.Errorf("the commas in %q can be read in two ways", clip(s, 20))
		}
	}
	if s == "" || s[0] == '+' || s[0] == '-' {
		return 0, fmt.Errorf("%q is not a number", clip(s, 20))
	}
	for i := range len(s) {
		if strings.IndexByte("0123456789.e+-", s[i]) < 0 {
			return 0, fmt.Errorf("%q is not a number", clip(s, 20))
		}
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || !finite(v) {
		return 0, fmt.Errorf("%q is not a number", clip(s, 20))
	}
	return v, nil
}

// thousands says whether the commas of s part groups of three digits, all
// before the decimal point. 0,125 is no such number.
func thousands(s string) bool {
	whole, decimals, _ := strings.Cut(s, ".")
	if strings.Contains(decimals, ",") {
		return false
	}
	groups := strings.Split(whole, ",")
	if len(groups[0]) < 1 || len(groups[0]) > 3 || groups[0][0] == '0' {
		return false
	}
	for _, g := range groups[1:] {
		if len(g) != 3 {
			return false
		}
	}
	return true
}

var unitWords = map[Dimension]map[string]Unit{
	DimLength: {"m": Metre, "metre": Metre, "metres": Metre, "meter": Metre, "meters": Metre, "mtr": Metre,
		"ft": Foot, "feet": Foot, "foot": Foot, "'": Foot, "in": Inch, "inch": Inch, "inches": Inch, "\"": Inch,
		"cm": Centimetre, "fathom": Fathom, "fathoms": Fathom, "fm": Fathom, "fms": Fathom},
	DimDiameter: {"mm": Millimetre, "in": InchDiameter, "inch": InchDiameter, "inches": InchDiameter, "\"": InchDiameter, "cm": CentimetreDiameter, "ft": FootDiameter, "feet": FootDiameter, "foot": FootDiameter, "'": FootDiameter},
	DimFlow: {"l/s": LitrePerSecond, "lps": LitrePerSecond, "l/sec": LitrePerSecond, "litres/s": LitrePerSecond, "gals per min": GallonPerMinute, "gallon/min": GallonPerMinute, "gals/minute": GallonPerMinute, "gal/minute": GallonPerMinute, "gpm.": GallonPerMinute, "cubic feet per second": CubicFootPerSecond, "second feet": CubicFootPerSecond, "sec ft": CubicFootPerSecond, "m3/hr": CubicMetrePerHour, "gpm": GallonPerMinute, "gals/min": GallonPerMinute, "gal per min": GallonPerMinute, "gallons/min": GallonPerMinute, "gal/min": GallonPerMinute, "g.p.m": GallonPerMinute, "us gpm": GallonPerMinute, "usgpm": GallonPerMinute, "gallons a minute": GallonPerMinute, "gallons per minute": GallonPerMinute,
		"gph": GallonPerHour, "gal/h": GallonPerHour, "gal/hr": GallonPerHour, "igpm": ImperialGallonPerMinute, "imp gpm": ImperialGallonPerMinute,
		"l/min": LitrePerMinute, "lpm": LitrePerMinute, "m3/h": CubicMetrePerHour, "m3/d": CubicMetrePerDay, "m3/day": CubicMetrePerDay, "cfs": CubicFootPerSecond, "minersin40": MinersInch40, "minersin50": MinersInch50, "minersin38": MinersInchColorado},
	DimVolume: {"l": Litre, "litre": Litre, "litres": Litre, "liters": Litre, "gal": Gallon, "gals": Gallon, "gallon": Gallon, "gallons": Gallon, "imp gal": ImperialGallon,
		"ft3": CubicFoot, "cu ft": CubicFoot, "m3": CubicMetre},
	DimDuration: {"min": Minute, "mins": Minute, "minute": Minute, "minutes": Minute, "s": Second, "sec": Second, "seconds": Second,
		"h": Hour, "hr": Hour, "hrs": Hour, "hour": Hour, "hours": Hour, "d": Day, "day": Day, "days": Day},
	DimPressure: {"kpa": Kilopascal, "psi": PoundPerSquareInch, "bar": Bar},
	DimPower:    {"kw": Kilowatt, "hp": Horsepower},
	DimMass:     {"kg": Kilogram, "lb": Pound, "lbs": Pound},
}

// minersInch is the miner's inch whose size is said: behind the word, or by
// the unit stated for the number.
func minersInch(w string, stated Unit) (Unit, error) {
	for _, m := range []struct {
		size string
		unit Unit
	}{{"1/40", MinersInch40}, {"1/50", MinersInch50}, {"1/38.4", MinersInchColorado}} {
		if strings.Contains(w, m.size) {
			return m.unit, nil
		}
	}
	switch stated {
	case MinersInch40, MinersInch50, MinersInchColorado:
		return stated, nil
	}
	return NoUnit, fmt.Errorf("a miner's inch is 1/40 of a cubic foot a second in one state and 1/50 in another: write which, as in 5 miner's inches (1/40)")
}

// unitOfWord finds the unit that a word stands for; stated is the one that a
// number without a word would be in.
func unitOfWord(word string, dim Dimension, stated Unit) (Unit, error) {
	w := strings.TrimSuffix(strings.Join(strings.Fields(word), " "), ".")
	if u, ok := unitWords[dim][w]; ok {
		return u, nil
	}
	if dim == DimFlow && (strings.HasPrefix(w, "miner") || strings.HasPrefix(w, "mi ")) {
		return minersInch(w, stated)
	}
	return NoUnit, fmt.Errorf("%q is not a unit known for this quantity", clip(word, 20))
}
