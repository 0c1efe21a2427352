package records

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"unicode/utf8"
)

// GroundGrid is a raster of ground elevations that the office has loaded, by
// what it says of itself; its heights are kept apart, in tiles. Nothing of it
// is an observation of a well: what is read from it is called derived, and
// names it.
type GroundGrid struct {
	ID       int64  `json:"-"` // key inside this database; 0 before the first write
	Revision int64  `json:"-"` // counts the writes, from 1
	UID      string `json:"-"`

	Name  string `json:"name"`  // as the office calls it
	State string `json:"state"` // see GroundStates

	Source string `json:"source"`           // the file's name
	SHA256 string `json:"sha256,omitempty"` // of the file, once it was read to its end
	Note   string `json:"note,omitempty"`   // whence it is, how old, what it may be used for

	// Where its cells lie: outer south-west corner and size, in the coordinates
	// of an EPSG code, metres or degrees.
	EPSG  int     `json:"epsg"`
	Datum string  `json:"datum"` // horizontal, as the file has it
	Cols  int     `json:"cols"`
	Rows  int     `json:"rows"`
	MinX  float64 `json:"min_x"`
	MinY  float64 `json:"min_y"`
	CellW float64 `json:"cell_w"`
	CellH float64 `json:"cell_h"`

	Unit      string `json:"unit"`       // of the heights, see GroundUnits
	VertDatum string `json:"vert_datum"` // their datum, as named; "" where nobody says

	// What was found in it.
	Filled int64   `json:"filled"` // cells with a height
	LowM   float64 `json:"low_m"`
	HighM  float64 `json:"high_m"`
	Bytes  int64   `json:"bytes"`  // that its tiles take
	CellM  float64 `json:"cell_m"` // how wide a cell is on the ground, in the middle, metres
	Bounds Bounds  `json:"bounds"` // degrees, WGS 84
}

// What may become of a grid.
const (
	GroundStaged = "staged"    // being loaded: nobody sees it
	GroundInUse  = "in_use"    // elevations are read from it
	GroundOut    = "taken_out" // no longer read, and still there to be put back
)

// GroundStates lists them.
func GroundStates() []string { return []string{GroundStaged, GroundInUse, GroundOut} }

// groundUnits are the units that heights come in, in metres: the metre, the
// international foot, and the foot of United States surveys, 1200/3937 m
// (National Bureau of Standards, Federal Register notice 59-5442).
var groundUnits = map[string]float64{"m": 1, "ft": 0.3048, "us-ft": 1200.0 / 3937}

// GroundUnits lists the units of heights.
func GroundUnits() []string { return []string{"m", "ft", "us-ft"} }

// UnitM is how many metres the unit of the heights has.
func (g *GroundGrid) UnitM() float64 { return groundUnits[g.Unit] }

// mostGroundName is how long a grid's name may be, in characters.
const mostGroundName = 60

// Validate says what of a grid cannot be, nil for nothing.
func (g *GroundGrid) Validate() error {
	bad := func(field, format string, args ...any) error {
		return &Error{Code: Invalid, Field: field, Message: fmt.Sprintf(format, args...)}
	}
	name := strings.TrimSpace(g.Name)
	switch {
	case name == "" || name != g.Name:
		return bad("name", "an elevation grid needs a name, without blanks about it")
	case utf8.RuneCountInString(name) > mostGroundName || strings.ContainsFunc(name, func(r rune) bool { return r < ' ' }):
		return bad("name", "the name of an elevation grid is one line of at most %d characters", mostGroundName)
	case WordIndex(GroundStates(), g.State) == 0:
		return bad("state", "%q is no state of an elevation grid", g.State)
	case g.UnitM() == 0:
		return bad("unit", "%q is no unit of heights; use m, ft or us-ft", g.Unit)
	case g.Cols < 1 || g.Rows < 1 || !(g.CellW > 0) || !(g.CellH > 0) || math.IsInf(g.CellW+g.CellH, 0) || math.IsNaN(g.MinX-g.MinX+g.MinY-g.MinY):
		return bad("cols", "the grid has no cells that lie anywhere")
	}
	return nil
}

// Document is the grid as it is kept.
func (g *GroundGrid) Document() ([]byte, error) {
	out, err := json.Marshal(g)
	if err != nil {
		return nil, WrapError(Invalid, err, "the elevation grid holds a number that cannot be written")
	}
	return out, nil
}

// ParseGroundGrid reads what Document wrote.
func ParseGroundGrid(doc []byte) (*GroundGrid, error) {
	var g GroundGrid
	if err := json.Unmarshal(doc, &g); err != nil {
		return nil, WrapError(Invalid, err, "the elevation grid cannot be read")
	}
	return &g, g.Validate()
}

// GroundTile is one square of a grid's heights, packed, by its row from the
// north and its column from the west.
type GroundTile struct {
	Row, Col int
	Data     []byte
}
