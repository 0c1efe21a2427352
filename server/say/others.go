package say

import "tallybook/records"

// PressureUnit is the unit of pressures.
func (s System) PressureUnit() records.Unit {
	return pick(s, records.PoundPerSquareInch, records.Kilopascal)
}

// PowerUnit is the unit of a pump's power.
func (s System) PowerUnit() records.Unit { return pick(s, records.Horsepower, records.Kilowatt) }

// Pressure writes a pressure with its unit: '3,000 psi', '20 684 kPa'. A
// missing one is "".
func (s System) Pressure(a records.Amount[records.Pressure]) string {
	u := s.PressureUnit()
	return with(figures(a, func(kPa float64) string { return s.Figure(u.FromBase(kPa), 0) }), u)
}

// Power writes a power with its unit: '½ hp' as '0.5 hp', '0.37 kW'. A missing
// one is "".
func (s System) Power(a records.Amount[records.Power]) string {
	u := s.PowerUnit()
	return with(figures(a, func(kW float64) string { return s.Figure(u.FromBase(kW), 2) }), u)
}

// Value writes a number whose unit is named beside it: a result of water
// quality keeps the unit of its report. A missing one is "".
func (s System) Value(a records.Amount[records.Pure], unit string) string {
	t := figures(a, func(v float64) string { return s.Figure(v, 6) })
	if t == "" || unit == "" {
		return t
	}
	return t + " " + unit
}

// SpecificCapacityUnit is the unit of specific capacity.
func (s System) SpecificCapacityUnit() string {
	return s.FlowUnit().Symbol() + " per " + s.LengthUnit().Symbol()
}

// SpecificCapacity writes a flow per length of drawdown, given in litres a
// second per metre: '0.15 gpm per ft'.
func (s System) SpecificCapacity(lpsPerM float64) string {
	v := s.FlowUnit().FromBase(lpsPerM) * s.LengthUnit().ToBase(1)
	decimals := 2
	if v >= 10 {
		decimals = 0
	} else if v < 0.1 {
		decimals = 4
	}
	return s.Figure(v, decimals) + " " + s.SpecificCapacityUnit()
}

var months = [...]string{"", "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December"}

// Date writes a date so that nobody takes the day for the month: '15 June
// 2004', 'June 2004', '2004'; "" when it is missing.
func Date(d records.Date) string {
	year := ""
	if d.Year != 0 {
		year = System(SI).Figure(float64(d.Year), 0)
	}
	switch {
	case d.Year == 0:
		return ""
	case d.Month < 1 || d.Month > 12:
		return year
	case d.Day == 0:
		return months[d.Month] + " " + year
	}
	return System(SI).Figure(float64(d.Day), 0) + " " + months[d.Month] + " " + year
}
