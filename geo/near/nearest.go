package near

import "math"

// Hit is one found point.
type Hit struct {
	I  int32   // position in the slices given to New
	D2 float64 // squared distance in m2
}

// Nearest returns the k points nearest to (x, y) in metres, nearest first and
// ties by key: exactly those that a full sort by distance and key would put
// first. Fewer than k points give all of them; k < 1 or a NaN coordinate give
// none. The result is written over buf, which grows only when it is too short:
// pass the last result to search without allocating.
func (ix *Index) Nearest(x, y float64, k int, buf []Hit) []Hit {
	s := ix.newSearch(x, y, k, buf)
	if s.k > 0 {
		s.run(nil)
	}
	return s.finish()
}

// NearestWithin is Nearest over the points whose squared distance is at most
// maxD2 m2. A caller who knows such a distance, as from the place beside, saves
// the search its groping. A NaN maxD2 gives none.
func (ix *Index) NearestWithin(x, y float64, k int, maxD2 float64, buf []Hit) []Hit {
	s := ix.newSearch(x, y, k, buf)
	if s.k > 0 && maxD2 >= 0 {
		s.bound = maxD2
		s.run(nil)
	}
	return s.finish()
}

// NearestFunc is Nearest over the points for which skip is false. skip is
// given the point's position in the caller's slices; it is called only for
// points that would otherwise enter the answer, some of which are pushed out
// again later, and must give the same answer each time.
func (ix *Index) NearestFunc(x, y float64, k int, skip func(i int32) bool, buf []Hit) []Hit {
	s := ix.newSearch(x, y, k, buf)
	if s.k > 0 {
		s.run(skip)
	}
	return s.finish()
}

// insertionMost is the largest k for which the best so far are kept sorted by
// insertion; beyond it a heap moves less.
const insertionMost = 40

// search is the state of one question. While it runs the hits hold slots, so
// that ties can be settled; finish turns them into positions.
type search struct {
	ix    *Index
	x, y  float64
	k     int
	bound float64 // nothing farther than this can enter; the k-th distance once there are k
	hits  []Hit
}

func (ix *Index) newSearch(x, y float64, k int, buf []Hit) search {
	k = min(k, len(ix.pts))
	if x != x || y != y {
		k = 0
	}
	return search{ix: ix, x: x, y: y, k: k, bound: math.Inf(1), hits: buf[:0]}
}

// run visits the tree nearest box first.
func (s *search) run(skip func(int32) bool) {
	type pending struct {
		d2   float64
		node int32
	}
	var stack [maxDepth]pending
	ix, x, y := s.ix, s.x, s.y
	firstLeaf := int32(1) << ix.levels
	node, sp := int32(1), 0
	for {
		for node < firstLeaf {
			children := ix.boxes[2*node : 2*node+2 : 2*node+2]
			a, b := children[0].dist2(x, y), children[1].dist2(x, y)
			first := 2 * node
			if b < a {
				a, b = b, a
				first++
			}
			if b <= s.bound {
				stack[sp] = pending{b, first ^ 1}
				sp++
			}
			node = first
			if a > s.bound {
				node = 0
				break
			}
		}
		if node != 0 {
			lo, hi := ix.leaf(node)
			for i, p := range ix.pts[lo:hi] {
				d2 := p.dist2(x, y)
				if d2 > s.bound {
					continue
				}
				slot := int32(lo + i)
				if skip != nil && skip(ix.pos[slot]) {
					continue
				}
				if s.k <= insertionMost {
					s.insert(d2, slot)
				} else {
					s.push(d2, slot)
				}
			}
		}
		for {
			if sp == 0 {
				return
			}
			sp--
			if stack[sp].d2 <= s.bound {
				node = stack[sp].node
				break
			}
		}
	}
}

// less orders hits that hold slots: by distance, then by key.
func (s *search) less(a, b Hit) bool {
	if a.D2 != b.D2 {
		return a.D2 < b.D2
	}
	return s.ix.before(a.I, b.I)
}

// insert keeps the hits sorted.
func (s *search) insert(d2 float64, slot int32) {
	h := Hit{slot, d2}
	n := len(s.hits)
	if n == s.k {
		n--
		if !s.less(h, s.hits[n]) {
			return
		}
	} else {
		s.hits = append(s.hits, h)
	}
	hits := s.hits[:n+1]
	i := n
	for ; i > 0 && s.less(h, hits[i-1]); i-- {
		hits[i] = hits[i-1]
	}
	hits[i] = h
	if len(s.hits) == s.k {
		s.bound = s.hits[s.k-1].D2
	}
}

// push keeps the hits as a heap with the worst on top.
func (s *search) push(d2 float64, slot int32) {
	h := Hit{slot, d2}
	if len(s.hits) < s.k {
		s.hits = append(s.hits, h)
		if len(s.hits) == s.k {
			for i := s.k/2 - 1; i >= 0; i-- {
				s.sink(i, s.k)
			}
			s.bound = s.hits[0].D2
		}
		return
	}
	if !s.less(h, s.hits[0]) {
		return
	}
	s.hits[0] = h
	s.sink(0, s.k)
	s.bound = s.hits[0].D2
}

// sink restores the heap of the first n hits below i.
func (s *search) sink(i, n int) {
	hits := s.hits[:n]
	h := hits[i]
	for {
		c := 2*i + 1
		if c >= n {
			break
		}
		if c+1 < n && s.less(hits[c], hits[c+1]) {
			c++
		}
		if !s.less(h, hits[c]) {
			break
		}
		hits[i] = hits[c]
		i = c
	}
	hits[i] = h
}

// finish sorts what is not yet sorted and names the points by position.
func (s *search) finish() []Hit {
	if s.k > insertionMost {
		s.hits = s.ix.sortHits(s.hits)
	}
	for i := range s.hits {
		s.hits[i].I = s.ix.pos[s.hits[i].I]
	}
	return s.hits
}
