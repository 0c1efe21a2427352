package linkage

import (
	"math"
	"slices"
)

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
	// PriorM is how many pairs the starting values of a row of m count for,
	// and PriorU those of u as a whole: with few pairs the tables stay near
	// where they started.
	PriorM, PriorU float64
	// BackU is how many pairs a row of u is filled up with that are as those of
	// all rows of its table.
	BackU      float64
	PriorShare float64 // likewise, entries that the starting Share counts for
	// EachU is added to what was counted of every level of u, shared out among
	// the rows of its table: what was never seen may yet be.
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
		yes, no := m.tallyM(), m.tallyU()
		rep.Matched, rep.LogLikelihood = 0, 0
		for _, c := range counts {
			lm, lu := m.likelihoods(c.Pattern)
			r := chance(m.Share*lm, (1-m.Share)*lu)
			m.addM(yes, c.Pattern, r*c.N)
			m.addU(no, c.Pattern, (1-r)*c.N)
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
	var h hidden
	h.begin(m, p)
	for i := range m.Fields {
		if l := p.Level(i); l < len(m.Fields[i].Levels) && !m.Fields[i].Silent {
			lm *= m.M[i][m.RowM(i, p)][l]
			lu *= h.u(m, i, l, p)
		}
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

// tally counts levels by field and row. That of u has one row more for each
// field: pairs of which it is not known which row is theirs.
type tally []Table

func (m *Model) tallyM() tally { return emptyLike(m.M) }

func (m *Model) tallyU() tally {
	t := emptyLike(m.U)
	for i := range t {
		t[i] = append(t[i], make([]float64, len(m.Fields[i].Levels)))
	}
	return t
}

func emptyLike(ts []Table) tally {
	t := tally(cloneTables(ts))
	for i := range t {
		for g := range t[i] {
			clear(t[i][g])
		}
	}
	return t
}

func (m *Model) addM(t tally, p Pattern, n float64) {
	for i := range m.Fields {
		if l := p.Level(i); l < len(m.Fields[i].Levels) {
			t[i][m.RowM(i, p)][l] += n
		}
	}
}

func (m *Model) addU(t tally, p Pattern, n float64) {
	var h hidden
	h.begin(m, p)
	for i := range m.Fields {
		l := p.Level(i)
		if l >= len(m.Fields[i].Levels) {
			continue
		}
		row := m.RowU(i, p)
		if h.field >= 0 && slices.Contains(m.Fields[i].GivenU, h.field) {
			row = len(m.U[i])
		}
		t[i][row][l] += n
	}
}

// learn sets m and u to what was counted, and tells the most that an entry
// moved.
func (m *Model) learn(yes, no tally, start *Model, o Options) (moved float64) {
	for i := range m.Fields {
		for g := range m.M[i] {
			moved = max(moved, setRow(m.M[i][g], yes[i][g], start.M[i][g], o.PriorM, 0, o.Least))
		}
		if o.HoldU {
			continue
		}
		// All rows together, to fill up those of which little is known.
		whole := make([]float64, len(m.Fields[i].Levels))
		counted := make([]float64, len(whole))
		for _, row := range no[i] {
			for l, n := range row {
				counted[l] += n
			}
		}
		setRow(whole, counted, start.U[i][0], o.PriorU, o.EachU, 0)
		total := sumOf(counted)
		for g := range m.U[i] {
			if len(m.U[i]) == 1 {
				moved = max(moved, setRow(m.U[i][g], counted, start.U[i][g], o.PriorU, o.EachU, 0))
			} else {
				moved = max(moved, setRow(m.U[i][g], no[i][g], whole, o.BackU, o.EachU*sumOf(no[i][g])/max(total, 1), 0))
			}
		}
	}
	return moved
}

func sumOf(row []float64) float64 {
	sum := 0.0
	for _, n := range row {
		sum += n
	}
	return sum
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
