package figuring

import (
	"math"

	"tallybook/records"
)

// Supply is a well with what stores its water.
type Supply struct {
	Yield records.Flow   // inflow is never more than this
	Hole  records.Volume // water standing between static level and intake, see Hole.Standing
	Pump  records.Flow   // capacity of the pump in the well; zero: as much as is asked
	Tank  records.Volume // usable part of a tank that the pump fills; zero: none
	Days  int            // the pattern is repeated so often; zero is one day
	// Slackening lets inflow fall off as the hole fills: yield x the share of
	// the hole that is empty, as where inflow goes with drawdown and the yield
	// was measured with the level at the pump. Without it the rock gives its
	// whole yield until the hole is full, which is the mildest there can be.
	Slackening bool
}

// WithYield is the same supply with another yield, as after fracturing.
func (s Supply) WithYield(y records.Flow) Supply { s.Yield = y; return s }

// WithTank is the same supply with another tank.
func (s Supply) WithTank(v records.Volume) Supply { s.Tank = v; return s }

// Level is what stands in store at the end of a minute.
type Level struct{ Hole, Tank records.Volume }

// Day is how a supply carries a pattern.
type Day struct {
	Asked    records.Volume
	Supplied records.Volume
	Short    records.Volume // asked and not supplied
	Inflow   records.Volume // from the rock into the hole

	FirstShort   records.Minutes // after the first midnight; where Short is above zero
	ShortMinutes int             // minutes in which not all was supplied
	PumpShort    int             // of these, minutes in which the pump and not the water was too little

	Start, End Level
	Lowest     records.Volume // of hole and tank together
	LowestAt   records.Minutes
	// DayAfterDay says that the well gives in a day what is asked in a day.
	// Where it does not, no storage carries the pattern for ever.
	DayAfterDay bool
	// Levels begins with the start and has one entry a minute after it.
	Levels  []Level
	Working Working
}

// Carries says whether all that was asked was supplied.
func (d *Day) Carries() bool { return d.Short == 0 }

// Carry works a day (or several) minute by minute. Hole and tank are full at
// the first midnight. In every minute the pump lifts what is asked, or what
// the tank has room for, but never more than its capacity or than stands in
// the hole; the rock gives its yield while the hole has room, and nothing
// when it is full (less than its yield where Slackening is set). Storage is never above full nor below empty, and
// inflow = supplied + change in storage.
func Carry(s Supply, p Pattern) (Day, error) {
	asked, err := s.check(p)
	if err != nil {
		return Day{}, err
	}
	var d Day
	d.Levels = make([]Level, 0, s.days()*dayMinutes+1)
	s.run(asked, &d, false)
	d.DayAfterDay = s.gives(float64(p.Volume()))
	refill := "the rock gives its whole yield as soon as there is room, while a real well gives less as its level nears rest"
	if s.Slackening {
		refill = "inflow is taken as the yield times the share of the hole that is empty"
	}
	d.Working = Working{
		Title:   "whether yield and storage carry the day",
		Formula: "each minute: lifted = least of (asked and room in the tank, pump, water in the hole); water in the hole = least of (full, what was there + inflow - lifted), inflow at most the yield",
		Inputs:  append(s.inputs(p), count("days", float64(s.days()))),
		Sources: []Source{{"water balance, one minute a step", Computed}, p.source()},
		Limits:  "full at the start; " + refill + "; the yield of a dry season may be lower than the one tested",
		Caution: needCaution,
	}
	return d, nil
}

func (s Supply) inputs(p Pattern) []Input {
	in := []Input{flow("yield", s.Yield), volume("water standing above the pump", s.Hole)}
	if s.Pump > 0 {
		in = append(in, flow("pump", s.Pump))
	}
	return append(in, volume("tank", s.Tank), volume("asked in a day", p.Volume()))
}

func (s Supply) days() int { return max(1, s.Days) }

func (s Supply) check(p Pattern) (*[dayMinutes]float64, error) {
	err := firstOf(anyFlow("yield_lps", "the yield", s.Yield), anyVolume("hole_l", "the water standing in the hole", s.Hole),
		anyFlow("pump_lps", "the pump's capacity", s.Pump), anyVolume("tank_l", "the tank", s.Tank))
	if err == nil && (s.Days < 0 || s.Days > 366) {
		err = bad("days", "give from 1 to 366 days")
	}
	if err != nil {
		return nil, err
	}
	return p.minutes()
}

// negligible is the part of a minute's demand below which a shortfall is
// rounding.
const negligible = 1e-9

// run fills d; levels are kept where d.Levels has room for them. With stop it
// ends at the first shortfall, or with the first day that ends as it began,
// for who asks only whether there is a shortfall.
func (s Supply) run(asked *[dayMinutes]float64, d *Day, stop bool) {
	full, tankFull := float64(s.Hole), float64(s.Tank)
	yield, pump := float64(s.Yield)*60, float64(s.Pump)*60
	if pump == 0 {
		pump = math.Inf(1)
	}
	keep := cap(d.Levels) > 0
	hole, tank := full, tankFull
	d.Start = Level{s.Hole, s.Tank}
	lowest := hole + tank
	if keep {
		d.Levels = append(d.Levels, d.Start)
	}
	var sumAsked, supplied, short, inflow float64
	for day := range s.days() {
		holeWas, tankWas := hole, tank
		for m, want := range asked {
			water := hole + yield
			lifted := min(pump, water, tankFull-tank+want)
			got := min(want, tank+lifted)
			if missing := want - got; missing > negligible*want {
				if short == 0 {
					d.FirstShort = records.Minutes(day*dayMinutes + m)
				}
				short += missing
				if stop {
					d.Short = records.Volume(short)
					return
				}
				d.ShortMinutes++
				if pump < water {
					d.PumpShort++
				}
			}
			room := full - hole + lifted
			in := min(yield, room)
			if s.Slackening && full > 0 {
				in = min(in, yield*room/full)
			}
			inflow += in
			tank, hole = max(0, min(tankFull, tank+lifted-got)), max(0, min(full, hole+in-lifted))
			sumAsked, supplied = sumAsked+want, supplied+got
			if hole+tank < lowest {
				lowest, d.LowestAt = hole+tank, records.Minutes(day*dayMinutes+m+1)
			}
			if keep {
				d.Levels = append(d.Levels, Level{records.Volume(hole), records.Volume(tank)})
			}
		}
		if stop && math.Abs(hole-holeWas) <= negligible*full && math.Abs(tank-tankWas) <= negligible*tankFull {
			return
		}
	}
	d.Asked, d.Supplied, d.Short, d.Inflow = records.Volume(sumAsked), records.Volume(supplied), records.Volume(short), records.Volume(inflow)
	d.End, d.Lowest = Level{records.Volume(hole), records.Volume(tank)}, records.Volume(lowest)
}

// carries is run without keeping anything.
func (s Supply) carries(asked *[dayMinutes]float64) bool {
	var d Day
	s.run(asked, &d, true)
	return d.Short == 0
}

// Least is the smallest size that carries a pattern.
type Least[T ~float64] struct {
	Value    T
	Possible bool // false: no size does; Why says what stands in the way
	Why      string
	Working  Working
}

// searchDays is how many days in a row a size must carry, unless the days
// become alike before: what does not recover overnight wears out by then. With
// inflow at the whole yield the third day is like the second; where it slackens
// it can take weeks.
const searchDays = 60

// SmallestTank is the smallest tank with which the supply carries the pattern,
// sixty days in a row from full, to within the tolerance and never below what
// carries. The supply's own Tank is not looked at. Not possible where the well
// or its pump gives less in a day than is asked in a day.
func SmallestTank(s Supply, p Pattern, tolerance records.Volume) (Least[records.Volume], error) {
	asked, err := s.check(p)
	if err == nil {
		err = within("tolerance_l", "the tolerance", float64(tolerance), 0, mostVolumeL, true)
	}
	if err != nil {
		return Least[records.Volume]{}, err
	}
	s.Days = max(searchDays, s.Days)
	out := Least[records.Volume]{Working: searchWorking("smallest tank that carries the day", s, p, volume("tolerance", tolerance))}
	if !s.gives(float64(p.Volume())) {
		out.Why = "more is asked in a day than the well or its pump gives in a day: no tank mends that for long"
		return out, nil
	}
	out.Possible = true
	out.Value = records.Volume(bisect(0, float64(p.Volume())*float64(s.Days), float64(tolerance), func(v float64) bool {
		return s.WithTank(records.Volume(v)).carries(asked)
	}))
	return out, nil
}

// SmallestYield is the smallest yield with which the supply, its tank
// included, carries the pattern sixty days in a row and day after day, to
// within the tolerance and never below what carries. Not possible where the
// pump is too small.
func SmallestYield(s Supply, p Pattern, tolerance records.Flow) (Least[records.Flow], error) {
	asked, err := s.check(p)
	if err == nil {
		err = within("tolerance_lps", "the tolerance", float64(tolerance), 0, mostFlowLps, true)
	}
	if err != nil {
		return Least[records.Flow]{}, err
	}
	s.Days = max(searchDays, s.Days)
	out := Least[records.Flow]{Working: searchWorking("smallest yield that carries the day", s, p, flow("tolerance", tolerance))}
	peak, daily := 0.0, float64(p.Volume())
	for _, l := range asked {
		peak = max(peak, l/60)
	}
	carries := func(y float64) bool {
		with := s.WithYield(records.Flow(y))
		return with.gives(daily) && with.carries(asked)
	}
	if !carries(peak) {
		out.Why = "the pump is too small: no yield mends that; give a larger pump or a tank"
		return out, nil
	}
	out.Possible = true
	out.Value = records.Flow(bisect(0, peak, float64(tolerance), carries))
	return out, nil
}

// gives says whether well and pump give so many litres in a day.
func (s Supply) gives(daily float64) bool {
	most := float64(s.Yield)
	if s.Pump > 0 {
		most = min(most, float64(s.Pump))
	}
	return daily <= most*60*dayMinutes*(1+negligible)
}

func searchWorking(title string, s Supply, p Pattern, tolerance Input) Working {
	return Working{
		Title:   title,
		Formula: "by halving between none and what surely does, until the tolerance is reached; each try is worked minute by minute, day after day from full, until the days are alike, sixty at most",
		Inputs:  append(s.inputs(p), tolerance),
		Sources: []Source{{"water balance, one minute a step", Computed}, p.source()},
		Limits:  "nothing is held back for fire, a failing pump or a dry season: take a larger one",
		Caution: needCaution,
	}
}

// bisect is the least value between low and high for which ok holds, from
// above and to within the tolerance. ok holds at high and never ceases to
// hold as the value grows.
func bisect(low, high, tolerance float64, ok func(float64) bool) float64 {
	if ok(low) {
		return low
	}
	for high-low > tolerance {
		mid := low + (high-low)/2
		if mid <= low || mid >= high {
			break
		}
		if ok(mid) {
			high = mid
		} else {
			low = mid
		}
	}
	return high
}
