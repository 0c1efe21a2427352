package figuring

import "tallybook/records"

// Overrun is the grout that an annulus takes over what the hole as drilled
// would hold: 1 fits exactly, 1.3 is 30 per cent more. Well.GroutOverrun
// learns it from a record.
type Overrun float64

// Allowance is a published or usual allowance over the annulus.
type Allowance struct {
	Name      string
	Low, High Overrun
	Source    Source
}

// Allowances lists usual overruns, for where no neighbour tells. None of them
// is a default.
func Allowances() []Allowance {
	handbook := Source{"handbook practice: Driscoll 1986; EPA 1975, Manual of Water Well Construction Practices", Remembered}
	return []Allowance{
		{"dry bentonite in a borehole, for voids", 1.10, 1.10, Source{"manufacturers' advice in National Driller", Read}},
		{"cement grout, drilled hole without a caliper log", 1.25, 1.50, handbook},
		{"cement grout, fractured or cavernous ground: this much or more", 2, 2, handbook},
	}
}

// Batch is the grout for one annulus.
type Batch struct {
	Mix      Mix
	Annulus  records.Volume
	Overrun  Overrun
	Grout    records.Volume // annulus times overrun
	BagsUsed float64        // before rounding up
	Bags     int            // whole, rounded up
	Water    records.Volume // to mix all the bags
	Dry      records.Mass   // weight of the bags
	Makes    records.Volume // what all the bags make
	Working  Working
}

// leastYield of a bag, litres: below it a Mix was made by hand and wrongly.
const leastYield = 0.1

// For is the bags and the mixing water for an annulus with an overrun: bags =
// annulus x overrun / yield of a bag, rounded up; water for every bag. An
// overrun below 1 is taken as it stands and cautioned against. Errors: a
// volume or overrun that is negative or no number, an overrun of zero or above
// 50, a mix without a yield.
func (m Mix) For(annulus records.Volume, over Overrun) (Batch, error) {
	err := firstOf(anyVolume("annulus_l", "the annulus", annulus), within("overrun", "the overrun", float64(over), 0, 50, true))
	if err == nil && !(m.Yield >= leastYield) {
		err = bad("mix", "a bag of the mix makes nothing: take one of the mixes, or give bag and water")
	}
	if err != nil {
		return Batch{}, err
	}
	b := Batch{Mix: m, Annulus: annulus, Overrun: over, Grout: annulus * records.Volume(over)}
	b.BagsUsed = float64(b.Grout / m.Yield)
	b.Bags = wholeUp(b.BagsUsed)
	b.Water = m.Water * records.Volume(b.Bags)
	b.Dry = m.Bag * records.Mass(b.Bags)
	b.Makes = m.Yield * records.Volume(b.Bags)
	b.Working = Working{
		Title:   "grout to load",
		Formula: "bags = annulus x overrun / yield of a bag, rounded up; water = bags x water a bag",
		Inputs:  []Input{volume("annulus", annulus), count("overrun", float64(over)), volume("yield of a bag", m.Yield), volume("water a bag", m.Water)},
		Sources: m.Working.Sources,
		Limits:  "water to flush hoses, wash up or wet chips is not counted, nor grout left in them; ground that takes grout without the level rising is to be stopped and thought about, not fed",
		Caution: m.Working.Caution,
	}
	if over < 1 {
		b.Working.Caution = "an overrun below 1 leaves part of the annulus open: water from the surface can follow it; " + b.Working.Caution
	}
	return b, nil
}
