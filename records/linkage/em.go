package linkage

import "math"

// Count is how often a pattern was seen.
type Count struct {
	Pattern Pattern
	N       float64
}

// Options say how a model is learned. The zero Options are the plain method:
// greatest likelihood, from the counts alone.
type Options struct {
	Steps     int     // at most; 0: 500
	Tolerance float64 // ends when no entry of m, u or Share moves by more; 0: 1e-9
	// PriorM and PriorU are how many pairs the starting values of a row count
	// for: with few pairs the tables stay near where they started.
	PriorM, PriorU float64
	PriorShare     float64 // likewise, entries that the starting Share counts for
	// EachU is added to what was counted of every level of u: what was never
	// seen may yet be.
	EachU float64
	HoldU bool // u stays as it was given
	// Least is the least that an entry of m may be, so that no single field
	// rules a pair out.
	Least float64
}

func (o Options) steps() int {
	if o.Steps > 0 {
		return o.Steps
	}
	return 500
}

func (o Options) tolerance() float64 {
	if o.Tolerance > 0 {
		return o.Tolerance
	}
	return 1e-9
}

// Report tells how learning went.
type Report struct {
	Steps         int
	Settled       bool    // moved by no more than the tolerance at the end
	Matched       float64 // how many pairs the learner took to belong together
	LogLikelihood float64 // natural logarithm, of the counts; for EM alone
}

// EM learns m, u and Share from the counts of all pairs that were compared,
// taken to be independent of each other: with chance Share a pair belongs
// together. start is not changed.
func EM(counts []Count, start *Model, o Options) (*Model, Report, error) {
	if err := start.Check(); err != nil {
		return nil, Report{}, err
	}
	m := start.clone()
	var rep Report
	total := 0.0
	for _, c := range counts {
		total += c.N
	}
	for !rep.Settled && rep.Steps < o.steps() {
		rep.Steps++
		yes, no := newTally(m), newTally(m)
		rep.Matched, rep.LogLikelihood = 0, 0
		for _, c := range counts {
			lm, lu := m.likelihoods(c.Pattern)
			r := chance(m.Share*lm, (1-m.Share)*lu)
			yes.add(m, c.Pattern, r*c.N)
			no.add(m, c.Pattern, (1-r)*c.N)
			rep.Matched += r * c.N
			if l := m.Share*lm + (1-m.Share)*lu; l > 0 {
				rep.LogLikelihood += c.N * math.Log(l)
			}
		}
		moved := m.learn(yes, no, start, o)
		if n := total + o.PriorShare; n > 0 {
			share := (rep.Matched + o.PriorShare*start.Share) / n
			moved = max(moved, math.Abs(share-m.Share))
			m.Share = share
		}
		rep.Settled = moved <= o.tolerance()
	}
	return m, rep, nil
}

// likelihoods of a pattern, among pairs that belong together and others.
func (m *Model) likelihoods(p Pattern) (lm, lu float64) {
	lm, lu = 1, 1
	for i := range m.Fields {
		l := p.Level(i)
		if l >= len(m.Fields[i].Levels) {
			continue
		}
		g := m.Group(i, p)
		lm *= m.M[i][g][l]
		lu *= m.U[i][g][l]
	}
	return lm, lu
}

// Probability that a pair belongs together by its pattern alone, Share being
// how many of all pairs do.
func (m *Model) Probability(p Pattern) float64 {
	lm, lu := m.likelihoods(p)
	return chance(m.Share*lm, (1-m.Share)*lu)
}

func chance(yes, no float64) float64 {
	if yes+no > 0 {
		return yes / (yes + no)
	}
	return 0
}

// tally counts levels by field and group.
type tally []Table

func newTally(m *Model) tally {
	t := make(tally, len(m.Fields))
	for i := range m.Fields {
		t[i] = make(Table, m.Groups(i))
		for g := range t[i] {
			t[i][g] = make([]float64, len(m.Fields[i].Levels))
		}
	}
	return t
}

func (t tally) add(m *Model, p Pattern, n float64) {
	for i := range m.Fields {
		if l := p.Level(i); l < len(m.Fields[i].Levels) {
			t[i][m.Group(i, p)][l] += n
		}
	}
}

// learn sets m and u to what was counted, and tells the most that an entry
// moved.
func (m *Model) learn(yes, no tally, start *Model, o Options) (moved float64) {
	for i := range m.Fields {
		for g := range m.M[i] {
			moved = max(moved, setRow(m.M[i][g], yes[i][g], start.M[i][g], o.PriorM, 0, o.Least))
			if !o.HoldU {
				moved = max(moved, setRow(m.U[i][g], no[i][g], start.U[i][g], o.PriorU, o.EachU, 0))
			}
		}
	}
	return moved
}

// setRow makes a row of probabilities from counts and a prior of the given
// strength; a row of which nothing is known stays as it is.
func setRow(row, counted, prior []float64, strength, each, least float64) (moved float64) {
	total := strength + each*float64(len(row))
	for _, n := range counted {
		total += n
	}
	if total <= 0 {
		return 0
	}
	sum := 0.0
	next := make([]float64, len(row))
	for l := range row {
		next[l] = max((counted[l]+each+strength*prior[l])/total, least)
		sum += next[l]
	}
	for l := range row {
		next[l] /= sum
		moved = max(moved, math.Abs(next[l]-row[l]))
		row[l] = next[l]
	}
	return moved
}
