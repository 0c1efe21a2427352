package scout

import (
	"math"

	"tallybook/records"
)

// Result is how a plan fares in a neighbour's ground.
type Result uint8

// The results.
const (
	// Met: the need is met, at Early at the earliest and Late at the latest.
	Met Result = iota + 1
	// Short: the hole goes to the plan's end and gives less than the need.
	Short
	// StoppedEarly: the neighbour stopped before the need was met and before
	// the plan's end: what lies below is not known. It is not dry below.
	StoppedEarly
	// Either: the need may be met from Early on or not at all, since the
	// neighbour's water is known only within limits.
	Either
)

var resultWords = [...]string{Met: "met", Short: "short", StoppedEarly: "stopped_early", Either: "either"}

// String gives the result's word.
func (r Result) String() string {
	if int(r) < len(resultWords) {
		return resultWords[r]
	}
	return ""
}

// Outcome is one neighbour with the plan replayed in it: one possible hole.
type Outcome struct {
	WellID int64
	Number string
	Vote
	Result Result
	// Early and Late are the limits that the record leaves for the depth
	// drilled; both are the plan's end where the need is not met.
	Early, Late records.Depth
	// Parts say how likely each depth between them is.
	Parts []Part
	// Likely is the depth drilled as one number: the mean over the parts, as
	// far as the neighbour went where it stopped early.
	Likely records.Depth
	// End is where the plan stops whatever was met: the greatest depth, or
	// where the budget is used up.
	End     records.Depth
	Bedrock records.Depth
	Casing  records.Depth // how deep casing goes
	// YieldLow and YieldHigh are the flow of the hole as replayed.
	YieldLow, YieldHigh records.Flow
	Overrun             float64 // grout placed over annulus
	Drawn               Drawn
	// CasedOff says that water of the neighbour lies behind the plan's casing.
	CasedOff bool
	ground   []Ground
}

// Part is a share of an outcome whose water is known only within limits.
type Part struct {
	Share  float64 // of the outcome's weight
	Result Result  // Met, Short or StoppedEarly
	Depth  records.Depth
}

// Depth is how deep the plan drills here: exact, 'between' or 'at least'.
func (o *Outcome) Depth() records.Amount[records.Depth] {
	switch {
	case o.Result == StoppedEarly:
		return records.MoreThan(o.Early)
	case o.Late > o.Early:
		return records.Within(o.Early, o.Late)
	}
	return records.Of(o.Late)
}

// replay drives the plan down a neighbour. end is the plan's end in this
// ground.
//
// Water behind the plan's casing does not count. The need is met where the
// gains add up to it: at the earliest where the water may have come, at the
// latest where it must have; how likely each depth between is, see
// placementsOf. Where they never do, a neighbour that went to
// the plan's end says 'short', and one that stopped before says only that the
// hole goes deeper than that. Where casing alone goes to the plan's end there
// is no open hole, and that is 'short' too.
func replay(w *whole, p *Plan, end records.Depth) Outcome {
	casing := min(p.casingTo(w.bedrock), end)
	gains := casedOff(w.gains, casing)
	o := Outcome{
		WellID: w.WellID, Number: w.Number, Vote: w.Vote,
		End: end, Bedrock: w.bedrock, Casing: casing, Overrun: w.overrun, Drawn: w.drawn,
		CasedOff: len(gains) < len(w.gains), ground: w.Ground,
	}
	early, late := earliest(gains, p.Need), latest(gains, p.Need)
	switch {
	case late <= end:
		o.Result, o.Early, o.Late = Met, early, late
	case early <= end:
		o.Result, o.Early, o.Late = Either, early, end
	case w.depth < end && casing < end:
		o.Result, o.Early, o.Late = StoppedEarly, max(w.depth, casing), end
	default:
		o.Result, o.Early, o.Late = Short, end, end
	}
	o.Early, o.Late = p.wholeRods(o.Early, end), p.wholeRods(o.Late, end)
	for _, way := range placementsOf(gains, w.stoppedForWater()) {
		part := Part{Share: way.share, Result: Met, Depth: way.met(p.Need)}
		switch {
		case part.Depth <= end:
		case w.depth < end && casing < end:
			part.Result, part.Depth = StoppedEarly, max(w.depth, casing)
		default:
			part.Result, part.Depth = Short, end
		}
		part.Depth = p.wholeRods(part.Depth, end)
		o.Likely += part.Depth * records.Depth(part.Share)
		o.addPart(part)
	}
	o.Likely = min(max(o.Likely, o.Early), o.Late)
	o.YieldLow, _ = flowBy(gains, o.Early)
	_, o.YieldHigh = flowBy(gains, o.Late)
	if o.Result == StoppedEarly {
		_, o.YieldHigh = flowBy(gains, o.Early)
	}
	if o.Result == Met {
		o.YieldLow = max(o.YieldLow, p.Need)
		o.YieldHigh = max(o.YieldHigh, o.YieldLow)
	}
	if math.IsInf(float64(o.YieldHigh), 1) {
		o.YieldHigh = max(o.YieldLow, p.Need)
	}
	return o
}

// addPart adds a part, or its share to the part that says the same.
func (o *Outcome) addPart(part Part) {
	for i := range o.Parts {
		if p := &o.Parts[i]; p.Result == part.Result && p.Depth == part.Depth {
			p.Share += part.Share
			return
		}
	}
	o.Parts = append(o.Parts, part)
}

// Replay drives the plan down every neighbour that carries weight, in their
// order, with missing fields drawn from own (see Own). Where the plan has a
// budget the rates say how deep it reaches in each neighbour's ground.
//
// A plan that Validate refuses gives none.
func Replay(neighbours []Neighbour, p Plan, own Own, r *Rates) []Outcome {
	if records.Refuses(p.Validate()) {
		return nil
	}
	overrun := commonOverrun(neighbours, p.GroutExtra)
	out := make([]Outcome, 0, len(neighbours))
	for i := range neighbours {
		n := &neighbours[i]
		if !(n.Weight > 0) || math.IsInf(n.Weight, 1) {
			continue
		}
		w := n.fill(own, overrun)
		end := p.MaxDepth
		if p.Budget > 0 && r != nil {
			end = r.reaches(&w, &p)
		}
		out = append(out, replay(&w, &p, end))
	}
	return out
}
