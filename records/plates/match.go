package plates

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"

	"tallybook/records"
	"tallybook/records/linkage"
)

// learning is how the model is learned: a few dozen pairs outweigh what it
// starts from.
var learning = linkage.Options{Steps: 60, Tolerance: 1e-4, PriorM: 12, PriorU: 2, EachU: 0.5, BackU: 5, PriorShare: 10, Least: 0.002}

// learning is how this matcher learns. Where the pairs that are sought may be
// few among many that are alike, what is learned must not wander off to those:
// there the start counts for more.
func (m *matcher) learning() linkage.Options {
	o := learning
	if m.twins {
		o.PriorM = math.Max(300, 0.02*float64(m.f.len()))
	} else {
		o.PriorM = math.Max(o.PriorM, 0.03*float64(len(m.lefts)))
	}
	return o
}

const (
	// learnFrom is how many left sides the first look takes, drawn at random.
	learnFrom = 3000
	// lookalikes is how many records stand in for plates to see how often what
	// does not belong together agrees, where there are few plates.
	lookalikes = 1000
	// kept candidates have at least these odds, log2, against having none: in
	// the first look, when little is known, and in the last.
	firstLeast, lastLeast = -30.0, -17.0
	firstMost, lastMost   = 30, 8
	explainUpTo           = 3000
)

// Match proposes for each plate the record that is likeliest its own.
func Match(ctx context.Context, plates []*records.Plate, source Source, o Options) (*Result, error) {
	f, err := readFile(ctx, source, &o)
	if err != nil {
		return nil, err
	}
	m := &matcher{f: f, o: &o, b: newBlocks(f), lefts: make([]side, len(plates))}
	for i, p := range plates {
		f.plateSide(p, &m.lefts[i])
	}
	m.r = newRarity(f, m.b.numbers)
	m.ids = func(i int32) int64 { return plates[i].ID }
	r := &Result{Model: startPlates(), m: m, Threshold: 2}
	if len(plates) == 0 || f.len() == 0 {
		for _, p := range plates {
			r.Plates = append(r.Plates, PlateMatch{PlateID: p.ID, None: 1})
		}
		r.Learned.Records = f.len()
		return r, nil
	}
	p, err := m.solve(ctx, r.Model)
	if err != nil {
		return nil, err
	}
	r.Model, r.Learned = p.model, p.learned
	r.collect(p)
	r.Threshold = linkage.Threshold(r.probabilities(), o.wrong(), r.Learned.least())
	return r, nil
}

// leastOffered: a link below it is looked at by a person, however many others
// are sure. What was learned from few pairs knows little of how alike the wells
// of one street are: on plates written unseen (testdata/blind), where the like
// neighbour of a hole without a record tempts, it took one in twelve of its
// links from 0.95 on wrongly, and one in a hundred and fifty from 0.999 on.
const (
	leastOffered      = 0.9
	leastOfferedByFew = 0.999
	fewLearned        = 1000
)

// least is the probability below which no link is offered with others.
func (l *Learned) least() float64 {
	if l.Matched < fewLearned {
		return leastOfferedByFew
	}
	return leastOffered
}

// wrong is the share of links that the model may expect to be wrong at the
// default threshold. What is expected can be out by half as much again, so it
// is less than what is aimed at.
func (o *Options) wrong() float64 {
	if o.Precision > 0 && o.Precision < 1 {
		return (1 - o.Precision) / 1.5
	}
	return 0.005 / 1.5
}

// solved is a problem with its answer.
type solved struct {
	problem       *linkage.Problem
	model         *linkage.Model
	odds          []float64
	probabilities []float64
	learned       Learned
}

// solve learns from some left sides, then compares all of them by what it
// learned, learns once more from all, and weighs.
func (m *matcher) solve(ctx context.Context, start *linkage.Model) (*solved, error) {
	m.r.placeAvg = m.meanDensity()
	first, err := m.look(ctx, start, start, m.some(m.leftCount(), learnFrom), plan{model: start, least: firstLeast, most: firstMost}, nil)
	if err != nil {
		return nil, err
	}
	all := make([]int32, m.leftCount())
	for i := range all {
		all[i] = int32(i)
	}
	progress := func(done int) {
		if m.o.Progress != nil {
			m.o.Progress(done, len(all))
		}
	}
	s, err := m.look(ctx, start, first.model, all, plan{model: first.model, least: lastLeast, most: lastMost}, progress)
	if err != nil {
		return nil, err
	}
	s.odds = s.problem.Odds(s.model, nil)
	s.probabilities = s.problem.Probabilities(s.model)
	return s, nil
}

// look gathers and learns once; from is where learning goes on, start what the
// prior stands for.
func (m *matcher) look(ctx context.Context, start, from *linkage.Model, which []int32, p plan, progress func(int)) (*solved, error) {
	const pairsDrawn = 400_000
	p.spare = 0
	if !m.b.whole {
		p.spare = min(m.f.len(), max(2, pairsDrawn/max(1, len(which))), 400)
	}
	g, err := m.gather(ctx, which, p, progress)
	if err != nil {
		return nil, err
	}
	if few := lookalikes - len(which); few > 0 && !m.twins {
		stand := p
		stand.weightless = true
		if !m.b.whole {
			stand.spare = 100
		}
		extra, err := m.gather(ctx, m.some(m.f.len(), few), stand, nil)
		if err != nil {
			return nil, err
		}
		for k, n := range extra.rest {
			g.rest[k] += n
		}
		g.compared += extra.compared
	}
	// Left sides are numbered anew where only some were looked at, so that
	// Share is that of those.
	problem := &linkage.Problem{Lefts: len(which), Rights: m.f.len(), Candidates: g.candidates, Many: m.twins}
	if m.twins {
		problem.Pairs = float64(len(which)) * float64(m.f.len()-1) / 2
	}
	if len(which) < m.leftCount() {
		for i := range g.candidates {
			at, _ := slices.BinarySearch(which, g.candidates[i].Left)
			g.candidates[i].Left = int32(at)
		}
	}
	for k, n := range g.rest {
		problem.Rest = append(problem.Rest, linkage.Count{Pattern: k, N: n})
	}
	slices.SortFunc(problem.Rest, func(a, b linkage.Count) int {
		if a.Pattern < b.Pattern {
			return -1
		}
		return 1
	})
	o := m.learning()
	model, report, err := problem.FitFrom(from, start, o)
	if err != nil {
		return nil, err
	}
	return &solved{problem: problem, model: model, learned: Learned{
		Records: m.f.len(), Matched: report.Matched, Started: o.PriorM, Steps: report.Steps, Settled: report.Settled, Compared: g.compared,
	}}, nil
}

// some draws so many of n, in their order; all where there are no more.
func (m *matcher) some(n, many int) []int32 {
	var out []int32
	if n <= many {
		for i := range n {
			out = append(out, int32(i))
		}
		return out
	}
	r := rand.New(rand.NewPCG(uint64(n), 0x736f6d65))
	taken := map[int32]bool{}
	for len(out) < many {
		if i := int32(r.IntN(n)); !taken[i] {
			taken[i] = true
			out = append(out, i)
		}
	}
	slices.Sort(out)
	return out
}

// meanDensity is how many records stand on a square metre about a left side, on
// average.
func (m *matcher) meanDensity() float64 {
	sum, n := 0.0, 0.0
	var room side
	add := func(l *side, own int32) {
		for i := range l.spots {
			sum += m.b.grid.densityM2(&l.spots[i], own)
			n++
		}
	}
	for _, i := range m.some(m.leftCount(), learnFrom) {
		own := int32(-1)
		if m.twins {
			own = i
		}
		add(m.left(i, &room), own)
	}
	if few := lookalikes - m.leftCount(); few > 0 && !m.twins {
		for _, i := range m.some(m.f.len(), few) {
			m.f.side(i, &room)
			add(&room, i)
		}
	}
	return sum / math.Max(1, n)
}

// collect turns what was solved into proposals, plate by plate.
func (r *Result) collect(s *solved) {
	chosen := s.problem.Assign(s.odds)
	cs := s.problem.Candidates
	runners := r.m.o.Runners
	if runners <= 0 {
		runners = 3
	}
	at := 0
	for i := range r.m.lefts {
		match := PlateMatch{PlateID: r.m.leftID(int32(i)), None: 1}
		from := at
		for at < len(cs) && int(cs[at].Left) == i {
			match.None -= s.probabilities[at]
			at++
		}
		match.None = math.Max(0, match.None)
		order := make([]int, 0, at-from)
		for k := from; k < at; k++ {
			if int32(k) == chosen[i] {
				best := r.suggestion(s, k)
				match.Best = &best
			} else {
				order = append(order, k)
			}
		}
		slices.SortStableFunc(order, func(a, b int) int {
			switch {
			case s.odds[a] > s.odds[b]:
				return -1
			case s.odds[a] < s.odds[b]:
				return 1
			}
			return 0
		})
		for _, k := range order[:min(len(order), runners)] {
			match.Others = append(match.Others, r.suggestion(s, k))
		}
		r.Plates = append(r.Plates, match)
	}
	if len(r.Plates) <= explainUpTo {
		for i := range r.Plates {
			r.ExplainAll(&r.Plates[i])
		}
	}
}

func (r *Result) suggestion(s *solved, k int) Suggestion {
	c := &s.problem.Candidates[k]
	return Suggestion{
		PlateID: r.m.leftID(c.Left), WellID: r.m.f.id[c.Right], Revision: int64(r.m.f.row[c.Right].revision),
		Probability: s.probabilities[k], Weight: s.model.Weight(c.Pattern) + float64(c.Adjust),
		left: c.Left, right: c.Right, adjust: float64(c.Adjust),
	}
}
