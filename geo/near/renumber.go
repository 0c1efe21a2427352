package near

import "slices"

// Renumbered returns the same index with its points numbered anew, in the order
// of the tree, and for each new number the old position. Points near each other
// in the plane then have numbers near each other, so a caller who arranges the
// values of a million wells in that order finds those of neighbours side by
// side in memory. Ties fall as before. The points are shared, not copied.
func (ix *Index) Renumbered() (renumbered *Index, old []int32) {
	r := *ix
	r.pos = make([]int32, len(ix.pts))
	for s := range r.pos {
		r.pos[s] = int32(s)
	}
	r.slot = r.pos // each is its own inverse
	return &r, slices.Clone(ix.pos)
}

// Before tells whether the point at position i goes before the one at position
// j when both are equally far: by key, then by position in the slices given to
// New. It panics when either is out of range.
func (ix *Index) Before(i, j int32) bool {
	return ix.before(ix.slot[i], ix.slot[j])
}
