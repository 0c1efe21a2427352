package predict

import "math"

// Range is an interval that should hold a stated share of outcomes.
type Range struct {
	// Low and High are its ends.
	Low, High float64
	// AtLeastHigh says that High is only a limit that the true end lies above
	// ('more than High').
	AtLeastHigh bool
	// AtMostLow says that Low is only a limit that the true end lies below
	// ('less than Low').
	AtMostLow bool
}

// Width is High - Low; +Inf when the upper end is unknown.
func (r Range) Width() float64 {
	if r.AtLeastHigh {
		return math.Inf(1)
	}
	if r.AtMostLow {
		return r.High // down to zero
	}
	return r.High - r.Low
}

// Contains reports whether y lies in the range, ends included, open where the
// range says 'more than' or 'less than'.
func (r Range) Contains(y float64) bool {
	return (y >= r.Low || r.AtMostLow) && (y <= r.High || r.AtLeastHigh)
}

// Range80 is the range that held eight outcomes in ten when the method was
// tried on wells that it was not shown. A distribution that no model calibrated
// gives its plain 10 % and 90 % quantiles.
func (d *Distribution) Range80() Range {
	return d.RangeAt(d.Ranks())
}

// RangeAt is the range between two quantiles, saying where an end is only a
// limit.
func (d *Distribution) RangeAt(low, high float64) Range {
	r := Range{Low: d.Quantile(low), High: d.Quantile(high)}
	if math.IsInf(r.Low, 1) {
		r.Low = d.upperFrom
	}
	if math.IsInf(r.High, 1) {
		r.High, r.AtLeastHigh = d.upperFrom, true
	}
	if d.lowerShare > 0 && low <= d.lowerShare {
		r.Low, r.AtMostLow = d.lowerTo, true
		r.High = max(r.High, r.Low)
	}
	return r
}

// Ranks are the two quantiles of Range80: those set by trial, else 0.1 and 0.9.
func (d *Distribution) Ranks() (low, high float64) {
	if d.rankLow == 0 && d.rankHigh == 0 {
		return 0.1, 0.9
	}
	return d.rankLow, d.rankHigh
}

// WithRanks returns the distribution with other ranks for its Range80.
func (d Distribution) WithRanks(low, high float64) Distribution {
	d.rankLow, d.rankHigh = low, high
	return d
}
