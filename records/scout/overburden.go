package scout

import (
	"cmp"
	"slices"

	"tallybook/geo/predict"
	"tallybook/records"
)

// UnderSite sets the neighbours' rock under the overburden of the site.
//
// Which wells speak for the water of a place, and which for its depth to
// bedrock, are two questions: where yield follows the whole area, a hundred
// wells with bedrock from ten to three hundred feet stand behind it, while the
// ground at the site is known to within a few feet. So each neighbour keeps
// its place among the neighbours (the shallowest bedrock stays the
// shallowest), and takes the depth that the site's own estimate has at that
// rank; what lies above it is stretched or pressed to fit, what lies below it
// keeps its thickness. Rock, water and what was drilled into the rock stay
// together as they were found. Ranks go by weight, at the middle of each
// neighbour's own share, ties by key; a bedrock that a record bounds or lacks
// is ranked where it is drawn (see Own).
//
// With bedrock unknown (nil or empty) the neighbours come back as they are.
// This is ours: the idea of keeping ranks and exchanging the margin is that of
// the Schaake shuffle (Clark et al., J. Hydrometeorology 5, 2004; from
// memory).
func UnderSite(neighbours []Neighbour, own Own) []Neighbour {
	out := slices.Clone(neighbours)
	if own.Bedrock == nil || own.Bedrock.Empty() {
		return out
	}
	type placed struct {
		i       int
		bedrock records.Depth
	}
	order := make([]placed, 0, len(out))
	total := 0.0
	for i := range out {
		n := &out[i]
		if !(n.Weight > 0) || !finite(n.Weight) {
			continue
		}
		order = append(order, placed{i, n.fill(own, 1).bedrock})
		total += n.Weight
	}
	slices.SortFunc(order, func(a, b placed) int {
		x, y := &out[a.i], &out[b.i]
		return cmp.Or(cmp.Compare(a.bedrock, b.bedrock), cmp.Compare(x.Key, y.Key), cmp.Compare(x.WellID, y.WellID))
	})
	sum := 0.0
	for _, p := range order {
		n := &out[p.i]
		to := quantile(own.Bedrock, (sum+n.Weight/2)/total)
		sum += n.Weight
		n.rebase(p.bedrock, records.Depth(to))
	}
	return out
}

// quantile is a quantile, or the limit beyond which nothing is known.
func quantile(d *predict.Distribution, p float64) float64 {
	v := d.Quantile(p)
	if !finite(v) {
		_, v, _ = d.UpperUnknown()
	}
	return v
}

// rebase moves bedrock from one depth to another, and with it all that the
// record says.
func (n *Neighbour) rebase(from, to records.Depth) {
	move := func(d records.Depth) records.Depth {
		if d >= from || !(from > 0) {
			return d + to - from
		}
		return d * to / from
	}
	amount := func(a records.Amount[records.Depth]) records.Amount[records.Depth] {
		if a.Known() {
			a.Value, a.High, a.Given = move(a.Value), move(a.High), records.Given{}
		}
		return a
	}
	n.Depth, n.Seat = amount(n.Depth), amount(n.Seat)
	n.Bedrock = records.Roughly(to)
	ground := make([]Ground, 0, len(n.Ground))
	for _, g := range n.Ground {
		g.Top, g.Bottom = max(move(g.Top), 0), move(g.Bottom)
		if g.Bottom > g.Top {
			ground = append(ground, g)
		}
	}
	n.Ground = ground
	n.Strikes = slices.Clone(n.Strikes)
	for i := range n.Strikes {
		s := &n.Strikes[i]
		s.From, s.To = move(s.From), move(s.To)
	}
}
