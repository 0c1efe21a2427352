package scout

import (
	"math"

	"tallybook/records"
)

// Cents is money in hundredths of the currency that the rate table names.
type Cents int64

// maxCents is more than any line of any job costs; prices beyond it are
// slips of the pen, and sums of them cannot overflow.
const maxCents = 1e12

// Price is a price as the contractor set it. A price that was not set is not
// a price of nothing.
type Price struct {
	Cents Cents
	Set   bool
}

// Of makes a price.
func Of(c Cents) Price { return Price{Cents: c, Set: true} }

// times charges a price for a quantity, to the nearest cent, halves away from
// zero.
func (p Price) times(quantity float64) Cents { return roundCents(float64(p.Cents) * quantity) }

func roundCents(v float64) Cents {
	return Cents(math.Round(min(max(v, -maxCents), maxCents)))
}

// Units are the units in which a rate table is written: lengths are charged
// by the foot or by the metre, and every other quantity follows.
type Units uint8

// The units of a rate table.
const (
	US Units = iota + 1 // feet, inches, US gallons, gallons a minute
	SI                  // metres, millimetres, litres, litres a second
)

// String gives the word used in files.
func (u Units) String() string {
	switch u {
	case US:
		return "us"
	case SI:
		return "si"
	}
	return ""
}

// Of is the unit for a dimension; SI where no units were stated.
func (u Units) Of(d records.Dimension) records.Unit {
	if u == US {
		switch d {
		case records.DimLength:
			return records.Foot
		case records.DimDiameter:
			return records.InchDiameter
		case records.DimFlow:
			return records.GallonPerMinute
		case records.DimVolume:
			return records.Gallon
		}
	}
	return d.Base()
}

// charge is a length in the units that a price is for.
func (u Units) charge(l records.Length) float64 {
	return u.Of(records.DimLength).FromBase(float64(l))
}
