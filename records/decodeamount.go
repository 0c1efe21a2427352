package records

import (
	"fmt"
	"math"
	"strconv"
)

func (d *decoder) amount(f *amountField, p amountRef) {
	var got Amount[float64]
	usedName := ""
	for i, name := range f.names {
		raw, ok := d.findBit(name, f.bits[i])
		if !ok {
			continue
		}
		if usedName != "" {
			d.fault(Refusal, name, "stands beside "+usedName+": one quantity in two units", "keep the one that was written down")
			continue
		}
		usedName = name
		a, err := amountFromJSON(raw, f.dimension, f.units[i])
		if err != nil {
			d.fault(Refusal, name, err.Error(), "give a number, or a bound such as <1 or 50+")
			continue
		}
		got = a
	}
	high, okHigh := d.findBit(f.high, f.highBit)
	qualifier, okQualifier := d.findBit(f.qualifier, f.qualifierBit)
	given, okGiven := d.findBit(f.given, f.givenBit)
	unit, _ := d.findBit(f.givenUnit, f.givenUBit)
	if okGiven && !d.givenOf(f, &got, usedName, given, unit, okQualifier) {
		return
	}
	if okHigh && !d.highOf(f, &got, high) {
		return
	}
	if okQualifier && !d.qualify(f, &got, qualifier, okHigh) {
		return
	}
	if okHigh && got.Qualifier != Between {
		d.fault(Refusal, f.high, "is the upper end of a range, but "+f.qualifier+" does not say between", "say between, or take it out")
		return
	}
	if got.Qualifier != Missing {
		p.store(got)
	}
}

// amountFromJSON reads a number, or a text as people write quantities.
func amountFromJSON(raw string, dim Dimension, unit Unit) (Amount[float64], error) {
	switch raw[0] {
	case '"':
		s, err := unquote(raw)
		if err != nil {
			return Amount[float64]{}, err
		}
		return ParseAmount(s, dim, unit)
	case '{', '[', 't', 'f':
		return Amount[float64]{}, fmt.Errorf("is %s where a number belongs", kindOf(raw))
	}
	if len(raw) > maxAmountText { // what is kept as given has to be read again
		return Amount[float64]{}, fmt.Errorf("%q is too long for a quantity", clip(raw, 20))
	}
	v, err := strconv.ParseFloat(raw, 64)
	if err != nil || !finite(v) || !finite(unit.ToBase(v)) {
		return Amount[float64]{}, fmt.Errorf("%s is not a number that can be held", clip(raw, 40))
	}
	return Amount[float64]{Qualifier: Exact, Value: unit.ToBase(v), Given: Given{Text: raw, Unit: unit}}, nil
}

// givenOf restores what was given where it stands beside the value, and
// derives the value from it where it stands alone.
func (d *decoder) givenOf(f *amountField, got *Amount[float64], usedName, rawText, rawUnit string, qualified bool) bool {
	text, err := unquote(rawText)
	if err != nil || len(text) > maxAmountText {
		d.fault(Refusal, f.given, clip(rawText, 40)+" is not a quantity as written", "give it as a short text")
		return false
	}
	if text == "" {
		return true
	}
	unit := f.dimension.Base()
	if symbol, _ := unquote(rawUnit); rawUnit != "" && symbol != "" {
		u, ok := f.dimension.UnitBySymbol(symbol)
		if !ok {
			d.fault(Refusal, f.givenUnit, fmt.Sprintf("%q is not a unit of this quantity", clip(symbol, 20)), "name one of its units")
			return false
		}
		unit = u
	}
	a, err := ParseAmount(text, f.dimension, unit)
	switch {
	case err != nil && usedName == "":
		d.fault(Refusal, f.given, err.Error(), "give the value too")
		return false
	case usedName == "":
		*got = a
		return true
	case err != nil || !a.Known(): // not understood here: kept as it came
	case !near(a.Value, got.Value) || a.Qualifier == Between && a.Value != got.Value:
		d.fault(Warning, f.given, fmt.Sprintf("%q does not agree with %s, which is used", clip(text, 40), usedName), "correct the one that is wrong")
	case !qualified && a.Qualifier != got.Qualifier:
		d.fault(Warning, f.given, fmt.Sprintf("%q says %s, but %s says exact, which is used", clip(text, 40), a.Qualifier, usedName), "give "+f.qualifier)
	}
	got.Given = Given{Text: text, Unit: unit}
	return true
}

func near(a, b float64) bool {
	return math.Abs(a-b) <= 1e-6*math.Max(1, math.Max(math.Abs(a), math.Abs(b)))
}

// highOf reads the upper end of a range.
func (d *decoder) highOf(f *amountField, got *Amount[float64], raw string) bool {
	h, err := strconv.ParseFloat(raw, 64)
	if err != nil || !finite(h) {
		d.fault(Refusal, f.high, clip(raw, 40)+" is not a number", "give the upper end as a number")
		return false
	}
	got.High = h
	if raw != string(appendNumber(nil, h)) {
		got.Given.High = raw // 2.50 comes back as 2.50
	}
	return true
}

// qualify applies the qualifier that stands beside the value.
func (d *decoder) qualify(f *amountField, got *Amount[float64], raw string, ranged bool) bool {
	s, _ := unquote(raw)
	q, known := ParseQualifier(s)
	switch {
	case !known || (q == Missing && got.Qualifier != Missing):
		d.fault(Refusal, f.qualifier, clip(raw, 40)+" is not a qualifier", "use exact, about, less_than, greater_than or between")
	case got.Qualifier == Missing && q != Missing:
		d.fault(Refusal, f.qualifier, "qualifies a value that is not there", "give "+f.names[0])
	case got.Qualifier > Exact && got.Qualifier != q:
		d.fault(Refusal, f.qualifier, fmt.Sprintf("says %s, but the value was written as %s", s, got.Qualifier), "correct the one that is wrong")
	case q == Between && got.Qualifier != Between && !ranged:
		d.fault(Refusal, f.qualifier, "says between, but there is no upper end", "give "+f.high)
	default:
		got.Qualifier = q
		return true
	}
	return false
}
