package server

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"

	"tallybook/records"
	"tallybook/records/scout"
)

// unitsAsk is asked before a table with figures in it changes its units.
type unitsAsk struct {
	From, To string // 'feet, inches, gallons'
	New      string // the word of the units asked for
	Convert  string // what conversion does, with an example of the table
	Keep     string
}

func unitsWords(u scout.Units) string {
	switch u {
	case scout.US:
		return "feet, inches, gallons"
	case scout.SI:
		return "metres, millimetres, litres"
	}
	return "no stated units"
}

// bearing visits every figure of the form whose meaning hangs on the units.
func (form *officeForm) bearing(fn func(f *officeField, key, typed string)) {
	visit := func(f *officeField, key string) {
		if t := form.typed[key]; t != "" && (f.kind == asQuantity && f.dim != records.DimNone || f.kind == asMoneyByLength) {
			fn(f, key, t)
		}
	}
	form.sheet.each(func(_ *officePart, f *officeField) { visit(f, f.path) })
	form.sheet.lists(func(l *officeRows) {
		for i := range form.rows[l.path] {
			for j := range l.fields {
				visit(&l.fields[j], rowKey(l.path, i, l.fields[j].path))
			}
		}
	})
}

// asksUnits says what a change of units would do; nil where no figure hangs on
// them.
func (form *officeForm) asksUnits(to scout.Units) *unitsAsk {
	price, length, any := "", "", false
	unit, other := form.units.Of(records.DimLength).Symbol(), to.Of(records.DimLength).Symbol()
	form.bearing(func(f *officeField, _, typed string) {
		any = true
		became, ok := form.turned(f, typed, to)
		switch {
		case !ok:
		case f.kind == asMoneyByLength && price == "":
			price = fmt.Sprintf("a price of %s per %s becomes %s per %s, rounded to the cent", typed, unit, became, other)
		case f.kind == asQuantity && f.dim == records.DimLength && length == "":
			length = fmt.Sprintf("%s %s becomes %s %s", typed, unit, became, other)
		}
	})
	if !any {
		return nil
	}
	a := &unitsAsk{From: unitsWords(form.units), To: unitsWords(to), New: to.String(), Convert: "Every figure is worked out anew"}
	for _, example := range []string{price, length} {
		if example != "" {
			a.Convert += "; " + example
		}
	}
	a.Convert += "."
	a.Keep = fmt.Sprintf("No figure changes: what was typed is taken to have been meant in %s all along.", a.To)
	return a
}

// turned is a figure in other units; ok is false where it cannot be read.
func (form *officeForm) turned(f *officeField, typed string, to scout.Units) (string, bool) {
	raw, fault := f.raw(typed, form.units, form.typed[currencyPath])
	if fault != nil {
		return "", false
	}
	v, err := strconv.ParseFloat(string(raw), 64)
	if err != nil {
		return "", false
	}
	if f.kind == asMoneyByLength {
		length := records.DimLength
		cents := math.Round(v / form.units.Of(length).ToBase(1) * to.Of(length).ToBase(1))
		return f.shown(json.RawMessage(strconv.FormatFloat(cents, 'f', 0, 64))), true
	}
	return sixDigits(to.Of(f.dim).FromBase(form.units.Of(f.dim).ToBase(v))), true
}

// sixDigits writes a number to six significant digits: what is lost lies below
// what anybody measures in a hole.
func sixDigits(v float64) string {
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 6, 64), 64)
	if err != nil {
		return ""
	}
	return strconv.FormatFloat(r, 'f', -1, 64)
}

// convert works every figure out in other units. A figure that cannot be read
// stays as it was typed, to be mended; it is counted.
func (form *officeForm) convert(to scout.Units) (unread int) {
	form.bearing(func(f *officeField, key, typed string) {
		if t, ok := form.turned(f, typed, to); ok {
			form.typed[key] = t
		} else {
			unread++
		}
	})
	form.units = to
	return unread
}
