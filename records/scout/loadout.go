package scout

import (
	"fmt"
	"math"

	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/figuring"
)

// Load is what to take along for a hole of one depth.
type Load struct {
	Depth, Casing records.Depth
	// AtLimit says that the records know no end to this depth, and that the
	// plan's own greatest depth stands for it.
	AtLimit  bool
	Lines    []figuring.Line
	Cautions []string
}

// LoadOut is what to load for the middle of what is likely, and for the end of
// the 80 % range that only one hole in ten goes beyond.
type LoadOut struct{ Middle, Upper Load }

// Spares are what the crew takes beside what is needed.
type Spares struct{ Rods, Sticks int }

// LoadOutOf lists rods, casing, shoe, grout and its mixing water for the
// forecast. Depth, casing and sacks are each the quantile of their own
// distribution, not of one hole: no hole need want all of them, and the truck
// must carry each. What has no size in the plan (rods, sticks) is not listed.
// A plan that makes no sense to package figuring is an error.
func LoadOutOf(f *Forecast, r *Rates, spares Spares) (LoadOut, error) {
	var out LoadOut
	for _, want := range []struct {
		load *Load
		rank float64
	}{{&out.Middle, 0.5}, {&out.Upper, 0.9}} {
		l, err := f.load(r, spares, want.rank)
		if err != nil {
			return LoadOut{}, err
		}
		*want.load = l
	}
	return out, nil
}

func (f *Forecast) load(r *Rates, spares Spares, rank float64) (Load, error) {
	p := &f.Plan
	l := Load{Casing: records.Depth(f.Casing.Quantile(rank))}
	l.Depth, l.AtLimit = f.DepthAt(rank)
	if p.Rod > 0 {
		rods, err := figuring.Rods(l.Depth, p.Rod, spares.Rods)
		if err != nil {
			return Load{}, err
		}
		l.Lines = append(l.Lines, rods.Line("drill rods", "for the depth"))
	}
	length := records.Length(l.Casing) + p.StickUp
	if l.Casing > 0 {
		if p.CasingStick > 0 {
			sticks, err := figuring.Sticks(length, p.CasingStick, spares.Sticks)
			if err != nil {
				return Load{}, err
			}
			l.Lines = append(l.Lines, sticks.Line("casing sticks", "bedrock, socket and stick-up"))
		} else {
			l.Lines = append(l.Lines, figuring.Line{Item: "casing", Quantity: float64(length), Unit: records.Metre, Why: "bedrock, socket and stick-up"})
		}
		if p.Shoe {
			l.Lines = append(l.Lines, figuring.Line{Item: "drive shoe", Quantity: 1, Why: "at the foot of the casing"})
		}
	}
	if !f.Sacks.Empty() {
		l.groutLines(&f.Sacks, r, rank)
	}
	return l, nil
}

func (l *Load) groutLines(sacks *predict.Distribution, r *Rates, rank float64) {
	n := math.Ceil(sacks.Quantile(rank) - 1e-9)
	if !(n > 0) {
		return
	}
	what := r.SackProduct
	if what == "" {
		what = "grout"
	}
	l.Lines = append(l.Lines, figuring.Line{Item: "sacks of " + what, Quantity: n, Why: "annulus of the casing and the usual overrun"})
	if water, ok := r.SackWater.Number(); ok {
		l.Lines = append(l.Lines, figuring.Line{Item: "mixing water", Quantity: n * float64(water), Unit: records.Litre, Why: fmt.Sprintf("for %g sacks", n)})
	}
	l.Cautions = append(l.Cautions, groutCaution)
}

// groutCaution stands beside every number of sacks.
const groutCaution = "cement and bentonite harm skin, eyes and lungs: gloves, eye protection and a mask; a hole can take much more grout than its annulus, so have more within reach"
