package scout

import (
	"cmp"
	"slices"

	"tallybook/records"
)

// spell is a stretch of depth over which a hole was watched for an event.
type spell struct {
	hole         int // spells of one hole share its weight
	enter, leave records.Depth
	event        bool // at leave; else it was only watched so far
	weight       float64
}

// step is the share still without the event just below a depth.
type step struct {
	depth records.Depth
	share float64
}

// curve is a share that falls in steps, from 1.
type curve []step

// stepsDown is the product-limit estimate (Kaplan and Meier, JASA 53, 1958,
// cited from memory) with weights and with late entry: at each depth of an
// event the share falls by the weight of the events over the weight at risk,
// which is the spells entered above that depth and not left above it. A hole
// that leaves where another has its event was still watched there.
func stepsDown(spells []spell) curve {
	var depths []records.Depth
	events := map[records.Depth]float64{}
	for _, s := range spells {
		if s.event {
			if _, seen := events[s.leave]; !seen {
				depths = append(depths, s.leave)
			}
			events[s.leave] += s.weight
		}
	}
	slices.Sort(depths)
	w := newRisk(spells)
	share := 1.0
	out := make(curve, 0, len(depths))
	for _, d := range depths {
		if atRisk := w.at(d); atRisk > 0 {
			share *= max(1-events[d]/atRisk, 0)
			out = append(out, step{d, share})
		}
	}
	return out
}

// risk tells the weight at risk at depths that grow.
type risk struct {
	byEnter, byLeave []spell
	in, out          int
	weight           float64
	holes            int
}

func newRisk(spells []spell) *risk {
	r := &risk{byEnter: slices.Clone(spells), byLeave: slices.Clone(spells)}
	slices.SortStableFunc(r.byEnter, func(a, b spell) int { return cmp.Compare(a.enter, b.enter) })
	slices.SortStableFunc(r.byLeave, func(a, b spell) int { return cmp.Compare(a.leave, b.leave) })
	return r
}

// at is the weight of the spells entered above a depth and not left above it.
// Depths must not fall from call to call.
func (r *risk) at(d records.Depth) float64 {
	for ; r.in < len(r.byEnter) && r.byEnter[r.in].enter < d; r.in++ {
		r.weight += r.byEnter[r.in].weight
		r.holes++
	}
	for ; r.out < len(r.byLeave) && r.byLeave[r.out].leave < d; r.out++ {
		r.weight -= r.byLeave[r.out].weight
		r.holes--
	}
	if r.holes == 0 {
		r.weight = 0 // and not the rounding of sums
	}
	return r.weight
}

// at is the share without the event down to a depth, that depth included.
func (c curve) at(d records.Depth) float64 {
	i, _ := slices.BinarySearchFunc(c, d, func(s step, d records.Depth) int {
		if s.depth <= d {
			return -1
		}
		return 1
	})
	if i == 0 {
		return 1
	}
	return c[i-1].share
}

// watched is what was gained in a spell, and where.
type watched struct {
	depth  records.Depth
	gain   records.Flow
	weight float64
}

// meanGain is the gain that a hole can expect between two depths while it is
// watched: at each depth with a gain, the gains there over the weight watched
// there, added up (the mean cumulative function: Nelson, J. Quality Technology
// 20, 1988, cited from memory).
func meanGain(spells []spell, gains []watched, from, to records.Depth) records.Flow {
	slices.SortStableFunc(gains, func(a, b watched) int { return cmp.Compare(a.depth, b.depth) })
	w := newRisk(spells)
	var sum records.Flow
	for _, g := range gains {
		if g.depth <= from || g.depth > to {
			continue
		}
		if atRisk := w.at(g.depth); atRisk > 0 {
			sum += g.gain * records.Flow(g.weight/atRisk)
		}
	}
	return sum
}

// kish is the effective number of whole holes among the spells that count.
func kish(spells []spell, counts func(*spell) bool) float64 {
	weights := map[int]float64{}
	for i := range spells {
		if counts(&spells[i]) {
			weights[spells[i].hole] += spells[i].weight
		}
	}
	keys := make([]int, 0, len(weights))
	for k := range weights {
		keys = append(keys, k)
	}
	slices.Sort(keys) // sums in one order, on every machine
	var m mass
	for _, k := range keys {
		m.add(weights[k])
	}
	return m.effective()
}

// mass is a sum of weights, and of their squares.
type mass struct{ sum, squares float64 }

func (m *mass) add(w float64) { m.sum, m.squares = m.sum+w, m.squares+w*w }

// effective is the number of equally weighted holes that tell as much as
// these: (sum w)^2 / sum w^2 (Kish, Survey Sampling, 1965, cited from memory).
func (m *mass) effective() float64 {
	if m.squares == 0 {
		return 0
	}
	return m.sum * m.sum / m.squares
}
