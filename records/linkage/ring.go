package linkage

// mostInRing is up to how many candidates that hang together are summed over
// in every way to pair their entries off.
const mostInRing = 14

// sumOutRings puts right what messages get wrong: where candidates that hang
// together form a ring and are few, their probabilities are summed out.
func (s *share) sumOutRings(odds []float64) {
	p := s.p
	root := make([]int32, p.Lefts+p.Rights)
	for i := range root {
		root[i] = int32(i)
	}
	find := func(i int32) int32 {
		for root[i] != i {
			root[i] = root[root[i]]
			i = root[i]
		}
		return i
	}
	ring := map[int32]bool{}
	for i := range p.Candidates {
		a, b := find(p.Candidates[i].Left), find(int32(p.Lefts)+p.Candidates[i].Right)
		if a == b {
			ring[a] = true
			continue
		}
		if ring[a] {
			ring[b] = true
		}
		root[a] = b
	}
	if len(ring) == 0 {
		return
	}
	blocks := map[int32][]int32{}
	for i := range p.Candidates {
		if at := find(p.Candidates[i].Left); ring[at] && len(blocks[at]) <= mostInRing {
			blocks[at] = append(blocks[at], int32(i))
		}
	}
	for _, block := range blocks {
		if len(block) <= mostInRing {
			s.sumOut(block, odds)
		}
	}
}

// sumOut sums over every way to pair off the entries of a block.
func (s *share) sumOut(block []int32, odds []float64) {
	cs := s.p.Candidates
	var sums [mostInRing]float64
	var taken [mostInRing]int
	total := 0.0
	var walk func(at, n int, worth float64)
	walk = func(at, n int, worth float64) {
		if at == len(block) {
			total += worth
			for _, k := range taken[:n] {
				sums[k] += worth
			}
			return
		}
		walk(at+1, n, worth)
		c := &cs[block[at]]
		for _, k := range taken[:n] {
			if o := &cs[block[k]]; o.Left == c.Left || o.Right == c.Right {
				return
			}
		}
		taken[n] = at
		// Odds are kept within bounds, so that a product of a dozen is finite.
		walk(at+1, n+1, worth*min(odds[block[at]], 1e20))
	}
	walk(0, 0, 1)
	for k, i := range block {
		s.probability[i] = sums[k] / total
	}
}
