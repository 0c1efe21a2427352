package scout

import (
	"errors"
	"math"
	"slices"

	"tallybook/geo/predict"
	"tallybook/records"
)

// ErrNoOutcome is returned where there is nothing to go by: no neighbour that
// carries weight, or a plan that makes no sense.
var ErrNoOutcome = errors.New("scout: no neighbour to replay the plan in")

// Costed is an outcome with its bill.
type Costed struct {
	Outcome
	// Bill is the hole drilled to the outcome's likely depth, which is as far
	// as the neighbour went where it stopped early.
	Bill Bill
	// Low and High are the limits that the record leaves for the cost. Where
	// the neighbour stopped early High is what the hole costs at most at the
	// plan's end, and AtLeast is set: the cost lies above Low, and nobody
	// knows how far.
	Low, High Cents
	AtLeast   bool
	// Costs are the costs of the outcome's parts, in their order.
	Costs []PartCost
}

// PartCost is what a part of an outcome costs, or at least costs.
type PartCost struct {
	Cents   Cents
	AtLeast bool
}

// Forecast is the cost of a hole over all outcomes, and what goes with it.
type Forecast struct {
	Plan     Plan
	Outcomes []Costed
	// Cost is the distribution of cost in cents; Depth of the depth drilled,
	// Casing of the depth casing goes to, metres; Sacks of grout, where they
	// can be counted, else empty.
	Cost, Depth, Casing, Sacks predict.Distribution
	// MetLow and MetHigh are the least and the greatest share of outcomes in
	// which the need is met before the plan's end. They differ where
	// neighbours that stopped early leave it open.
	MetLow, MetHigh float64
	// Ceiling is the most that any outcome can cost under the plan, since
	// drilling ends at its greatest depth or where the budget is used up.
	Ceiling Cents
	// Middle is the outcome whose own cost lies nearest to the median: its
	// bill is the median line by line, of one real hole.
	Middle  Costed
	Drivers []Driver
	Basis   Basis
	// Missing is what the rate table does not price: the cost is without it.
	Missing []string
}

// Dots gives n equally likely costs in cents, ascending; +Inf where nothing
// but 'more than' is known.
func (f *Forecast) Dots(n int) []float64 { return f.Cost.Dots(n) }

// Range80 is the cost that eight outcomes in ten lie within.
func (f *Forecast) Range80() predict.Range { return f.Cost.RangeAt(0.1, 0.9) }

// ShareAbove is the least and the greatest share of outcomes that cost more
// than a figure, whole neighbour by whole neighbour. They are equal unless
// neighbours that stopped early leave it open.
func (f *Forecast) ShareAbove(figure Cents) (low, high float64) {
	return f.Cost.AtLeastBounds(math.Nextafter(float64(figure), math.Inf(1)))
}

// DepthAt is the depth that a share of outcomes does not go beyond. Where
// nobody knows more than that it is deeper than the wells went, it is the
// plan's greatest depth, and atLimit is set.
func (f *Forecast) DepthAt(share float64) (depth records.Depth, atLimit bool) {
	d := f.Depth.Quantile(share)
	if !(d < float64(f.Plan.MaxDepth)) {
		return f.Plan.MaxDepth, math.IsInf(d, 1)
	}
	return records.Depth(d), false
}

// CallShare is the least and the greatest share of outcomes in which the hole
// comes to the stop-and-call depth with the need not met: how likely the
// telephone call is. Zero where the plan has no such depth.
func (f *Forecast) CallShare() (low, high float64) {
	if !(f.Plan.CallDepth > 0) {
		return 0, 0
	}
	return f.Depth.AtLeastBounds(math.Nextafter(float64(f.Plan.CallDepth), math.Inf(1)))
}

// CostOf replays the plan in every neighbour, bills each as a whole hole, and
// gives the weighted distribution of the costs.
//
// An outcome whose water is known only within limits enters in parts (see
// Outcome.Parts); one that stopped early as 'at least' the cheapest way it can
// have gone on, which is the hole as it stood, or a dry hole under the
// dry-hole terms.
//
// It returns ErrNoOutcome, or the plan's or the table's faults as an error of
// records. An empty table gives a forecast with depths and no cost.
func CostOf(neighbours []Neighbour, p Plan, own Own, r *Rates) (*Forecast, error) {
	if err := records.FaultError(p.Validate()); err != nil {
		return nil, err
	}
	if err := records.FaultError(r.Validate()); err != nil {
		return nil, err
	}
	f := &Forecast{Plan: p}
	b := biller{rates: r, plan: &p}
	for _, o := range Replay(neighbours, p, own, r) {
		f.Outcomes = append(f.Outcomes, b.cost(o))
	}
	if len(f.Outcomes) == 0 {
		return nil, ErrNoOutcome
	}
	if err := f.distributions(r); err != nil {
		return nil, err
	}
	if own.Bedrock != nil {
		// Casing follows bedrock step by step, so that the ranks which hold
		// eight in ten of bedrock hold eight in ten of it.
		f.Casing = f.Casing.WithRanks(own.Bedrock.Ranks())
	}
	f.Basis = basisOf(f.Outcomes)
	f.MetLow, f.MetHigh = f.chanceMet()
	f.Missing = r.Lacks()
	for i := range f.Outcomes {
		for _, m := range f.Outcomes[i].Bill.Missing {
			if !slices.Contains(f.Missing, m) {
				f.Missing = append(f.Missing, m)
			}
		}
	}
	if !f.Cost.Empty() {
		f.Middle = f.nearest(f.Cost.Median())
		f.Drivers = drivers(f.Outcomes, r)
	}
	return f, nil
}

// cost bills an outcome at its limits and in its parts.
func (b *biller) cost(o Outcome) Costed {
	c := Costed{Outcome: o, Costs: make([]PartCost, 0, len(o.Parts))}
	hole := func(depth records.Depth, wanted bool, yield records.Flow) Hole {
		return Hole{
			Depth: depth, Casing: min(o.Casing, depth), Ground: o.ground, Bedrock: o.Bedrock,
			Overrun: o.Overrun, Wanted: wanted, Yield: yield,
		}
	}
	good := func(depth records.Depth) Cents { return b.total(hole(depth, true, b.plan.Need)) }
	dry, poor := b.total(hole(o.End, false, 0)), b.total(hole(o.End, false, o.YieldLow))
	most := max(good(o.End), dry, poor)
	shown := hole(o.Likely, true, b.plan.Need)
	switch o.Result {
	case Met:
		c.Low, c.High = good(o.Early), good(o.Late)
	case Short:
		shown = hole(o.End, false, o.YieldLow)
		c.Low, c.High = poor, poor
	case StoppedEarly:
		c.Low, c.High, c.AtLeast = min(good(o.Early), dry, poor), most, true
	case Either:
		c.Low, c.High = min(good(o.Early), dry, poor), most
	}
	c.Bill = b.rates.Bill(shown, b.plan)
	for _, part := range o.Parts {
		cost := PartCost{Cents: poor}
		switch part.Result {
		case Met:
			cost.Cents = good(part.Depth)
		case StoppedEarly:
			cost = PartCost{min(good(part.Depth), dry, poor), true}
		}
		c.Costs = append(c.Costs, cost)
	}
	return c
}

// sampleOf is a value, or one that the true one lies above.
func sampleOf(value float64, atLeast bool, weight float64) predict.Sample {
	s := predict.Sample{Value: max(value, 0), Weight: weight}
	if atLeast {
		s.Bound = predict.GreaterThan
	}
	return s
}

func (f *Forecast) distributions(r *Rates) error {
	var cost, depth, casing, sacks []predict.Sample
	counted := true
	for i := range f.Outcomes {
		o := &f.Outcomes[i]
		f.Ceiling = max(f.Ceiling, o.High)
		for k, part := range o.Parts {
			weight := o.Weight * part.Share
			cost = append(cost, sampleOf(float64(o.Costs[k].Cents), o.Costs[k].AtLeast, weight))
			depth = append(depth, sampleOf(float64(part.Depth), part.Result == StoppedEarly, weight))
		}
		casing = append(casing, sampleOf(float64(o.Casing), false, o.Weight))
		n, ok := r.Sacks(&Hole{Casing: o.Casing, Overrun: o.Overrun}, &f.Plan)
		counted = counted && ok
		sacks = append(sacks, sampleOf(n, false, o.Weight))
	}
	var err error
	if f.Depth, err = predict.NewDistribution(depth); err != nil {
		return err
	}
	if f.Casing, err = predict.NewDistribution(casing); err != nil {
		return err
	}
	if counted {
		if f.Sacks, err = predict.NewDistribution(sacks); err != nil {
			return err
		}
	}
	if r.Charges() {
		f.Cost, err = predict.NewDistribution(cost)
	}
	return err
}

// chanceMet is the share of outcomes in which the need is met before the end.
// A neighbour that stopped early is followed by those that went deeper; where
// none of them settles it the share lies between two limits.
func (f *Forecast) chanceMet() (low, high float64) {
	never := 0.0 // a depth that stands for 'not met'
	for i := range f.Outcomes {
		never = max(never, float64(f.Outcomes[i].End)+1)
	}
	var samples []predict.Sample
	for i := range f.Outcomes {
		o := &f.Outcomes[i]
		for _, part := range o.Parts {
			s := sampleOf(float64(part.Depth), part.Result == StoppedEarly, o.Weight*part.Share)
			if part.Result == Short {
				s.Value = never
			}
			samples = append(samples, s)
		}
	}
	d, err := predict.NewDistribution(samples)
	if err != nil {
		return 0, 1
	}
	low, high = d.AtLeastBounds(never)
	return 1 - high, 1 - low
}

// nearest is the outcome whose own cost lies nearest to a figure, the heavier
// one where two are as near, then by well. Where the figure is not known (an
// upper end of 'more than') it is the dearest.
func (f *Forecast) nearest(cents float64) Costed {
	best := 0
	gap := func(i int) float64 {
		if math.IsInf(cents, 1) {
			return -float64(f.Outcomes[i].Bill.Total)
		}
		return math.Abs(float64(f.Outcomes[i].Bill.Total) - cents)
	}
	for i := range f.Outcomes {
		a, b := &f.Outcomes[i], &f.Outcomes[best]
		switch ga, gb := gap(i), gap(best); {
		case ga < gb, ga == gb && (a.Weight > b.Weight || a.Weight == b.Weight && a.WellID < b.WellID):
			best = i
		}
	}
	return f.Outcomes[best]
}
