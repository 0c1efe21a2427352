package scout

import (
	"cmp"
	"math"
	"slices"

	"tallybook/records"
)

// struck is water that came in at a depth.
type struck struct {
	depth records.Depth
	flow  records.Flow
}

// placement is one way in which the water of a hole may have come in, from the
// top down, with its share of all ways.
type placement struct {
	share float64
	water []struck
}

// spreadAt is over how many points of a stretch a gain is spread, and over
// how many ways two strikes share a flow.
const spreadAt = 4

// placementsOf gives the ways in which water known only to have come in
// somewhere in a stretch may have come in, all equally likely:
//
//   - a strike whose depth is known only within limits lies at each of four
//     points evenly down them;
//   - water of strikes that nobody wrote down, in a hole that stopped because
//     it had enough (or nobody wrote why), came in two: drilling stops at the
//     strike that makes enough, so the second lies at the bottom, and the
//     first at each of four points above it, with an eighth, three, five or
//     seven eighths of the flow. So a need that is the whole of the flow is
//     met at the bottom, and a small one most likely above it;
//   - such water in a hole that stopped for another reason (depth, money,
//     tools, ground) came in one strike at each of the four points.
//
// Several stretches in one hole are placed alike. Flows are the middle of
// their limits, or the lower one where there is no upper. That two strikes
// stand for all is ours: in invented ground with strikes at random the depths
// at which a need is met come out right within some hundredths (see the
// tests), where an interval without further knowledge leans far too shallow.
func placementsOf(gains []Gain, enough bool) []placement {
	points, splits := 1, 1
	for _, g := range gains {
		if g.To > g.From {
			points = spreadAt
			if g.Strikes && enough {
				splits = spreadAt
			}
		}
	}
	out := make([]placement, 0, points*splits)
	for k := range points {
		for j := range splits {
			at, part := (float64(k)+0.5)/float64(points), (float64(j)+0.5)/float64(splits)
			p := placement{share: 1 / float64(points*splits), water: make([]struck, 0, len(gains)+1)}
			for _, g := range gains {
				flow := g.middle()
				switch depth := g.From + (g.To-g.From)*records.Depth(at); {
				case !(g.To > g.From):
					p.water = append(p.water, struck{g.From, flow})
				case g.Strikes && enough:
					first := flow * records.Flow(part)
					p.water = append(p.water, struck{depth, first}, struck{g.To, flow - first})
				default:
					p.water = append(p.water, struck{depth, flow})
				}
			}
			slices.SortStableFunc(p.water, func(a, b struck) int { return cmp.Compare(a.depth, b.depth) })
			out = append(out, p)
		}
	}
	return out
}

// met is the depth at which a need is met; +Inf where it never is.
func (p *placement) met(need records.Flow) records.Depth {
	var sum records.Flow
	for _, w := range p.water {
		if sum += w.flow; sum >= need*(1-metSlack) {
			return w.depth
		}
	}
	return records.Depth(math.Inf(1))
}

// stoppedForWater says whether a hole stopped because it had enough, as far as
// anybody wrote.
func (n *Neighbour) stoppedForWater() bool {
	switch n.StopReason {
	case "depth", "money", "tools", "ground", "dry":
		return false
	}
	return true
}
