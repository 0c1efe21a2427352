package predict

import (
	"math"
	"math/bits"
)

// The blur splits a vote in three: 5/9 stays, 2/9 goes 1.5 s to either side,
// which has the variance s^2.
const (
	blurStay  = 5.0 / 9
	blurSide  = 2.0 / 9
	blurReach = 1.5
)

// mix lists the votes (blurred, back on the scale of values, never below zero)
// and the area's values, in ascending order. The three copies of the votes have
// one order, and the area is sorted by rank, so four sorted runs are merged.
func (p *Predictor) mix() {
	p.filled = 0
	p.bounded = p.obs.bounds > 0 && p.anyBound()
	p.sortVotes()
	for r := range p.runs {
		p.runs[r] = p.runs[r][:0]
	}
	if p.bounded {
		p.runBounds()
	} else {
		p.runValues()
	}
	p.merged[0] = mergeRuns(p.merged[0], p.runs[0], p.runs[2])
	p.merged[1] = mergeRuns(p.merged[1], p.runs[1], p.merged[0])
	p.entries = mergeRuns(p.entries, p.merged[1], p.runs[3])
	if p.bounded {
		settleEntries(p.entries)
	}
}

func (p *Predictor) anyBound() bool {
	for j := range p.voters[:p.near] {
		if p.obs.wells[p.voters[j].i].bound != Exact {
			return true
		}
	}
	for _, h := range p.hits[:p.areaN] {
		if p.obs.wells[h.I].bound != Exact {
			return true
		}
	}
	return false
}

// ballot is a vote on its way into the mixture.
type ballot struct {
	z      float64 // -Inf for a measured zero: below every slid value
	weight float64
	j      int32 // the voter
}

// sortVotes puts the votes in order of what they say.
func (p *Predictor) sortVotes() {
	p.ballots = resize(p.ballots, p.near)
	bs := p.ballots
	perTotal := 1 / p.total
	for j := range bs {
		v := &p.voters[j]
		b := ballot{v.z, v.liked * perTotal, int32(j)}
		if w := &p.obs.wells[v.i]; w.value == 0 && w.bound == Exact {
			b.z = math.Inf(-1)
		}
		at := j
		for at > 0 && (bs[at-1].z > b.z || (bs[at-1].z == b.z && bs[at-1].weight > b.weight)) {
			bs[at] = bs[at-1]
			at--
		}
		bs[at] = b
	}
}

// runValues is the common case, without a bound in sight.
func (p *Predictor) runValues() {
	up := math.Exp(blurReach * p.blur)
	down := 1 / up
	unit := p.obs.unit
	for _, b := range p.ballots {
		if math.IsInf(b.z, -1) {
			p.runs[1] = append(p.runs[1], entry{near: b.weight})
			continue
		}
		g := math.Exp(b.z)
		stay := b.weight
		if p.blur > 0 {
			p.runs[0] = append(p.runs[0], entry{value: max(g*down-1, 0) * unit, near: blurSide * b.weight})
			p.runs[2] = append(p.runs[2], entry{value: max(g*up-1, 0) * unit, near: blurSide * b.weight})
			stay = blurStay * b.weight
		}
		p.runs[1] = append(p.runs[1], entry{value: max(g-1, 0) * unit, near: stay})
	}
	p.runs[3] = resize(p.runs[3], len(p.ranks))
	for k, r := range p.ranks {
		p.runs[3][k] = entry{value: p.areaValue(r >> 32), area: p.areaW[uint32(r)]}
	}
}

// rankArea sorts the area's wells by value: rank in the high half, place among
// the hits in the low half.
func (p *Predictor) rankArea() {
	p.ranks = resize(p.ranks, p.areaN)
	for j, h := range p.hits[:p.areaN] {
		p.ranks[j] = uint64(p.obs.rank[h.I])<<32 | uint64(j)
	}
	p.swap = resize(p.swap, p.areaN)
	p.ranks, p.swap = sortByRank(p.ranks, p.swap, uint(bits.Len32(uint32(p.obs.Len()))))
}

// sortByRank sorts by the high half of each number, of which only the given
// number of bits is used; it returns the sorted slice and the other. Digit by
// digit it takes a third of the time of sorting by comparison.
func sortByRank(ranks, swap []uint64, width uint) (sorted, other []uint64) {
	const digit = 7
	for shift := uint(32); shift < 32+width; shift += digit {
		var count [1 << digit]uint32
		for _, r := range ranks {
			count[r>>shift&(1<<digit-1)]++
		}
		var sum uint32
		for d, c := range count {
			count[d] = sum
			sum += c
		}
		for _, r := range ranks {
			d := r >> shift & (1<<digit - 1)
			swap[count[d]] = r
			count[d]++
		}
		ranks, swap = swap, ranks
	}
	return ranks, swap
}

// mergeRuns merges two ascending runs; the first goes first where both are equal.
// Values are not negative, so that their bits are in their order and nothing is
// left to guess between one entry and the next.
func mergeRuns(to, a, b []entry) []entry {
	to = resize(to, len(a)+len(b))
	i, j, k := 0, 0, 0
	for i < len(a) && j < len(b) {
		from := [2]*entry{&a[i], &b[j]}
		later := int((math.Float64bits(from[1].value) - math.Float64bits(from[0].value)) >> 63)
		to[k] = *from[later&1]
		k++
		j += later
		i += 1 - later
	}
	k += copy(to[k:], a[i:])
	copy(to[k:], b[j:])
	return to
}

// areaValue is the value at a rank, moved by the level shift if there is one.
func (p *Predictor) areaValue(rank uint64) float64 {
	v := p.obs.ordered[rank]
	if p.params.LevelShift == 0 || v == 0 {
		return v
	}
	return p.valueAt(math.Log1p(v/p.obs.unit) + p.params.LevelShift)
}

// valueAt takes z back to the scale of values, never below zero.
func (p *Predictor) valueAt(z float64) float64 { return max(math.Expm1(z), 0) * p.obs.unit }

// runBounds is where bounds are about. A bound slides and blurs as a value does,
// because what it bounds does.
func (p *Predictor) runBounds() {
	for _, b := range p.ballots {
		v := &p.voters[b.j]
		w := &p.obs.wells[v.i]
		reach := blurReach * p.blur
		switch {
		case math.IsInf(b.z, -1):
			p.runs[1] = append(p.runs[1], entry{near: b.weight})
		case reach == 0:
			p.runs[1] = append(p.runs[1], p.moved(v, w, 0, b.weight))
		default:
			p.runs[0] = append(p.runs[0], p.moved(v, w, -reach, blurSide*b.weight))
			p.runs[1] = append(p.runs[1], p.moved(v, w, 0, blurStay*b.weight))
			p.runs[2] = append(p.runs[2], p.moved(v, w, reach, blurSide*b.weight))
		}
	}
	for _, r := range p.ranks {
		j := uint32(r)
		s := p.obs.sample(p.hits[j].I)
		e := entry{value: s.Value, high: s.High, bound: s.Bound, area: p.areaW[j]}
		if shift := p.params.LevelShift; shift != 0 && (s.Bound != Exact || s.Value > 0) {
			e.value = p.valueAt(math.Log1p(s.Value/p.obs.unit) + shift)
			e.high = p.valueAt(math.Log1p(s.High/p.obs.unit) + shift)
			e = e.held(s)
		}
		p.runs[3] = append(p.runs[3], e)
	}
}

// settleEntries puts a mixture with bounds, nearly in order, into the order of
// comparePoints.
func settleEntries(es []entry) {
	for i := 1; i < len(es); i++ {
		if es[i-1].value < es[i].value {
			continue
		}
		e := es[i]
		j := i
		for j > 0 && (es[j-1].value > e.value || (es[j-1].value == e.value && comparePoints(es[j-1].whole(), e.whole()) > 0)) {
			es[j] = es[j-1]
			j--
		}
		es[j] = e
	}
}

// whole is an entry with both its weights as one.
func (e *entry) whole() point { return point{e.value, e.high, e.near + e.area, e.bound} }

// moved is a vote with its blur.
func (p *Predictor) moved(v *voter, w *well, by, weight float64) entry {
	e := entry{value: p.valueAt(v.z + by), near: weight, bound: w.bound}
	if w.bound == Between {
		e.high = p.valueAt(v.zHigh + by)
	}
	return e.held(p.obs.sample(v.i))
}

// held undoes a slide that would push an upper limit down to zero or under, since
// a limit that nothing can satisfy says nothing.
func (e entry) held(s Sample) entry {
	if (e.bound == LessThan && e.value <= 0) || (e.bound == Between && e.high <= 0) {
		e.value, e.high = s.Value, s.High
	}
	return e
}
