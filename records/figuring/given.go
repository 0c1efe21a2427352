package figuring

import (
	"math"

	"tallybook/records"
)

// The most that is believed of an input: beyond it the unit is wrong, or a
// digit too many was typed. Ours, no source; far beyond any water well.
const (
	mostDiameterMM = 10_000
	mostLengthM    = 15_000
	mostFlowLps    = 10_000
	mostVolumeL    = 1e9
	mostMinutes    = 366 * 1440
	mostMassKg     = 1e6
)

func bad(field, format string, args ...any) error {
	e := records.Errorf(records.Invalid, format, args...)
	e.Field = field
	return e
}

// within refuses what is not a number, what is below the least (or on it, if
// beyondLeast) and what is above the most.
func within(field, what string, v, least, most float64, beyondLeast bool) error {
	switch {
	case math.IsNaN(v):
		return bad(field, "%s is not a number: give one", what)
	case v < least && least == 0:
		return bad(field, "%s is below zero: give it without the minus sign", what)
	case v < least || beyondLeast && v == least:
		return bad(field, "%s is too small: give a figure above %g", what, least)
	case v > most:
		return bad(field, "%s is larger than any water well's: look at the figure and its unit", what)
	}
	return nil
}

func someDiameter(field, what string, d records.Diameter) error {
	return within(field, what, float64(d), 0, mostDiameterMM, true)
}

func anyLength(field, what string, l records.Length) error {
	return within(field, what, float64(l), 0, mostLengthM, false)
}

func someLength(field, what string, l records.Length) error {
	return within(field, what, float64(l), 0, mostLengthM, true)
}

func anyDepth(field, what string, d records.Depth) error {
	return within(field, what, float64(d), -mostLengthM, mostLengthM, false)
}

func anyFlow(field, what string, q records.Flow) error {
	return within(field, what, float64(q), 0, mostFlowLps, false)
}

func anyVolume(field, what string, v records.Volume) error {
	return within(field, what, float64(v), 0, mostVolumeL, false)
}

func someMinutes(field, what string, t records.Minutes) error {
	return within(field, what, float64(t), 0, mostMinutes, true)
}

// firstOf gives the first error that is one.
func firstOf(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// wholeUp rounds up to whole pieces: what is whole but for the last digits of
// a float64 stays as it is.
func wholeUp(pieces float64) int { return int(math.Ceil(pieces - 1e-9*math.Max(1, pieces))) }
