package scout

import (
	"math"

	"tallybook/records"
)

// Vote is how much a neighbour counts and where it lies.
type Vote struct {
	Weight     float64 // its probability as an outcome; finite, not negative
	DistanceM  float64
	BearingDeg float64 // from the site, clockwise from north
}

// Neighbour is one whole neighbouring record as a possible outcome at the
// site: what was found in it, as first drilled. Nothing in it is made up;
// what the record lacks is Missing, and Fill completes it.
type Neighbour struct {
	WellID int64
	Key    uint64 // from the UID; breaks ties and steers draws
	Number string
	Vote

	Year       float64 // decimal year completed; 0: unknown
	Depth      records.Amount[records.Depth]
	Bedrock    records.Amount[records.Depth] // depth to sound bedrock
	Yield      records.Amount[records.Flow]  // Missing where the well does not count for yield
	Seat       records.Amount[records.Depth] // casing seat
	Static     records.Amount[records.Depth]
	Strikes    []Strike // where water came, as gains, from the top down
	Ground     []Ground // as logged, from the top down, without overlap
	StopReason string
	// Overrun is grout placed over the volume of its annulus, over all
	// intervals for which both are known; NaN where none is.
	Overrun float64
	// Notes say how doubtful parts of the record were read.
	Notes []string
}

// NewNeighbour takes from a record what a scouting needs. picks are the
// record's own (records.DerivePicks), read classes its strata (nil: no ground
// is understood). Depth and yield are as first drilled, and strikes below
// that depth are left out, as later works found them.
//
// It never fails: what cannot be read is missing or noted.
func NewNeighbour(w *records.Well, picks records.Picks, read records.Reader, v Vote) Neighbour {
	depth, yield := w.FirstDrilled()
	n := Neighbour{
		WellID: w.ID, Key: records.KeyOf(w.UID), Number: w.Number, Vote: v,
		Year:  yearOf(w),
		Depth: sound(depth), Bedrock: sound(picks.Bedrock.Depth), Yield: sound(yield),
		Static:     sound(w.StaticLevel),
		StopReason: w.StopReason,
		Overrun:    overrunOf(w),
	}
	if !w.CountsForYield() {
		n.Yield = records.Amount[records.Flow]{}
		n.note("made for another purpose: its yield does not count")
	}
	if seat, ok := w.CasingSeat(); ok && finite(float64(seat)) && seat >= 0 {
		n.Seat = records.Of(seat)
	}
	n.Ground = groundOf(w, read)
	n.readStrikes(w)
	if bottom, ok := n.Bottom(); ok {
		_, noted := gainsFor(n.Strikes, n.Yield, min(n.openTop(), bottom), bottom)
		n.Notes = append(n.Notes, noted...)
	}
	return n
}

func (n *Neighbour) note(text string) { n.Notes = append(n.Notes, text) }

// Bottom is the depth to which the record tells anything: its total depth (the
// limit of a bound), else its deepest strike, layer or casing. ok is false
// where it tells nothing.
func (n *Neighbour) Bottom() (bottom records.Depth, ok bool) {
	switch {
	case n.Depth.Qualifier == records.LessThan:
		// drilled to somewhere above the limit: the rest of the record tells
	case n.Depth.Known():
		return max(n.Depth.Value, 0), true
	}
	bottom = -1
	for _, s := range n.Strikes {
		bottom = max(bottom, s.From)
	}
	for _, g := range n.Ground {
		bottom = max(bottom, g.Bottom)
	}
	if seat, ok := n.Seat.Number(); ok {
		bottom = max(bottom, seat)
	}
	return max(bottom, 0), bottom >= 0
}

// openTop is the depth above which no water can have come into the finished
// hole: the casing seat, else the top of bedrock, else the surface.
func (n *Neighbour) openTop() records.Depth {
	if seat, ok := n.Seat.Number(); ok {
		return seat
	}
	switch n.Bedrock.Qualifier {
	case records.Exact, records.About, records.GreaterThan, records.Between:
		return max(n.Bedrock.Value, 0)
	}
	return 0
}

// yearOf is when the hole was first drilled, 0 where nobody wrote it.
func yearOf(w *records.Well) float64 {
	if len(w.Works) > 0 && w.Works[0].Kind == "drill" && !w.Works[0].Completed.IsZero() {
		return w.Works[0].Completed.DecimalYear()
	}
	if !w.Completed.IsZero() {
		return w.Completed.DecimalYear()
	}
	return w.Started.DecimalYear()
}

// overrunOf is the grout placed over the annulus it went into, over all
// intervals for which both are known.
func overrunOf(w *records.Well) float64 {
	var placed, annulus float64
	for i := range w.Grout {
		if ratio, volume, ok := w.GroutOverrun(&w.Grout[i]); ok && finite(ratio) {
			placed += ratio * float64(volume)
			annulus += float64(volume)
		}
	}
	if !(annulus > 0) {
		return math.NaN()
	}
	return placed / annulus
}

// sound leaves out an amount that is no number at all, or lies above ground
// where only a flowing well's level could.
func sound[T ~float64](a records.Amount[T]) records.Amount[T] {
	if !finite(float64(a.Value)) || !finite(float64(a.High)) {
		return records.Amount[T]{}
	}
	if a.Qualifier == records.Between && a.High < a.Value {
		a.Value, a.High = a.High, a.Value
	}
	return a
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// limits gives the least and the greatest that an amount of something that
// cannot be negative may be; 0 and +Inf where it is missing.
func limits[T ~float64](a records.Amount[T]) (low, high T) {
	v := max(a.Value, 0)
	switch a.Qualifier {
	case records.Exact, records.About:
		return v, v
	case records.LessThan:
		return 0, v
	case records.GreaterThan:
		return v, T(math.Inf(1))
	case records.Between:
		return v, max(a.High, v)
	}
	return 0, T(math.Inf(1))
}
