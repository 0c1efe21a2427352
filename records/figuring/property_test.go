package figuring_test

import (
	"math"
	"testing"

	"tallybook/records"
	"tallybook/records/figuring"

	"pgregory.net/rapid"
)

func close(a, b, scale float64) bool { return math.Abs(a-b) <= 1e-9*math.Max(1, scale) }

func TestVolumesAddAndGrow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := records.Diameter(rapid.Float64Range(25, 2000).Draw(t, "hole"))
		casing := d * records.Diameter(rapid.Float64Range(0.1, 0.99).Draw(t, "casing"))
		a := records.Length(rapid.Float64Range(0, 500).Draw(t, "a"))
		b := records.Length(rapid.Float64Range(0, 500).Draw(t, "b"))
		get := func(f figuring.Figure[records.Volume], err error) float64 {
			if err != nil {
				t.Fatal(err)
			}
			return float64(f.Value)
		}
		both := get(figuring.Holds(d, a+b))
		if !close(get(figuring.Holds(d, a))+get(figuring.Holds(d, b)), both, both) {
			t.Error("two lengths do not hold what their sum holds")
		}
		if get(figuring.Holds(d*1.01, a+b)) < both {
			t.Error("a wider hole holds less")
		}
		// Hole = casing and annulus together.
		if !close(get(figuring.Annulus(d, casing, a))+get(figuring.Holds(casing, a)), get(figuring.Holds(d, a)), both) {
			t.Error("casing and annulus are not the hole")
		}
		// The units of the trade and ours give the same.
		perFoot := records.CubicFoot.FromBase(get(figuring.Holds(d, records.Length(records.Foot.ToBase(1)))))
		inches := records.InchDiameter.FromBase(float64(d))
		if want := math.Pi / 4 * inches * inches / 144; !close(perFoot, want, want) {
			t.Errorf("%v ft3 a foot, want %v", perFoot, want)
		}
	})
}

func TestStandingIsAdditive(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := figuring.Hole{
			Bores: []figuring.Round{
				{From: 0, To: records.Depth(rapid.Float64Range(5, 40).Draw(t, "upper")), Across: 254},
				{From: 0, To: 200, Across: records.Diameter(rapid.Float64Range(100, 160).Draw(t, "lower"))},
			},
			Casing: []figuring.Round{{From: -0.5, To: records.Depth(rapid.Float64Range(1, 60).Draw(t, "casing")), Across: 154}},
		}
		level := records.Depth(rapid.Float64Range(0, 90).Draw(t, "level"))
		mid := level + records.Depth(rapid.Float64Range(0, 50).Draw(t, "mid"))
		intake := mid + records.Depth(rapid.Float64Range(0, 50).Draw(t, "intake"))
		get := func(a, b records.Depth) float64 {
			f, err := h.Standing(a, b)
			if err != nil {
				t.Fatal(err)
			}
			return float64(f.Value)
		}
		whole := get(level, intake)
		if !close(get(level, mid)+get(mid, intake), whole, whole) {
			t.Error("two stretches do not hold what both hold")
		}
		after, err := h.LevelAfter(level, intake, records.Volume(get(level, mid)))
		if err != nil || math.Abs(float64(after-mid)) > 1e-6 {
			t.Errorf("the water above %v drawn, the level is at %v (%v)", mid, after, err)
		}
	})
}

func TestGroutGrows(t *testing.T) {
	mixes := figuring.MixExamples()
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.SampledFrom(mixes).Draw(t, "mix")
		v := records.Volume(rapid.Float64Range(0, 5000).Draw(t, "annulus"))
		over := figuring.Overrun(rapid.Float64Range(1, 3).Draw(t, "overrun"))
		b, err := m.For(v, over)
		if err != nil {
			t.Fatal(err)
		}
		more, err := m.For(v*1.1, over*1.1)
		if err != nil {
			t.Fatal(err)
		}
		if more.Bags < b.Bags || more.Water < b.Water {
			t.Error("more to fill takes less")
		}
		if float64(b.Makes) < float64(b.Grout)-1e-8*float64(b.Makes+m.Yield) || float64(b.Makes-b.Grout) > float64(m.Yield)*(1+1e-8) {
			t.Errorf("%d bags make %v for %v", b.Bags, b.Makes, b.Grout)
		}
		wetter, err := figuring.NeatCement(records.Volume(records.Gallon.ToBase(rapid.Float64Range(5, 7).Draw(t, "water"))))
		if err != nil {
			t.Fatal(err)
		}
		thinner, err := figuring.NeatCement(wetter.Water * 1.05)
		if err != nil || thinner.Yield <= wetter.Yield || thinner.Density >= wetter.Density {
			t.Errorf("more water does not make more and lighter slurry (%v)", err)
		}
	})
}

func drawPattern(t *rapid.T) figuring.Pattern {
	p := figuring.Pattern{Name: "drawn"}
	for range rapid.IntRange(0, 5).Draw(t, "draws") {
		p.Draws = append(p.Draws, figuring.Draw{
			At:   records.Minutes(rapid.Float64Range(0, 1440).Draw(t, "at")),
			Flow: records.Flow(rapid.Float64Range(0, 1).Draw(t, "flow")),
			For:  records.Minutes(rapid.Float64Range(0, 400).Draw(t, "for")),
		})
	}
	return p
}

func drawSupply(t *rapid.T) figuring.Supply {
	return figuring.Supply{
		Yield:      records.Flow(rapid.Float64Range(0, 0.5).Draw(t, "yield")),
		Hole:       records.Volume(rapid.Float64Range(0, 2000).Draw(t, "hole")),
		Pump:       records.Flow(rapid.Float64Range(0, 1).Draw(t, "pump")),
		Tank:       records.Volume(rapid.SampledFrom([]float64{0, 0, 200, 4000}).Draw(t, "tank")),
		Days:       rapid.IntRange(0, 3).Draw(t, "days"),
		Slackening: rapid.Bool().Draw(t, "slackening"),
	}
}

// What comes in is what goes out and what stays, in every minute storage is
// between empty and full, and the rock never gives more than its yield.
func TestWaterBalance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, p := drawSupply(t), drawPattern(t)
		d, err := figuring.Carry(s, p)
		if err != nil {
			t.Fatal(err)
		}
		days := float64(max(1, s.Days))
		scale := float64(d.Asked+s.Hole+s.Tank) + float64(s.Yield)*86400*days
		stored := float64(d.End.Hole + d.End.Tank - d.Start.Hole - d.Start.Tank)
		if !close(float64(d.Inflow), float64(d.Supplied)+stored, scale) {
			t.Errorf("inflow %v is not supplied %v and change in storage %v", d.Inflow, d.Supplied, stored)
		}
		if !close(float64(d.Asked), float64(d.Supplied+d.Short), scale) {
			t.Errorf("asked %v is not supplied %v and short %v", d.Asked, d.Supplied, d.Short)
		}
		if !close(float64(d.Asked), float64(p.Volume())*days, scale) {
			t.Errorf("asked %v, the pattern has %v", d.Asked, float64(p.Volume())*days)
		}
		if float64(d.Inflow) > float64(s.Yield)*86400*days*(1+1e-9) {
			t.Errorf("inflow %v is more than the yield gives", d.Inflow)
		}
		if len(d.Levels) != int(days)*1440+1 {
			t.Fatalf("%d levels", len(d.Levels))
		}
		lowest := math.Inf(1)
		for i, l := range d.Levels {
			if l.Hole < 0 || l.Hole > s.Hole || l.Tank < 0 || l.Tank > s.Tank {
				t.Fatalf("minute %d: %+v", i, l)
			}
			if i > 0 && float64(l.Hole+l.Tank-d.Levels[i-1].Hole-d.Levels[i-1].Tank) > float64(s.Yield)*60+1e-9*scale {
				t.Fatalf("minute %d: storage grows by more than the yield", i)
			}
			if s.Pump > 0 && i > 0 && float64(l.Tank-d.Levels[i-1].Tank) > float64(s.Pump)*60+1e-9*scale {
				t.Fatalf("minute %d: the tank grows by more than the pump lifts", i)
			}
			lowest = min(lowest, float64(l.Hole+l.Tank))
		}
		if lowest != float64(d.Lowest) {
			t.Errorf("lowest %v, said %v", lowest, d.Lowest)
		}
		if d.Carries() != (d.ShortMinutes == 0) || d.Carries() && d.Short != 0 {
			t.Errorf("short %v in %d minutes", d.Short, d.ShortMinutes)
		}
	})
}

func TestMoreNeverHurts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, p := drawSupply(t), drawPattern(t)
		short := func(s figuring.Supply) float64 {
			d, err := figuring.Carry(s, p)
			if err != nil {
				t.Fatal(err)
			}
			return float64(d.Short)
		}
		base := short(s)
		more := 1e-9 * float64(p.Volume()+1)
		if got := short(s.WithYield(s.Yield * 1.2)); got > base+more {
			t.Errorf("more yield: short %v, before %v", got, base)
		}
		if got := short(s.WithTank(s.Tank + 100)); got > base+more {
			t.Errorf("a larger tank: short %v, before %v", got, base)
		}
	})
}

func TestSmallestIsSmallest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, p := drawSupply(t), drawPattern(t)
		s.Days = 60
		carries := func(s figuring.Supply) bool {
			d, err := figuring.Carry(s, p)
			if err != nil {
				t.Fatal(err)
			}
			return d.Carries()
		}
		tank, err := figuring.SmallestTank(s, p, 1)
		if err != nil {
			t.Fatal(err)
		}
		if tank.Possible && !carries(s.WithTank(tank.Value)) {
			t.Errorf("a tank of %v does not carry", tank.Value)
		}
		if tank.Possible && tank.Value > 1 && carries(s.WithTank(tank.Value-1)) {
			t.Errorf("a tank of %v carries too", tank.Value-1)
		}
		if d, err := figuring.Carry(s, p); err != nil || tank.Possible != d.DayAfterDay {
			t.Errorf("possible %v, day after day %v (%v)", tank.Possible, d.DayAfterDay, err)
		}
		least, err := figuring.SmallestYield(s, p, 1e-4)
		if err != nil {
			t.Fatal(err)
		}
		if least.Possible && !carries(s.WithYield(least.Value)) {
			t.Errorf("a yield of %v does not carry", least.Value)
		}
	})
}

// The smallest tank does not wear out over two months, close to all that well
// and pump can give and with inflow that slackens too.
func TestSmallestTankLasts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSupply(t)
		most := float64(s.Yield)
		if s.Pump > 0 {
			most = min(most, float64(s.Pump))
		}
		daily := rapid.Float64Range(0.8, 1).Draw(t, "load") * most * 86400
		p, err := rapid.SampledFrom(figuring.Shapes()).Draw(t, "shape").Of(records.Volume(daily))
		if err != nil {
			t.Fatal(err)
		}
		tank, err := figuring.SmallestTank(s, p, 1)
		if err != nil || !tank.Possible {
			t.Fatalf("%+v, %v", tank, err)
		}
		s.Days = 60
		if d, err := figuring.Carry(s.WithTank(tank.Value), p); err != nil || !d.Carries() {
			t.Errorf("a tank of %v is short of %v from day %.1f (%v)", tank.Value, d.Short, float64(d.FirstShort)/1440, err)
		}
	})
}

func TestCasingGrows(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := figuring.CasingRule{
			Socket:  records.Length(rapid.Float64Range(0, 10).Draw(t, "socket")),
			Least:   records.Depth(rapid.Float64Range(0, 20).Draw(t, "least")),
			StickUp: records.Length(rapid.Float64Range(0, 1).Draw(t, "stick-up")),
		}
		bedrock := records.Depth(rapid.Float64Range(0, 100).Draw(t, "bedrock"))
		deeper := bedrock + records.Depth(rapid.Float64Range(0, 10).Draw(t, "deeper"))
		a, errA := figuring.CasingToSet(bedrock, r)
		b, errB := figuring.CasingToSet(deeper, r)
		if errA != nil || errB != nil {
			t.Fatal(errA, errB)
		}
		if b.Length < a.Length || a.Seat < r.Least || a.Seat < bedrock+records.Depth(r.Socket) || a.ByRule != (a.Seat > bedrock+records.Depth(r.Socket)) {
			t.Errorf("rock at %v: %+v; at %v: %+v", bedrock, a, deeper, b)
		}
		stick := records.Length(rapid.Float64Range(1, 12).Draw(t, "stick"))
		n, err := figuring.Sticks(a.Length, stick, 0)
		if err != nil || n.Covers < a.Length-1e-6 || n.Covers-stick > a.Length+1e-6 {
			t.Errorf("%d sticks of %v for %v (%v)", n.Needed, stick, a.Length, err)
		}
	})
}
