package predict

import (
	"math"

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
type record struct {
	index     *near.Index
	own, area []float64
}

func (m *Model) keepTrials(t *trials) error {
	var x, y []float64
	var keys []uint64
	for j := range t.list {
		w := &t.list[j]
		if w.failed {
			continue
		}
		wx, wy := m.obs.index.At(int(w.i))
		x, y, keys = append(x, wx), append(y, wy), append(keys, m.obs.key[w.i])
		m.record.own = append(m.record.own, w.crps)
		m.record.area = append(m.record.area, w.areaCRPS)
	}
	var err error
	m.record.index, err = near.New(x, y, keys)
	return err
}

// localSkill asks the record around a place on the plane. buf is scratch.
func (m *Model) localSkill(x, y float64, buf []near.Hit) (LocalSkill, []near.Hit) {
	if m.record.index == nil {
		return LocalSkill{Skill: math.NaN(), SE: math.NaN()}, buf
	}
	buf = m.record.index.Nearest(x, y, skillWells, buf)
	var own, area [skillWells]float64
	for j, h := range buf {
		own[j], area[j] = m.record.own[h.I], m.record.area[h.I]
	}
	s := LocalSkill{Tests: len(buf)}
	s.Skill, s.SE = skill(own[:len(buf)], area[:len(buf)])
	if len(buf) > 0 {
		s.WithinM = math.Sqrt(buf[len(buf)-1].D2)
	}
	s.Verdict = verdict(s)
	return s, buf
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
