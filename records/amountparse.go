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
// 62'6", 1/2, 2 1/2, 2½, 1,200, <1, 50+, >100, ~5, 3-5, 3 to 5, dry, seep.
// unit is what a bare number is taken to be in. The result is in the base
// unit of dim and keeps text and unit as given; an empty text, '-', 'n/a' and
// 'unknown' are Missing. Numbers that could be read in two ways are refused.
func ParseAmount(text string, dim Dimension, unit Unit) (Amount[float64], error) {
	var none Amount[float64]
	if len(text) > maxAmountText {
		return none, fmt.Errorf("%q… is too long for a quantity", clip(text, 20))
	}
	s := strings.ToLower(strings.TrimSpace(text))
	switch strings.Trim(s, ".") {
	case "", "-", "--", "—", "n/a", "na", "unknown", "unk", "not known", "not recorded", "nr", "?", "null", "none given":
		return none, nil
	}
	if dim == DimFlow {
		switch strings.Trim(s, ".") {
		case "dry", "dry hole", "no water", "none", "nil":
			return Amount[float64]{Qualifier: Exact, Given: Given{text, unit}}, nil
		case "seep", "seeps", "seepage", "trace", "damp", "weep", "weeps":
			return Amount[float64]{Qualifier: LessThan, Value: GallonPerMinute.ToBase(seepFlow), Given: Given{text, unit}}, nil
		}
	}
	q, rest := takeQualifier(s)
	if low, high, ok := splitRange(rest); ok && q != LessThan && q != GreaterThan {
		return parseRange(text, low, high, dim, unit)
	}
	v, u, err := parseNumberUnit(rest, dim, unit)
	if err != nil {
		return none, fmt.Errorf("%q: %w", clip(text, 40), err)
	}
	return Amount[float64]{Qualifier: q, Value: v, Given: Given{text, u}}, nil
}

func parseRange(text, low, high string, dim Dimension, unit Unit) (Amount[float64], error) {
	b, u, err := parseNumberUnit(high, dim, unit)
	if err == nil {
		var a float64
		a, _, err = parseNumberUnit(low, dim, u)
		if err == nil && a > b {
			err = fmt.Errorf("the range runs backwards")
		}
		if err == nil {
			return Amount[float64]{Qualifier: Between, Value: a, High: b, Given: Given{text, u}}, nil
		}
	}
	return Amount[float64]{}, fmt.Errorf("%q: %w", clip(text, 40), err)
}

var qualifierPrefixes = []struct {
	prefix string
	q      Qualifier
}{
	{"<=", LessThan}, {"<", LessThan}, {"≤", LessThan}, {"less than", LessThan}, {"under", LessThan}, {"below", LessThan}, {"at most", LessThan}, {"up to", LessThan},
	{">=", GreaterThan}, {">", GreaterThan}, {"≥", GreaterThan}, {"more than", GreaterThan}, {"greater than", GreaterThan}, {"over", GreaterThan}, {"deeper than", GreaterThan}, {"at least", GreaterThan},
	{"~", About}, {"≈", About}, {"±", About}, {"+/-", About}, {"approx", About}, {"about", About}, {"abt", About}, {"est", About}, {"ca", About}, {"c", About}, {"around", About},
}

// takeQualifier separates what is said of a number from the number.
func takeQualifier(s string) (Qualifier, string) {
	for _, p := range qualifierPrefixes {
		if rest, ok := strings.CutPrefix(s, p.prefix); ok {
			rest = strings.TrimLeft(rest, ". ")
			if rest != "" && startsNumber(rest) {
				return p.q, rest
			}
		}
	}
	// A sign behind the number, before or after its unit: 50+, 50+ gpm, 5±.
	for _, p := range []struct {
		sign string
		q    Qualifier
	}{{"+/-", About}, {"±", About}, {"+", GreaterThan}, {"?", About}} {
		if i := strings.Index(s, p.sign); i > 0 && startsNumber(s) {
			rest := s[i+len(p.sign):]
			if !strings.ContainsAny(rest, "0123456789") || p.sign == "?" && rest == "" {
				return p.q, strings.TrimSpace(s[:i] + " " + rest)
			}
		}
	}
	return Exact, s
}

func startsNumber(s string) bool {
	s = strings.TrimLeft(s, "-+ ")
	if s == "" {
		return false
	}
	return s[0] >= '0' && s[0] <= '9' || s[0] == '.' || strings.HasPrefix(s, "½") || strings.HasPrefix(s, "¼") || strings.HasPrefix(s, "¾")
}

// splitRange finds 3-5, 3 – 5, 3 to 5. A leading minus is a sign.
func splitRange(s string) (low, high string, ok bool) {
	for _, sep := range []string{" to ", "–", "—", "-"} {
		if i := strings.Index(s, sep); i > 0 {
			low, high = strings.TrimSpace(s[:i]), strings.TrimSpace(s[i+len(sep):])
			if startsNumber(low) && high != "" && high[0] != '-' && startsNumber(high) && !strings.HasSuffix(low, "e") {
				return low, high, true
			}
		}
	}
	return "", "", false
}

// parseNumberUnit reads a number and the unit behind it, in base units.
func parseNumberUnit(s string, dim Dimension, unit Unit) (float64, Unit, error) {
	if v, ok := feetInches(s, dim); ok {
		return v, Foot, nil
	}
	i := 0
	for i < len(s) && strings.IndexByte("0123456789.,/+- ", s[i]) >= 0 || strings.HasPrefix(s[i:], "½") || strings.HasPrefix(s[i:], "¼") || strings.HasPrefix(s[i:], "¾") {
		if s[i] < 0x80 {
			i++
		} else {
			i += len("½")
		}
	}
	if i < len(s) && s[i] == 'e' && i+1 < len(s) && strings.IndexByte("0123456789+-", s[i+1]) >= 0 { // 1e3
		for i++; i < len(s) && strings.IndexByte("0123456789+-", s[i]) >= 0; i++ {
		}
	}
	number, word := strings.TrimSpace(s[:i]), strings.TrimSpace(s[i:])
	if number == "" {
		return 0, unit, fmt.Errorf("no number in it")
	}
	u := unit
	if word != "" {
		var err error
		if u, err = unitOfWord(word, dim); err != nil {
			return 0, unit, err
		}
	}
	v, err := parseNumber(number)
	if err != nil {
		return 0, unit, err
	}
	return u.ToBase(v), u, nil
}

// feetInches reads 62'6", 62' 6", 62 ft 6 in, 6'.
func feetInches(s string, dim Dimension) (float64, bool) {
	if dim != DimLength {
		return 0, false
	}
	t := strings.NewReplacer("’", "'", "′", "'", "”", "\"", "″", "\"", "''", "\"", "feet", "'", "ft.", "'", "ft", "'", "inches", "\"", "in.", "\"", "in", "\"").Replace(s)
	feetText, rest, ok := strings.Cut(t, "'")
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
	inchText, tail, ok := strings.Cut(rest, "\"")
	if !ok || strings.TrimSpace(tail) != "" {
		return 0, false
	}
	inches, err := parseNumber(strings.TrimSpace(inchText))
	if err != nil || inches < 0 || inches >= 12 {
		return 0, false
	}
	if feet < 0 || strings.HasPrefix(feetText, "-") {
		inches = -inches
	}
	return Foot.ToBase(feet) + Inch.ToBase(inches), true
}

var fractionSigns = strings.NewReplacer("½", " 1/2", "¼", " 1/4", "¾", " 3/4")

// parseNumber reads 12, 12.5, .5, 1/2, 2 1/2, 1,200, 18,9 and 1e3.
func parseNumber(s string) (float64, error) {
	s = strings.TrimSpace(fractionSigns.Replace(s))
	negative := strings.HasPrefix(s, "-")
	body := strings.TrimLeft(s, "+-")
	bad := fmt.Errorf("%q is not a number", clip(s, 20))
	if len(s)-len(body) > 1 || body == "" {
		return 0, bad
	}
	sum := 0.0
	parts := strings.Fields(body)
	if len(parts) > 2 || len(parts) == 2 && !strings.Contains(parts[1], "/") {
		return 0, bad
	}
	for _, p := range parts {
		num, den, isFraction := strings.Cut(p, "/")
		v, err := plainNumber(num)
		if err != nil {
			return 0, err
		}
		if isFraction {
			d, err := plainNumber(den)
			if err != nil || d == 0 {
				return 0, bad
			}
			v /= d
		}
		sum += v
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
	for i := range len(s) {
		if strings.IndexByte("0123456789.e+-", s[i]) < 0 {
			return 0, fmt.Errorf("%q is not a number", clip(s, 20))
		}
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
		return 0, fmt.Errorf("%q is not a number", clip(s, 20))
	}
	return v, nil
}

// thousands says whether the commas of s part groups of three digits.
func thousands(s string) bool {
	whole, _, _ := strings.Cut(s, ".")
	groups := strings.Split(whole, ",")
	if len(groups[0]) < 1 || len(groups[0]) > 3 {
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
	DimDiameter: {"mm": Millimetre, "in": InchDiameter, "inch": InchDiameter, "inches": InchDiameter, "\"": InchDiameter, "cm": CentimetreDiameter},
	DimFlow: {"l/s": LitrePerSecond, "lps": LitrePerSecond, "gpm": GallonPerMinute, "gal/min": GallonPerMinute, "g.p.m": GallonPerMinute, "us gpm": GallonPerMinute, "usgpm": GallonPerMinute, "gallons a minute": GallonPerMinute, "gallons per minute": GallonPerMinute,
		"gph": GallonPerHour, "gal/h": GallonPerHour, "gal/hr": GallonPerHour, "igpm": ImperialGallonPerMinute, "imp gpm": ImperialGallonPerMinute,
		"l/min": LitrePerMinute, "lpm": LitrePerMinute, "m3/h": CubicMetrePerHour, "m³/h": CubicMetrePerHour, "m3/d": CubicMetrePerDay, "m³/d": CubicMetrePerDay, "m3/day": CubicMetrePerDay, "cfs": CubicFootPerSecond},
	DimVolume: {"l": Litre, "litre": Litre, "litres": Litre, "liters": Litre, "gal": Gallon, "gals": Gallon, "gallon": Gallon, "gallons": Gallon, "imp gal": ImperialGallon,
		"ft3": CubicFoot, "cu ft": CubicFoot, "ft³": CubicFoot, "m3": CubicMetre, "m³": CubicMetre},
	DimDuration: {"min": Minute, "mins": Minute, "minute": Minute, "minutes": Minute, "s": Second, "sec": Second, "seconds": Second,
		"h": Hour, "hr": Hour, "hrs": Hour, "hour": Hour, "hours": Hour, "d": Day, "day": Day, "days": Day},
	DimPressure: {"kpa": Kilopascal, "psi": PoundPerSquareInch, "bar": Bar},
	DimPower:    {"kw": Kilowatt, "hp": Horsepower},
	DimMass:     {"kg": Kilogram, "lb": Pound, "lbs": Pound},
}

func unitOfWord(word string, dim Dimension) (Unit, error) {
	w := strings.TrimSuffix(strings.Join(strings.Fields(word), " "), ".")
	if u, ok := unitWords[dim][w]; ok {
		return u, nil
	}
	return NoUnit, fmt.Errorf("%q is not a unit known for this quantity", clip(word, 20))
}
