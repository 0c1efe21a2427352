package lithology

import "fmt"

// Kind says what a span of the text contributed to a reading.
type Kind uint8

// The kinds of words. Those up to KindAsAbove can be met in Reading.Words;
// the rest only steer the reading and are not reported.
const (
	KindMaterial   Kind = iota + 1 // names a ground: "clay"
	KindAdjective                  // adds some of a ground: "sandy"
	KindColour                     // "brn"
	KindShade                      // "light", "dark"
	KindMunsell                    // "10YR 4/3"
	KindHardness                   // "stiff"
	KindWeathering                 // "rotten"
	KindDegree                     // how much: "slightly", "very"
	KindWater                      // "wet", "3 gpm"
	KindSize                       // "fine", "coarse"
	KindFracture                   // "broken"
	KindCemented                   // "cemented"
	KindLoose                      // loose pieces: "fragments"
	KindSecondary                  // what follows is the lesser part: "with", "some"
	KindMajor                      // what follows is the greater part: "mostly"
	KindNegation                   // "no", "without"
	KindNot                        // "not"
	KindDoubt                      // "possible", "?"
	KindAmbiguous                  // could be several things: "gr"
	KindNotLogged                  // says that nothing was seen: "no sample"
	KindAsAbove                    // refers to the stratum above: "same"

	kindAnd        // joins equals: "and", "&"
	kindIn         // what follows is the host: "in"
	kindTo         // a range or a contact: "to", "above"
	kindBut        // ends a negation
	kindForm       // a shape, singular: "seam"
	kindFormPlural // a shape, plural: "seams"
	kindFiller     // says nothing for the reading
)

var kindNames = [...]string{
	KindMaterial: "material", KindAdjective: "adjective", KindColour: "colour",
	KindShade: "shade", KindMunsell: "Munsell colour", KindHardness: "hardness",
	KindWeathering: "weathering", KindDegree: "degree", KindWater: "water",
	KindSize: "grain size", KindFracture: "fracture", KindCemented: "cement",
	KindLoose: "loose pieces", KindSecondary: "lesser part", KindMajor: "greater part",
	KindNegation: "negation", KindNot: "negation", KindDoubt: "doubt",
	KindAmbiguous: "ambiguous", KindNotLogged: "not logged", KindAsAbove: "as above",
}

// String gives a plain English name of the kind.
func (k Kind) String() string {
	if int(k) < len(kindNames) && kindNames[k] != "" {
		return kindNames[k]
	}
	return fmt.Sprintf("kind(%d)", uint8(k))
}

// Hardness is how hard the ground drilled or felt, in the driller's scale. For
// loose ground it is the consistence (soft or loose, stiff or dense).
type Hardness uint8

// The driller's scale of hardness.
const (
	HardnessNotStated Hardness = iota
	VerySoft
	Soft
	MediumHard
	Hard
	VeryHard
)

var hardnessNames = [...]string{"", "very soft", "soft", "medium hard", "hard", "very hard"}

// String gives the name, or "" when not stated.
func (h Hardness) String() string {
	if int(h) < len(hardnessNames) {
		return hardnessNames[h]
	}
	return fmt.Sprintf("hardness(%d)", uint8(h))
}

// Weathering is the degree of weathering. The values 1 to 6 are the grades I
// to VI of the ISRM table (fresh I … residual soil VI); EN ISO 14689-1 numbers
// the same six terms from 0 to 5, so a number without its scheme means
// nothing.
type Weathering uint8

// The grades, and WeatheredUnstated for plain "weathered" with no degree.
const (
	WeatheringNotStated Weathering = iota
	Fresh                          // grade I
	SlightlyWeathered              // grade II
	ModeratelyWeathered            // grade III
	HighlyWeathered                // grade IV
	CompletelyWeathered            // grade V
	ResidualSoil                   // grade VI
	WeatheredUnstated
)

var weatheringNames = [...]string{"", "fresh", "slightly weathered", "moderately weathered",
	"highly weathered", "completely weathered", "residual soil", "weathered, degree not stated"}

// String gives the term, or "" when not stated.
func (w Weathering) String() string {
	if int(w) < len(weatheringNames) {
		return weatheringNames[w]
	}
	return fmt.Sprintf("weathering(%d)", uint8(w))
}

// softens reports whether rock so weathered no longer counts as rock. Grades
// IV and up do (the boundary III/IV is often taken as rock-like against
// soil-like behaviour); plain "weathered" does too, since a driller writes it
// of rock that is not sound.
func (w Weathering) softens() bool { return w >= HighlyWeathered }

// Water is what the words say of water in the ground.
type Water uint8

// The states of water.
const (
	WaterNotStated Water = iota
	WaterNone            // said to be dry or without water
	WaterDamp            // damp, moist
	WaterBearing         // wet, saturated, water met
)

var waterNames = [...]string{"", "no water", "damp", "water-bearing"}

// String gives the name, or "" when not stated.
func (w Water) String() string {
	if int(w) < len(waterNames) {
		return waterNames[w]
	}
	return fmt.Sprintf("water(%d)", uint8(w))
}
