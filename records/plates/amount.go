package plates

import (
	"math"
	"strconv"

	"tallybook/records"
)

const missing = 15 // linkage.Missing

// Levels of lengths: depth, casing, pump, water level.
const (
	lengthEqual = iota
	lengthNear
	lengthClose
	lengthSlip
	lengthUnit
	lengthDiffers
)

// tolerance says what is near and what is close: whichever is more of a share
// and of metres.
type tolerance struct{ nearShare, nearM, closeShare, closeM float64 }

// Two feet are the stick-up of a casing, from which some measure; five feet
// and five in a hundred are what drillers round to.
var (
	depthTolerance  = tolerance{0.01, 0.61, 0.05, 1.524}
	casingTolerance = tolerance{0.02, 0.61, 0.10, 1.524}
	pumpTolerance   = tolerance{0.02, 0.61, 0.08, 3.1}
	staticTolerance = tolerance{0.05, 0.61, 0.30, 3.1} // it comes and goes with the seasons
)

const metresPerFoot = 0.3048

// sameM is half a foot and a little: figures that round to the same foot.
const sameM = 0.16

func compareLengths(a, b records.DigestValue, t tolerance) int {
	if a.Qualifier == records.Missing || b.Qualifier == records.Missing {
		return missing
	}
	if a.Qualifier.IsBound() || b.Qualifier.IsBound() {
		return compareBounds(a, b, lengthEqual, lengthClose, lengthDiffers)
	}
	d, most := math.Abs(a.Value-b.Value), math.Max(math.Abs(a.Value), math.Abs(b.Value))
	switch {
	case d <= sameM:
		return lengthEqual
	case d <= math.Max(t.nearShare*most, t.nearM+0.01):
		return lengthNear
	case d <= math.Max(t.closeShare*most, t.closeM+0.01):
		return lengthClose
	case otherUnit(a.Value, b.Value, 1/metresPerFoot):
		return lengthUnit
	case slipOfDigit(a.Value/metresPerFoot, b.Value/metresPerFoot), slipOfDigit(a.Value, b.Value), otherUnit(a.Value, b.Value, 10):
		return lengthSlip
	}
	return lengthDiffers
}

// compareBounds: a bound says little, but can be contradicted.
func compareBounds(a, b records.DigestValue, equal, fits, differs int) int {
	if a.Qualifier == b.Qualifier && math.Abs(a.Value-b.Value) <= 0.02*math.Abs(a.Value) {
		return equal
	}
	la, ha := interval(a)
	lb, hb := interval(b)
	if la <= hb*1.02 && lb <= ha*1.02 {
		return fits
	}
	return differs
}

func interval(v records.DigestValue) (low, high float64) {
	switch v.Qualifier {
	case records.LessThan:
		return math.Inf(-1), v.Value
	case records.GreaterThan:
		return v.Value, math.Inf(1)
	case records.Between:
		return v.Value, v.High
	}
	return v.Value, v.Value
}

// otherUnit says whether one is the other written in another unit, the ratio
// of which is given, rounded to a whole number or so.
func otherUnit(a, b, ratio float64) bool {
	if a <= 0 || b <= 0 {
		return false
	}
	r := math.Max(a, b) / math.Min(a, b)
	return math.Abs(r/ratio-1) < 0.012
}

// slipOfDigit says whether two whole numbers differ as figures do that were
// copied wrongly: one digit another, two neighbours exchanged, one left out.
// (A point that was lost or put in the wrong place is told by the ratio.)
func slipOfDigit(a, b float64) bool {
	ra, rb := math.Round(a), math.Round(b)
	if math.Abs(a-ra) > 0.06 || math.Abs(b-rb) > 0.06 || ra < 10 || rb < 10 || ra > 1e5 || rb > 1e5 {
		return false
	}
	var roomA, roomB [8]byte
	return compareKeys(strconv.AppendInt(roomA[:0], int64(ra), 10), strconv.AppendInt(roomB[:0], int64(rb), 10)) <= numberOneOff
}

// Levels of yields.
const (
	yieldEqual = iota
	yieldNear
	yieldBound
	yieldTwice
	yieldSlip
	yieldUnit
	yieldDiffers
)

// Litres a second in one gallon a minute, exact by definition of the gallon.
const gpm = 3.785411784 / 60

// What a flow in US gallons a minute is taken for: litres a second, litres a
// minute, cubic metres an hour, imperial gallons a minute.
var flowRatios = [...]float64{1 / gpm, 60 * gpm, 1 / (3.6 * gpm), 4.54609 / 3.785411784}

func compareYields(a, b records.DigestValue) int {
	if a.Qualifier == records.Missing || b.Qualifier == records.Missing {
		return missing
	}
	if a.Qualifier.IsBound() || b.Qualifier.IsBound() {
		return compareBounds(a, b, yieldEqual, yieldBound, yieldDiffers)
	}
	low, high := math.Min(a.Value, b.Value), math.Max(a.Value, b.Value)
	switch {
	case low < 0:
		return yieldDiffers
	case high-low <= 0.02*high:
		return yieldEqual
	case high <= 1.25*low+0.1*gpm, high <= 0.55*gpm:
		return yieldNear
	case high <= 2*low:
		return yieldTwice
	}
	for _, r := range flowRatios {
		if otherUnit(low, high, r) {
			return yieldUnit
		}
	}
	if slipOfDigit(low/gpm, high/gpm) || otherUnit(low, high, 10) {
		return yieldSlip
	}
	return yieldDiffers
}

// Levels of diameters.
const (
	diameterEqual = iota
	diameterNear
	diameterDiffers
)

// compareDiameters: a nominal six inches is 6 5/8 outside and 150 mm on paper.
func compareDiameters(a, b records.DigestValue) int {
	if a.Qualifier == records.Missing || b.Qualifier == records.Missing {
		return missing
	}
	d, most := math.Abs(a.Value-b.Value), math.Max(a.Value, b.Value)
	switch {
	case d <= 3:
		return diameterEqual
	case d <= 0.12*most:
		return diameterNear
	}
	return diameterDiffers
}
