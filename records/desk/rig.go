package desk

import (
	"context"
	"fmt"
	"math"

	"tallybook/geo/position"
	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/figuring"
	"tallybook/records/scout"
	"tallybook/records/snapshot"
)

// RigAsk is the question put beside a hole that is being drilled.
type RigAsk struct {
	At     position.LonLat
	Filter snapshot.Filter
	Depth  records.Depth // how deep it is
	Yield  records.Flow  // what it gives, net of what the rig puts in
	Need   records.Flow
	Hole   records.Diameter // of the hole below the casing
	Casing records.Diameter // outside
	// Rock is where sound bedrock was met. Missing: not said, unless Aboard is
	// given, which says that there was none down to Depth.
	Rock records.Amount[records.Depth]
	// Aboard is all the casing at hand, in the hole and on the truck.
	Aboard records.Amount[records.Length]
	// Ahead are the stretches that are asked about, Curve those of the curve.
	Ahead, Curve []records.Length
	// Daily is the water used in a day and Shape how it is spread; a zero
	// Daily asks nothing of storage.
	Daily records.Volume
	Shape string
}

// noRock says whether no bedrock was met so far.
func (a *RigAsk) noRock() bool { return !a.Rock.Known() && a.Aboard.Known() }

// AtTheRig is what the neighbouring records say of a hole that is being
// drilled.
type AtTheRig struct {
	*Outlook
	Ask      RigAsk
	Practice scout.Practice
	Rates    scout.Rates
	Plan     scout.Plan
	// Neighbours is how many whole records there are to go by.
	Neighbours int
	Prospect   scout.Prospect
	Curve      []scout.Ahead
	// Casing is whether the casing at hand is enough; nil where nobody asked.
	Casing *scout.CasingChance
	// ToSet is the casing that the bedrock which was met asks for; nil where
	// none was met or nothing is said of casing at hand.
	ToSet *figuring.CasingPlan
	// Supply is the hole as it is, with what stands in it down to the pump;
	// Static the level that this was worked with, NaN where none is known.
	Supply figuring.Supply
	Static float64
	Day    *figuring.Pattern // nil where no day was asked about
	Ways   []scout.Way
}

// AtTheRig answers whether to go on or to stop, and whether the casing is
// enough.
func (d *Desk) AtTheRig(ctx context.Context, actor records.Actor, ask RigAsk) (*AtTheRig, error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	if err := ask.check(); err != nil {
		return nil, err
	}
	o, err := d.Scout(ctx, actor, ask.At, &ask.Filter)
	if err != nil {
		return nil, err
	}
	r := &AtTheRig{Outlook: o, Ask: ask, Static: math.NaN()}
	if r.Practice, r.Rates, err = d.scoutingSettings(ctx, actor); err != nil {
		return nil, err
	}
	rates := &r.Rates
	if records.Refuses(rates.Validate()) {
		rates = nil // the page of the office shows what is wrong with it
	}
	r.Plan = r.Practice.Plan(ask.Need, ask.Hole, ask.Casing)
	neighbours, own, err := d.outcomes(ctx, o, ask.Filter.Trust)
	if err != nil {
		return nil, err
	}
	if ask.noRock() {
		aboard, _ := ask.Aboard.Number()
		c := scout.CasingRunsOut(own.Bedrock, neighbours, ask.Depth, aboard, r.Plan)
		r.Casing = &c
	}
	if err := r.casingToSet(); err != nil {
		return nil, err
	}
	own.Bedrock = ask.bedrock(own.Bedrock)
	neighbours = scout.UnderSite(neighbours, own)
	r.Neighbours = len(neighbours)
	bit := scout.Bit{Depth: ask.Depth, Yield: ask.Yield, Need: ask.Need, Bore: ask.Hole}
	r.Prospect = scout.GoOn(neighbours, bit, ask.Ahead, 0, rates)
	r.Curve = scout.GoOn(neighbours, bit, ask.Curve, 0, nil).Ahead
	return r, r.ways(neighbours)
}

func (a *RigAsk) check() error {
	switch {
	case !(a.Depth > 0) || math.IsInf(float64(a.Depth), 1):
		return &records.Error{Code: records.Invalid, Field: "depth", Message: "say how deep the hole is now"}
	case !(a.Need > 0) || math.IsInf(float64(a.Need), 1):
		return &records.Error{Code: records.Invalid, Field: "need", Message: "say what flow is needed, above 0"}
	case !(a.Yield >= 0) || math.IsInf(float64(a.Yield), 1):
		return &records.Error{Code: records.Invalid, Field: "yield", Message: "say what the hole gives now; 0 for nothing"}
	case a.Rock.Known() && a.Rock.Value > a.Depth:
		return &records.Error{Code: records.Invalid, Field: "rock", Message: "bedrock cannot have been met deeper than the hole is"}
	}
	return nil
}

// bedrock is what is known of bedrock beside the hole: where it was met; or
// the estimate cut off at the depth down to which there was none; or the
// estimate.
func (a *RigAsk) bedrock(estimate *predict.Distribution) *predict.Distribution {
	if rock, ok := a.Rock.Number(); ok {
		d, err := predict.NewDistribution([]predict.Sample{{Value: float64(rock), Weight: 1}})
		if err != nil {
			return estimate
		}
		return &d
	}
	if a.noRock() {
		return deeperThan(estimate, float64(a.Depth))
	}
	return estimate
}

// cutPoints is how many equally likely values a distribution that was cut off
// is made of.
const cutPoints = 200

// deeperThan is a distribution, given that the value lies beyond a limit; nil
// where it holds nothing there.
func deeperThan(d *predict.Distribution, limit float64) *predict.Distribution {
	if d == nil || d.Empty() {
		return nil
	}
	from := d.CDF(limit)
	if !(from < 1) {
		return nil
	}
	_, unknownFrom, _ := d.UpperUnknown()
	var samples []predict.Sample
	for i := range cutPoints {
		v := d.Quantile(from + (1-from)*(float64(i)+0.5)/cutPoints)
		s := predict.Sample{Value: max(v, limit), Weight: 1}
		if math.IsInf(v, 1) {
			s.Value, s.Bound = max(unknownFrom, limit), predict.GreaterThan
		}
		samples = append(samples, s)
	}
	cut, err := predict.NewDistribution(samples)
	if err != nil || cut.Empty() {
		return nil
	}
	return &cut
}

// casingToSet works the casing for the bedrock that was met.
func (r *AtTheRig) casingToSet() error {
	rock, ok := r.Ask.Rock.Number()
	if !ok || !r.Ask.Aboard.Known() {
		return nil
	}
	p, err := figuring.CasingToSet(rock, figuring.CasingRule{Socket: r.Plan.Socket, Least: records.Depth(r.Plan.MinCasing), StickUp: r.Plan.StickUp})
	if err != nil {
		return err
	}
	r.ToSet = &p
	return nil
}

// ways holds going on against stopping, a tank and a hydrofracture, by what
// stands in the hole as it is.
func (r *AtTheRig) ways(neighbours []scout.Neighbour) error {
	if !(r.Ask.Daily > 0) || r.Prospect.Met {
		return nil
	}
	shape := figuring.Shapes()[1]
	for _, s := range figuring.Shapes() {
		if s.ID == r.Ask.Shape {
			shape = s
		}
	}
	day, err := shape.Of(r.Ask.Daily)
	if err != nil {
		return err
	}
	r.Day = &day
	r.Supply = figuring.Supply{Yield: r.Ask.Yield}
	if r.Supply.Hole, err = r.standing(neighbours); err != nil {
		return err
	}
	r.Ways, err = scout.Ways(&r.Prospect, r.Supply, day, scout.WayPrices{})
	return err
}

// standing is the water between the static level of the neighbours and the
// pump in the hole as it is; none where no level is known or the hole does not
// reach below it.
func (r *AtTheRig) standing(neighbours []scout.Neighbour) (records.Volume, error) {
	var known []predict.Sample
	for i := range neighbours {
		if v, ok := neighbours[i].Static.Number(); ok && neighbours[i].Weight > 0 {
			known = append(known, predict.Sample{Value: max(float64(v), 0), Weight: neighbours[i].Weight})
		}
	}
	if len(known) == 0 {
		return 0, nil
	}
	levels, err := predict.NewDistribution(known)
	if err != nil {
		return 0, fmt.Errorf("static levels: %w", err)
	}
	r.Static = levels.Median()
	above := records.Depth(pumpAboveBottomM)
	if v, ok := r.Practice.PumpAbove.Number(); ok {
		above = records.Depth(v)
	}
	intake := r.Ask.Depth - above
	if !(r.Ask.Hole > 0) || !(float64(intake) > r.Static) {
		return 0, nil
	}
	holds, err := figuring.Hole{Bores: []figuring.Round{{From: 0, To: r.Ask.Depth, Across: r.Ask.Hole}}}.Standing(records.Depth(r.Static), intake)
	return holds.Value, err
}
