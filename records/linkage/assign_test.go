package linkage_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"tallybook/records/linkage"
)

// small draws a problem with few entries, and odds for its candidates.
func small(t *rapid.T) (*linkage.Problem, []float64) {
	p := &linkage.Problem{Lefts: rapid.IntRange(1, 5).Draw(t, "lefts"), Rights: rapid.IntRange(1, 5).Draw(t, "rights")}
	var odds []float64
	for i := range p.Lefts {
		for j := range p.Rights {
			if rapid.IntRange(0, 2).Draw(t, "is") > 0 {
				p.Candidates = append(p.Candidates, linkage.Candidate{Left: int32(i), Right: int32(j)})
				odds = append(odds, math.Exp(rapid.Float64Range(-6, 12).Draw(t, "log odds")))
			}
		}
	}
	return p, odds
}

// everyWay walks all ways to pair entries off, each with at most one partner.
func everyWay(p *linkage.Problem, give func(taken []int)) {
	var taken []int
	left, right := map[int32]bool{}, map[int32]bool{}
	var walk func(at int)
	walk = func(at int) {
		if at == len(p.Candidates) {
			give(taken)
			return
		}
		walk(at + 1)
		c := p.Candidates[at]
		if left[c.Left] || right[c.Right] {
			return
		}
		left[c.Left], right[c.Right] = true, true
		taken = append(taken, at)
		walk(at + 1)
		taken = taken[:len(taken)-1]
		left[c.Left], right[c.Right] = false, false
	}
	walk(0)
}

// TestAssignIsTheBest holds the assignment against all there are.
func TestAssignIsTheBest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, odds := small(t)
		best := 0.0
		everyWay(p, func(taken []int) {
			sum := 0.0
			for _, k := range taken {
				sum += math.Log(odds[k])
			}
			best = max(best, sum)
		})
		sum := 0.0
		used := map[int32]bool{}
		chosen := p.Assign(odds)
		for i, k := range chosen {
			if k < 0 {
				continue
			}
			c := p.Candidates[k]
			if int(c.Left) != i || used[c.Right] || odds[k] <= 1 {
				t.Fatalf("entry %d got candidate %d (%v, odds %g); taken before: %v", i, k, c, odds[k], used[c.Right])
			}
			used[c.Right] = true
			sum += math.Log(odds[k])
		}
		if math.Abs(sum-best) > 1e-9 {
			t.Fatalf("the assignment is worth %.12f, the best %.12f", sum, best)
		}
	})
}

// TestAssignLong: a chain in which the last entry makes all the others move.
func TestAssignLong(t *testing.T) {
	const n = 20_000
	p := &linkage.Problem{Lefts: n, Rights: n}
	var odds []float64
	for i := range int32(n) {
		p.Candidates = append(p.Candidates, linkage.Candidate{Left: i, Right: i})
		odds = append(odds, 100)
		if i+1 < n {
			p.Candidates = append(p.Candidates, linkage.Candidate{Left: i, Right: i + 1})
			odds = append(odds, 101)
		} else {
			odds[len(odds)-1] = 1.5
		}
	}
	chosen := p.Assign(odds)
	// Each has its own next one but the last, which has nothing left that is
	// free and is worth too little for the others to move.
	for i := range n - 1 {
		if p.Candidates[chosen[i]].Right != int32(i+1) {
			t.Fatalf("entry %d has %d", i, p.Candidates[chosen[i]].Right)
		}
	}
	if chosen[n-1] >= 0 {
		t.Errorf("the last has %d", p.Candidates[chosen[n-1]].Right)
	}
}
