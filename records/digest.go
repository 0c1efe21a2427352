package records

import "math"

// Digest is what maps, surfaces and scouting need of one well: derived once
// from a record and a vocabulary, cached beside the record, and held in
// memory by the million.
type Digest struct {
	ID       int64
	Revision int64
	Key      uint64 // from the UID; breaks ties everywhere

	Lon, Lat  float64 // degrees, WGS 84; NaN where not located
	AccuracyM float32 // 0: unknown

	Bedrock    DigestValue // depth to sound bedrock, m
	Yield      DigestValue // L/s, as first drilled; Missing where it does not count
	TotalDepth DigestValue // m, as first drilled
	FirstRockM float32     // NaN: none
	CasingM    float32     // casing seat, m; NaN: none
	StaticM    float32     // NaN: unknown
	GroundM    float32     // ground elevation, m; NaN: unknown

	Year      float32    // decimal year completed; 0: unknown
	Purpose   uint8      // position in PurposeWords + 1; 0: none or another word
	Setting   uint8      // position in SettingWords + 1; 0: none or another word
	Rock      uint16     // code of the rock unit in this database; 0: none
	Materials uint64     // bit per material met
	StrikesM  [3]float32 // depths of the first water strikes, m; NaN: none
	Flags     DigestFlags

	Own []DigestPick // own picks of bedrock, few wells have any; see HasOwnBedrock
}

// DigestPick is an own pick of bedrock in one set, m.
type DigestPick struct {
	Set   string
	Depth DigestValue
}

// DigestValue is an amount in base units.
type DigestValue struct {
	Value, High float64
	Qualifier   Qualifier
}

// DigestFlags are yes-or-no facts of a well.
type DigestFlags uint8

// The flags.
const (
	HasPlate DigestFlags = 1 << iota
	HasStrata
	PicksDisagree
	StrataUnreliable // marked so: strata and bedrock
	YieldUnreliable
	PositionUnreliable
	HasOwnBedrock

	AnyUnreliable = StrataUnreliable | YieldUnreliable | PositionUnreliable
)

// NaN32 marks a missing float32 of a Digest.
func NaN32() float32 { return float32(math.NaN()) }

// WordIndex gives a word's place in a list plus one, and 0 when it is not
// there.
func WordIndex(list []string, word string) uint8 {
	for i, w := range list {
		if w == word {
			return uint8(i + 1)
		}
	}
	return 0
}
