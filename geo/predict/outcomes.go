package predict

import (
	"cmp"
	"slices"
)

// Outcome is one whole record as a possible outcome at the site, so that its
// depth, casing and yield stay together as they were found.
type Outcome struct {
	// Row is the observation's number, as given to NewObservations.
	Row int
	// Weight is its probability; all weights of an estimate sum to one.
	Weight float64
}

// Outcomes are the wells behind Best, voters and area together, as whole
// records: heaviest first, ties by the wells' keys. They are as found: not slid
// along the slope, not blurred, and a well that says a bound is among them with
// its plain weight, for the caller to complete from the distribution.
func (e *Estimate) Outcomes() []Outcome { return slices.Clone(e.outcomes) }

func (p *Predictor) outcomes(areaAlone bool) []Outcome {
	whole := p.total + p.params.Kappa
	nearShare, areaShare := 1/whole, p.params.Kappa/whole
	if areaAlone {
		nearShare, areaShare = 0, 1
	}
	weights := make(map[int32]float64, p.areaN+p.near)
	for j, h := range p.hits[:p.areaN] {
		weights[h.I] = areaShare * p.areaW[j]
	}
	for j := range p.voters[:p.near] {
		weights[p.voters[j].i] += nearShare * p.voters[j].liked
	}
	out := make([]Outcome, 0, len(weights))
	for i, w := range weights {
		if w > 0 {
			out = append(out, Outcome{Row: int(i), Weight: w})
		}
	}
	slices.SortFunc(out, func(a, b Outcome) int {
		if c := cmp.Compare(b.Weight, a.Weight); c != 0 {
			return c
		}
		if c := cmp.Compare(p.obs.key[a.Row], p.obs.key[b.Row]); c != 0 {
			return c
		}
		return cmp.Compare(a.Row, b.Row)
	})
	return out
}
