package desk

import (
	"cmp"
	"math"
	"slices"

	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/figuring"
	"tallybook/records/scout"
)

// StorageOutlook says how a day's demand is carried, outcome by outcome.
type StorageOutlook struct {
	Pattern figuring.Pattern
	Peak    records.Flow
	// Shares are the parts of the weight in which the day is carried: by hole
	// and yield, with the tank asked about, and after a hydrofracture at the
	// low end of what is published.
	Alone, WithTank, Fractured float64
	Tank                       records.Volume
	Gain                       figuring.GainRange
	// Enough is the smallest tank, to within 100 L, with which eight outcomes
	// in ten carry the day; 0 where none is needed, NaN where none does.
	Enough records.Volume
	// Middle is the day of the outcome nearest to the middle one.
	Middle *StorageDay
	Counts int // outcomes that could be worked
}

// StorageDay is one outcome's day.
type StorageDay struct {
	WellID  int64
	Weight  float64
	Supply  figuring.Supply
	Day     figuring.Day
	Working figuring.Working // of what the hole holds
}

// pumpAboveBottomM is how far above the bottom the pump hangs where the office
// does not say: 20 ft (common practice, no source).
const pumpAboveBottomM = 6.096

// supplyOf is what an outcome's hole holds and yields, drilled as replayed:
// the water between its static level and the pump, and none where the pump hangs
// above that level. ok is false where no static level or no size is known.
func (s *Scouting) supplyOf(o *scout.Costed, static float64) (figuring.Supply, figuring.Working, bool) {
	above := pumpAboveBottomM
	if v, ok := s.Practice.PumpAbove.Number(); ok {
		above = float64(v)
	}
	intake := o.Likely - records.Depth(above)
	if math.IsNaN(static) || !(s.Hole.Plan.OpenBore > 0) {
		return figuring.Supply{}, figuring.Working{}, false
	}
	level := records.Depth(max(static, 0))
	if !(intake > level) {
		return figuring.Supply{Yield: o.YieldLow}, figuring.Working{}, true
	}
	holds, err := figuring.Hole{Bores: []figuring.Round{{From: 0, To: o.Late + 1, Across: s.Hole.Plan.OpenBore}}}.Standing(level, intake)
	if err != nil {
		return figuring.Supply{}, figuring.Working{}, false
	}
	return figuring.Supply{Yield: o.YieldLow, Hole: holds.Value}, holds.Working, true
}

// storageOf works a day in every outcome. A nil answer means that nothing was
// asked, or that no static level is known.
func storageOf(s *Scouting, static map[int64]float64) (*StorageOutlook, error) {
	if !(s.Ask.Daily > 0) {
		return nil, nil
	}
	out := &StorageOutlook{Tank: s.Ask.Tank, Gain: figuring.FractureGains()[0]}
	shape := figuring.Shapes()[1]
	for _, sh := range figuring.Shapes() {
		if sh.ID == s.Ask.Shape {
			shape = sh
		}
	}
	var err error
	if out.Pattern, err = shape.Of(s.Ask.Daily); err != nil {
		return nil, err
	}
	if out.Peak, err = out.Pattern.Peak(); err != nil {
		return nil, err
	}
	var days []*StorageDay
	for i := range s.Hole.Outcomes {
		o := &s.Hole.Outcomes[i]
		sup, working, ok := s.supplyOf(o, static[o.WellID])
		if !ok {
			continue
		}
		day, err := figuring.Carry(sup, out.Pattern)
		if err != nil {
			return nil, err
		}
		days = append(days, &StorageDay{WellID: o.WellID, Weight: o.Weight, Supply: sup, Day: day, Working: working})
	}
	if out.Counts = len(days); out.Counts == 0 {
		return nil, nil
	}
	if err := out.compare(days); err != nil {
		return nil, err
	}
	if out.Enough, err = out.enough(days); err != nil {
		return nil, err
	}
	out.Middle = middleDay(days)
	return out, nil
}

// compare weighs the outcomes that carry the day alone, with the tank and
// after a hydrofracture.
func (out *StorageOutlook) compare(days []*StorageDay) error {
	ways := []struct {
		into   *float64
		change func(figuring.Supply) figuring.Supply
	}{
		{&out.Alone, func(s figuring.Supply) figuring.Supply { return s }},
		{&out.WithTank, func(s figuring.Supply) figuring.Supply { return s.WithTank(out.Tank) }},
		{&out.Fractured, func(s figuring.Supply) figuring.Supply { return s.WithYield(s.Yield + out.Gain.Low) }},
	}
	for _, w := range ways {
		share, err := out.carried(days, w.change)
		if err != nil {
			return err
		}
		*w.into = share
	}
	return nil
}

// dayByDay says whether a day is carried, and the next one too: a full tank
// carries one day out of any hole, and a dry hole does not fill it again.
func dayByDay(d *figuring.Day) bool { return d.Carries() && d.DayAfterDay }

// carried is the share of the weight in which a supply, changed, carries the
// day. An outcome that carries it alone does so with more.
func (out *StorageOutlook) carried(days []*StorageDay, change func(figuring.Supply) figuring.Supply) (float64, error) {
	var sum, whole float64
	for _, d := range days {
		whole += d.Weight
		ok := dayByDay(&d.Day)
		if sup := change(d.Supply); !ok && sup != d.Supply {
			day, err := figuring.Carry(sup, out.Pattern)
			if err != nil {
				return 0, err
			}
			ok = dayByDay(&day)
		}
		if ok {
			sum += d.Weight
		}
	}
	return sum / whole, nil
}

// enough finds the smallest tank that does; the largest thought of holds the
// whole day's need.
func (out *StorageOutlook) enough(days []*StorageDay) (records.Volume, error) {
	const wanted, within = 0.8, 100
	if out.Alone >= wanted {
		return 0, nil
	}
	with := func(tank float64) (float64, error) {
		return out.carried(days, func(s figuring.Supply) figuring.Supply { return s.WithTank(records.Volume(tank)) })
	}
	low, high := 0.0, float64(out.Pattern.Volume())
	share, err := with(high)
	if err != nil || share < wanted {
		return records.Volume(math.NaN()), err
	}
	for high-low > within {
		mid := (low + high) / 2
		if share, err = with(mid); err != nil {
			return 0, err
		}
		if share >= wanted {
			high = mid
		} else {
			low = mid
		}
	}
	return records.Volume(high), nil
}

// middleDay is the outcome in the middle by weight, in the order of yield and
// then of what the hole holds.
func middleDay(days []*StorageDay) *StorageDay {
	sorted := slices.Clone(days)
	slices.SortStableFunc(sorted, func(a, b *StorageDay) int {
		return cmp.Or(cmp.Compare(a.Supply.Yield, b.Supply.Yield), cmp.Compare(a.Supply.Hole, b.Supply.Hole), cmp.Compare(a.WellID, b.WellID))
	})
	var whole, sum float64
	for _, d := range sorted {
		whole += d.Weight
	}
	for _, d := range sorted {
		if sum += d.Weight; sum >= whole/2 {
			return d
		}
	}
	return sorted[len(sorted)-1]
}

// staticLevels gives each neighbour's static level, metres below ground; a
// neighbour without one has the weighted middle of those that have.
func staticLevels(neighbours []scout.Neighbour) map[int64]float64 {
	var known []predict.Sample
	out := make(map[int64]float64, len(neighbours))
	for i := range neighbours {
		n := &neighbours[i]
		if v, ok := n.Static.Number(); ok {
			out[n.WellID] = float64(v)
			known = append(known, predict.Sample{Value: max(float64(v), 0), Weight: n.Weight})
		}
	}
	middle := math.NaN()
	if d, err := predict.NewDistribution(known); err == nil {
		middle = d.Median()
	}
	for i := range neighbours {
		if _, ok := out[neighbours[i].WellID]; !ok {
			out[neighbours[i].WellID] = middle
		}
	}
	return out
}
