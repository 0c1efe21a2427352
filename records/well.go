package records

// Well is the record of one hole in the ground, the works done to it and what
// was observed in it. It is what a form edits, what a GeoJSON feature carries
// and what a revision keeps whole.
type Well struct {
	ID       int64  // key inside this database; 0 before the first write
	Revision int64  // counts this record's writes, from 1
	UID      string // the public name (a UUID), the same in every copy

	Number       string // the office's own well number
	PermitNumber string
	Status       string // see StatusWords
	Purpose      string // see PurposeWords
	Yields       *bool  // whether the well counts for yield; nil: by its purpose

	Place   Place
	Owner   Person // private
	Crew    Crew
	Setting string // topographic setting, see SettingWords
	Rock    string // rock unit, as mapped or named by the office
	LandUse string

	Started   Date
	Completed Date
	Shifts    []Shift

	TotalDepth     Amount[Depth] // drilled
	CompletedDepth Amount[Depth] // left open or fitted
	Bedrock        Amount[Depth] // depth to bedrock as stated by the driller
	StopReason     string        // why drilling stopped, see StopWords

	Works     []Work
	Bores     []Bore
	Casing    []Casing
	Screens   []Screen
	Grout     []Grout
	Strata    []Stratum
	StrikesAs string // whether strikes are gains or running totals, see StrikeWords
	Strikes   []Strike

	StaticLevel  Amount[Depth] // the level the record stands for; negative for a flowing well
	StaticLevels []Level       // the series
	Yield        Amount[Flow]  // the final yield
	YieldMethod  string        // see YieldMethodWords
	YieldTests   []YieldTest
	Quality      []Analysis
	Treatments   []Treatment
	Rods         []Rod
	Finish       Finish
	Pump         Pump

	OwnPicks   []OwnPick // a consultant's own, beside the driller's
	Unreliable []Doubt   // what of the log is not to be relied on

	Attachments []Attachment
	Remarks     string
	Provenance  Provenance

	// Plates are the plates now linked to this well, filled in on reading.
	// Linking is a decision of its own: see Plate.
	Plates []Plate

	// Extra are properties of the file it came from that the model has no
	// place for, kept verbatim and given back on export.
	Extra []Member
}

// Member is one property kept verbatim: its name and its JSON text.
type Member struct {
	Name string
	JSON string
}

// Kept are the properties of one part of a record that the model has no place
// for, kept verbatim and given back on export.
type Kept struct{ Extra []Member }

func (k *Kept) kept() *[]Member { return &k.Extra }

// Place says where the hole is, as given and as understood.
type Place struct {
	Located     bool    // whether Lon and Lat hold a position
	Lon, Lat    float64 // degrees, WGS 84
	LonText     string  // the longitude's digits as a file gave them, or ""
	LatText     string
	Given       string // the coordinates as given, in any form
	Datum       string // the datum they were given in
	Method      string // how located, see LocatedWords
	Accuracy    Amount[Length]
	Elevation   Amount[Height] // of the ground
	VertDatum   string         // the vertical datum of Elevation
	Parcel      string
	Address     string // of the hole; private
	AccessNotes string
}

// Person is somebody with a private life: shown only to those who may see.
type Person struct {
	Name      string
	Address   string
	Telephone string

	Kept
}

// Crew is who did the work.
type Crew struct {
	Driller string
	Licence string
	Firm    string
	Rig     string
	Helper  string

	Kept
}

// Shift is one day of work when a hole took more than one.
type Shift struct {
	Date Date
	From Amount[Depth]
	To   Amount[Depth]
	Note string

	Kept
}

// Work is one thing done to the hole, with its own firm, permit and report.
type Work struct {
	Kind         string // see WorkWords
	Firm         string
	PermitNumber string
	Started      Date
	Completed    Date
	TotalDepth   Amount[Depth] // as left by this work
	Yield        Amount[Flow]  // as left by this work
	Report       string
	Note         string

	Kept
}

// Bore is an interval of hole of one diameter.
type Bore struct {
	From, To Amount[Depth]
	Diameter Amount[Diameter]
	Method   string // see DrillWords

	Kept
}

// Casing is an interval of casing; From is negative for a stick-up.
type Casing struct {
	From, To     Amount[Depth]
	Material     string // see CasingWords
	Diameter     Amount[Diameter]
	OutsideDia   Amount[Diameter]
	Wall         Amount[Diameter] // wall thickness, millimetres
	Schedule     string
	Joint        string
	DriveShoe    *bool
	SocketToRock Amount[Length] // length set into sound rock

	Kept
}

// Screen is an interval that lets water in.
type Screen struct {
	From, To Amount[Depth]
	Diameter Amount[Diameter]
	Slot     Amount[Diameter] // slot width, millimetres
	Material string

	Kept
}

// Grout is an interval of seal between the casing and the ground.
type Grout struct {
	From, To  Amount[Depth]
	Material  string // see GroutWords
	Method    string
	Placed    Amount[Volume]
	Planned   Amount[Volume]
	ToppedUp  Amount[Volume]
	Witnessed string // by whom, when

	Kept
}

// Stratum is an interval of ground as logged. Top and Bottom are depths from
// ground; what lies between two strata that do not touch was not logged.
type Stratum struct {
	Top, Bottom Amount[Depth]
	Description string // verbatim
	Material    string // code of the vocabulary; "" until read from Description
	Color       string
	Hardness    string
	Weathering  string
	Water       string // what was said of water here

	Kept
}

// Strike is a depth at which water came.
type Strike struct {
	Depth Amount[Depth]
	Flow  Amount[Flow] // gain or running total, as Well.StrikesAs says
	Note  string

	Kept
}

// Level is one reading of the static water level.
type Level struct {
	Date   Date
	Depth  Amount[Depth]   // negative above ground
	From   string          // the measuring point
	AtRest Amount[Minutes] // how long the well had not been pumped
	Method string

	Kept
}

// YieldTest is one test of what the well gives.
type YieldTest struct {
	Date      Date
	Method    string // see YieldMethodWords
	Duration  Amount[Minutes]
	Measured  Amount[Flow]
	Injected  Amount[Flow] // water the rig put in
	Net       Amount[Flow] // as stated
	Before    Amount[Depth]
	Drawdown  Amount[Length]
	Steadied  *bool // whether the level had steadied
	PumpDepth Amount[Depth]
	Note      string

	Kept
}

// Analysis is one result of water quality.
type Analysis struct {
	Date    Date
	Kind    string // hardness, iron, ph, conductivity, bacteria…
	Value   Amount[Pure]
	Unit    string // mg/L, uS/cm…
	Method  string
	Lab     string
	InField *bool

	Kept
}

// Treatment is development, disinfection or hydrofracture.
type Treatment struct {
	Kind        string // see TreatmentWords
	Date        Date
	From, To    Amount[Depth]
	Pressure    Amount[Pressure]
	YieldBefore Amount[Flow]
	YieldAfter  Amount[Flow]
	Product     string
	Strength    string
	Amount      string
	Contact     Amount[Minutes]
	Duration    Amount[Minutes]
	Note        string

	Kept
}

// Rod is one rod drilled: from, to, the minutes it took, and a remark.
type Rod struct {
	Number   int
	From, To Amount[Depth]
	Time     Amount[Minutes]
	Remark   string

	Kept
}

// Finish is how the well was left at the surface.
type Finish struct {
	Cap       string
	Liner     string
	Pitless   string
	StickUp   Amount[Length]
	Inspector string
	Inspected Date
	Result    string
	Ties      string // distances to fixed points

	Kept
}

// Pump is the pump as set.
type Pump struct {
	SetDepth Amount[Depth]
	Type     string
	Power    Amount[Power]

	Kept
}

// Attachment is a scanned log, a photograph or a document, known by the
// SHA-256 of its content.
type Attachment struct {
	Name   string
	Kind   string // media type
	SHA256 string
	Note   string

	Kept
}

// Provenance says where the record came from.
type Provenance struct {
	Source   string // own_log, plate_only, batch; see SourceWords
	Batch    int64  // the intake it came in, 0 for none
	Row      int64  // its row there, from 1
	SourceID string // its identifier there, as JSON text, to be given back
	Note     string
}

// CountsForYield says whether the well belongs in distributions of yield:
// monitoring, geothermal and dug holes do not, unless the record says so.
func (w *Well) CountsForYield() bool {
	if w.Yields != nil {
		return *w.Yields
	}
	switch w.Purpose {
	case "monitoring", "geothermal", "dewatering", "injection":
		return false
	}
	for _, b := range w.Bores {
		if b.Method == "dug" {
			return false
		}
	}
	return true
}

// FirstDrilled gives total depth and yield as the hole was first drilled:
// what estimates read, so that a hole deepened or fractured later counts once
// and as it was found. Where later works changed one of them and nobody wrote
// what it was before, it is missing.
func (w *Well) FirstDrilled() (Amount[Depth], Amount[Flow]) {
	depth, yield := w.TotalDepth, w.Yield
	for i := range w.Treatments {
		if t := &w.Treatments[i]; t.Kind == "hydrofracture" {
			yield = t.YieldBefore
			break
		}
	}
	if len(w.Works) < 2 || w.Works[0].Kind != "drill" {
		return depth, yield
	}
	for i := range w.Works[1:] {
		switch w.Works[1+i].Kind {
		case "redrill", "deepen":
			depth, yield = Amount[Depth]{}, Amount[Flow]{}
		case "hydrofracture":
			yield = Amount[Flow]{}
		case "rehabilitate":
			if w.Works[1+i].Yield.Known() {
				yield = Amount[Flow]{}
			}
		}
	}
	first := &w.Works[0]
	if first.TotalDepth.Known() {
		depth = first.TotalDepth
	}
	if first.Yield.Known() {
		yield = first.Yield
	}
	return depth, yield
}

// LastLogged is the deepest bottom among the strata, and whether there is any.
func (w *Well) LastLogged() (Depth, bool) {
	var deepest Depth
	found := false
	for _, s := range w.Strata {
		if b, ok := s.Bottom.Number(); ok && (!found || b > deepest) {
			deepest, found = b, true
		}
	}
	return deepest, found
}

// CasingSeat is the depth of the lowest end of casing, and whether there is
// any casing.
func (w *Well) CasingSeat() (Depth, bool) {
	var seat Depth
	found := false
	for _, c := range w.Casing {
		if b, ok := c.To.Number(); ok && (!found || b > seat) {
			seat, found = b, true
		}
	}
	return seat, found
}
