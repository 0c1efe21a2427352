package records

import "time"

// Plate is a metal or plastic plate on a wellhead, an object with its own
// life: what is stamped on it, where it was seen, and, apart from that, the
// well that somebody decided it belongs to.
type Plate struct {
	ID       int64
	Revision int64
	UID      string

	Number    string // as stamped; '?' for a digit that could not be read
	Authority string
	Series    string
	Since     Date
	Until     Date

	Stamped Stamped
	Seen    []PlateSighting

	// The decision. WellID 0: not linked.
	WellID   int64
	Evidence string
	LinkedBy string
	LinkedAt time.Time

	Kept
}

// Stamped is what can be read on a plate.
type Stamped struct {
	Date      Date
	Depth     Amount[Depth]
	Casing    Amount[Depth]
	Diameter  Amount[Diameter]
	Yield     Amount[Flow]
	Static    Amount[Depth]
	PumpDepth Amount[Depth]
	Driller   string

	Kept
}

// PlateSighting is one reading of a plate in the field.
type PlateSighting struct {
	Date     Date
	By       string
	Located  bool
	Lon, Lat float64 // degrees, WGS 84
	Accuracy Amount[Length]
	Legible  string // what could be read, verbatim
	Note     string

	Kept
}

// LastSeen is the latest sighting of the plate that has a place, nil where none
// has; of two on one day, or without a date, the later in the list.
func (p *Plate) LastSeen() *PlateSighting {
	var last *PlateSighting
	for i := range p.Seen {
		s := &p.Seen[i]
		if !s.Located || last != nil && s.Date.String() < last.Date.String() {
			continue
		}
		last = s
	}
	return last
}
