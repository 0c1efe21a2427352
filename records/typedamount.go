package records

import "strings"

// amountText writes a quantity for a field whose bare numbers are in unit, so
// that it is read back as the same: as it was given where that alone says it,
// with its own unit behind it where it needs one, else from its value.
func amountText(a Amount[float64], dim Dimension, unit Unit) string {
	if !a.Known() {
		return ""
	}
	given := a.Given.Text
	if given != "" && !strings.ContainsAny(given, "\r\n") {
		if readsAs(given, dim, unit, a) {
			return given
		}
		if a.Given.Unit != NoUnit {
			if t := given + " " + a.Given.Unit.Symbol(); readsAs(t, dim, unit, a) {
				return t
			}
		}
		// What stands beside a number in words of its own: its qualifier.
		for _, u := range []Unit{unit, a.Given.Unit} {
			if t := signed(a.Qualifier, given, a.Given.High); u.Dimension() == dim {
				if u != unit {
					t += " " + u.Symbol()
				}
				if readsAs(t, dim, unit, a) {
					return t
				}
			}
		}
	}
	for _, u := range []Unit{unit, dim.Base()} {
		t := signed(a.Qualifier, string(appendNumber(nil, u.FromBase(a.Value))), string(appendNumber(nil, u.FromBase(a.High))))
		if u != unit {
			t += " " + u.Symbol()
		}
		if readsAs(t, dim, unit, a) || u == dim.Base() {
			return t
		}
	}
	return ""
}

// signed puts a qualifier before a number.
func signed(q Qualifier, number, high string) string {
	switch q {
	case About:
		return "~" + number
	case LessThan:
		return "<" + number
	case GreaterThan:
		return ">" + number
	case Between:
		return number + " to " + high
	}
	return number
}

// readsAs says whether a text is read as a quantity.
func readsAs(t string, dim Dimension, unit Unit, a Amount[float64]) bool {
	got, err := ParseAmount(t, dim, unit)
	return err == nil && got.Qualifier == a.Qualifier && near(got.Value, a.Value) && near(got.High, a.High)
}

// unchangedAmount says whether a text is what a form showed of a quantity, and
// means the same in the unit that its field says now.
func unchangedAmount(t string, dim Dimension, unit Unit, a Amount[float64]) bool {
	if t == amountText(a, dim, unit) {
		return true
	}
	if !a.Known() || !readsAs(t, dim, unit, a) {
		return false
	}
	for _, u := range dim.Units() {
		if t == amountText(a, dim, u) {
			return true
		}
	}
	return false
}
