package sqlite

import (
	"encoding/json"
	"math"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/mattn/go-sqlite3"
	"golang.org/x/text/cases"
	"golang.org/x/text/unicode/norm"

	"tallybook/records"
)

// Functions that conditions of features use, on the program's own connections
// alone: nothing in the file names them, so that any program can read it.

// addFunctions gives a connection the functions.
func (s *Store) addFunctions(c *sqlite3.SQLiteConn) error {
	for name, f := range map[string]any{
		"in_box":        inBox,
		"in_shape":      s.inShape,
		"seen_point":    seenPoint,
		"made_point":    func(lon, lat float64) []byte { return appendPoint(nil, lon, lat) },
		"like_pattern":  likePattern,
		"fold_text":     foldText,
		"first_day":     func(text any) any { return whenText(text, false, false) },
		"last_day":      func(text any) any { return whenText(text, true, false) },
		"moment_of":     func(text any) any { return whenText(text, false, true) },
		"sum_of":        sumOf,
		"marked_things": markedThings,
	} {
		if err := c.RegisterFunc(name, f, true); err != nil {
			return err
		}
	}
	return nil
}

// markedThings lists what the marks of a record, as its document holds them,
// are about. A mark that cannot be read is one on all (records.Well.Doubts).
func markedThings(marks string) any {
	var list []struct{ About any }
	if json.Unmarshal([]byte(marks), &list) != nil {
		return records.DoubtAll
	}
	var w records.Well
	for _, m := range list {
		about, _ := m.About.(string)
		w.Unreliable = append(w.Unreliable, records.Doubt{About: about})
	}
	return textOrNull(strings.Join(w.UnreliableWords(), ", "))
}

// keepShape keeps a shape under a handle that SQL can carry.
func (s *Store) keepShape(has func(lon, lat float64) bool) int64 {
	h := s.lastShape.Add(1)
	s.shapes.Store(h, has)
	return h
}

// inBox says whether a point lies in a box; nothing where there is no point.
func inBox(geom any, west, south, east, north float64) any {
	blob, _ := geom.([]byte) // what is none is no point either
	lon, lat, err := parsePoint(blob)
	if err != nil {
		return nil
	}
	return truth(records.Bounds{West: west, South: south, East: east, North: north}.Has(lon, lat))
}

func (s *Store) inShape(geom any, handle int64) any {
	blob, _ := geom.([]byte)
	lon, lat, err := parsePoint(blob)
	has, ok := s.shapes.Load(handle)
	if err != nil || !ok {
		return nil
	}
	return truth(has.(func(lon, lat float64) bool)(lon, lat))
}

func truth(b bool) int64 {
	if b {
		return 1
	}
	return 0
}

// seenPoint is where a plate was last seen; nothing where nobody says.
func seenPoint(doc string) []byte {
	var p records.Plate
	p.ParsePlate([]byte(doc)) // what cannot be read is not there
	for i := len(p.Seen) - 1; i >= 0; i-- {
		if at := &p.Seen[i]; at.Located {
			return appendPoint(nil, at.Lon, at.Lat)
		}
	}
	return nil
}

// likePattern is records.CondLike: its own function, since SQLite's LIKE takes
// small letters and capitals for the same.
func likePattern(text, pattern any) any {
	t, ok := text.(string)
	p, ok2 := pattern.(string)
	if !ok || !ok2 {
		return nil
	}
	return truth(matchLike([]rune(t), []rune(p)))
}

// matchLike follows one '%' at a time: where what stands behind it does not
// fit, it takes one letter more. The work is at most that of the two lengths
// multiplied.
func matchLike(text, pattern []rune) bool {
	t, p := 0, 0
	star, again := -1, 0
	for t < len(text) {
		switch {
		case p < len(pattern) && pattern[p] == '%':
			star, again = p, t
			p++
			continue
		case p < len(pattern) && pattern[p] == '\\' && p+1 < len(pattern):
			if pattern[p+1] == text[t] {
				p, t = p+2, t+1
				continue
			}
		case p < len(pattern) && (pattern[p] == '_' || pattern[p] == text[t]):
			p, t = p+1, t+1
			continue
		}
		if star < 0 {
			return false
		}
		again++
		p, t = star+1, again
	}
	for p < len(pattern) && pattern[p] == '%' {
		p++
	}
	return p == len(pattern)
}

// foldText is records.ExprFold.
func foldText(foldCase, foldAccents bool, text any) any {
	s, ok := text.(string)
	if !ok {
		return nil
	}
	if isASCII(s) {
		if foldCase {
			s = strings.ToLower(s)
		}
		return s
	}
	if foldCase {
		s = cases.Fold().String(s)
	}
	if foldAccents {
		s = strings.Map(func(r rune) rune {
			if unicode.Is(unicode.Mn, r) {
				return -1
			}
			return r
		}, norm.NFD.String(s))
	}
	return s
}

// isASCII says whether a text has no accents, and one small letter to each
// capital.
func isASCII(s string) bool {
	for i := range len(s) {
		if s[i] >= utf8.RuneSelf {
			return false
		}
	}
	return true
}

// whenText is records.ExprWhen of a date or time; nothing where it is neither.
func whenText(text any, last, moment bool) any {
	s, ok := text.(string)
	if !ok {
		return nil
	}
	if len(s) > len(time.DateOnly) {
		t, err := time.Parse(time.RFC3339Nano, s)
		switch {
		case err != nil:
			return nil
		case moment:
			return formatTime(t)
		}
		return t.UTC().Format(time.DateOnly)
	}
	d, err := records.ParseDate(s)
	if err != nil || moment {
		return nil
	}
	if !last {
		d.Month, d.Day = max(d.Month, 1), max(d.Day, 1)
		return d.String()
	}
	if d.Month == 0 {
		d.Month = 12
	}
	if d.Day == 0 {
		d.Day = time.Date(d.Year, time.Month(d.Month)+1, 0, 0, 0, 0, 0, time.UTC).Day()
	}
	return d.String()
}

// sumOf is records.ExprSum where SQLite has no such sign, or gives it whole
// numbers alone.
func sumOf(op string, left, right any) any {
	a, ok := asNumber(left)
	b, ok2 := asNumber(right)
	if !ok || !ok2 {
		return nil
	}
	v := math.NaN()
	switch op {
	case "%":
		v = math.Mod(a, b)
	case "d":
		if b != 0 {
			v = math.Trunc(a / b)
		}
	case "^":
		if v = math.Pow(a, b); a == 0 && b < 0 {
			v = math.NaN() // as 1/0
		}
	}
	if math.IsNaN(v) {
		return nil
	}
	return v
}

func asNumber(v any) (float64, bool) {
	switch v := v.(type) {
	case int64:
		return float64(v), true
	case float64:
		return v, true
	}
	return 0, false
}
