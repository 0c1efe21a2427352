package scout

import (
	"tallybook/records"
	"tallybook/records/figuring"
)

// Way is one way on from a hole that gives too little.
type Way struct {
	Kind WayKind
	// Length is what is drilled, Tank what a tank holds, each where the way
	// is that.
	Length records.Length
	Tank   records.Volume
	// YieldLow and YieldHigh are the flow it may leave the hole with, Stored
	// what hole and tank then hold.
	YieldLow, YieldHigh records.Flow
	Stored              records.Volume
	// AtLow and AtHigh say whether the day is carried at either flow.
	AtLow, AtHigh bool
	// Chance is how likely the need is met, where the records tell (Told).
	Chance Chance
	Told   bool
	Price  Price
	// Source is where YieldLow and YieldHigh come from, "" where nowhere but
	// the hole itself.
	Source string
}

// WayKind says what a way is.
type WayKind uint8

// The ways on.
const (
	Stop     WayKind = iota + 1 // leave the hole as it is
	Deepen                      // drill on: its store counts even where no water comes
	AddTank                     // stop, and set a tank
	Fracture                    // stop, and fracture the hole
)

var wayWords = [...]string{Stop: "stop", Deepen: "deepen", AddTank: "tank", Fracture: "hydrofracture"}

// String gives the way's word.
func (k WayKind) String() string {
	if int(k) < len(wayWords) {
		return wayWords[k]
	}
	return ""
}

// Prices of the other ways are the contractor's own.
type WayPrices struct{ Tank, Fracture Price }

// Ways holds drilling on against stopping, a tank and a hydrofracture: for
// each, the flow and the store it leaves and whether they carry the day's
// pattern. now is the hole as it is, with nothing but what stands in it.
//
// Drilling on is counted with the flow now at its low end (the stretch comes
// in dry and only stores) and with the gain to be expected at its high end;
// the tank is the smallest that carries the day, and 0 where none does; the
// gains of fracturing are published ranges of wells worth fracturing and no
// promise. Errors are those of package figuring.
func Ways(p *Prospect, now figuring.Supply, day figuring.Pattern, prices WayPrices) ([]Way, error) {
	var out []Way
	add := func(w Way, low, high figuring.Supply) error {
		for _, c := range []struct {
			supply  figuring.Supply
			carries *bool
		}{{low, &w.AtLow}, {high, &w.AtHigh}} {
			d, err := figuring.Carry(c.supply, day)
			if err != nil {
				return err
			}
			*c.carries = d.Carries() && d.DayAfterDay
		}
		w.YieldLow, w.YieldHigh = low.Yield, high.Yield
		w.Stored = low.Hole + low.Tank
		out = append(out, w)
		return nil
	}
	if err := add(Way{Kind: Stop}, now, now); err != nil {
		return nil, err
	}
	for _, a := range p.Ahead {
		dry := now
		dry.Hole += a.Holds
		wet := dry
		wet.Yield += a.Gain
		w := Way{Kind: Deepen, Length: a.Length, Chance: a.Reach, Told: a.Tells, Price: Price{Cents: a.Cost, Set: a.CostSet}}
		if err := add(w, dry, wet); err != nil {
			return nil, err
		}
	}
	tank, err := figuring.SmallestTank(now, day, tankStepL)
	if err != nil {
		return nil, err
	}
	with := now
	if tank.Possible {
		with.Tank = tank.Value
	}
	if err := add(Way{Kind: AddTank, Tank: with.Tank, Price: prices.Tank}, with, with); err != nil {
		return nil, err
	}
	for _, g := range figuring.FractureGains() {
		after, err := figuring.AfterFracture(now.Yield, g)
		if err != nil {
			return nil, err
		}
		low, high := now, now
		low.Yield, high.Yield = after.Low, after.High
		if err := add(Way{Kind: Fracture, Source: g.Name + ": " + g.Source.String(), Price: prices.Fracture}, low, high); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// tankStepL is how finely a tank is sized, litres.
const tankStepL = 50
