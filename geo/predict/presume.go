package predict

import (
	"math"

	"tallybook/geo/near"
	"tallybook/geo/position"
)

// Alike reports whether likeness plays a part: whether two known categories
// differ.
func (o *Observations) Alike() bool { return o.categories }

// PresumedCategory is the category of the nearest observation that has one,
// and how far it is, metres: rock units, aquifers and settings change over
// ground less often than wells stand apart. ok is false where the categories of
// the set do not differ, or none is known within withinM.
//
// An estimate that was calibrated with likeness has to be asked with it: a site
// of unknown category counts all wells as alike, which is not how its ranges
// were set.
func (o *Observations) PresumedCategory(at position.LonLat, withinM float64) (category uint16, distanceM float64, ok bool) {
	if !o.categories {
		return 0, 0, false
	}
	x, y := o.projection.Forward(at)
	var buf [1]near.Hit
	hits := o.index.NearestFunc(x, y, 1, func(i int32) bool { return o.wells[i].category == 0 }, buf[:0])
	if len(hits) == 0 {
		return 0, 0, false
	}
	d := math.Sqrt(hits[0].D2)
	if !(d <= withinM) {
		return 0, 0, false
	}
	return o.wells[hits[0].I].category, d, true
}
