package scout

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"tallybook/records"
)

// LeastEffective is the number of holes, counted by their weights as Kish
// does, below which nothing is told of going on.
const LeastEffective = 8

// Bit is a hole being drilled: how deep it is and what it gives now.
type Bit struct {
	Depth records.Depth
	Yield records.Flow // net of what the rig puts in
	Need  records.Flow // above 0
	Bore  records.Diameter
}

// Chance is a probability with the limits that the records leave it.
type Chance struct{ Value, Low, High float64 }

// Ahead is what the next stretch is worth.
type Ahead struct {
	Length records.Length
	To     records.Depth
	// Reach is the chance that the need is met on the way; Strike that a
	// strike of at least GoOnQuestion.Strike comes.
	Reach, Strike Chance
	// SE is the standard error of Reach, as if the holes were a sample of as
	// many as KnownEffective.
	SE float64
	// Gain is the flow that can be expected to come in on the way.
	Gain records.Flow
	// KnownEffective is the effective number of holes whose fate down to here
	// is known: they met the need on the way or went on to the end of it.
	KnownEffective float64
	// Tells is false where the records cannot tell; Why says why.
	Tells bool
	Why   string

	Cost    Cents // of drilling the stretch in rock, with tax
	CostSet bool
	Holds   records.Volume // what the stretch of hole stores; 0: bore not known
}

// Prospect is the answer to 'go on or stop?'.
type Prospect struct {
	Bit
	Met   bool // the need is met already
	Ahead []Ahead
	// AtRisk is how many neighbours were still short of the need and still
	// being drilled at this depth, Effective their effective number.
	AtRisk    int
	Effective float64
	// Unread is how many neighbours tell nothing of water or depth;
	// Spread how many tell of water only that it came in a stretch of hole.
	Unread, Spread int
}

// GoOn answers what the next lengths of drilling are worth, by the neighbours
// that were deeper. strike is the least flow that counts as a strike (0: any).
//
// The event is that a neighbour gained, below the depth now, what this hole
// still lacks. At risk are the holes still short of the need, by their own
// water, and still being drilled: drilling stops when there is enough, so a
// hole that stopped, or that had enough for itself before it gave what is
// lacking here, is censored there, and is not dry below. A hole cased deeper
// than the depth now is watched from its casing down.
//
// Water known only to have come somewhere in a stretch of hole is placed in the
// ways of placementsOf, which share the hole's weight; the limits of the
// chance come from putting all of it at the bottom and all of it at the top,
// with flows at their lower and upper limits. A yield that is missing is not
// drawn here: a drawn one would be evidence made of nothing.
//
// Stopping is taken to tell nothing of what lay below. Where this hole gives
// less than its neighbours did at this depth that leans low: they stopped with
// part of what is lacking here (a fifth too low at the worst in invented
// ground with strikes at random; see the tests).
func GoOn(neighbours []Neighbour, bit Bit, ahead []records.Length, strike records.Flow, r *Rates) Prospect {
	p := Prospect{Bit: bit, Met: bit.Yield >= bit.Need*(1-metSlack)}
	var middle, top, bottom watch
	for i := range neighbours {
		n := &neighbours[i]
		end, known := n.Bottom()
		if !known || !n.Yield.Known() && !n.flowing() || !(n.Weight > 0) || math.IsInf(n.Weight, 1) {
			p.Unread++
			continue
		}
		gains, _ := gainsFor(n.Strikes, n.Yield, min(n.openTop(), end), end)
		enter := bit.Depth
		if seat, ok := n.Seat.Number(); ok {
			enter = max(enter, seat)
		}
		ways := placementsOf(gains, n.stoppedForWater())
		if len(ways) > 1 {
			p.Spread++
		}
		before := len(middle.spells)
		for k := range ways {
			middle.hole(i, n.Weight*ways[k].share, enter, end, bit, strike, ways[k].water)
		}
		if len(middle.spells) > before {
			p.AtRisk++
		}
		top.hole(i, n.Weight, enter, end, bit, strike, placed(gains, func(g *Gain) struck { return struck{g.From, g.High} }))
		bottom.hole(i, n.Weight, enter, end, bit, strike, placed(gains, func(g *Gain) struck { return struck{g.To, g.Low} }))
	}
	p.Effective = kish(middle.spells, func(s *spell) bool { return s.enter <= bit.Depth })
	reach, strikes := middle.curves()
	reachTop, strikesTop := top.curves()
	reachBottom, strikesBottom := bottom.curves()
	for _, l := range ahead {
		a := Ahead{Length: l, To: bit.Depth + records.Depth(l)}
		a.Reach = chanceOf(a.To, reach, reachTop, reachBottom)
		a.Strike = chanceOf(a.To, strikes, strikesTop, strikesBottom)
		a.Gain = meanGain(middle.spells, middle.gains, bit.Depth, a.To)
		a.KnownEffective = kish(middle.spells, func(s *spell) bool { return s.event || s.leave >= a.To })
		a.SE = math.Sqrt(a.Reach.Value * (1 - a.Reach.Value) / max(a.KnownEffective, 1))
		a.Tells, a.Why = p.tells(&a)
		if p.Met {
			a.Reach, a.SE = Chance{1, 1, 1}, 0
		}
		if bit.Bore > 0 {
			a.Holds = holds(bit.Bore, l)
		}
		if r != nil {
			a.Cost, a.CostSet = r.stretch(records.ClassRock, bit.Depth, a.To)
		}
		p.Ahead = append(p.Ahead, a)
	}
	return p
}

// tells says whether the records can tell of a stretch.
func (p *Prospect) tells(a *Ahead) (bool, string) {
	switch {
	case p.Met:
		return true, "the need is met"
	case p.Effective < LeastEffective:
		return false, fmt.Sprintf("cannot tell: only %.1f effective holes nearby were still short of the need and still being drilled at this depth; it takes %d", p.Effective, LeastEffective)
	case a.KnownEffective < LeastEffective:
		return false, fmt.Sprintf("cannot tell: of only %.1f effective holes is it known what they met on the way; it takes %d", a.KnownEffective, LeastEffective)
	}
	return true, ""
}

// chanceOf is one less the share without the event, with the limits that two
// other readings of the records give.
func chanceOf(to records.Depth, middle, top, bottom curve) Chance {
	c := Chance{Value: 1 - middle.at(to)}
	c.Low, c.High = c.Value, c.Value
	for _, other := range []curve{top, bottom} {
		c.Low, c.High = min(c.Low, 1-other.at(to)), max(c.High, 1-other.at(to))
	}
	return c
}

// watch gathers the spells of all holes under one reading of where water
// came.
type watch struct {
	spells, strikes []spell
	gains           []watched
}

func (w *watch) curves() (reach, strike curve) { return stepsDown(w.spells), stepsDown(w.strikes) }

// placed puts every gain at one depth, from the top down.
func placed(gains []Gain, read func(*Gain) struck) []struck {
	out := make([]struck, len(gains))
	for i := range gains {
		out[i] = read(&gains[i])
	}
	slices.SortStableFunc(out, func(a, b struck) int { return cmp.Compare(a.depth, b.depth) })
	return out
}

// hole adds one hole with its water from the top down. It is left out where
// it had enough, or had ended, before it could be watched.
func (w *watch) hole(id int, weight float64, enter, end records.Depth, bit Bit, strike records.Flow, water []struck) {
	if end <= enter {
		return
	}
	enough := bit.Need * (1 - metSlack)
	have := records.Flow(0)
	below := 0
	for below < len(water) && water[below].depth <= enter {
		have += water[below].flow
		below++
	}
	if have >= enough {
		return
	}
	s := spell{hole: id, enter: enter, leave: end, weight: weight}
	first := s
	struckOnce := false
	got := records.Flow(0)
	for _, g := range water[below:] {
		if g.depth > end {
			break
		}
		if !(g.flow > 0) {
			continue
		}
		have, got = have+g.flow, got+g.flow
		w.gains = append(w.gains, watched{g.depth, g.flow, weight})
		if !struckOnce && g.flow >= strike*(1-metSlack) {
			struckOnce, first.event, first.leave = true, true, g.depth
		}
		if bit.Yield+got >= enough {
			s.event, s.leave = true, g.depth
			break
		}
		if have >= enough {
			s.leave = g.depth
			break
		}
	}
	if !struckOnce {
		first.leave = s.leave
	}
	w.spells = append(w.spells, s)
	w.strikes = append(w.strikes, first)
}
