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
// and the area's values, in ascending order.
func (p *Predictor) mix() {
	p.entries = p.entries[:0]
	p.filled = 0
	p.bounded = p.obs.bounds > 0 && p.anyBound()
	if p.bounded {
		p.mixBounded()
		return
	}
	p.mixValues()
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

// mixValues is the common case, without a bound in sight. The three copies of
// the votes have one order, and the area is sorted by rank, so four sorted runs
// are merged.
func (p *Predictor) mixValues() {
	for r := range p.runs {
		p.runs[r] = p.runs[r][:0]
	}
	vs := p.voters[:p.near]
	perTotal := 1 / p.total
	stay := p.runs[1]
	for j := range vs {
		v := &vs[j]
		e := entry{value: v.z, near: v.liked * perTotal}
		if p.obs.wells[v.i].value == 0 {
			e.value = math.Inf(-1) // a measured zero: below every slid value, turned into 0 below
		}
		at := len(stay)
		stay = append(stay, e)
		for at > 0 && (stay[at-1].value > e.value || (stay[at-1].value == e.value && stay[at-1].near > e.near)) {
			stay[at] = stay[at-1]
			at--
		}
		stay[at] = e
	}
	up := math.Exp(blurReach * p.blur)
	down := 1 / up
	unit := p.obs.unit
	for j := range stay {
		e := &stay[j]
		if math.IsInf(e.value, -1) {
			e.value = 0
			continue
		}
		g := math.Exp(e.value)
		if p.blur > 0 {
			p.runs[0] = append(p.runs[0], entry{value: max(g*down-1, 0) * unit, near: blurSide * e.near})
			p.runs[2] = append(p.runs[2], entry{value: max(g*up-1, 0) * unit, near: blurSide * e.near})
			e.near *= blurStay
		}
		e.value = max(g-1, 0) * unit
	}
	p.runs[1] = stay
	p.merge()
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

// merge writes the three runs of votes and the area's values as one ascending
// list.
func (p *Predictor) merge() {
	a, b, c := p.runs[0], p.runs[1], p.runs[2]
	inf := math.Inf(1)
	head := func(es []entry) float64 {
		if len(es) == 0 {
			return inf
		}
		return es[0].value
	}
	va, vb, vc := head(a), head(b), head(c)
	for _, r := range p.ranks {
		v := p.areaValue(r >> 32)
		for {
			least := min(va, vb, vc)
			if !(least <= v) || math.IsInf(least, 1) {
				break
			}
			switch least {
			case va:
				p.entries = append(p.entries, a[0])
				a = a[1:]
				va = head(a)
			case vb:
				p.entries = append(p.entries, b[0])
				b = b[1:]
				vb = head(b)
			default:
				p.entries = append(p.entries, c[0])
				c = c[1:]
				vc = head(c)
			}
		}
		p.entries = append(p.entries, entry{value: v, area: p.areaW[uint32(r)]})
	}
	for {
		least := min(va, vb, vc)
		switch {
		case math.IsInf(least, 1):
			return
		case least == va:
			p.entries = append(p.entries, a[0])
			a = a[1:]
			va = head(a)
		case least == vb:
			p.entries = append(p.entries, b[0])
			b = b[1:]
			vb = head(b)
		default:
			p.entries = append(p.entries, c[0])
			c = c[1:]
			vc = head(c)
		}
	}
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

// mixBounded is mix where bounds are about. A bound slides and blurs as a value
// does, because what it bounds does.
func (p *Predictor) mixBounded() {
	for j := range p.voters[:p.near] {
		v := &p.voters[j]
		w := &p.obs.wells[v.i]
		weight := v.liked / p.total
		if w.bound == Exact && w.value == 0 {
			p.entries = append(p.entries, entry{near: weight})
			continue
		}
		reach := blurReach * p.blur
		if reach == 0 {
			p.entries = append(p.entries, p.moved(v, w, 0, weight))
			continue
		}
		p.entries = append(p.entries,
			p.moved(v, w, -reach, blurSide*weight),
			p.moved(v, w, 0, blurStay*weight),
			p.moved(v, w, reach, blurSide*weight))
	}
	for j, h := range p.hits[:p.areaN] {
		s := p.obs.sample(h.I)
		e := entry{value: s.Value, high: s.High, bound: s.Bound, area: p.areaW[j]}
		if shift := p.params.LevelShift; shift != 0 && (s.Bound != Exact || s.Value > 0) {
			e.value = p.valueAt(math.Log1p(s.Value/p.obs.unit) + shift)
			e.high = p.valueAt(math.Log1p(s.High/p.obs.unit) + shift)
			e = e.held(s)
		}
		p.entries = append(p.entries, e)
	}
	sortEntries(p.entries)
}

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
