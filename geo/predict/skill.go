package predict

import (
	"math"
	"slices"

	"tallybook/geo/near"
)

// Verdict says what the neighbours are worth at a site.
type Verdict uint8

// The three answers.
const (
	// CannotSay: the tests near the site do not settle it. Show the estimate with
	// that word.
	CannotSay Verdict = iota
	// TheyTell: near the site the estimate did better than the area alone.
	TheyTell
	// NoMoreThanArea: near the site the neighbours added nothing; the area's own
	// distribution is the answer.
	NoMoreThanArea
)

// String is the answer in words.
func (v Verdict) String() string {
	switch v {
	case TheyTell:
		return "the neighbours tell"
	case NoMoreThanArea:
		return "the neighbours say no more than the area"
	}
	return "cannot say whether the neighbours tell"
}

const (
	skillWells   = 100  // test wells nearest to the site that give the verdict
	verdictSkill = 0.05 // skill that is worth having
	verdictSE    = 1.3  // standard errors by which it has to be cleared: one chance in ten
)

// LocalSkill is how the estimate did at the test wells nearest to a site.
type LocalSkill struct {
	// Skill is 1 - CRPS / (CRPS of the area alone): 1 is perfect, 0 no better than
	// the area. NaN when nothing was tested.
	Skill float64
	// SE is its standard error.
	SE float64
	// Tests is how many test wells it rests on (100, or all there are), and
	// WithinM how far the farthest of them is, metres.
	Tests   int
	WithinM float64
	Verdict Verdict
}

// skill is 1 - the ratio of the sums, with the standard error of a ratio.
func skill(own, area []float64) (s, se float64) {
	var o, a float64
	for j := range own {
		o += own[j]
		a += area[j]
	}
	if len(own) == 0 {
		return math.NaN(), math.NaN()
	}
	if a == 0 {
		return 0, 0 // every outcome alike, and foretold by the area
	}
	ratio := o / a
	for j := range own {
		e := own[j] - ratio*area[j]
		se += float64(e * e)
	}
	n := float64(len(own))
	return 1 - ratio, math.Sqrt(se*n/(n-1)) / a
}

// record keeps how the estimate did at each test well, to be asked by place.
// The wells are numbered in the order of the index.
type record struct {
	index     *near.Index
	own, area []float64
}

func (m *Model) keepTrials(t *trials) error {
	var x, y, own, area []float64
	var keys []uint64
	for j := range t.list {
		w := &t.list[j]
		if w.failed {
			continue
		}
		wx, wy := m.obs.index.At(int(w.i))
		x, y, keys = append(x, wx), append(y, wy), append(keys, m.obs.key[w.i])
		own, area = append(own, w.crps), append(area, w.areaCRPS)
	}
	index, err := near.New(x, y, keys)
	if err != nil {
		return err
	}
	r := &m.record
	var old []int32
	r.index, old = index.Renumbered()
	r.own, r.area = make([]float64, len(old)), make([]float64, len(old))
	for i, o := range old {
		r.own[i], r.area[i] = own[o], area[o]
	}
	return nil
}

// localSkill asks the record around a place on the plane. Sums go in order of
// the test wells' numbers, however they were found. buf is scratch.
func (m *Model) localSkill(x, y float64, buf []near.Hit) (LocalSkill, []near.Hit) {
	if m.record.index == nil {
		return LocalSkill{Skill: math.NaN(), SE: math.NaN()}, buf
	}
	buf = m.record.index.Nearest(x, y, skillWells, buf)
	var own, area [skillWells]float64
	var numbers [skillWells]int32
	for j, h := range buf {
		numbers[j] = h.I
	}
	slices.Sort(numbers[:len(buf)])
	for j, i := range numbers[:len(buf)] {
		own[j], area[j] = m.record.own[i], m.record.area[i]
	}
	s := LocalSkill{Tests: len(buf)}
	s.Skill, s.SE = skill(own[:len(buf)], area[:len(buf)])
	if len(buf) > 0 {
		s.WithinM = math.Sqrt(buf[len(buf)-1].D2)
	}
	s.Verdict = verdict(s)
	return s, buf
}

// skillAmong is localSkill from a tile's test wells: the same wells, found
// without putting them in order.
func (p *Predictor) skillAmong(q *query) LocalSkill {
	var limit float64
	p.pool, limit = p.tests.rivals(q, p.pool)
	r := &p.model.record
	last, ok := p.lastOf(p.pool, limit, skillWells, r.index)
	if !ok {
		var s LocalSkill
		s, p.around = p.model.localSkill(q.x, q.y, p.around)
		p.tests.last = circle{q.x, q.y, s.WithinM}
		return s
	}
	var own, area [skillWells + 1]float64 // one more, for what is not taken
	k := 0
	for _, c := range p.pool {
		own[k], area[k] = r.own[c.i], r.area[c.i]
		if c.d2 != last.d2 {
			k += within(c.d2, last.d2)
		} else if c.i == last.i || r.index.Before(c.i, last.i) {
			k++
		}
	}
	s := LocalSkill{Tests: skillWells, WithinM: math.Sqrt(last.d2)}
	s.Skill, s.SE = skill(own[:skillWells], area[:skillWells])
	s.Verdict = verdict(s)
	p.tests.last = circle{q.x, q.y, s.WithinM}
	return s
}

func verdict(s LocalSkill) Verdict {
	switch {
	case s.Tests < minTrials || math.IsNaN(s.Skill):
		return CannotSay
	case s.Skill-verdictSE*s.SE > verdictSkill:
		return TheyTell
	case s.Skill+verdictSE*s.SE < verdictSkill:
		return NoMoreThanArea
	}
	return CannotSay
}
