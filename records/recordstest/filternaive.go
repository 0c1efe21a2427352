package recordstest

import (
	"cmp"
	"math"
	"strings"
	"time"
	"unicode"

	"github.com/paulmach/orb"
	"golang.org/x/text/cases"
	"golang.org/x/text/unicode/norm"

	"tallybook/records"
	"tallybook/records/cql2"
)

// Chosen says whether a filter is true of a feature, the plain way: value by
// value, with none of what a store's query is made of. Places in the filter are
// in degrees.
func Chosen(x cql2.Expr, c *records.FeatureCollection, f *records.Feature) bool {
	n := naive{c, f}
	return n.truth(x) == isTrue
}

type truth int8

const (
	isFalse truth = iota
	isUnknown
	isTrue
)

func truthOf(b bool) truth {
	if b {
		return isTrue
	}
	return isFalse
}

type naive struct {
	c *records.FeatureCollection
	f *records.Feature
}

func (n naive) truth(x cql2.Expr) truth {
	switch x := x.(type) {
	case *cql2.And:
		t := isTrue
		for _, a := range x.Args {
			t = min(t, n.truth(a))
		}
		return t
	case *cql2.Or:
		t := isFalse
		for _, a := range x.Args {
			t = max(t, n.truth(a))
		}
		return t
	case *cql2.Not:
		return isTrue - n.truth(x.Arg)
	case *cql2.Bool:
		return truthOf(x.Value)
	case *cql2.Compare:
		return compareValues(x.Op, n.value(x.Left), n.value(x.Right))
	case *cql2.Between:
		v := n.value(x.Value)
		return min(compareValues(">=", v, n.value(x.Low)), compareValues("<=", v, n.value(x.High)))
	case *cql2.In:
		t, v := isFalse, n.value(x.Value)
		for _, one := range x.List {
			t = max(t, compareValues("=", v, n.value(one)))
		}
		return t
	case *cql2.Like:
		v, ok := n.value(x.Value).(string)
		if !ok {
			return isUnknown
		}
		return truthOf(like([]rune(v), []rune(n.value(x.Pattern).(string))))
	case *cql2.IsNull:
		switch x.Value.(type) {
		case *cql2.And, *cql2.Or, *cql2.Not, *cql2.Compare, *cql2.Between, *cql2.In, *cql2.Like, *cql2.IsNull, *cql2.Spatial, *cql2.Temporal:
			return truthOf(n.truth(x.Value) == isUnknown)
		}
		return truthOf(n.value(x.Value) == nil)
	case *cql2.Spatial:
		return n.spatial(x)
	case *cql2.Temporal:
		a, aKnown := n.value(x.Left).(period)
		b, bKnown := n.value(x.Right).(period)
		if !aKnown || !bKnown {
			return isUnknown
		}
		return truthOf(related(x.Op, a, b))
	}
	panic("no predicate")
}

// period is a time from its first instant to its last.
type period struct{ from, to instant }

// instant is a moment, or a day where no more is known of it. Those of the
// greatest and the least at are the ends that an interval has not.
type instant struct {
	at  int64 // microseconds since 1970; of a day its beginning
	day bool
}

func (a instant) compare(b instant) int {
	if a.day || b.day {
		for _, i := range []*instant{&a, &b} {
			if i.at != math.MinInt64 && i.at != math.MaxInt64 {
				i.at = time.UnixMicro(i.at).UTC().Truncate(24 * time.Hour).UnixMicro()
			}
		}
	}
	return cmp.Compare(a.at, b.at)
}

// value is a string, float64, bool, period, orb.Geometry, *cql2.Box or nil.
func (n naive) value(x cql2.Expr) any {
	switch x := x.(type) {
	case *cql2.Property:
		return n.property(x.Name)
	case *cql2.Text:
		return x.Value
	case *cql2.Number:
		return x.Value
	case *cql2.Bool:
		return x.Value
	case *cql2.Moment:
		return periodOf(x.Text)
	case *cql2.Interval:
		p := period{instant{at: math.MinInt64}, instant{at: math.MaxInt64}}
		if _, open := x.From.(*cql2.Open); !open {
			from, ok := n.value(x.From).(period)
			if !ok {
				return nil
			}
			p.from = from.from
		}
		if _, open := x.To.(*cql2.Open); !open {
			to, ok := n.value(x.To).(period)
			if !ok {
				return nil
			}
			p.to = to.to
		}
		return p
	case *cql2.Shape:
		return x.Geometry
	case *cql2.Box:
		return x
	case *cql2.Fold:
		s, ok := n.value(x.Value).(string)
		if !ok {
			return nil
		}
		if x.Op == "CASEI" {
			return cases.Fold().String(s)
		}
		var out strings.Builder
		for _, r := range norm.NFD.String(s) {
			if !unicode.Is(unicode.Mn, r) {
				out.WriteRune(r)
			}
		}
		return out.String()
	case *cql2.Minus:
		return n.sum("-", &cql2.Number{}, x.Value)
	case *cql2.Sum:
		return n.sum(x.Op, x.Left, x.Right)
	}
	panic("no value")
}

func (n naive) property(name string) any {
	if name == cql2.GeometryField {
		if !n.f.Located {
			return nil
		}
		return orb.Point{n.f.Lon, n.f.Lat}
	}
	i, _ := n.c.Field(name)
	switch v := n.f.Values[i].(type) {
	case int64:
		return float64(v)
	case string:
		if t := n.c.Fields[i].Type; t == records.FieldDate || t == records.FieldTime {
			return periodOf(v)
		}
		return v
	default:
		return v
	}
}

// periodOf reads a year, a month, a day or a moment; nil where it is none.
func periodOf(s string) any {
	for layout, step := range map[string][3]int{"2006-01-02": {0, 0, 1}, "2006-01": {0, 1, 0}, "2006": {1, 0, 0}} {
		if t, err := time.Parse(layout, s); err == nil {
			last := t.AddDate(step[0], step[1], step[2]).AddDate(0, 0, -1)
			return period{instant{t.UnixMicro(), true}, instant{last.UnixMicro(), true}}
		}
	}
	t, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		return nil
	}
	at := instant{at: t.UnixMicro()}
	return period{at, at}
}

func (n naive) sum(op string, left, right cql2.Expr) any {
	a, aKnown := n.value(left).(float64)
	b, bKnown := n.value(right).(float64)
	if !aKnown || !bKnown {
		return nil
	}
	var v float64
	switch op {
	case "+":
		v = a + b
	case "-":
		v = a - b
	case "*":
		v = a * b
	case "/", "DIV", "%":
		if b == 0 {
			return nil
		}
		v = a / b
		if op == "DIV" {
			v = math.Trunc(v)
		} else if op == "%" {
			v = math.Mod(a, b)
		}
	case "^":
		if a == 0 && b < 0 {
			return nil
		}
		v = math.Pow(a, b)
	}
	if math.IsNaN(v) {
		return nil
	}
	return v
}

func compareValues(op string, a, b any) truth {
	switch a := a.(type) {
	case string:
		if b, ok := b.(string); ok {
			return ordered(op, strings.Compare(a, b))
		}
	case float64:
		if b, ok := b.(float64); ok {
			switch {
			case a < b:
				return ordered(op, -1)
			case a > b:
				return ordered(op, 1)
			}
			return ordered(op, 0)
		}
	case bool:
		if b, ok := b.(bool); ok {
			return truthOf((a == b) == (op == "="))
		}
	case period:
		if b, ok := b.(period); ok {
			return comparePeriods(op, a, b)
		}
	}
	return isUnknown
}

func ordered(op string, c int) truth {
	return truthOf(strings.Contains(op, "=") && c == 0 || strings.Contains(op, "<") && c < 0 || strings.Contains(op, ">") && c > 0)
}

// comparePeriods tries every order that the ends allow: an instant somewhere in
// each of the two.
func comparePeriods(op string, a, b period) truth {
	var can [3]bool // less, equal, greater
	can[0] = a.from.compare(b.to) < 0
	can[1] = a.from.compare(b.to) <= 0 && b.from.compare(a.to) <= 0
	can[2] = a.to.compare(b.from) > 0
	some, every := false, true
	for i, possible := range can {
		if possible {
			holds := ordered(op, i-1) == isTrue
			some, every = some || holds, every && holds
		}
	}
	switch {
	case every:
		return isTrue
	case some:
		return isUnknown
	}
	return isFalse
}

// related says by Allen's names how two periods lie.
func related(op string, a, b period) bool {
	starts, ends := a.from.compare(b.from), a.to.compare(b.to)
	switch op {
	case "T_AFTER":
		return a.from.compare(b.to) > 0
	case "T_BEFORE":
		return b.from.compare(a.to) > 0
	case "T_DISJOINT":
		return related("T_AFTER", a, b) || related("T_BEFORE", a, b)
	case "T_INTERSECTS":
		return !related("T_DISJOINT", a, b)
	case "T_EQUALS":
		return starts == 0 && ends == 0
	case "T_DURING":
		return starts > 0 && ends < 0
	case "T_FINISHES":
		return starts > 0 && ends == 0
	case "T_STARTS":
		return starts == 0 && ends < 0
	case "T_MEETS":
		return a.to.compare(b.from) == 0
	case "T_OVERLAPS":
		return starts < 0 && a.to.compare(b.from) > 0 && ends < 0
	}
	return related(map[string]string{"T_CONTAINS": "T_DURING", "T_FINISHEDBY": "T_FINISHES", "T_STARTEDBY": "T_STARTS",
		"T_METBY": "T_MEETS", "T_OVERLAPPEDBY": "T_OVERLAPS"}[op], b, a)
}

// like follows every way in which a pattern may fit.
func like(text, pattern []rune) bool {
	switch {
	case len(pattern) == 0:
		return len(text) == 0
	case pattern[0] == '%':
		return like(text, pattern[1:]) || len(text) > 0 && like(text[1:], pattern)
	case len(text) == 0:
		return false
	case pattern[0] == '\\' && len(pattern) > 1:
		return text[0] == pattern[1] && like(text[1:], pattern[2:])
	}
	return (pattern[0] == '_' || pattern[0] == text[0]) && like(text[1:], pattern[1:])
}
