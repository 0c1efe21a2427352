package desk

import (
	"math"

	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/snapshot"
)

// Held says whether a range held the outcome.
type Held uint8

// The answers. An outcome that is only a bound may leave it open.
const (
	CannotTell Held = iota
	In
	Out
)

var heldWords = [...]string{CannotTell: "cannot tell", In: "in the range", Out: "outside the range"}

// String says it in words.
func (h Held) String() string {
	if int(h) < len(heldWords) {
		return heldWords[h]
	}
	return heldWords[CannotTell]
}

// QuantityScore holds what was expected of one quantity against what was
// found.
type QuantityScore struct {
	Name, Unit string
	Expected   predict.Distribution
	Found      records.DigestValue // in Unit
	Range      predict.Range       // the 80 % range
	Held       Held
	// CRPS is that of the forecast and AreaCRPS that of the area alone, in
	// Unit, over what is known of the outcome where that is a bound; NaN where
	// the area was not kept.
	CRPS, AreaCRPS float64
	// RankLow and RankHigh are the rank of the outcome in what was expected,
	// between 0 and 1: equal for a number, apart for a bound.
	RankLow, RankHigh float64
}

// ScoreQuantity scores one quantity. found must be known.
func ScoreQuantity(q *records.ForecastQuantity, found records.DigestValue) (QuantityScore, error) {
	s := QuantityScore{Name: q.Name, Unit: q.Unit, Found: found, AreaCRPS: math.NaN()}
	expected, area, err := distributionsOf(q)
	if err != nil {
		return s, err
	}
	sample := predict.Sample{Value: found.Value, High: found.High, Bound: snapshot.BoundOf(found.Qualifier)}
	s.Expected, s.Range = expected, expected.Range80()
	s.CRPS = expected.CRPSOf(sample)
	if !area.Empty() {
		s.AreaCRPS = area.CRPSOf(sample)
	}
	s.RankLow, s.RankHigh = expected.CDF(sample.Value), expected.CDF(sample.Value)
	switch sample.Bound {
	case predict.LessThan:
		s.RankLow = 0
	case predict.GreaterThan:
		s.RankHigh = 1
	case predict.Between:
		s.RankHigh = expected.CDF(sample.High)
	}
	s.Held = heldBy(s.Range, sample)
	return s, nil
}

// heldBy says whether a range holds an outcome, which may be a bound: in where
// the whole of what it allows lies in the range, out where nothing of it does.
func heldBy(r predict.Range, y predict.Sample) Held {
	low, high := r.Low, r.High
	if r.AtMostLow {
		low = 0
	}
	if r.AtLeastHigh {
		high = math.Inf(1)
	}
	within := func(from, to float64, never bool) Held {
		switch {
		case never:
			return Out
		case from >= low && to <= high:
			return In
		}
		return CannotTell
	}
	switch y.Bound {
	case predict.LessThan: // [0, value)
		return within(0, y.Value, y.Value <= low)
	case predict.GreaterThan: // (value, …)
		return within(y.Value, math.Inf(1), y.Value >= high)
	case predict.Between:
		return within(y.Value, y.High, y.High < low || y.Value > high)
	}
	if y.Value >= low && y.Value <= high {
		return In
	}
	return Out
}
