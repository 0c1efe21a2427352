package cql2

import (
	"strings"

	"tallybook/records"
)

// endpoint is one end of a time.
type endpoint struct {
	field  string // "": given
	last   bool   // of the field's date
	isDay  bool   // no more than the day is known
	moment string // where given; of an open end what lies before or behind every time
}

// What lies before and behind every time as a text.
const (
	beforeAll = ""
	behindAll = "~"
)

// span is a time from one end to another, both in it.
type span struct{ from, to endpoint }

func (w *writer) span(x Expr) span {
	switch x := x.(type) {
	case *Property:
		isDay := w.types[x.Name] == DateType
		return span{endpoint{field: x.Name, isDay: isDay}, endpoint{field: x.Name, last: true, isDay: isDay}}
	case *Moment:
		e := endpoint{moment: x.Text, isDay: len(x.Text) == 10}
		return span{e, e}
	case *Interval:
		s := span{endpoint{moment: beforeAll}, endpoint{moment: behindAll}}
		if _, open := x.From.(*Open); !open {
			s.from = w.span(x.From).from
		}
		if _, open := x.To.(*Open); !open {
			s.to = w.span(x.To).to
		}
		return s
	}
	return span{} // Read lets nothing else through
}

// compareEnds writes a comparison of two ends; where one is a day, of days.
func compareEnds(a endpoint, op string, b endpoint) records.Condition {
	day := a.isDay || b.isDay
	return records.CondCompare{Op: op, Left: a.expression(day), Right: b.expression(day)}
}

func (e endpoint) expression(day bool) records.Expression {
	switch {
	case e.field != "":
		return records.ExprWhen{Field: e.field, Last: e.last, Moment: !day}
	case day:
		return records.ExprValue{Value: e.moment[:min(len(e.moment), 10)]}
	}
	return records.ExprValue{Value: e.moment}
}

// compareTimes compares two times of which one may be known by its month or
// year alone: what is so for every day in it is true, what for none is false.
func (w *writer) compareTimes(op string, a, b span, sure bool) records.Condition {
	switch op {
	case ">", ">=":
		return w.compareTimes(map[string]string{">": "<", ">=": "<="}[op], b, a, sure)
	case "<":
		return known(compareEnds(a.to, "<", b.from), compareEnds(a.from, ">=", b.to), sure)
	case "<=":
		return known(compareEnds(a.to, "<=", b.from), compareEnds(a.from, ">", b.to), sure)
	case "<>":
		return records.CondNot{Of: w.compareTimes("=", a, b, false)}
	}
	// Each end of the one is each end of the other.
	return known(records.CondAll{compareEnds(a.from, "=", b.to), compareEnds(a.to, "=", b.from)},
		records.CondAny{compareEnds(a.to, "<", b.from), compareEnds(a.from, ">", b.to)}, sure)
}

// known is true where yes is, false where no is, and unknown elsewhere.
func known(yes, no records.Condition, sure bool) records.Condition {
	if sure {
		return yes
	}
	return records.CondAny{yes, records.CondAll{records.CondNot{Of: no}, unknown}}
}

// relations are the predicates of time by the ends of the two: all of the
// comparisons hold, or with any one of them. Each begins with the end of the
// one, f or t for from and to, and ends with that of the other (OGC 21-065r2,
// temporal functions, from memory; they are Allen's thirteen, and two).
var relations = map[string]struct {
	any   bool
	tests string
}{
	"T_AFTER":        {false, "f>t"},
	"T_BEFORE":       {false, "t<f"},
	"T_DISJOINT":     {true, "t<f f>t"},
	"T_INTERSECTS":   {false, "f<=t t>=f"},
	"T_EQUALS":       {false, "f=f t=t"},
	"T_CONTAINS":     {false, "f<f t>t"},
	"T_DURING":       {false, "f>f t<t"},
	"T_FINISHEDBY":   {false, "f<f t=t"},
	"T_FINISHES":     {false, "f>f t=t"},
	"T_MEETS":        {false, "t=f"},
	"T_METBY":        {false, "f=t"},
	"T_OVERLAPS":     {false, "f<f t>f t<t"},
	"T_OVERLAPPEDBY": {false, "f>f f<t t>t"},
	"T_STARTEDBY":    {false, "f=f t>t"},
	"T_STARTS":       {false, "f=f t<t"},
}

func (w *writer) temporal(x *Temporal, sure bool) records.Condition {
	a, b := w.span(x.Left), w.span(x.Right)
	relation := relations[x.Op]
	var tests []records.Condition
	for _, test := range strings.Fields(relation.tests) {
		left, right := a.from, b.from
		if test[0] == 't' {
			left = a.to
		}
		if test[len(test)-1] == 't' {
			right = b.to
		}
		tests = append(tests, compareEnds(left, test[1:len(test)-1], right))
	}
	var is records.Condition = records.CondAll(tests)
	if relation.any {
		is = records.CondAny(tests)
	}
	// An interval of which an end is missing is missing, though the comparison
	// may be of the other end alone.
	var missing records.CondAny
	for _, side := range parts(x) {
		if i, ok := side.(*Interval); ok && fields(i) > 0 {
			missing = append(missing, w.isNull(i))
		}
	}
	switch {
	case missing == nil:
		return is
	case sure:
		return records.CondAll{records.CondNot{Of: missing}, is}
	}
	return records.CondAny{records.CondAll{records.CondNot{Of: missing}, is}, records.CondAll{missing, unknown}}
}

// fields counts the fields among the ends of an interval.
func fields(i *Interval) (n int) {
	for _, end := range parts(i) {
		if _, ok := end.(*Property); ok {
			n++
		}
	}
	return n
}

// unknown is neither true nor false.
var unknown = records.CondCompare{Op: "=", Left: records.ExprValue{}, Right: records.ExprValue{}}
