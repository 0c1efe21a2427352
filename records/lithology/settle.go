package lithology

import (
	"math/bits"
	"slices"

	"tallybook/records"
)

// settle decides, all groups being known, which ground it is.
func (p *parser) settle() {
	r := &p.r
	r.Words = slices.Concat(p.words[:p.nWords], p.further)
	if p.full {
		r.Doubts |= DoubtTruncated
	}
	r.Material = Unknown
	is := &p.v.is

	main := p.mainGroup()
	if main < 0 {
		p.settleWithoutNoun()
		return
	}
	g := &p.groups[main]
	head := g.head

	// A bare 'rock' or 'ledge' takes its kind from an equal beside it.
	if head == is.rock {
		for i := range p.n {
			o := &p.groups[i]
			if o.hasHead && !o.negated && o.role == roleEqual && o.head != is.rock && p.class(o.head) == records.ClassRock {
				head, main = o.head, i
				if o.weather == 0 {
					o.weather = g.weather
				}
				g = o
				break
			}
		}
	}
	if p.sandy(head) || head == is.gravel {
		head = p.gradeSand(main)
	}
	var extra secondaries
	if g.cemented && (p.sandy(head) || head == is.gravel || head == is.sandGravel) {
		extra.add(head)
		head = is.cemented
	}
	if head == is.waterVoid {
		r.Water = WaterBearing
	}
	r.Weathering = g.weather
	if head == is.saprolite && r.Weathering == 0 {
		r.Weathering = CompletelyWeathered
	}
	class := p.class(head)
	if class == records.ClassRock && g.weather.softens() {
		if head != is.rock {
			extra.add(head)
		}
		head, class = is.weathered, p.class(is.weathered)
	}
	for i := range p.n {
		p.gather(&extra, i, head, main)
	}

	if g.doubted {
		r.Doubts |= DoubtStated
	}
	if g.clash {
		r.Doubts |= DoubtMixed
	}
	if g.loose && class == records.ClassRock {
		class = records.ClassUnknown
		r.Doubts |= DoubtLoose
	}
	if head == is.rock && p.deniesRock() {
		class = records.ClassUnknown
		r.Doubts |= DoubtNegated
	}
	r.Material, r.Class = p.v.materials[head].Code, class
	r.Materials = 1 << head
	p.list(&extra, head)
}

// settleWithoutNoun reads a description that names no ground: rotten or
// decomposed can only be said of rock; anything else stays unknown.
func (p *parser) settleWithoutNoun() {
	r, is := &p.r, &p.v.is
	w := p.g.weather
	for i := range p.n {
		if !p.groups[i].negated && w == 0 {
			w = p.groups[i].weather
		}
	}
	var extra secondaries
	for i := range p.n {
		if !p.groups[i].negated {
			extra.addSet(p.groups[i].qualifies)
		}
	}
	extra.addSet(p.g.qualifies)
	r.Weathering = w
	if p.g.doubted {
		r.Doubts |= DoubtStated
	}
	head := uint8(0)
	if w.softens() && w != ResidualSoil && !r.NotLogged {
		head = is.weathered
	}
	r.Material, r.Class = p.v.materials[head].Code, p.class(head)
	p.list(&extra, head)
	if head != 0 || r.Materials == 0 {
		r.Materials |= 1 << head
	}
}

// precedence is the order in which groups by role are taken for the ground.
var precedence = [...]int{roleMajor: 0, roleEqual: 2, roleHost: 3, roleReach: 4, roleLesser: 5}

// mainGroup picks the group that names the ground: what is said to be the
// greater part, else the first of equals, else what can be had. -1 for none.
func (p *parser) mainGroup() int {
	best, rank := -1, 99
	for i := range p.n {
		g := &p.groups[i]
		if !g.hasHead || g.negated {
			continue
		}
		k := precedence[g.role]
		if k < rank {
			best, rank = i, k
		}
		// 'quartz veins in gneiss', 'cavities in limestone': the host is the ground.
		if g.role == roleHost && i > 0 && best == i-1 && p.groups[i-1].plural {
			best, rank = i, 1
		}
	}
	return best
}

// gradeSand tells fine sand, coarse sand, and sand and gravel from the sizes
// and the equals next to the main group.
func (p *parser) gradeSand(main int) uint8 {
	is := &p.v.is
	g := &p.groups[main]
	head := g.head
	for i := range p.n {
		o := &p.groups[i]
		if i == main || !o.hasHead || o.negated || o.role != roleEqual && o.role != roleReach {
			continue
		}
		if p.sandy(head) && o.head == is.gravel || head == is.gravel && p.sandy(o.head) {
			o.hasHead = false // taken up
			return is.sandGravel
		}
	}
	if head == is.sand {
		switch g.sizes {
		case sizeFine:
			return is.sandFine
		case sizeCoarse:
			return is.sandCoarse
		}
	}
	return head
}

// gather adds what group i contributes beside the head.
func (p *parser) gather(extra *secondaries, i int, head uint8, main int) {
	g, is := &p.groups[i], &p.v.is
	if g.negated {
		return
	}
	class := p.class(head)
	solid := class == records.ClassRock || class == records.ClassTransition
	if i != main && g.hasHead {
		other := p.class(g.head)
		switch {
		case g.head == is.rock && solid: // the same rock again
		case g.head == is.rock && g.role == roleReach: // 'clay to rock': a contact
		case other == records.ClassRock && g.weather.softens() && !solid:
			// Weathered rock beside loose ground is no second bedrock.
			extra.add(is.weathered)
			if g.head != is.rock {
				extra.add(g.head)
			}
		default:
			extra.add(g.head)
			mixed := class == records.ClassSoil && other == records.ClassRock && !g.loose ||
				class == records.ClassRock && other == records.ClassSoil && g.head != is.mudSeam
			if mixed && (g.role == roleEqual || g.role == roleReach) && p.groups[main].role != roleLesser {
				p.r.Doubts |= DoubtMixed
			}
		}
	}
	if i != main && g.weather.softens() && solid {
		extra.add(is.weathered)
	}
	extra.addSet(g.qualifies)
}

// deniesRock reports whether the text says that there is no bedrock.
func (p *parser) deniesRock() bool {
	for i := range p.n {
		if g := &p.groups[i]; g.negated && g.hasHead && g.head == p.v.is.rock {
			return true
		}
	}
	return false
}

// list writes the secondary materials and completes the bit set.
func (p *parser) list(extra *secondaries, head uint8) {
	r := &p.r
	n := 0
	for _, x := range extra.of[:extra.n] {
		if x != head && x != 0 {
			extra.of[n] = x
			n++
		}
	}
	if n == 0 {
		return
	}
	r.Secondary = make([]string, n)
	for i, x := range extra.of[:n] {
		r.Secondary[i] = p.v.materials[x].Code
		r.Materials |= 1 << x
	}
}

// secondaries is a short list without repetition.
type secondaries struct {
	of [maxSecondary]uint8
	n  int
}

func (s *secondaries) add(x uint8) {
	if s.n < len(s.of) && !slices.Contains(s.of[:s.n], x) {
		s.of[s.n] = x
		s.n++
	}
}

func (s *secondaries) addSet(set uint64) {
	for ; set != 0; set &= set - 1 {
		s.add(uint8(bits.TrailingZeros64(set)))
	}
}
