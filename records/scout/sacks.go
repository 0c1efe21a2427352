package scout

import (
	"tallybook/records"
	"tallybook/records/figuring"
)

// maxOverrun is the most that grout is taken to run over: a hole that took
// twenty times its annulus lost grout into a cavity, and its bill is its own.
const maxOverrun = 20

// Sacks is the whole sacks of grout for the casing of a hole: its annulus
// from the surface to the casing's foot, times the overrun. ok is false where
// the plan's diameters or the yield of a sack are not stated, and no casing
// needs no grout.
func (r *Rates) Sacks(h *Hole, p *Plan) (sacks float64, ok bool) {
	if !(h.Casing > 0) {
		return 0, true
	}
	batch, ok := r.batch(h.Casing, h.Overrun, p)
	return float64(batch.Bags), ok
}

// batch is the grout around casing to a depth.
func (r *Rates) batch(casing records.Depth, overrun float64, p *Plan) (figuring.Batch, bool) {
	yield, known := r.SackYield.Number()
	if !known || !(p.CasingOD > 0) || !(p.CasedBore > p.CasingOD) {
		return figuring.Batch{}, false
	}
	if !(overrun > 0) {
		overrun = 1
	}
	annulus, err := figuring.Annulus(p.CasedBore, p.CasingOD, records.Length(casing))
	if err != nil {
		return figuring.Batch{}, false
	}
	water, _ := r.SackWater.Number()
	batch, err := figuring.Mix{Name: r.SackProduct, Yield: yield, Water: water}.For(annulus.Value, figuring.Overrun(min(overrun, maxOverrun)))
	return batch, err == nil
}

// reachSlackM is how finely the depth is found that a budget reaches.
const reachSlackM = 0.05

// reaches is how deep the plan's budget goes in a neighbour's ground: the
// greatest depth at which a good hole is billed within it, and never below
// the plan's greatest depth.
func (r *Rates) reaches(w *whole, p *Plan) records.Depth {
	b := biller{rates: r, plan: p}
	within := func(d records.Depth) bool {
		h := Hole{Depth: d, Casing: min(p.casingTo(w.bedrock), d), Ground: w.Ground, Bedrock: w.bedrock, Overrun: w.overrun, Wanted: true}
		return b.total(h) <= p.Budget
	}
	low, high := records.Depth(0), p.MaxDepth
	if within(high) {
		return high
	}
	for high-low > reachSlackM {
		if mid := (low + high) / 2; within(mid) {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}
