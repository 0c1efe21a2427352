package scout

import (
	"math"

	"tallybook/records"
	"tallybook/records/figuring"
)

// stretch is what drilling from one depth to another costs in ground of a
// class, with the tax on drilling. ok is false where a part has no price.
func (r *Rates) stretch(c records.Class, from, to records.Depth) (cents Cents, ok bool) {
	at, sum := from, 0.0
	for at < to {
		rate, until := r.drillRate(c, at)
		bottom := min(to, until)
		if rate == nil || !(bottom > at) {
			return 0, false
		}
		sum += float64(rate.ByLength.times(r.Units.charge(records.Length(bottom - at))))
		at = bottom
	}
	if share, known := r.Tax.Share.Number(); known && r.taxes(LineDrilling) {
		sum += math.Round(sum * float64(share))
	}
	return roundCents(sum), true
}

// holds is what a length of hole stores, 0 where its size makes no sense.
func holds(bore records.Diameter, l records.Length) records.Volume {
	f, err := figuring.Holds(bore, l)
	if err != nil {
		return 0
	}
	return f.Value
}
