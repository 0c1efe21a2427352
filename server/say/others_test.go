package say_test

import (
	"math"
	"testing"

	"tallybook/records"
	"tallybook/server/say"
)

// Units are exact by definition: the pound-force per square inch is
// 0.45359237 kg × 9.80665 m/s² over (0.0254 m)², the mechanical horsepower
// 550 ft·lbf/s (Units.ToBase holds them); specific capacity is by hand:
// 0.06309 L/s (1 gpm) per 0.3048 m is 1 gpm per ft.
func TestOtherQuantities(t *testing.T) {
	psi := records.Of(records.Pressure(records.PoundPerSquareInch.ToBase(3000)))
	hp := records.Of(records.Power(records.Horsepower.ToBase(0.5)))
	for _, c := range []struct{ name, got, want string }{
		{"pressure US", say.US.Pressure(psi), "3,000 psi"},
		{"pressure SI", say.SI.Pressure(psi), "20\u202f684 kPa"},
		{"power US", say.US.Power(hp), "0.5 hp"},
		{"power SI", say.SI.Power(hp), "0.37 kW"},
		{"power missing", say.US.Power(records.Amount[records.Power]{}), ""},
		{"bound", say.US.Value(records.Under(records.Pure(0.05)), "mg/L"), "<0.05 mg/L"},
		{"no unit", say.US.Value(records.Of(records.Pure(7.2)), ""), "7.2"},
		{"missing with unit", say.US.Value(records.Amount[records.Pure]{}, "mg/L"), ""},
		{"capacity US", say.US.SpecificCapacity(records.GallonPerMinute.ToBase(1) / 0.3048), "1 gpm per ft"},
		{"capacity SI", say.SI.SpecificCapacity(0.01), "0.6 L/min per m"},
		{"capacity small", say.US.SpecificCapacity(records.GallonPerMinute.ToBase(0.0151) / 0.3048), "0.0151 gpm per ft"},
		{"capacity not finite", say.US.SpecificCapacity(math.Inf(1)), "– gpm per ft"},
		{"day", say.Date(records.Date{Year: 2004, Month: 6, Day: 15}), "15 June 2004"},
		{"month", say.Date(records.Date{Year: 2004, Month: 6}), "June 2004"},
		{"year", say.Date(records.Date{Year: 987}), "987"},
		{"no date", say.Date(records.Date{}), ""},
		{"no such month", say.Date(records.Date{Year: 2004, Month: 13, Day: 1}), "2004"},
	} {
		if c.got != c.want {
			t.Errorf("%s: %q, want %q", c.name, c.got, c.want)
		}
	}
}
