package scout

import (
	"cmp"
	"math"
	"slices"
)

// Driver is a part of the cost and how much of the spread goes with it.
type Driver struct {
	What DriverKind
	// Share is its part of the variance of the cost: the covariance of this
	// part with the whole cost, over the variance of the whole. The shares
	// add up to one. A part that falls where the rest rises has a share
	// below zero.
	Share float64
	// SD is the part's own standard deviation, in cents.
	SD float64
}

// DriverKind groups the lines of a bill by what makes them grow.
type DriverKind uint8

// The drivers.
const (
	ByDepth   DriverKind = iota + 1 // drilling, with the least length charged
	ByCasing                        // casing and drive shoe
	ByGrout                         // grout
	BySuccess                       // pump, disinfection and plate or sealing and dry-hole terms
	ByRest                          // what is the same for every hole
	driverEnd
)

var driverWords = [...]string{ByDepth: "depth", ByCasing: "casing", ByGrout: "grout", BySuccess: "success", ByRest: "rest"}

// String gives the driver's word.
func (k DriverKind) String() string {
	if int(k) < len(driverWords) {
		return driverWords[k]
	}
	return ""
}

func driverOf(k LineKind) DriverKind {
	switch k {
	case LineDrilling, LineMinimum:
		return ByDepth
	case LineCasing, LineShoe:
		return ByCasing
	case LineGrout:
		return ByGrout
	case LineDisinfection, LinePump, LinePlate, LineSealing, LineDryTerms:
		return BySuccess
	}
	return ByRest
}

// drivers says what drives the spread, largest share first: the variance of a
// sum is the sum of the covariances of its parts with it. Each line takes the
// tax on it along. The bills are those of the outcomes as replayed, so that
// what is known only as 'at least' counts as it stands. Without any spread
// there are none.
func drivers(outcomes []Costed, r *Rates) []Driver {
	share, _ := r.Tax.Share.Number()
	parts := make([][driverEnd]float64, len(outcomes))
	var means [driverEnd]float64
	var weight float64
	for i := range outcomes {
		for _, l := range outcomes[i].Bill.Lines {
			if l.Kind == LineTax {
				continue
			}
			cents := float64(l.Cents)
			if r.taxes(l.Kind) {
				cents *= 1 + float64(share)
			}
			parts[i][driverOf(l.Kind)] += cents
			parts[i][0] += cents // the whole
		}
		for k, v := range parts[i] {
			means[k] += v * outcomes[i].Weight
		}
		weight += outcomes[i].Weight
	}
	var with, own [driverEnd]float64
	for i := range outcomes {
		whole := parts[i][0] - means[0]/weight
		for k, v := range parts[i] {
			d := v - means[k]/weight
			with[k] += d * whole * outcomes[i].Weight
			own[k] += d * d * outcomes[i].Weight
		}
	}
	if !(with[0]/weight > 1) { // under a cent: rounding
		return nil
	}
	var out []Driver
	for k := ByDepth; k < driverEnd; k++ {
		out = append(out, Driver{What: k, Share: with[k] / with[0], SD: math.Sqrt(own[k] / weight)})
	}
	slices.SortStableFunc(out, func(a, b Driver) int { return cmp.Compare(b.Share, a.Share) })
	return out
}
