package linkage

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// Candidate is a pair that may belong together.
type Candidate struct {
	Left, Right int32
	Pattern     Pattern
	// Adjust is added to the weight, log2: what agrees here is rarer than on
	// average (above zero), or more common.
	Adjust float32
}

// Problem is two lists, and the pairs among them that may belong together.
type Problem struct {
	Lefts, Rights int
	// Candidates are in the order of Left.
	Candidates []Candidate
	// Rest counts all the other pairs, which surely do not belong together.
	Rest []Count
	// Many says that an entry may have several partners: the two lists are one
	// and what is sought are entries of the same thing. Otherwise each has at
	// most one, and Share shares the probability out.
	Many bool
	// Pairs is how many pairs there are in all, where that is not Lefts times
	// Rights: in one list every pair stands once. 0: Lefts times Rights.
	Pairs float64
}

// Check says what is wrong with a problem.
func (p *Problem) Check() error {
	last := int32(0)
	for i := range p.Candidates {
		c := &p.Candidates[i]
		if c.Left < last || int(c.Left) >= p.Lefts || c.Right < 0 || int(c.Right) >= p.Rights {
			return fmt.Errorf("linkage: candidate %d is (%d, %d) of %d and %d, after %d", i, c.Left, c.Right, p.Lefts, p.Rights, last)
		}
		last = c.Left
	}
	return nil
}

// Odds gives for each candidate how many times likelier it is that the two
// belong together than that the left one has no partner at all. Before
// anything is compared, every entry on the right that no other has is as likely
// a partner, each with Share/(Rights - Share*Lefts).
func (p *Problem) Odds(m *Model, buf []float64) []float64 {
	odds := slices.Grow(buf[:0], len(p.Candidates))
	free := math.Max(float64(p.Rights)-m.Share*float64(p.Lefts), math.Max(1, 0.01*float64(p.Rights)))
	prior := math.Log2(m.Share/free) - math.Log2(1-m.Share)
	if p.Many {
		pairs := p.Pairs
		if pairs <= 0 {
			pairs = float64(p.Lefts) * float64(p.Rights)
		}
		prior = math.Log2(m.Share * float64(p.Lefts) / max(pairs, 1))
	}
	for i := range p.Candidates {
		c := &p.Candidates[i]
		odds = append(odds, math.Exp2(min(prior+m.Weight(c.Pattern)+float64(c.Adjust), 500)))
	}
	return odds
}

// Probabilities gives for each candidate the probability that the two belong
// together.
func (p *Problem) Probabilities(m *Model) []float64 {
	odds := p.Odds(m, nil)
	if p.Many {
		for i, w := range odds {
			odds[i] = w / (1 + w)
		}
		return odds
	}
	s := newShare(p)
	s.run(odds, 200)
	s.sumOutRings(odds)
	return slices.Clone(s.probability)
}

// mostShare keeps the learner from certainty that every entry has a partner.
const mostShare = 0.995

// Fit learns a model from the problem itself. start is not changed.
func (p *Problem) Fit(start *Model, o Options) (*Model, Report, error) {
	return p.FitFrom(start, start, o)
}

// FitFrom goes on learning from a model; start is what the prior of the
// options stands for. Neither is changed.
func (p *Problem) FitFrom(from, start *Model, o Options) (*Model, Report, error) {
	if err := errors.Join(from.Check(), start.Check()); err != nil {
		return nil, Report{}, err
	}
	if err := p.Check(); err != nil {
		return nil, Report{}, err
	}
	m := from.clone()
	rest := m.tallyU()
	for _, c := range p.Rest {
		m.addU(rest, c.Pattern, c.N)
	}
	var rep Report
	var odds []float64
	s := newShare(p)
	for !rep.Settled && rep.Steps < o.steps() {
		rep.Steps++
		odds = p.Odds(m, odds)
		if p.Many {
			for i, w := range odds {
				s.probability[i] = w / (1 + w)
			}
		} else {
			s.run(odds, 20)
		}
		yes, no := m.tallyM(), m.tallyU()
		rep.Matched = 0
		for i := range p.Candidates {
			r := s.probability[i]
			m.addM(yes, p.Candidates[i].Pattern, r)
			m.addU(no, p.Candidates[i].Pattern, 1-r)
			rep.Matched += r
		}
		no.plus(rest)
		moved := m.learn(yes, no, start, o)
		if n := float64(p.Lefts) + o.PriorShare; n > 0 {
			share := min((rep.Matched+o.PriorShare*start.Share)/n, mostShare)
			moved = max(moved, math.Abs(share-m.Share))
			m.Share = share
		}
		rep.Settled = moved <= o.tolerance()
	}
	return m, rep, nil
}

func (t tally) plus(o tally) {
	for i := range t {
		for g := range t[i] {
			for l := range t[i][g] {
				t[i][g][l] += o[i][g][l]
			}
		}
	}
}
