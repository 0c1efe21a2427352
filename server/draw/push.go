package draw

// Push places labels of the given heights along one axis so that none
// overlaps the next, as near as can be to where they want to be (want holds
// the wanted centres, in order): the sum of the squared displacements is the
// least there is. The order is kept. gap is the room between two labels; lo
// and hi bound the first top and the last bottom. Where the labels do not fit
// between the bounds they are set one below the other from lo and run past
// hi. The result holds the tops. Complexity is linear.
//
// With the labels stacked from zero, the displacement of each is its wanted
// place less its stacked place, and the condition that none overlaps is that
// these do not decrease: isotonic regression, solved by pooling adjacent
// violators (common statistical practice; least squares under simple order).
// Bounds on all are then kept by clamping, which is optimal too.
func Push(want, heights []float64, gap, lo, hi float64) []float64 {
	n := len(want)
	tops := make([]float64, n)
	if n == 0 {
		return tops
	}
	type block struct {
		sum   float64
		count int
	}
	blocks := make([]block, 0, n)
	stacked := 0.0
	for i := range n {
		tops[i] = stacked
		z := want[i] - heights[i]/2 - stacked
		stacked += heights[i] + gap
		blocks = append(blocks, block{z, 1})
		for k := len(blocks) - 1; k > 0; k-- {
			a, b := blocks[k-1], blocks[k]
			if a.sum*float64(b.count) <= b.sum*float64(a.count) {
				break
			}
			blocks[k-1] = block{a.sum + b.sum, a.count + b.count}
			blocks = blocks[:k]
		}
	}
	most := hi - (stacked - gap)
	i := 0
	for _, b := range blocks {
		shift := max(min(b.sum/float64(b.count), most), lo)
		for range b.count {
			tops[i] += shift
			i++
		}
	}
	return tops
}

// StackHeight is the room that labels of these heights need one below the
// other.
func StackHeight(heights []float64, gap float64) float64 {
	sum := 0.0
	for _, h := range heights {
		sum += h
	}
	if n := len(heights); n > 1 {
		sum += gap * float64(n-1)
	}
	return sum
}
