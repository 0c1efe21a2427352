package scout

import (
	"cmp"
	"math"
	"slices"

	"tallybook/geo/position"
	"tallybook/records"
)

// Hazard is something that a well must keep away from.
type Hazard struct {
	Kind  string // see HazardWords; others are kept and have no rule unless the office names one
	Name  string
	Shape Shape
	// AccuracyM is how far off the shape may be; 0 where it was surveyed.
	AccuracyM float64
}

// OverheadLine is the kind of hazard that is never found far enough: what
// counts is the height of the mast and the reach of the rig, not a distance
// on a map.
const OverheadLine = "overhead_line"

const propertyLine = "property_line"

// HazardWords lists the kinds of hazards that the example tables know, and
// overhead lines.
func HazardWords() []string {
	return []string{
		"septic_tank", "leach_field", "seepage_pit", "cesspool", "sewer", propertyLine, "building", "road",
		"stream", "pond", "animal_yard", "manure", "fuel_tank", "chemical_store", "landfill", "cemetery", "salt_pile", OverheadLine,
	}
}

// LocalRule is a distance that the office's own table asks for.
type LocalRule struct {
	Kind       string // of hazard
	Distance   records.Amount[records.Length]
	Regulation string // "10 NYCRR Appendix 5-B, Table 1"
	Year       int    // of the text that was read; 0: not stated
	Note       string // "200 ft in coarse gravel"
}

// Verdict says how a hazard stands to the rules.
type Verdict uint8

// The verdicts. There is none that says 'safe'.
const (
	NoRule    Verdict = iota + 1 // the office's table says nothing of this kind
	FarEnough                    // as far as the rule asks, with both accuracies to spare
	TooNear                      // nearer than the rule asks
	Doubtful                     // far enough as drawn, but not if pin or hazard is off by its accuracy
	Look                         // an overhead line: to be looked at on the ground, always
)

var verdictWords = [...]string{NoRule: "no_rule", FarEnough: "far_enough", TooNear: "too_near", Doubtful: "doubtful", Look: "look"}

// String gives the verdict's word.
func (v Verdict) String() string {
	if int(v) < len(verdictWords) {
		return verdictWords[v]
	}
	return ""
}

// Setback is one hazard held against the rules.
type Setback struct {
	Hazard    Hazard
	DistanceM float64   // from the pin to its nearest part; 0 within an area
	Rule      LocalRule // the strictest that fits; zero where there is none
	Verdict   Verdict
	ShortM    float64 // by how much it is too near; 0 where it is not
	Caution   string
}

// Cautions of setbacks.
const (
	lineCaution = "Overhead lines kill without being touched. Go and look: mast height, reach and sag count, not the distance on a map. Ask the line's owner for the clearance and keep it with the mast up; have the line made dead where there is doubt."
	ruleCaution = "Measured on the map. The local authority's rule and a tape on the ground come first."
)

// CheckSetbacks holds every hazard against the office's rules, the nearest
// first. Distances are measured on the plane of the site. accuracyM is how far
// off the pin may be. Hazards without a position are left out and counted.
func CheckSetbacks(site position.LonLat, accuracyM float64, hazards []Hazard, rules []LocalRule) (setbacks []Setback, noPosition int) {
	plane := position.NewPlane(site)
	for _, h := range hazards {
		shape := h.Shape
		if h.Kind == propertyLine && shape.Kind == Areas {
			shape = shape.outline() // the well stands within its lot; its line is the hazard
		}
		d, ok := shape.distanceM(plane)
		if !ok {
			noPosition++
			continue
		}
		setbacks = append(setbacks, judge(h, d, accuracyM, rules))
	}
	slices.SortStableFunc(setbacks, func(a, b Setback) int { return cmp.Compare(a.DistanceM, b.DistanceM) })
	return setbacks, noPosition
}

func judge(h Hazard, distanceM, accuracyM float64, rules []LocalRule) Setback {
	s := Setback{Hazard: h, DistanceM: distanceM, Verdict: NoRule, Caution: ruleCaution}
	asked := 0.0
	for _, r := range rules {
		if d, ok := r.Distance.Number(); ok && r.Kind == h.Kind && float64(d) > asked {
			s.Rule, asked = r, float64(d)
		}
	}
	off := math.Hypot(clean(accuracyM), clean(h.AccuracyM))
	switch {
	case asked == 0:
	case distanceM < asked-setbackSlackM:
		s.Verdict, s.ShortM = TooNear, asked-distanceM
	case off > 0 && distanceM-off < asked:
		s.Verdict = Doubtful
	default:
		s.Verdict = FarEnough
	}
	if h.Kind == OverheadLine {
		s.Caution = lineCaution
		if s.Verdict != TooNear {
			s.Verdict = Look
		}
	}
	return s
}

// setbackSlackM forgives rounding between feet and metres, not a shortfall.
const setbackSlackM = 0.005

func clean(accuracyM float64) float64 {
	if !(accuracyM > 0) || math.IsInf(accuracyM, 1) {
		return 0
	}
	return accuracyM
}
