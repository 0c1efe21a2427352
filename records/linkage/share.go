package linkage

import "math"

// share finds, where every entry has at most one partner, the probability of
// each candidate from the odds of all: the sum over all ways to pair the
// entries off, each as likely as the product of the odds of its pairs. It
// passes messages between the two sides until they settle (J. L. Williams and
// R. A. Lau, 'Approximate evaluation of marginal association probabilities
// with belief propagation', IEEE Transactions on Aerospace and Electronic
// Systems 50 (2014), 2942-2959; from memory). That is exact where the
// candidates form no ring, and mostly close where they do; small rings are
// summed out.
type share struct {
	p           *Problem
	from, to    []float64 // messages of a candidate: from its left entry, and to it
	probability []float64
	none        []float64 // of each left entry: that it has no partner
	byRight     []int32   // candidates, in the order of their right entries
	room        []float64
}

func newShare(p *Problem) *share {
	n := len(p.Candidates)
	s := &share{p: p, from: make([]float64, n), to: make([]float64, n), probability: make([]float64, n),
		none: make([]float64, p.Lefts), byRight: make([]int32, n)}
	for i := range s.to {
		s.to[i] = 1
	}
	start := make([]int32, p.Rights+1)
	for i := range p.Candidates {
		start[p.Candidates[i].Right+1]++
	}
	for j := range p.Rights {
		start[j+1] += start[j]
	}
	for i := range p.Candidates {
		j := p.Candidates[i].Right
		s.byRight[start[j]] = int32(i)
		start[j]++
	}
	return s
}

// run passes messages until they move no more, at most so many times. It goes
// on from where the last run ended.
func (s *share) run(odds []float64, most int) {
	for range most {
		s.sweepLeft(odds)
		if s.sweepRight() < 1e-7 {
			break
		}
	}
	s.finish(odds)
}

// sweepLeft: an entry on the left tells each candidate how much it leans to
// it, the others being what they are.
func (s *share) sweepLeft(odds []float64) {
	cs := s.p.Candidates
	for i := 0; i < len(cs); {
		end := i + 1
		for end < len(cs) && cs[end].Left == cs[i].Left {
			end++
		}
		// Sums of what stands before and behind each: taking one out of the
		// sum of all would lose the small ones beside a great one.
		s.room = append(s.room[:0], 0)
		behind := 0.0
		for k := end - 1; k > i; k-- {
			behind += odds[k] * s.to[k]
			s.room = append(s.room, behind)
		}
		before := 1.0
		for k := i; k < end; k++ {
			s.from[k] = odds[k] / (before + s.room[end-1-k])
			before += odds[k] * s.to[k]
		}
		i = end
	}
}

// sweepRight: an entry on the right tells each candidate how free the others
// leave it. It gives the most that a message moved.
func (s *share) sweepRight() (moved float64) {
	cs, by := s.p.Candidates, s.byRight
	for i := 0; i < len(by); {
		end := i + 1
		for end < len(by) && cs[by[end]].Right == cs[by[i]].Right {
			end++
		}
		s.room = append(s.room[:0], 0)
		behind := 0.0
		for k := end - 1; k > i; k-- {
			behind += s.from[by[k]]
			s.room = append(s.room, behind)
		}
		before := 1.0
		for k := i; k < end; k++ {
			to := 1 / (before + s.room[end-1-k])
			moved = max(moved, math.Abs(to-s.to[by[k]]))
			s.to[by[k]] = to
			before += s.from[by[k]]
		}
		i = end
	}
	return moved
}

func (s *share) finish(odds []float64) {
	cs := s.p.Candidates
	for i := range s.none {
		s.none[i] = 1
	}
	for i := 0; i < len(cs); {
		end, sum := i, 1.0
		for end < len(cs) && cs[end].Left == cs[i].Left {
			sum += odds[end] * s.to[end]
			end++
		}
		for k := i; k < end; k++ {
			s.probability[k] = odds[k] * s.to[k] / sum
		}
		s.none[cs[i].Left] = 1 / sum
		i = end
	}
}
