package cql2

import (
	"time"
)

// moment reads what follows DATE( or TIMESTAMP(.
func (p *parser) moment(word token) (Expr, *Error) {
	t := p.take()
	if t.kind != text {
		return nil, p.wrong(t, "write "+exampleOf(word.upper), "%s holds a text in single quotes", word.upper)
	}
	m, ok := readMoment(t.text)
	if !ok || len(m) == 10 != (word.upper == "DATE") {
		return nil, p.wrong(t, "write "+exampleOf(word.upper)+"; for a month or a year give its ends: T_INTERSECTS(field, INTERVAL('2004-01-01', '2004-12-31'))",
			"this is no %s", map[string]string{"DATE": "day of the calendar", "TIMESTAMP": "moment"}[word.upper])
	}
	return &Moment{Pos(word.at), m}, p.needSign(")", "after "+word.upper)
}

func exampleOf(word string) string {
	if word == "DATE" {
		return "DATE('2004-06-15')"
	}
	return "TIMESTAMP('2004-06-15T10:30:00Z')"
}

// interval reads what follows INTERVAL(.
func (p *parser) interval(word token) (Expr, *Error) {
	from, err := p.intervalEnd()
	if err != nil {
		return nil, err
	}
	if err := p.needSign(",", "between the ends of INTERVAL"); err != nil {
		return nil, err
	}
	to, err := p.intervalEnd()
	if err != nil {
		return nil, err
	}
	f, fixed := from.(*Moment)
	if t, too := to.(*Moment); fixed && too && compareMoments(f.Text, t.Text) > 0 {
		return nil, p.wrong(word, "give the earlier end first", "the interval ends before it begins")
	}
	return &Interval{Pos(word.at), from, to}, p.needSign(")", "after INTERVAL")
}

func (p *parser) intervalEnd() (Expr, *Error) {
	if err := p.part(); err != nil {
		return nil, err
	}
	t := p.take()
	switch {
	case t.kind == quoted, t.kind == name && !p.isSign("("):
		return &Property{Pos(t.at), t.text}, nil
	case t.kind == name && (t.upper == "DATE" || t.upper == "TIMESTAMP"):
		p.next++
		return p.moment(t)
	case t.kind == text && t.text == "..":
		return &Open{Pos(t.at)}, nil
	case t.kind == text:
		if m, ok := readMoment(t.text); ok {
			return &Moment{Pos(t.at), m}, nil
		}
	}
	return nil, p.wrong(t, "write '2004-06-15', '2004-06-15T10:30:00Z', '..' for no end, or a field's name", "this is no end of an interval")
}

// readMoment reads a day of the calendar or a moment, as a Moment's Text. A
// moment with another offset than Z is turned into universal time; parts of
// a microsecond are dropped.
func readMoment(s string) (string, bool) {
	if len(s) == 10 {
		d, err := time.Parse("2006-01-02", s)
		return s, err == nil && d.Year() > 0
	}
	m, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		return "", false
	}
	m = m.UTC()
	return m.Format("2006-01-02T15:04:05.000000Z"), m.Year() > 0 && m.Year() <= 9999
}

// compareMoments puts two in order; where one is a day, by their days.
func compareMoments(a, b string) int {
	if len(a) == 10 || len(b) == 10 {
		a, b = a[:min(len(a), 10)], b[:min(len(b), 10)]
	}
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}
