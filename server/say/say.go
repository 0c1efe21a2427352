// Package say puts quantities of a record into figures and words, in the
// reader's units: '~62 ft', '1½ gpm', 'deeper than 100 ft'. Pages, drawings
// and the command line say the same thing the same way by it.
//
// It rounds for reading and never for computing, and it does not give back
// what was entered to the digit: that is records.Given.
package say

import (
	"math"
	"strconv"
	"strings"

	"tallybook/records"
)

// System is the reader's choice of units.
type System uint8

// The systems. US is feet, inches, gallons, gallons a minute; SI is metres,
// millimetres, litres, litres a minute (a domestic well in litres a second
// would be all noughts).
const (
	US System = iota
	SI
)

// String gives the system's word, as used in URLs and settings.
func (s System) String() string {
	if s == SI {
		return "si"
	}
	return "us"
}

// Parse reads the words that String writes.
func Parse(t string) (System, bool) {
	switch t {
	case "us":
		return US, true
	case "si":
		return SI, true
	}
	return US, false
}

// LengthUnit is the unit of depths, lengths and elevations.
func (s System) LengthUnit() records.Unit { return pick(s, records.Foot, records.Metre) }

// FlowUnit is the unit of yields and strikes.
func (s System) FlowUnit() records.Unit {
	return pick(s, records.GallonPerMinute, records.LitrePerMinute)
}

// DiameterUnit is the unit of diameters and slots.
func (s System) DiameterUnit() records.Unit {
	return pick(s, records.InchDiameter, records.Millimetre)
}

// VolumeUnit is the unit of volumes.
func (s System) VolumeUnit() records.Unit { return pick(s, records.Gallon, records.Litre) }

func pick(s System, us, si records.Unit) records.Unit {
	if s == SI {
		return si
	}
	return us
}

// Figure writes a number with at most the given decimals, without trailing
// noughts, with its thousands parted: by a comma in US style, by a narrow
// space in SI and only from five digits on. A number that is not finite is
// written '–', one beyond a thousand million as a power of ten: no record
// means it, and nobody reads it.
func (s System) Figure(v float64, decimals int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "–"
	}
	if math.Abs(v) >= 1e9 {
		return strings.Replace(strconv.FormatFloat(v, 'e', 2, 64), "-", "−", 1)
	}
	t := strconv.FormatFloat(math.Abs(v), 'f', decimals, 64)
	whole, frac, _ := strings.Cut(t, ".")
	frac = strings.TrimRight(frac, "0")
	var b strings.Builder
	if v < 0 && (strings.Trim(whole, "0") != "" || frac != "") {
		b.WriteString("−")
	}
	sep := ","
	if s == SI {
		sep = "\u202f"
	}
	if len(whole) < 4 || s == SI && len(whole) < 5 {
		b.WriteString(whole)
	} else {
		lead := len(whole) % 3
		b.WriteString(whole[:lead])
		for i := lead; i < len(whole); i += 3 {
			if i > 0 {
				b.WriteString(sep)
			}
			b.WriteString(whole[i : i+3])
		}
	}
	if frac != "" {
		b.WriteByte('.')
		b.WriteString(frac)
	}
	return b.String()
}

// LengthFigure is a length given in metres as a figure of the reader's unit,
// without the unit: whole where it is within a twentieth of a whole number,
// else to a tenth.
func (s System) LengthFigure(metres float64) string {
	return s.Figure(s.LengthUnit().FromBase(metres), 1)
}

// FlowFigure is a flow given in litres a second as a figure of the reader's
// unit, without the unit. Gallons are written with ¼, ½ and ¾ where they are
// that to a hundredth; small flows keep two significant digits, large ones
// are whole.
func (s System) FlowFigure(lps float64) string {
	v := s.FlowUnit().FromBase(lps)
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "–"
	}
	if s == US && v > 0.2 && v < 50 {
		q := math.Round(v * 4)
		if math.Abs(v-q/4) < 0.01 {
			whole, part := math.Floor(q/4), int(math.Mod(q, 4))
			frac := [...]string{"", "¼", "½", "¾"}[part]
			if whole == 0 {
				return frac
			}
			return s.Figure(whole, 0) + frac
		}
	}
	switch a := math.Abs(v); {
	case a >= 99.5:
		return s.Figure(v, 0)
	case a >= 0.95:
		return s.Figure(v, 1)
	case a == 0:
		return "0"
	default:
		return s.Figure(v, min(1-int(math.Floor(math.Log10(a))), 6))
	}
}

// DiameterFigure is a diameter given in millimetres as a figure of the
// reader's unit, without the unit. Inches are written with eighths where they
// are that to a hundredth, as pipe is sold.
func (s System) DiameterFigure(mm float64) string {
	if s == SI {
		if math.Abs(mm) < 10 {
			return s.Figure(mm, 2)
		}
		return s.Figure(mm, 0)
	}
	v := mm / 25.4
	e := math.Round(v * 8)
	if v >= 0.99 && v < 1000 && math.Abs(v-e/8) < 0.01 {
		return s.Figure(math.Floor(e/8), 0) + [...]string{"", "⅛", "¼", "⅜", "½", "⅝", "¾", "⅞"}[int(math.Mod(e, 8))]
	}
	if math.Abs(v) < 1 {
		return s.Figure(v, 3)
	}
	return s.Figure(v, 1)
}
