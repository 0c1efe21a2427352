package predict

import (
	"cmp"
)

// point is one weighted observation on its way into a distribution.
type point struct {
	value  float64
	high   float64 // Between only
	weight float64
	bound  Bound
}

// side orders points at one value: 'less than v' lies just under v, 'greater
// than v' just over it. This is the usual convention that events come before
// censorings at a tie.
func (b Bound) side() int {
	switch b {
	case LessThan:
		return -1
	case GreaterThan:
		return 1
	}
	return 0
}

// comparePoints is a total order on everything that a point holds, so that sums
// do not depend on the order in which observations came.
func comparePoints(a, b point) int {
	// Values are never NaN, which cmp.Compare would look for.
	switch {
	case a.value < b.value:
		return -1
	case a.value > b.value:
		return 1
	}
	if c := cmp.Compare(a.bound.side(), b.bound.side()); c != 0 {
		return c
	}
	if c := cmp.Compare(a.bound, b.bound); c != 0 {
		return c
	}
	if c := cmp.Compare(a.high, b.high); c != 0 {
		return c
	}
	return cmp.Compare(a.weight, b.weight)
}

// spreadPoints is over how many points a share known only to lie between two
// limits is spread.
const spreadPoints = 4

// censoring turns sorted points with bounds into a distribution. It holds
// scratch, so that one per goroutine can be used again and again.
type censoring struct {
	warm  bool // the points are those of the last call but for their weights: start from its answer
	rough bool // a rougher answer will do

	ends       []end
	upper      []end // of 'between'
	cells      []cell
	from, to   []int32
	mass, next []float64
	sum, rate  []float64
	lone       []float64 // weight of the observations that can lie in one cell only
	largest    []float64 // the greatest of them, as a share of lone
	first      []float64 // masses before the last two rounds,
	second     []float64 // and between them
}

// build fills d from points in the order of comparePoints. The total weight
// must be above zero. It reuses d's slices.
func (c *censoring) build(points []point, d *Distribution) {
	var lower, upper, between bool
	for i := range points {
		switch points[i].bound {
		case LessThan:
			upper = true
		case GreaterThan:
			lower = true
		case Between:
			between = true
		}
	}
	d.reset()
	switch {
	case between || (lower && upper):
		c.turnbull(points, d)
	case lower:
		c.kaplanMeier(points, d)
	case upper:
		c.kaplanMeierBelow(points, d)
	default:
		accumulate(points, d)
	}
}

// accumulate is the plain case: every point a value.
func accumulate(points []point, d *Distribution) {
	var total, sum float64
	for i := range points {
		total += points[i].weight
	}
	for i := range points {
		sum += points[i].weight
		d.push(points[i].value, sum/total, points[i].weight/total)
	}
	d.cum[len(d.cum)-1] = 1
}

// kaplanMeier is the product-limit estimate on weights, for values and lower
// limits: at each value, of the share that survived so far, the part that its
// weight is of all weight not yet passed, ends there. (Kaplan and Meier 1958;
// the same as handing the weight of each limit to all points beyond it.)
//
// What is left beyond the last value is known only to lie above the greatest
// limit.
func (c *censoring) kaplanMeier(points []point, d *Distribution) {
	// Summed from the far end, so that a small weight there is not what rounding
	// leaves of a large sum.
	c.sum = resize(c.sum, len(points))
	var atRisk float64
	last := -1
	for i := len(points) - 1; i >= 0; i-- {
		atRisk += points[i].weight
		c.sum[i] = atRisk
		if points[i].bound == Exact {
			last = max(last, i)
		}
	}
	survived := 1.0
	for i := range points {
		w := points[i].weight
		if points[i].bound == Exact {
			before := survived
			if i == len(points)-1 {
				survived = 0 // all that is left is this point itself
			} else {
				survived *= max(1-w/c.sum[i], 0)
			}
			d.push(points[i].value, 1-survived, before-survived)
		}
	}
	if last < len(points)-1 {
		d.upperShare, d.upperFrom = survived, points[len(points)-1].value
	}
}

// kaplanMeierBelow is the same seen in a mirror, for values and upper limits.
// What is left under the first value is known only to lie below the least
// limit, and is spread over (0, limit).
func (c *censoring) kaplanMeierBelow(points []point, d *Distribution) {
	c.sum = resize(c.sum, len(points))
	var atRisk float64
	for i := range points {
		atRisk += points[i].weight
		c.sum[i] = atRisk
	}
	// Going down, what each value takes is noted in place; then it is read upward.
	c.mass = resize(c.mass, len(points))
	left := 1.0
	for i := len(points) - 1; i >= 0; i-- {
		w := points[i].weight
		c.mass[i] = 0
		if points[i].bound == Exact {
			after := 0.0
			if i > 0 {
				after = left * max(1-w/c.sum[i], 0)
			}
			c.mass[i] = left - after
			left = after
		}
	}
	sum := 0.0
	if left > 0 { // the least of all is a limit
		d.lowerShare, d.lowerTo = left, points[0].value
		sum = d.spreadOver(0, points[0].value, 0, left)
	}
	for i := range points {
		if points[i].bound == Exact {
			sum += c.mass[i]
			d.push(points[i].value, sum, c.mass[i])
		}
	}
	d.cum[len(d.cum)-1] = 1 // but for rounding
}

// spreadOver puts a share known only to lie between two limits evenly between
// them. sum is the share below; it returns the share up to there.
func (d *Distribution) spreadOver(from, to, sum, share float64) float64 {
	for k := range spreadPoints {
		sum += share / spreadPoints
		d.push(from+float64((to-from)*(float64(k)+0.5)/spreadPoints), sum, share/spreadPoints)
	}
	return sum
}

// resize gives a slice of length n, reusing s's memory where it suffices. What
// it holds is not cleared.
func resize[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n, n+n/2)
	}
	return s[:n]
}
