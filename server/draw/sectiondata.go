package draw

// SectionData is the ground along a line as Section draws it. Lengths are
// metres; NaN is not told.
type SectionData struct {
	LengthM  float64
	From, To SectionEnd
	Bends    []SectionBend
	Wells    []SectionWell // along the line
	Stations []SectionStation
	// ByDepth hangs all on the ground: elevations are then not used.
	ByDepth bool
	// Datum is the vertical datum that all elevations share, "" for none.
	Datum string
	// Times is how many times as high as long it is drawn; 0: chosen.
	Times float64
	// TrustMarked says that what is marked unreliable was gone by all the same:
	// it is then not drawn pale.
	TrustMarked bool
	// Estimated says whether bedrock was estimated at all: where it was, ground
	// without an estimate is hatched.
	Estimated bool
	WidthM    float64 // of the corridor
}

// SectionEnd is one end of the line.
type SectionEnd struct {
	Name  string // A
	Place string // its coordinates in words
	Deg   float64
}

// SectionBend is a bend of the line.
type SectionBend struct {
	AlongM float64
	Deg    float64 // the direction in which the line goes on
}

// SectionWell is a well put onto the line.
type SectionWell struct {
	ColumnData
	AlongM  float64
	OffM    float64 // from the line, not negative
	OffDeg  float64 // the direction from the line to the well
	Beyond  string  // the end that it stands behind, "" beside the line
	GroundM float64
	// GroundRead says that the record has no elevation: GroundM is read from a
	// grid or between other wells.
	GroundRead bool
}

// SectionStation is what is told of the ground at one place along the line:
// elevation of the ground, and the range of the depth to bedrock.
type SectionStation struct {
	AlongM, GroundM      float64
	GroundRead           bool    // GroundM is read between wells, and not from a grid: drawn broken
	LowM, MiddleM, HighM float64 // HighM may be +Inf: no more than 'deeper than' is known
	Flat                 bool    // the wells tell no more than the area
}
