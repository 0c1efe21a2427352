package linkage

import (
	"container/heap"
	"math"
)

// Assign chooses candidates such that every entry, left and right, is in at
// most one of them, and the product of the odds of those chosen is the
// greatest that there is; a candidate with odds of 1 or less is never chosen.
// odds go with p.Candidates. The result has for each left entry the place of
// its candidate, or -1.
//
// It is exact: entries are added one at a time along the shortest path that
// exchanges partners (the Hungarian method in its sparse form: H. W. Kuhn,
// Naval Research Logistics Quarterly 2 (1955), 83-97). A path stays within
// the candidates that hang together, which are few.
func (p *Problem) Assign(odds []float64) []int32 {
	a := &assigner{p: p, cost: make([]float64, len(odds)), start: make([]int32, p.Lefts+1),
		left: make([]float64, p.Lefts), right: make([]float64, p.Rights),
		chosen: make([]int32, p.Lefts), holder: make([]int32, p.Rights),
		reach: make([]reach, p.Rights)}
	for i, w := range odds {
		a.cost[i] = -math.Log(w) // +Inf where the odds are 0
		a.start[p.Candidates[i].Left+1]++
	}
	for i := range p.Lefts {
		a.start[i+1] += a.start[i]
		a.chosen[i] = -1
	}
	for j := range a.holder {
		a.holder[j] = -1
	}
	for i := range p.Lefts {
		if a.start[i] < a.start[i+1] {
			a.add(int32(i))
		}
	}
	return a.chosen
}

type assigner struct {
	p           *Problem
	cost        []float64
	start       []int32   // of a left entry's candidates
	left, right []float64 // prices: cost - left - right is never below zero
	chosen      []int32   // of a left entry: its candidate, or -1 for none
	holder      []int32   // of a right entry: the left one that has it, or -1
	reach       []reach   // of a right entry, in this search
	round       int32
	queue       reachQueue
}

// reach is how a right entry was come by.
type reach struct {
	round int32
	done  bool
	by    int32 // the candidate
	at    float64
}

// add finds a partner, or none, for a left entry, exchanging those of others
// where that is better for all.
func (a *assigner) add(first int32) {
	a.round++
	a.queue = a.queue[:0]
	// Having none costs nothing; with prices that are never below zero.
	lowest := 0.0
	for k := a.start[first]; k < a.start[first+1]; k++ {
		lowest = min(lowest, a.cost[k]-a.right[a.p.Candidates[k].Right])
	}
	a.left[first] = lowest
	type visit struct {
		left int32
		at   float64
	}
	var lefts []visit
	var rights []int32
	best, end, endLeft := math.Inf(1), int32(-1), int32(-1)
	for at, i := 0.0, first; ; {
		lefts = append(lefts, visit{i, at})
		if d := at - a.left[i]; d < best { // ends with i having none
			best, end, endLeft = d, -1, i
		}
		for k := a.start[i]; k < a.start[i+1]; k++ {
			a.try(k, at+a.cost[k]-a.left[i]-a.right[a.p.Candidates[k].Right])
		}
		j, d := a.next()
		if j < 0 || d >= best {
			break
		}
		if a.holder[j] < 0 {
			best, end = d, j
			break
		}
		rights = append(rights, j)
		at, i = d, a.holder[j]
	}
	for _, v := range lefts {
		a.left[v.left] += best - v.at
	}
	for _, j := range rights {
		a.right[j] -= best - a.reach[j].at
	}
	// Hand over along the path, from its end.
	if end < 0 {
		k := a.chosen[endLeft]
		a.chosen[endLeft] = -1
		if endLeft == first {
			return
		}
		end = a.p.Candidates[k].Right
	}
	for {
		k := a.reach[end].by
		i := a.p.Candidates[k].Left
		old := a.chosen[i]
		a.chosen[i], a.holder[end] = k, i
		if i == first {
			return
		}
		end = a.p.Candidates[old].Right
	}
}

func (a *assigner) try(k int32, at float64) {
	r := &a.reach[a.p.Candidates[k].Right]
	if math.IsInf(at, 1) || r.round == a.round && (r.done || r.at <= at) {
		return
	}
	*r = reach{round: a.round, by: k, at: at}
	heap.Push(&a.queue, queued{a.p.Candidates[k].Right, at})
}

// next is the right entry that is nearest and not done, or -1.
func (a *assigner) next() (int32, float64) {
	for len(a.queue) > 0 {
		q := heap.Pop(&a.queue).(queued)
		if r := &a.reach[q.right]; !r.done && r.at == q.at {
			r.done = true
			return q.right, q.at
		}
	}
	return -1, 0
}

type queued struct {
	right int32
	at    float64
}

type reachQueue []queued

func (q reachQueue) Len() int           { return len(q) }
func (q reachQueue) Less(i, j int) bool { return q[i].at < q[j].at }
func (q reachQueue) Swap(i, j int)      { q[i], q[j] = q[j], q[i] }
func (q *reachQueue) Push(x any)        { *q = append(*q, x.(queued)) }
func (q *reachQueue) Pop() any {
	old := *q
	last := old[len(old)-1]
	*q = old[:len(old)-1]
	return last
}
