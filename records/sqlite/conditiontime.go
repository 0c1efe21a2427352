package sqlite

import (
	"strings"
	"time"

	"tallybook/records"
)

// when writes an end of a date or time.
func (w *conditionWriter) when(x records.ExprWhen) error {
	sql, kind, err := w.field(x.Field)
	if err != nil {
		return err
	}
	if kind != records.FieldDate && kind != records.FieldTime {
		return &records.Error{Code: records.Invalid, Field: x.Field, Message: "is no date"}
	}
	// A function each, for SQLite is slow with very many arguments that do not
	// change.
	function := "first_day"
	switch {
	case x.Moment && kind == records.FieldTime:
		function = "moment_of"
	case x.Last:
		function = "last_day"
	}
	if kind == records.FieldDate && !strings.Contains(sql, "json") {
		// Whole days, as most are, are not worth a call out of SQLite.
		w.b.WriteString("iif(length(" + sql + ") = 10 AND date(" + sql + ") = " + sql + ", " + sql + ", " + function + "(" + sql + "))")
		return nil
	}
	w.b.WriteString(function + "(" + sql + ")")
	return nil
}

// time writes what a date or time has to meet. Dates are compared as texts: one
// that knows less is the beginning of all those within it, so that it comes
// before them, and a limit cut to its length is met from there on.
func (w *conditionWriter) time(c records.CondTime) error {
	sql, kind, err := w.field(c.Field)
	if err != nil {
		return err
	}
	from, to := c.From, c.To
	switch kind {
	case records.FieldDate:
		from, to = dayOf(from), dayOf(to)
	case records.FieldTime:
		if from, err = momentOf(from, false); err == nil {
			to, err = momentOf(to, true)
		}
		if err != nil {
			return err
		}
	default:
		return &records.Error{Code: records.Invalid, Field: c.Field, Message: "is no date"}
	}
	w.b.WriteByte('(')
	if from == "" && to == "" {
		w.b.WriteString(sql + " IS NOT NULL")
	}
	if from != "" {
		w.b.WriteString(sql + " >= substr(")
		w.bind(from)
		w.b.WriteString(",1,length(" + sql + "))")
		if to != "" {
			w.b.WriteString(" AND ")
		}
	}
	if to != "" {
		// What begins with the limit lies within it: 2004-06 in 2004.
		w.b.WriteString("substr(" + sql + ",1,")
		w.bind(len(to))
		w.b.WriteString(") <= ")
		w.bind(to)
	}
	w.b.WriteByte(')')
	return nil
}

// dayOf is the day, month or year of a date or time.
func dayOf(s string) string {
	if i := strings.IndexAny(s, "Tt "); i >= 0 {
		if t, err := time.Parse(time.RFC3339Nano, s); err == nil {
			return t.UTC().Format(time.DateOnly)
		}
		return s[:i]
	}
	return s
}

// momentOf is a date or time as times are stored; of a date its first moment,
// or its last.
func momentOf(s string, last bool) (string, error) {
	if s == "" {
		return "", nil
	}
	if t, err := time.Parse(time.RFC3339Nano, s); err == nil {
		return formatTime(t), nil
	}
	for _, form := range []struct {
		layout              string
		years, months, days int
	}{{time.DateOnly, 0, 0, 1}, {"2006-01", 0, 1, 0}, {"2006", 1, 0, 0}} {
		if t, err := time.Parse(form.layout, s); err == nil {
			if last {
				t = t.AddDate(form.years, form.months, form.days).Add(-time.Microsecond)
			}
			return formatTime(t), nil
		}
	}
	return "", records.Errorf(records.Invalid, "%q is no date or time", clipID(s))
}
