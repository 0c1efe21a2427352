package predict

import "math"

// Bound says what a reported number is: the value itself, or a limit on it.
type Bound uint8

// The kinds of number that a record can hold.
const (
	// Exact is a value ('about' counts as exact).
	Exact Bound = iota
	// LessThan is an upper limit: the value lies in [0, number).
	LessThan
	// GreaterThan is a lower limit: the value lies above the number, as when a
	// hole stopped before bedrock, or a pump could not draw a well down.
	GreaterThan
	// Between is both: the value lies in [number, high].
	Between
)

// String names the bound as people write it.
func (b Bound) String() string {
	switch b {
	case Exact:
		return "exact"
	case LessThan:
		return "less than"
	case GreaterThan:
		return "greater than"
	case Between:
		return "between"
	}
	return "unknown bound"
}

// Sample is one weighted observation of a non-negative quantity.
type Sample struct {
	// Value is the value, or the limit that Bound speaks of (the lower one when
	// Bound is Between).
	Value float64
	// High is the upper limit, read only when Bound is Between.
	High float64
	// Bound says what Value is.
	Bound Bound
	// Weight is how much the observation counts; it must be finite and not
	// negative. A weight of zero is as good as absent.
	Weight float64
}

func (s Sample) valid() bool {
	if !(s.Weight >= 0) || math.IsInf(s.Weight, 0) {
		return false
	}
	if !(s.Value >= 0) || math.IsInf(s.Value, 0) {
		return false
	}
	switch s.Bound {
	case Exact, GreaterThan:
		return true
	case LessThan:
		return s.Value > 0 // nothing is less than zero
	case Between:
		return s.High >= s.Value && !math.IsInf(s.High, 0)
	}
	return false
}
