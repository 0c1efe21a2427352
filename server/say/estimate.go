package say

import (
	"math"

	"tallybook/records"
)

// Estimate writes an estimated depth or thickness, in metres, with no more
// digits than an estimate has: whole units, steps of five from a hundred on,
// and half metres under ten metres.
func (s System) Estimate(metres float64) string {
	unit := s.LengthUnit()
	v, step := unit.FromBase(metres), 1.0
	switch {
	case v >= 100:
		step = 5
	case unit == records.Metre && v < 10:
		step = 0.5
	}
	return s.Metres(unit.ToBase(math.Round(v/step) * step))
}
