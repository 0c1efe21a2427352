package draw

import "tallybook/geo/surface"

// MapData is everything that one map shows, placed in degrees and base units;
// Map turns it into a drawing.
type MapData struct {
	View  View
	Title string // what is shown, in one sentence, for those who cannot see it

	Surface *MapSurface // nil: none
	Layers  []MapLayer
	Hexes   []MapHex
	Wells   []MapWell
	Seen    []MapSeen // what was seen and is no well
	Cores   bool      // draw the wells as small cores, not as dots
	Other   bool      // the ground shows something else than the wells' values: those are drawn plain
	CoreM   float64
	Site    *MapSite
	// Track is the line of a section, degrees, with the names of its ends.
	Track     [][2]float64
	TrackEnds [2]string
	Area      *MapArea // nil: none
	Key       MapKey
	Metric    bool // scale bar and rings in metres; else in feet and miles
}

// MapSurface is a surface evaluated on a grid of pixels: x is the pixel's x
// and y is minus the pixel's y, so that rows run from the south as they do in
// package surface. Values are in the unit that is shown; NaN is unsupported
// ground, where nothing is claimed.
type MapSurface struct {
	Field     surface.Field
	Flat      []bool    // nodes where the wells say no more than the area; nil: nowhere
	Levels    []float64 // contours and edges of the bands, ascending
	Ramp      Ramp
	Contours  bool
	Label     func(level float64) string
	FlatWords string // written on the flat tint
	BareWords string // written where nothing is claimed
}

// MapLayer is a set of reference lines.
type MapLayer struct {
	Kind  string // road, stream, boundary, parcel, place, other
	Lines []MapLine
}

// MapLine is one line of a layer; Points are degrees.
type MapLine struct {
	Name   string
	Points [][2]float64
	Area   bool // closed and to be outlined
}

// MapHex is a cell of many wells, far out.
type MapHex struct {
	X, Y, R float64 // pixels: middle and circumradius
	Count   int
	Share   float64 // place of its median on the ramp, 0 to 1
	Known   bool    // whether it has a median
	Title   string
	Href    string
}

// MapWell is one well.
type MapWell struct {
	ID       int64
	Lon, Lat float64
	Label    string
	Title    string
	Href     string
	Share    float64 // place of its value on the ramp, 0 to 1
	Known    bool    // whether it has a value or a bound
	Bound    bool    // whether that is only a bound: drawn hollow
	Chosen   bool    // in the tray

	// For cores.
	DepthM   float64   // total depth; 0: unknown
	BedrockM float64   // where rock begins; below 0: nothing is known of it
	Deeper   bool      // bedrock only known to be deeper than BedrockM
	StrikesM []float64 // where water came
	Dry      bool
}

// MapSite is the place that was asked about.
type MapSite struct {
	Lon, Lat float64
	RingsM   []float64
	RingText []string
}

// MapKey is the legend.
type MapKey struct {
	Title   string
	Ramp    Ramp
	Colours int       // how many bands; 0: no scale is drawn
	Ends    [3]string // what stands under the scale: its ends and its middle
	Words   []string  // skill and what the signs mean
	Short   string    // instead of Words, on a small map
}
