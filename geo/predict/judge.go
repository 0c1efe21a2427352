package predict

import "math"

// Held says whether a range held an outcome.
type Held uint8

// The three answers. A bound ('deeper than 30') leaves it open unless all that it
// allows lies on one side.
const (
	CannotTell Held = iota
	Inside
	Outside
)

// String is the answer in words.
func (h Held) String() string {
	switch h {
	case Inside:
		return "inside"
	case Outside:
		return "outside"
	}
	return "cannot tell"
}

// Judgement is how one forecast did against what was found.
type Judgement struct {
	Held Held
	// RankLow and RankHigh are the ranks between which the outcome lies in the
	// distribution, 0 below every value and 1 above. They differ for a bound, and
	// for a value in a block of equal ones; RankKnown is true for a value.
	RankLow, RankHigh float64
	RankKnown         bool
	// CRPS is as in CRPSOf, in the unit of the observations.
	CRPS float64
	// Width is the width of the range, in the unit of the observations; +Inf when
	// its upper end is unknown.
	Width float64
}

// Judge scores a distribution, with its Range80, against what was found: a value
// or a bound. The sample's weight is not read. The distribution must not be
// empty: else all numbers are NaN and Held is CannotTell.
func (d *Distribution) Judge(found Sample) Judgement {
	low, high := d.rankLow, d.rankHigh
	if low == 0 && high == 0 {
		low, high = 0.1, 0.9
	}
	return judge(d, found, low, high)
}

func judge(d *Distribution, y Sample, low, high float64) Judgement {
	if d.Empty() {
		nan := math.NaN()
		return Judgement{RankLow: nan, RankHigh: nan, CRPS: nan, Width: nan}
	}
	r := rankOf(d, y)
	j := Judgement{
		RankLow: r.lo, RankHigh: r.hi, RankKnown: r.known,
		CRPS: d.CRPSOf(y), Width: d.RangeAt(low, high).Width(),
	}
	switch {
	case r.hi < low || r.lo > high:
		j.Held = Outside
	case r.known && r.lo <= high && r.hi >= low, r.lo >= low && r.hi <= high:
		j.Held = Inside
	}
	return j
}

func (j *Judgement) pair() rankPair {
	return rankPair{lo: j.RankLow, hi: j.RankHigh, known: j.RankKnown}
}
