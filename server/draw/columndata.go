package draw

import (
	"tallybook/records"
	"tallybook/records/lithology"
)

// deepestM bounds what is drawn. No hole has gone below 13 km; a depth beyond
// this is a slip of the pen and is listed in words instead of drawn.
const deepestM = 20000

// ColumnData is one well's log as the drawings show it. Depths are metres
// from ground, down; Amounts keep how a value is to be read. The zero value is
// an empty log and can be drawn.
type ColumnData struct {
	UID     string
	Number  string // the office's number, or another short name
	Year    int    // completed, 0 unknown
	Purpose string // in a person's words: "domestic", "public supply"

	TotalDepth records.Amount[records.Depth]
	Static     records.Amount[records.Depth]
	Yield      records.Amount[records.Flow]
	Dry        bool // a measured yield of nothing

	HasElevation bool
	ElevationM   float64 // of the ground
	VertDatum    string
	GroundFrom   string // the elevation grid that ElevationM was read from; "": the record

	HasPlace   bool    // whether DistanceM and BearingDeg hold
	DistanceM  float64 // from the site
	BearingDeg float64 // from the site, clockwise from north

	BottomM  float64 // the deepest thing drawn
	HoleM    float64 // the bottom of the hole
	Strata   []StratumView
	Gaps     []Span   // what was not logged between ground and the bottom
	Unplaced []string // the words of strata without usable depths
	Undrawn  []string // what else has no usable depths: "casing", "grout", "water met"…
	Casing   []CasingView
	Screens  []ScreenView
	Grout    []GroutView
	Bores    []BoreView
	Strikes  []StrikeView
	Rates    []RateView
	PumpM    records.Amount[records.Depth]

	FirstRock records.Pick
	Bedrock   records.Pick
	Disagree  bool           // the sources of the bedrock pick disagree
	Others    []records.Pick // what the other sources say, where they disagree

	Own    []OwnPickView // a consultant's own picks
	Marked []string      // what is marked unreliable, each with its reason
}

// Span is an interval of depth in metres.
type Span struct{ TopM, BottomM float64 }

// StratumView is one stratum as drawn.
type StratumView struct {
	Span
	TopAbout, BottomAbout bool   // the contact is gradational or guessed
	Code                  string // of the material
	Label                 string // of the material, for a person
	Class                 records.Class
	Words                 string // the driller's, verbatim
	More                  string // colour, hardness, weathering, water where recorded apart
}

// CasingView is one string of casing as drawn.
type CasingView struct {
	Span
	Diameter records.Amount[records.Diameter]
	Material string
	Shoe     bool
}

// ScreenView is one screen as drawn.
type ScreenView struct {
	Span
	Slot     records.Amount[records.Diameter]
	Material string
}

// GroutView is one interval of seal as drawn.
type GroutView struct {
	Span
	Material string
}

// BoreView is one interval of hole as drawn.
type BoreView struct {
	Span
	DiameterMM float64
}

// StrikeView is a depth at which water came.
type StrikeView struct {
	DepthM float64
	About  bool
	Flow   records.Amount[records.Flow]
	As     string // gain, running_total or ""
}

// RateView is the penetration rate of one rod.
type RateView struct {
	Span
	MPerMin float64
}

// Grounds reads the ground of a stratum and knows the materials' names.
// lithology.Vocabulary is one.
type Grounds interface {
	Ground(s *records.Stratum) records.Ground
	Material(code string) (lithology.Material, bool)
}
