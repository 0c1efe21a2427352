package desk

import (
	"context"
	"math"
	"sort"

	"tallybook/geo/position"
	"tallybook/geo/section"
	"tallybook/records"
	"tallybook/records/snapshot"
)

// Limits of a section. The longest is what the local plane holds true to a
// few parts in ten thousand; the others keep a drawing legible.
const (
	MostSectionPlaces = 100
	MostSectionWells  = 40
	mostSectionM      = 200e3
	leastCorridorM    = 1
	MostCorridorM     = 40e3
	sectionStations   = 240
)

// SectionAsk says what section through the ground is wanted.
type SectionAsk struct {
	Line    []position.LonLat // its ends, and its bends between them
	WidthM  float64           // of the corridor: half of it on either side
	Filter  snapshot.Filter   // which wells are drawn and estimated from
	Without []int64           // wells in the corridor that the reader leaves out
	// ByDepth hangs all on the ground even where its elevation is known.
	ByDepth bool
	// Soon does not wait for an estimate that is not worked out yet.
	Soon bool
}

// Section is the ground along a line: the wells put onto it, and the estimate
// of bedrock under it.
type Section struct {
	Line     *section.Line
	Plane    position.Plane
	WidthM   float64
	Wells    []SectionWell // along the line, ties by key
	Out      []SectionOut  // wells in the corridor that are not drawn
	Standing int           // wells in the corridor, drawn or not
	Stations []Station
	// ByDepth says that all hangs on the ground; NoElevation that it does so
	// because no elevation is known.
	ByDepth, NoElevation bool
	Ground               GroundSource // of the ground's line; of the grid where one has any of it
	GridNames            []string     // the grids that it is read from, with their datum
	GridDatums           []string
	Model                *Model      // nil: no estimate
	NotYet               bool        // the estimate is still being worked out
	Nearest              *SectionOut // where no well stands in the corridor: the one that stands nearest
	Trust                records.Trust
	places               []position.LonLat
	Content              int64 // of the picture that it was read from
}

// Places are the ends and the bends of the line as they were asked for.
func (s *Section) Places() []position.LonLat { return append([]position.LonLat(nil), s.places...) }

// GroundSource says what an elevation of the ground is.
type GroundSource uint8

// The sources of an elevation.
const (
	GroundUnknown  GroundSource = iota
	GroundOfRecord              // the well's own, as recorded
	GroundOfGrid                // read from the office's elevation grid
	GroundBetween               // read between the elevations of wells around
)

// SectionWell is a well put onto the line.
type SectionWell struct {
	*Sheet
	section.Projected
	Key      uint64
	GroundM  float64 // elevation of the ground, m; NaN where it cannot be told
	GroundIs GroundSource
}

// Drawn says whether the well can hang in the section.
func (s *Section) Drawn(w *SectionWell) bool { return s.ByDepth || w.GroundIs != GroundUnknown }

// SectionOut is a well in the corridor that is not drawn, or the nearest one
// outside of it.
type SectionOut struct {
	ID  int64
	Why OutReason
	section.Projected
}

// OutReason says why a well in the corridor is not drawn.
type OutReason uint8

// The reasons.
const (
	OutByFilter OutReason = iota + 1 // the filter does not take it
	OutByReader                      // the reader left it out
	OutTooMany                       // there are more than can be drawn, and it stands farther off
	OutOfReach                       // it stands outside of the corridor
)

// Section puts the wells of a corridor onto a line and estimates bedrock under
// it, with the same estimate as surfaces and scouting.
func (d *Desk) Section(ctx context.Context, actor records.Actor, ask SectionAsk) (*Section, error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	s, err := layLine(&ask)
	if err != nil {
		return nil, err
	}
	p := d.Picture()
	s.Content = p.Content()
	if err := d.corridor(ctx, actor, p, &ask, s); err != nil {
		return nil, err
	}
	for _, m := range s.Line.Stations(sectionStations) {
		at := s.Line.At(m)
		s.Stations = append(s.Stations, Station{AlongM: m, At: s.Plane.FromXY(at.X, at.Y), GroundM: math.NaN(), LowM: math.NaN(), MiddleM: math.NaN(), HighM: math.NaN()})
	}
	if err := d.sectionGround(ctx, actor, p, s); err != nil {
		return nil, err
	}
	known := false
	for i := range s.Wells {
		known = known || s.Wells[i].GroundIs != GroundUnknown
	}
	s.NoElevation = !known && s.Ground == GroundUnknown
	s.ByDepth = ask.ByDepth || s.NoElevation
	return s, d.sectionBedrock(ctx, &ask, s)
}

// layLine makes the line and the plane that it is measured on, centred at the
// middle of the line's extent.
func layLine(ask *SectionAsk) (*Section, error) {
	switch n := len(ask.Line); {
	case n < 2:
		return nil, records.Errorf(records.Invalid, "a section needs a line: give where it begins and where it ends")
	case n > MostSectionPlaces:
		return nil, records.Errorf(records.TooLarge, "the line has %d places; a section takes up to %d: leave bends out, or make it in parts", n, MostSectionPlaces)
	}
	for _, at := range ask.Line {
		if err := at.Valid(); err != nil {
			return nil, &records.Error{Code: records.Invalid, Field: "line", Message: err.Error()}
		}
	}
	if !(ask.WidthM >= leastCorridorM && ask.WidthM <= MostCorridorM) {
		return nil, records.Errorf(records.Invalid, "a corridor %.0f m wide cannot be used; give a width from %d m to %d km", ask.WidthM, int(leastCorridorM), int(MostCorridorM/1000))
	}
	first := position.NewPlane(ask.Line[0])
	west, south, east, north := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, at := range ask.Line {
		x, y := first.ToXY(at)
		west, east, south, north = min(west, x), max(east, x), min(south, y), max(north, y)
	}
	if math.Hypot(east-west, north-south) > mostSectionM {
		return nil, records.Errorf(records.TooLarge, "the line reaches over %.0f km; a section takes up to %d km, so that lengths in it stay true", math.Hypot(east-west, north-south)/1000, int(mostSectionM/1000))
	}
	s := &Section{Plane: position.NewPlane(first.FromXY((west+east)/2, (south+north)/2)), WidthM: ask.WidthM, Trust: ask.Filter.Trust, places: ask.Line}
	points := make([]section.Point, len(ask.Line))
	for i, at := range ask.Line {
		points[i].X, points[i].Y = s.Plane.ToXY(at)
	}
	var err error
	if s.Line, err = section.New(points); err != nil {
		return nil, records.Errorf(records.Invalid, "the line begins and ends at one and the same place; give two places apart from each other")
	}
	if s.Line.LengthM() > 2*mostSectionM {
		return nil, records.Errorf(records.TooLarge, "the line is %.0f km long with its bends; a section takes up to %d km", s.Line.LengthM()/1000, int(2*mostSectionM/1000))
	}
	return s, nil
}

// placed is a well of the corridor before its record is read.
type placed struct {
	row snapshot.Row
	section.Projected
}

// corridor finds the wells of the corridor and reads the records of those that
// are drawn.
func (d *Desk) corridor(ctx context.Context, actor records.Actor, p *snapshot.Picture, ask *SectionAsk, s *Section) error {
	left := map[int64]bool{}
	for _, id := range ask.Without {
		left[id] = true
	}
	var in []placed
	p.InBox(s.box(ask.WidthM/2), func(r snapshot.Row) bool {
		w := s.place(r)
		if !(math.Abs(w.OffM) <= ask.WidthM/2) {
			return true
		}
		s.Standing++
		switch {
		case left[r.ID()]:
			s.Out = append(s.Out, SectionOut{r.ID(), OutByReader, w.Projected})
		case !ask.Filter.Takes(r):
			s.Out = append(s.Out, SectionOut{r.ID(), OutByFilter, w.Projected})
		default:
			in = append(in, w)
		}
		return true
	})
	if len(in) > MostSectionWells {
		sort.Slice(in, func(i, j int) bool {
			if a, b := math.Abs(in[i].OffM), math.Abs(in[j].OffM); a != b {
				return a < b
			}
			return in[i].row.Key() < in[j].row.Key()
		})
		for _, w := range in[MostSectionWells:] {
			s.Out = append(s.Out, SectionOut{w.row.ID(), OutTooMany, w.Projected})
		}
		in = in[:MostSectionWells]
	}
	sort.Slice(in, func(i, j int) bool {
		if a, b := in[i].AlongM, in[j].AlongM; a != b {
			return a < b
		}
		return in[i].row.Key() < in[j].row.Key()
	})
	sort.Slice(s.Out, func(i, j int) bool {
		if a, b := s.Out[i].AlongM, s.Out[j].AlongM; a != b {
			return a < b
		}
		return s.Out[i].ID < s.Out[j].ID
	})
	if s.Standing == 0 {
		s.Nearest = s.nearest(p)
	}
	ids := make([]int64, len(in))
	for i := range in {
		ids[i] = in[i].row.ID()
	}
	sheets, err := d.Wells(ctx, actor, ids)
	if err != nil {
		return err
	}
	for i, sh := range sheets {
		sh.Picks = ask.Filter.PicksOf(sh.Well, d.vocabulary)
		w := SectionWell{Sheet: sh, Projected: in[i].Projected, Key: in[i].row.Key(), GroundM: math.NaN()}
		if e, ok := sh.Well.Place.Elevation.Number(); ok {
			w.GroundM, w.GroundIs = float64(e), GroundOfRecord
		}
		s.Wells = append(s.Wells, w)
	}
	return nil
}

func (s *Section) place(r snapshot.Row) placed {
	lon, lat, _ := r.Position()
	x, y := s.Plane.ToXY(position.LonLat{Lon: lon, Lat: lat})
	return placed{r, s.Line.Project(section.Point{X: x, Y: y})}
}

// nearest is the well that stands nearest to the line, nil without wells: the
// nearest to one of many places along it.
func (s *Section) nearest(p *snapshot.Picture) *SectionOut {
	var best *SectionOut
	for _, m := range s.Line.Stations(64) {
		at := s.Line.At(m)
		for _, n := range p.Nearest(s.Plane.FromXY(at.X, at.Y), 1, nil) {
			if w := s.place(n.Row); best == nil || math.Abs(w.OffM) < math.Abs(best.OffM) {
				best = &SectionOut{n.ID(), OutOfReach, w.Projected}
			}
		}
	}
	return best
}

// box holds everything within a distance of the line.
func (s *Section) box(aroundM float64) records.Bounds {
	west, south, east, north := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, p := range s.Line.Points() {
		west, east, south, north = min(west, p.X), max(east, p.X), min(south, p.Y), max(north, p.Y)
	}
	aroundM = aroundM*1.01 + 10
	west, east, south, north = west-aroundM, east+aroundM, south-aroundM, north+aroundM
	c := s.Plane.Center()
	if math.Abs(c.Lat) > 84 {
		return records.Bounds{West: -180, East: 180, South: -90, North: 90}
	}
	b := records.Bounds{South: math.Inf(1), North: math.Inf(-1)}
	var dWest, dEast float64
	const parts = 16 // the edges of the plane's box are bent in degrees
	for i := range parts + 1 {
		t := float64(i) / parts
		for _, at := range [...]position.LonLat{
			s.Plane.FromXY(west, south+t*(north-south)), s.Plane.FromXY(east, south+t*(north-south)),
			s.Plane.FromXY(west+t*(east-west), south), s.Plane.FromXY(west+t*(east-west), north),
		} {
			dLon := math.Mod(at.Lon-c.Lon+540, 360) - 180
			dWest, dEast = min(dWest, dLon), max(dEast, dLon)
			b.South, b.North = min(b.South, at.Lat), max(b.North, at.Lat)
		}
	}
	// A sixteenth of an edge sags by less than this.
	dLat, dLon := (b.North-b.South)*0.01, (dEast-dWest)*0.01
	b.South, b.North = max(b.South-dLat, -90), min(b.North+dLat, 90)
	b.West, b.East = position.WrapLongitude(c.Lon+dWest-dLon), position.WrapLongitude(c.Lon+dEast+dLon)
	return b
}
