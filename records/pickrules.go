package records

import "math"

// PickRules are the thresholds of the picks. All are ours, no source; an
// office may use others. See DefaultPickRules for the values and reasons.
type PickRules struct {
	SeamM       float64 // a seam of loose ground in rock is thinner than this, metres
	SeamRockM   float64 // and has at least this much rock above it
	SeamRock    float64 // and at least this many times its own thickness of rock
	DeepSeamM   float64 // under ThickRockM of rock a seam may be this thick
	DeepSeam    float64 // if the rock above is this many times its thickness
	ProvedM     float64 // rock followed for less than this at the foot of a log is 'about'
	CorestoneM  float64 // rock thinner than this over a thicker weathered zone is a block in it
	ThickRockM  float64 // rock thicker than this is no block: a seam under it is a seam
	GapM        float64 // depths closer than this are the same depth, rounded differently
	AgreeM      float64 // two sources agree within this,
	AgreeShare  float64 // or within this share of the depth
	SeatIntoMax float64 // a casing seat speaks for rock begun at most this far above it
}

// DefaultPickRules gives the thresholds used unless an office sets its own.
// All are ours, no source.
func DefaultPickRules() PickRules {
	return PickRules{
		SeamM:       1.5,
		SeamRockM:   3,
		SeamRock:    2,
		DeepSeamM:   3.2, // ten feet, rounded; five-foot seams are what most logs write deep in rock
		DeepSeam:    10,
		ProvedM:     3,
		CorestoneM:  3,    // a block weathered out of the rock below, as boulders of granite in saprolite
		ThickRockM:  15,   // no boulder is so thick; the seam's own thickness was not followed
		GapM:        0.16, // half a foot, the coarsest rounding in use, and a little
		AgreeM:      1.5,
		AgreeShare:  0.1,
		SeatIntoMax: 6,
	}
}

// picked is what the rules make of one record, without words: cheap enough
// for a million records.
type picked struct {
	strata         logPick
	byStrata, used Amount[Depth]
	stated, seat   Amount[Depth]
	source         PickSource
	clash          clash
}

// clash tells which sources disagree.
type clash struct{ strataStated, strataSeat, statedSeat bool }

func (c clash) any() bool { return c.strataStated || c.strataSeat || c.statedSeat }

// judge makes the picks of a record whose strata are spans in order of depth,
// each with the ground it was read as.
func (r *PickRules) judge(w *Well, spans []span, grounds []Ground) picked {
	p := picked{stated: sane(w.Bedrock), seat: r.bySeat(w)}
	p.strata = r.walk(spans, grounds)
	p.byStrata = p.strata.contact
	if seat, ok := w.CasingSeat(); ok && p.strata.how == howThinProof {
		top := p.byStrata.Value
		if float64(seat-top) >= -r.GapM && float64(seat-top) <= r.SeatIntoMax {
			p.strata.how = howSeatProof
			p.byStrata.Qualifier = Exact
		}
	}
	p.clash = clash{
		strataStated: !r.agree(p.byStrata, p.stated),
		strataSeat:   !r.agree(p.byStrata, p.seat),
		statedSeat:   !r.agree(p.stated, p.seat),
	}
	p.used, p.source = r.choose(&p)
	return p
}

// choose says which source is used: the log, as it was met interval by
// interval; but a stated depth that fits a log that only gives a bound is
// better than the bound. A casing seat is used alone only where the length
// set into rock was written down.
func (r *PickRules) choose(p *picked) (Amount[Depth], PickSource) {
	_, statedNumber := p.stated.Number()
	_, seatNumber := p.seat.Number()
	switch {
	case p.byStrata.Qualifier.IsBound() && statedNumber && r.inside(float64(p.stated.Value), p.byStrata),
		p.byStrata.Qualifier == GreaterThan && p.stated.Qualifier == GreaterThan && p.stated.Value > p.byStrata.Value:
		return p.stated, FromStated
	case p.byStrata.Known():
		return p.byStrata, FromStrata
	case p.stated.Known():
		return p.stated, FromStated
	case seatNumber:
		return p.seat, FromSeat
	}
	return Amount[Depth]{}, FromNothing
}

// bySeat is what the casing says: it stands in rock, so that rock begins
// above its seat. It says so only of a hole left open below the casing; a
// screened well, or one cased to the bottom, tells nothing of rock.
func (r *PickRules) bySeat(w *Well) Amount[Depth] {
	seat, ok := w.CasingSeat()
	if !ok || !finite(float64(seat)) || seat <= 0 {
		return Amount[Depth]{}
	}
	for i := range w.Casing {
		c := &w.Casing[i]
		socket, known := c.SocketToRock.Number()
		if to, ok := c.To.Number(); ok && to == seat && known && socket > 0 && float64(socket) <= float64(seat) {
			return Roughly(seat - Depth(socket))
		}
	}
	total, known := w.TotalDepth.Number()
	if len(w.Screens) > 0 || !known || float64(total-seat) <= r.AgreeM {
		return Amount[Depth]{}
	}
	return Under(seat)
}

// agree says whether two depths can both be true, within the tolerance; what
// is missing contradicts nothing.
func (r *PickRules) agree(a, b Amount[Depth]) bool {
	if !a.Known() || !b.Known() {
		return true
	}
	aLo, aHi := limits(a)
	bLo, bHi := limits(b)
	tolerance := r.AgreeM
	if deep := math.Max(float64(a.Value), float64(b.Value)); deep*r.AgreeShare > tolerance {
		tolerance = deep * r.AgreeShare
	}
	return aLo <= bHi+tolerance && bLo <= aHi+tolerance
}

// inside says whether v lies within a bound, but for rounding.
func (r *PickRules) inside(v float64, bound Amount[Depth]) bool {
	low, high := limits(bound)
	return v >= low-r.GapM && v <= high+r.GapM
}

func limits(a Amount[Depth]) (low, high float64) {
	v := float64(a.Value)
	switch a.Qualifier {
	case LessThan:
		return math.Inf(-1), v
	case GreaterThan:
		return v, math.Inf(1)
	case Between:
		return v, float64(a.High)
	}
	return v, v
}

// sane leaves out an amount that is no number at all.
func sane(a Amount[Depth]) Amount[Depth] {
	if !finite(float64(a.Value)) || !finite(float64(a.High)) {
		return Amount[Depth]{}
	}
	return a
}
