package near

// Candidate is a point that may be among the nearest of some place.
type Candidate struct {
	I    int32   // position in the slices given to New
	X, Y float64 // metres
}

// Around returns the points whose squared distance to the closed rectangle, in
// metres, is at most d2 m2, in the order of the tree: ascending where the index
// is Renumbered. It serves surfaces, which ask for many places close together: where
// every place of a rectangle is known to have k points within a distance, the
// points around the rectangle hold the k nearest of each, and the tree is
// walked once for all.
//
// The search gives up when more than most points are found, most being above
// zero, and whole is false; the points are then no use. An inverted or NaN
// rectangle has none around it. The result is written over buf.
func (ix *Index) Around(minX, minY, maxX, maxY, d2 float64, most int, buf []Candidate) (found []Candidate, whole bool) {
	found = buf[:0]
	if len(ix.pts) == 0 || !(minX <= maxX && minY <= maxY) {
		return found, true
	}
	r := box{minX, minY, maxX, maxY}
	var stack [maxDepth]int32
	firstLeaf := int32(1) << ix.levels
	stack[0] = 1
	for sp := 1; sp > 0; {
		sp--
		node := stack[sp]
		if r.gap2(&ix.boxes[node]) > d2 {
			continue
		}
		if node < firstLeaf {
			stack[sp], stack[sp+1] = 2*node+1, 2*node
			sp += 2
			continue
		}
		lo, hi := ix.leaf(node)
		for i, p := range ix.pts[lo:hi] {
			if r.dist2(p.x, p.y) <= d2 {
				found = append(found, Candidate{ix.pos[lo+i], p.x, p.y})
			}
		}
		if most > 0 && len(found) > most {
			return found, false
		}
	}
	return found, true
}

// gap2 returns the least squared distance in m2 between two boxes.
func (b *box) gap2(o *box) float64 {
	dx := max(0, o.minX-b.maxX, b.minX-o.maxX)
	dy := max(0, o.minY-b.maxY, b.minY-o.maxY)
	return float64(dx*dx) + float64(dy*dy)
}
