package scout

import (
	"fmt"
	"math"

	"tallybook/records"
)

// Plan is what the customer wants and how the hole is to be made.
type Plan struct {
	Need     records.Flow  // the flow at which drilling stops; above 0
	MaxDepth records.Depth // never deeper than this; above 0
	// CallDepth is where the driller stops and calls the customer; 0: nowhere.
	CallDepth records.Depth
	// Budget is what the customer will spend on the whole job; drilling stops
	// where the bill reaches it. 0: no budget.
	Budget Cents

	Socket    records.Length // casing into sound bedrock
	MinCasing records.Length // casing below ground never less, by the local rule
	StickUp   records.Length // casing above ground

	CasedBore   records.Diameter // of the hole around the casing
	CasingOD    records.Diameter // outside, for the annulus; a nominal size is none
	CasingSize  records.Diameter // as the rate table names it
	CasingKind  string           // material, see records.CasingWords
	OpenBore    records.Diameter // of the hole below the casing
	Shoe        bool             // whether a drive shoe is set
	GroutExtra  float64          // share of grout beyond the annulus where no neighbour tells: 0.25
	Rod         records.Length   // depths are drilled to whole rods; 0: not rounded
	CasingStick records.Length   // casing comes in sticks of this length; 0: not rounded
}

// Validate reports every fault of the plan.
func (p *Plan) Validate() []records.Fault {
	s := &sheet{}
	positive := func(name string, v float64, mend string) {
		if !(v > 0) || !finite(v) {
			s.fault(records.Refusal, name, fmt.Sprintf("%g is not above 0", v), mend)
		}
	}
	natural := func(name string, v float64) {
		if !(v >= 0) || !finite(v) {
			s.fault(records.Refusal, name, fmt.Sprintf("%g is below 0 or no number", v), "write 0 where there is none")
		}
	}
	positive("need_lps", float64(p.Need), "say how much water is needed")
	positive("max_depth_m", float64(p.MaxDepth), "say how deep the hole may go at most")
	natural("call_depth_m", float64(p.CallDepth))
	natural("budget_cents", float64(p.Budget))
	natural("socket_m", float64(p.Socket))
	natural("min_casing_m", float64(p.MinCasing))
	natural("stick_up_m", float64(p.StickUp))
	natural("cased_bore_mm", float64(p.CasedBore))
	natural("casing_outside_mm", float64(p.CasingOD))
	natural("casing_size_mm", float64(p.CasingSize))
	natural("open_bore_mm", float64(p.OpenBore))
	natural("grout_extra", p.GroutExtra)
	natural("rod_m", float64(p.Rod))
	natural("casing_stick_m", float64(p.CasingStick))
	if p.CallDepth > p.MaxDepth {
		s.fault(records.Refusal, "call_depth_m", "lies below the greatest depth", "call before the hole is at its end, or leave it out")
	}
	if p.CasedBore > 0 && p.CasingOD >= p.CasedBore {
		s.fault(records.Refusal, "casing_outside_mm", "the casing does not fit the hole", "correct the hole or the casing")
	}
	if p.Socket == 0 && p.MinCasing == 0 {
		s.fault(records.Warning, "socket_m", "neither a socket into bedrock nor a least casing is stated", "set what the local rule asks for")
	}
	return s.faults
}

// casingTo is how deep casing goes: the socket below bedrock, and never less
// than the least casing.
func (p *Plan) casingTo(bedrock records.Depth) records.Depth {
	return max(bedrock+records.Depth(p.Socket), records.Depth(p.MinCasing))
}

// wholeRods is a depth rounded up to whole rods, but not below deepest.
func (p *Plan) wholeRods(depth, deepest records.Depth) records.Depth {
	return min(records.Depth(wholeUp(float64(depth), float64(p.Rod))), max(depth, deepest))
}

// wholeUp rounds up to a whole number of pieces, but for rounding error.
func wholeUp(v, piece float64) float64 {
	if !(piece > 0) || !finite(v) {
		return v
	}
	return math.Ceil(v/piece-1e-9) * piece
}
