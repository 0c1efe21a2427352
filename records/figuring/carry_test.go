package figuring_test

import (
	"math"
	"testing"

	"tallybook/records"
	"tallybook/records/figuring"
)

// steady is a draw of a volume within a time from six in the morning on.
func steady(v records.Volume, within records.Minutes) figuring.Pattern {
	return figuring.Pattern{Name: "test", Draws: []figuring.Draw{{At: 360, Flow: records.Flow(float64(v) / float64(within) / 60), For: within}}}
}

// Groundwater Project, Domestic Wells (2022), box 1: 181.5 L stored and
// 9 L/min make 1,261 L in 2 hours, more than the 1,200 L of four persons; so
// 1,261 are carried and 1,263 are not, by the little that is over.
func TestCarryBoxOne(t *testing.T) {
	stored := must[figuring.Figure[records.Volume]](t)(figuring.Hole{Bores: []figuring.Round{{From: 0, To: 20, Across: 152}}}.Standing(5, 15)).Value
	s := figuring.Supply{Yield: 9. / 60, Hole: stored}
	for _, c := range []struct{ asked, short float64 }{{1200, 0}, {1261, 0}, {1263, 1263 - 1080 - float64(stored)}} {
		d := must[figuring.Day](t)(figuring.Carry(s, steady(records.Volume(c.asked), 120)))
		near(t, "short", float64(d.Short), c.short, 1e-6)
		if d.Carries() != (c.short == 0) {
			t.Errorf("%v L: carries %v", c.asked, d.Carries())
		}
	}
	// 1,200 L draw 10 L/min and 9 come in: 120 L lower after two hours.
	d := must[figuring.Day](t)(figuring.Carry(s, steady(1200, 120)))
	near(t, "lowest", float64(d.Lowest), float64(stored)-120, 1e-6)
	if d.LowestAt != 480 || d.End.Hole != stored || d.Levels[0].Hole != stored || len(d.Levels) != 1441 {
		t.Errorf("lowest at %v, end %v, %d levels", d.LowestAt, d.End, len(d.Levels))
	}
	// 120 L at 9 L/min are back after 14 minutes.
	if d.Levels[493].Hole >= stored || d.Levels[494].Hole != stored {
		t.Errorf("refilled: %v then %v of %v", d.Levels[493].Hole, d.Levels[494].Hole, stored)
	}
}

// 600 gallons in 2 hours: storage of 600 - 120 gpm, computed. With it the two
// hours are carried, with 10 gallons less they are 10 gallons short, and the
// yield that does is found again from the storage.
func TestCarrySixHundredGallons(t *testing.T) {
	p := steady(gal(600), 120)
	for _, yield := range []float64{0.5, 1, 2, 3, 4, 5} {
		needed := 600 - 120*yield
		s := figuring.Supply{Yield: gpm(yield), Hole: gal(needed)}
		if d := must[figuring.Day](t)(figuring.Carry(s, p)); !d.Carries() {
			t.Errorf("%v gpm and %v gal are short of %v L", yield, needed, d.Short)
		}
		if needed >= 10 {
			s.Hole = gal(needed - 10)
			d := must[figuring.Day](t)(figuring.Carry(s, p))
			near(t, "short, gal", inGal(d.Short), 10, 1e-6)
			// What stands lasts until the last gallons: (needed-10)/(5-yield) minutes.
			near(t, "first short", float64(d.FirstShort), 360+math.Floor((needed-10)/(5-yield)), 1)
			tank := must[figuring.Least[records.Volume]](t)(figuring.SmallestTank(s, p, gal(0.01)))
			if !tank.Possible {
				t.Errorf("%v gpm: %s", yield, tank.Why)
			}
			near(t, "tank, gal", inGal(tank.Value), 10, 0.011)
		}
		s.Hole = gal(needed)
		least := must[figuring.Least[records.Flow]](t)(figuring.SmallestYield(s, p, gpm(1e-4)))
		near(t, "least yield", inGPM(least.Value), max(yield, 600./1440), 2e-4)
	}
}

// A secondary copy of a leaflet: 150 gallons stored carry 14 gpm for a little
// over 10 minutes.
func TestCarryHose(t *testing.T) {
	d := must[figuring.Day](t)(figuring.Carry(figuring.Supply{Hole: gal(150)}, figuring.Pattern{Draws: []figuring.Draw{{At: 600, Flow: gpm(14), For: 60}}}))
	if d.FirstShort != 610 {
		t.Errorf("first short at %v", d.FirstShort)
	}
	near(t, "supplied", inGal(d.Supplied), 150, 1e-6)
	if d.DayAfterDay {
		t.Error("a well that yields nothing carries day after day")
	}
}

// Worked by hand. A pump of 2 L/min fills a tank of 100 L; 300 L are asked
// within an hour from six: 120 lifted and 100 stored are 220, so 80 are
// short, from minute 33 on (5 asked less 2 lifted take 100 L in 33.3 min), and
// the pump, not the water, is too little.
func TestCarryTankAndPump(t *testing.T) {
	s := figuring.Supply{Yield: 3. / 60, Hole: 500, Pump: 2. / 60, Tank: 100}
	d := must[figuring.Day](t)(figuring.Carry(s, steady(300, 60)))
	near(t, "short", float64(d.Short), 80, 1e-6)
	if d.FirstShort != 393 || d.PumpShort != d.ShortMinutes || d.ShortMinutes != 27 {
		t.Errorf("first short %v, %d minutes, %d by the pump", d.FirstShort, d.ShortMinutes, d.PumpShort)
	}
	near(t, "tank full again", float64(d.Levels[420+50].Tank), 100, 1e-6)
	near(t, "a minute before", float64(d.Levels[420+49].Tank), 98, 1e-6)

	tank := must[figuring.Least[records.Volume]](t)(figuring.SmallestTank(s, steady(300, 60), 0.01))
	near(t, "tank", float64(tank.Value), 180, 0.011)

	// Fracturing does not mend a small pump; a tank does not mend a dry well.
	if y := must[figuring.Least[records.Flow]](t)(figuring.SmallestYield(s.WithTank(0), steady(300, 60), 0.001)); y.Possible || y.Why == "" {
		t.Errorf("a yield mends the pump: %+v", y)
	}
	dry := s.WithYield(0.1 / 60)
	if v := must[figuring.Least[records.Volume]](t)(figuring.SmallestTank(dry, steady(300, 60), 0.01)); v.Possible || v.Why == "" {
		t.Errorf("a tank mends the dry well: %+v", v)
	}
}

// A hole left to recover, with inflow going with drawdown, fills as
// 1 - exp(-yield t / full): the solution of dV/dt = yield (1 - V/full).
func TestCarrySlackening(t *testing.T) {
	s := figuring.Supply{Yield: 1. / 60, Hole: 400, Slackening: true}
	d := must[figuring.Day](t)(figuring.Carry(s, figuring.Pattern{Draws: []figuring.Draw{{At: 0, Flow: 500. / 60, For: 1}}}))
	if d.Levels[1].Hole > 1 {
		t.Fatalf("%v L left", d.Levels[1].Hole)
	}
	for _, minute := range []int{60, 240, 600, 1200} {
		want := 400 * (1 - math.Exp(-float64(minute)/400))
		near(t, "recovered", float64(d.Levels[1+minute].Hole), want, 1)
	}
	quick := s
	quick.Slackening = false
	d = must[figuring.Day](t)(figuring.Carry(quick, figuring.Pattern{Draws: []figuring.Draw{{At: 0, Flow: 500. / 60, For: 1}}}))
	near(t, "at the whole yield", float64(d.Levels[301].Hole), 300, 1e-6)
}

// A yield that has to recover overnight: 1,000 L a day of 1,440 L that the
// well gives, all within two hours. And one that does not: 1,000 L of 720.
func TestCarryDays(t *testing.T) {
	p := steady(1000, 120)
	enough := figuring.Supply{Yield: 1. / 60, Hole: 880, Days: 5}
	if d := must[figuring.Day](t)(figuring.Carry(enough, p)); !d.Carries() || !d.DayAfterDay {
		t.Errorf("five days: short %v, day after day %v", d.Short, d.DayAfterDay)
	}
	wearing := figuring.Supply{Yield: 0.5 / 60, Hole: 1200, Days: 5}
	d := must[figuring.Day](t)(figuring.Carry(wearing, p))
	if d.Carries() || d.DayAfterDay || d.FirstShort < 1440 {
		t.Errorf("five days of half the yield: short %v from %v", d.Short, d.FirstShort)
	}
	wearing.Days = 1
	if d := must[figuring.Day](t)(figuring.Carry(wearing, p)); !d.Carries() || d.DayAfterDay {
		t.Errorf("the first day: short %v", d.Short)
	}
}

// Close to all that the well gives, with inflow that slackens, the level wears
// down for weeks: a tank that carries ten days is not yet one that lasts.
func TestSmallestTankLooksFarAhead(t *testing.T) {
	p := must[figuring.Pattern](t)(figuring.Shapes()[1].Of(0.95 * 1440))
	s := figuring.Supply{Yield: 1. / 60, Hole: 2000, Slackening: true}
	tank := must[figuring.Least[records.Volume]](t)(figuring.SmallestTank(s, p, 1))
	for _, c := range []struct {
		less    records.Volume
		days    int
		carries bool
	}{{0, 60, true}, {1.5, 10, true}, {1.5, 60, false}} {
		with := s.WithTank(tank.Value - c.less)
		with.Days = c.days
		if d := must[figuring.Day](t)(figuring.Carry(with, p)); d.Carries() != c.carries {
			t.Errorf("%v L less, %d days: short %v", c.less, c.days, d.Short)
		}
	}
}

// A yield that carries two months but gives less than is asked in a day is no
// answer: 10,000 L in the hole and 100 L a day are carried for long by no
// inflow at all, and need 100 L a day.
func TestSmallestYieldIsDayAfterDay(t *testing.T) {
	s := figuring.Supply{Hole: 10_000}
	least := must[figuring.Least[records.Flow]](t)(figuring.SmallestYield(s, steady(100, 60), 1e-6))
	if !least.Possible {
		t.Fatal(least.Why)
	}
	near(t, "L a day", float64(least.Value)*86400, 100, 0.1)
}

func TestPatternPastMidnight(t *testing.T) {
	// 60 L from half past eleven to half past midnight, 1 L a minute.
	p := figuring.Pattern{Draws: []figuring.Draw{{At: 1410, Flow: 1. / 60, For: 60}}}
	d := must[figuring.Day](t)(figuring.Carry(figuring.Supply{Hole: 1000}, p))
	near(t, "asked", float64(d.Asked), 60, 1e-9)
	near(t, "half past midnight", float64(d.Levels[30].Hole), 970, 1e-9)
	near(t, "half past eleven", float64(d.Levels[1410].Hole), 970, 1e-9)
	near(t, "midnight", float64(d.Levels[1440].Hole), 940, 1e-9)
	// A draw of 15 seconds keeps its volume.
	short := figuring.Pattern{Draws: []figuring.Draw{{At: 10.9, Flow: 2, For: 0.25}}}
	d = must[figuring.Day](t)(figuring.Carry(figuring.Supply{Hole: 1000}, short))
	near(t, "asked", float64(d.Asked), 30, 1e-9)
	near(t, "in the first of two minutes", float64(d.Levels[10].Hole-d.Levels[11].Hole), 12, 1e-6)
}

func TestShapesAreWhole(t *testing.T) {
	for _, s := range figuring.Shapes() {
		p := must[figuring.Pattern](t)(s.Of(1234))
		near(t, s.ID, float64(p.Volume()), 1234, 1e-6)
		d := must[figuring.Day](t)(figuring.Carry(figuring.Supply{Hole: 1234}, p))
		near(t, s.ID+" asked", float64(d.Asked), 1234, 1e-6)
		if !d.Carries() {
			t.Errorf("%s: a day's water in store is short of %v", s.ID, d.Short)
		}
		if s.Source.Mark != figuring.Ours {
			t.Errorf("%s passes for measured", s.ID)
		}
	}
}
