package records

import (
	"fmt"
	"strconv"
)

// amount judges one quantity by itself.
func (v *validator) amount(f *amountField, p amountRef) {
	a := p.load()
	if a.Qualifier == Missing {
		return
	}
	name := f.names[0]
	switch {
	case a.Qualifier > Between:
		v.refuse(name, fmt.Sprintf("has the qualifier number %d, which does not exist", a.Qualifier), "use exact, about, less_than, greater_than or between")
	case !finite(a.Value) || a.Qualifier == Between && !finite(a.High):
		v.refuse(name, "is "+shown(a, f)+", which is no number", "give the number, or leave it out")
	case a.Qualifier == Between && a.High < a.Value:
		v.refuse(name, "lies between "+shown(a, f)+", which runs backwards", "give the lower end first")
	case a.Value < 0 && !f.anySign:
		v.refuse(name, "is "+shown(a, f)+", less than nothing", "give a number from 0 up, or leave it out")
	case a.Given.Unit != NoUnit && a.Given.Unit.Dimension() != f.dimension:
		v.refuse(name, "was given in the unit "+strconv.Quote(a.Given.Unit.Symbol())+", which does not measure it", "name a unit of this quantity")
	default:
		v.size(f, name, a)
	}
	if a.Given.Text != "" {
		v.text(f.given, &a.Given.Text)
	}
	if len(a.Given.Text) > maxAmountText { // the record could not be read again
		v.refuse(f.given, fmt.Sprintf("holds %d bytes, more than %d", len(a.Given.Text), maxAmountText), "write the number shorter")
	}
}

// size judges whether a quantity is of a size that there is.
func (v *validator) size(f *amountField, name string, a Amount[float64]) {
	top := a.Value
	if a.Qualifier == Between {
		top = a.High
	}
	switch f.dimension {
	case DimLength:
		low, high := -v.limits.DepthM, v.limits.DepthM
		switch f {
		case fGround:
			low, high = v.limits.GroundLowM, v.limits.GroundHighM
		case fAccuracy:
			high = v.limits.AccuracyM
		}
		if a.Value < low || top > high {
			v.refuse(name, "is "+shown(a, f)+"; nothing is so far below or above ground", "check the unit and the decimal point")
		}
	case DimDiameter:
		if top > v.limits.DiameterMM {
			v.warn(name, "is "+shown(a, f)+", wider than "+decimals(v.limits.DiameterMM, 0)+" mm", "check the unit")
		}
	case DimFlow:
		if top > v.limits.DoubtLps {
			v.warn(name, "is "+shown(a, f)+", more than "+decimals(v.limits.DoubtLps, 0)+" L/s", "check the unit and the decimal point")
		}
	}
}

// shown writes a quantity as it was given, with the base unit beside it where
// that is another.
func shown(a Amount[float64], f *amountField) string {
	base := f.dimension.Base()
	value := func(x float64) string {
		if !finite(x) {
			return strconv.FormatFloat(x, 'g', -1, 64)
		}
		return decimals(x, 3)
	}
	s := value(a.Value)
	if a.Qualifier == Between {
		s += " and " + value(a.High)
	}
	if base != NoUnit {
		s += " " + base.Symbol()
	}
	if a.Given.Text != "" && a.Given.Unit != base {
		s += " (given as " + strconv.Quote(clip(a.Given.Text, 20)) + " " + a.Given.Unit.Symbol() + ")"
	}
	return s
}

func (v *validator) position(known *bool, lon, lat *float64) {
	if *known {
		v.lonLat(*lon, *lat)
	}
}

func (v *validator) rows(name string, r rowsRef) {
	n := r.len()
	if n == 0 {
		return
	}
	if n > v.limits.Rows {
		v.refuse(name, fmt.Sprintf("has %d rows, more than %d", n, v.limits.Rows), "divide the record")
		return
	}
	v.path = append(v.path, step{name, 0})
	last := len(v.path) - 1
	for i := range n {
		v.path[last].index = i
		r.at(i).visit(v)
	}
	v.path = v.path[:last]
}

func (v *validator) group(name string, g visitable) {
	v.path = append(v.path, step{name, -1})
	g.visit(v)
	v.path = v.path[:len(v.path)-1]
}

func (v *validator) private(name string, g visitable) { v.group(name, g) }

// at does fn with the path inside row i of the list called name.
func (v *validator) row(name string, i int) { v.path = append(v.path[:0], step{name, i}) }
func (v *validator) top()                   { v.path = v.path[:0] }
