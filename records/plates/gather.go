package plates

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"

	"tallybook/records/linkage"
)

// matcher holds what is compared, and how.
type matcher struct {
	f      *file
	b      *blocks
	r      *rarity
	o      *Options
	owners bool
	lefts  []side
	// twins says that the left sides are the records themselves, in their
	// order: each pair is looked at once, and none with itself.
	twins bool
	ids   func(i int32) int64 // of a left side
}

func (m *matcher) leftID(i int32) int64 { return m.ids(i) }

// side gives a left side, spread out in room where the records are the left.
func (m *matcher) left(i int32, room *side) *side {
	if m.twins {
		m.f.side(i, room)
		return room
	}
	return &m.lefts[i]
}

func (m *matcher) leftCount() int {
	if m.twins {
		return m.f.len()
	}
	return len(m.lefts)
}

// gathered is what one pass over left sides found.
type gathered struct {
	candidates []linkage.Candidate
	rest       map[linkage.Pattern]float64
	compared   int64
}

// plan says how a pass keeps what it finds.
type plan struct {
	model *linkage.Model
	least float64 // log2 of the odds from which on a candidate is kept
	most  int     // how many of a left side's
	spare int     // how many pairs are drawn at random among those not found, for each left side
	// weightless: the left sides stand for none of the pairs that are sought;
	// what they find goes to the rest. Their own records are passed over.
	weightless bool
}

// gather compares left sides with their candidates, by all processors.
func (m *matcher) gather(ctx context.Context, which []int32, p plan, progress func(done int)) (*gathered, error) {
	workers := runtime.GOMAXPROCS(0)
	parts := make([]*gathered, 0, workers)
	var mu sync.Mutex
	var wg sync.WaitGroup
	const step = 64
	next, done := 0, 0
	take := func() (from, to int) {
		mu.Lock()
		defer mu.Unlock()
		from = next
		next = min(next+step, len(which))
		return from, next
	}
	for range workers {
		g := &gathered{rest: map[linkage.Pattern]float64{}}
		parts = append(parts, g)
		wg.Go(func() {
			w := m.worker(p)
			for ctx.Err() == nil {
				from, to := take()
				if from == to {
					return
				}
				for _, left := range which[from:to] {
					w.compare(left, g)
				}
				if progress != nil {
					mu.Lock()
					done += to - from
					progress(done)
					mu.Unlock()
				}
			}
		})
	}
	wg.Wait()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	all := parts[0]
	for _, g := range parts[1:] {
		all.candidates = append(all.candidates, g.candidates...)
		for k, n := range g.rest {
			all.rest[k] += n
		}
		all.compared += g.compared
	}
	slices.SortFunc(all.candidates, func(a, b linkage.Candidate) int {
		if a.Left != b.Left {
			return int(a.Left - b.Left)
		}
		return int(a.Right - b.Right)
	})
	return all, nil
}

// worker compares one left side after another.
type worker struct {
	m       *matcher
	p       plan
	judge   *judge
	finder  *finder
	weights map[linkage.Pattern]float64
	prior   float64
	scored  []scored
	rare    leftRarity
	a, b    side
}

type scored struct {
	c    linkage.Candidate
	odds float64
}

func (m *matcher) worker(p plan) *worker {
	w := &worker{m: m, p: p, judge: newJudge(m.f, m.owners), finder: m.b.finder(), weights: map[linkage.Pattern]float64{}}
	w.prior = math.Log2(p.model.Share / float64(max(1, m.f.len())))
	if m.twins {
		w.prior++ // half as many pairs
	} else {
		w.prior -= math.Log2(1 - p.model.Share)
	}
	return w
}

func (w *worker) weight(p linkage.Pattern) float64 {
	x, ok := w.weights[p]
	if !ok {
		x = w.p.model.Weight(p)
		w.weights[p] = x
	}
	return x
}

func (w *worker) compare(left int32, g *gathered) {
	m := w.m
	var l *side
	if w.p.weightless {
		m.f.side(left, &w.a)
		l = &w.a
	} else {
		l = m.left(left, &w.a)
	}
	w.judge.begin(l)
	found := w.finder.find(l, w.judge.leftKeys)
	own := m.twins || w.p.weightless // the left side is a record
	itself := int32(-1)
	if own {
		itself = left
	}
	m.r.left(l, itself, m.b.grid, m.b.numbers, w.judge.leftKeys, &w.rare)
	w.scored = w.scored[:0]
	looked := 0
	for _, i := range found {
		if own && i == left || m.twins && !w.p.weightless && i < left {
			continue
		}
		looked++
		m.f.side(i, &w.b)
		var which chosen
		p := w.judge.pattern(l, &w.b, &which)
		if w.p.weightless {
			p = p.With(fieldNumber, missing) // a record's number was never read off a plate
		}
		adjust := m.r.adjust(m.f, l, &w.b, &w.rare, p, &which)
		odds := w.prior + w.weight(p) + adjust
		if odds >= w.p.least && !w.refused(left, i) {
			w.scored = append(w.scored, scored{linkage.Candidate{Left: left, Right: i, Pattern: p, Adjust: float32(adjust)}, odds})
		} else {
			g.rest[p]++
		}
	}
	g.compared += int64(looked)
	w.keep(g)
	w.drawOthers(left, l, own, len(found), g)
}

func (w *worker) refused(left, right int32) bool {
	m := w.m
	if m.o.Refused == nil || w.p.weightless {
		return false
	}
	return m.o.Refused(m.leftID(left), m.f.id[right])
}

// keep keeps the likeliest of those scored; the others count as none.
func (w *worker) keep(g *gathered) {
	slices.SortFunc(w.scored, func(a, b scored) int {
		switch {
		case a.odds > b.odds:
			return -1
		case a.odds < b.odds:
			return 1
		}
		return int(a.c.Right - b.c.Right)
	})
	if w.p.weightless {
		// As if each left side had its partner here or nowhere.
		sum := 1.0
		for i := range w.scored {
			sum += math.Exp2(math.Min(w.scored[i].odds, 60))
		}
		for i := range w.scored {
			g.rest[w.scored[i].c.Pattern] += 1 - math.Exp2(math.Min(w.scored[i].odds, 60))/sum
		}
		return
	}
	for i := range w.scored {
		if i < w.p.most {
			g.candidates = append(g.candidates, w.scored[i].c)
		} else {
			g.rest[w.scored[i].c.Pattern]++
		}
	}
}

// drawOthers draws pairs among those that no key found, and lets each stand
// for its share of them.
func (w *worker) drawOthers(left int32, l *side, own bool, found int, g *gathered) {
	m := w.m
	n := m.f.len()
	left64 := n - found
	if left64 <= 0 || w.p.spare == 0 {
		return
	}
	stands := float64(left64) / float64(w.p.spare)
	if m.twins && !w.p.weightless {
		stands /= 2 // each pair once
	}
	r := rand.New(rand.NewPCG(uint64(left), 0x706c61746573))
	for k := 0; k < w.p.spare; {
		i := int32(r.IntN(n))
		if w.finder.has(i) || own && i == left {
			if left64 < n/2 { // few are left: do not look for them for long
				k++
			}
			continue
		}
		k++
		m.f.side(i, &w.b)
		p := w.judge.pattern(l, &w.b, nil)
		if w.p.weightless {
			p = p.With(fieldNumber, missing)
		}
		g.rest[p] += stands
		g.compared++
	}
}
