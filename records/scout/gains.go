package scout

import (
	"math"
	"slices"

	"tallybook/records"
)

// Gain is water with its limits: somewhere between From and To the hole
// gained between Low and High.
type Gain struct {
	From, To  records.Depth
	Low, High records.Flow // High is +Inf where only 'at least' is known
	// Strikes says that this is water of strikes that nobody wrote down, and
	// not one strike whose depth is known only within limits.
	Strikes bool
}

// middle is the gain as one number: the middle of its limits, or the lower
// one where there is no upper.
func (g *Gain) middle() records.Flow {
	if math.IsInf(float64(g.High), 1) {
		return g.Low
	}
	return (g.Low + g.High) / 2
}

// flowSlack is the share by which flows at strikes and the final yield may
// differ and still be the same water: drillers round. Ours, no source.
const flowSlack = 0.005

// gainsFor puts the water of a hole down its depth so that it makes the final
// yield:
//
//   - strikes without a flow share what the others leave of the yield;
//   - strikes that make more than the yield are cut down alike, since the
//     final yield is what the hole was measured to give;
//   - what strikes do not account for came somewhere between the top of the
//     open hole and its bottom: an interval, and so is the whole yield where
//     no strike was written down;
//   - a yield of 'at least' leaves the gain below without an upper limit.
//
// A missing yield leaves the strikes as they are. noted reports what had to
// be settled so.
func gainsFor(strikes []Strike, yield records.Amount[records.Flow], openTop, bottom records.Depth) (gains []Gain, noted []string) {
	gains = make([]Gain, 0, len(strikes)+1)
	var silent []int
	var sumLow, sumHigh records.Flow
	for _, s := range strikes {
		low, high := limits(s.Flow)
		if !s.Flow.Known() {
			silent = append(silent, len(gains))
			low, high = 0, 0
		}
		sumLow, sumHigh = sumLow+low, sumHigh+high
		gains = append(gains, Gain{From: s.From, To: s.To, Low: low, High: high})
	}
	yieldLow, yieldHigh := limits(yield)
	if len(silent) > 0 {
		restLow, restHigh := max(yieldLow-sumHigh, 0), max(yieldHigh-sumLow, 0)
		for _, i := range silent {
			gains[i].Low, gains[i].High = restLow/records.Flow(len(silent)), restHigh/records.Flow(len(silent))
		}
		sumLow, sumHigh = sumLow+restLow, sumHigh+restHigh
		noted = append(noted, "strikes without a flow share the rest of the yield evenly")
	}
	if !yield.Known() {
		return tidy(gains), noted
	}
	if sumLow > yieldHigh*(1+flowSlack) {
		for i := range gains {
			gains[i].Low *= yieldHigh / sumLow
			gains[i].High = min(gains[i].High, gains[i].Low)
		}
		return tidy(gains), append(noted, "strikes add up to more than the final yield and are cut down to it")
	}
	if rest := yieldLow - sumHigh; rest > yieldLow*flowSlack && len(silent) == 0 {
		high := rest
		if yieldHigh > yieldLow {
			high = yieldHigh - sumHigh
		}
		gains = append(gains, Gain{From: min(openTop, bottom), To: bottom, Low: rest, High: high, Strikes: true})
		if len(strikes) > 0 {
			noted = append(noted, "strikes add up to less than the final yield; the rest came somewhere in the open hole")
		}
	} else if len(strikes) == 0 && yieldHigh > 0 {
		gains = append(gains, Gain{From: min(openTop, bottom), To: bottom, Low: yieldLow, High: yieldHigh, Strikes: true})
	}
	return tidy(gains), noted
}

// tidy leaves out gains of nothing and puts the rest in order from the top.
func tidy(gains []Gain) []Gain {
	gains = slices.DeleteFunc(gains, func(g Gain) bool { return !(g.High > 0) })
	slices.SortStableFunc(gains, func(a, b Gain) int {
		return compareStrikes(Strike{From: a.From, To: a.To}, Strike{From: b.From, To: b.To})
	})
	return gains
}

// earliest is the least depth at which a need can have been met, latest the
// greatest at which it must have been; +Inf where it never is.
func earliest(gains []Gain, need records.Flow) records.Depth {
	return metAt(gains, need, func(g *Gain) (records.Depth, records.Flow) { return g.From, g.High })
}

func latest(gains []Gain, need records.Flow) records.Depth {
	return metAt(gains, need, func(g *Gain) (records.Depth, records.Flow) { return g.To, g.Low })
}

// metSlack forgives the rounding of sums: 2 and 4 gal/min are 6.
const metSlack = 1e-9

func metAt(gains []Gain, need records.Flow, read func(*Gain) (records.Depth, records.Flow)) records.Depth {
	var room [16]int
	order := room[:0]
	for i := range gains {
		order = append(order, i)
	}
	slices.SortStableFunc(order, func(a, b int) int {
		da, _ := read(&gains[a])
		db, _ := read(&gains[b])
		switch {
		case da < db:
			return -1
		case da > db:
			return 1
		}
		return 0
	})
	var sum records.Flow
	for _, i := range order {
		depth, flow := read(&gains[i])
		sum += flow
		if sum >= need*(1-metSlack) {
			return depth
		}
	}
	return records.Depth(math.Inf(1))
}

// flowBy gives the least and the greatest flow that a hole can have at a
// depth.
func flowBy(gains []Gain, depth records.Depth) (low, high records.Flow) {
	for i := range gains {
		if gains[i].To <= depth {
			low += gains[i].Low
		}
		if gains[i].From <= depth {
			high += gains[i].High
		}
	}
	return low, high
}

// casedOff takes away the water that casing to a depth shuts out, and moves
// the top of a stretch that it shortens.
func casedOff(gains []Gain, casing records.Depth) []Gain {
	out := make([]Gain, 0, len(gains))
	for _, g := range gains {
		if g.To < casing {
			continue
		}
		g.From = max(g.From, casing)
		out = append(out, g)
	}
	return out
}
