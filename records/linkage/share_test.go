package linkage_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"tallybook/records/linkage"
)

// oneLevel is a model in which each candidate's odds can be set by its Adjust.
func oneLevel(share float64) *linkage.Model {
	return &linkage.Model{
		Fields: []linkage.Field{{Name: "nothing", Levels: []string{"any"}}},
		M:      []linkage.Table{{{1}}}, U: []linkage.Table{{{1}}}, Share: share,
	}
}

// exactly sums over every way to pair entries off.
func exactly(p *linkage.Problem, odds []float64) []float64 {
	total := 0.0
	out := make([]float64, len(odds))
	everyWay(p, func(taken []int) {
		w := 1.0
		for _, k := range taken {
			w *= odds[k]
		}
		total += w
		for _, k := range taken {
			out[k] += w
		}
	})
	for k := range out {
		out[k] /= total
	}
	return out
}

// rings says whether candidates form a ring.
func rings(p *linkage.Problem) bool {
	root := make([]int, p.Lefts+p.Rights)
	for i := range root {
		root[i] = i
	}
	find := func(i int) int {
		for root[i] != i {
			i = root[i]
		}
		return i
	}
	for _, c := range p.Candidates {
		a, b := find(int(c.Left)), find(p.Lefts+int(c.Right))
		if a == b {
			return true
		}
		root[a] = b
	}
	return false
}

// TestShareAgainstAllWays: exact without rings and with small ones; in greater
// ones off by as much as messages are.
func TestShareAgainstAllWays(t *testing.T) {
	worst, ringed := 0.0, 0
	rapid.Check(t, func(t *rapid.T) {
		p, odds := small(t)
		m := oneLevel(0.5)
		prior := p.Odds(m, nil)
		for k := range odds {
			p.Candidates[k].Adjust = float32(math.Log2(odds[k] / prior[k]))
		}
		odds = p.Odds(m, nil) // as float32 has it
		got, want := p.Probabilities(m), exactly(p, odds)
		for k := range got {
			off := math.Abs(got[k] - want[k])
			if rings(p) && len(p.Candidates) > 14 {
				ringed++
				worst = max(worst, off)
				if off > 0.35 {
					t.Fatalf("candidate %d: %.9f, exactly %.9f", k, got[k], want[k])
				}
			} else if off > 1e-6 {
				t.Fatalf("candidate %d: %.9f, exactly %.9f, in %d", k, got[k], want[k], len(got))
			}
		}
	})
	t.Logf("%d candidates in rings, at most %.3f off", ringed, worst)
}
