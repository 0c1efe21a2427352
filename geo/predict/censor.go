package predict

import (
	"cmp"
	"math"
	"slices"
	"sort"
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
	if c := cmp.Compare(a.value, b.value); c != 0 {
		return c
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

// Turnbull's iteration stops when no share moves by more than this, or after
// this many rounds. A share of 1e-7 is far below anything that is shown.
const (
	turnbullTolerance = 1e-7
	turnbullRounds    = 2000
	spreadPoints      = 4 // points over which a share known only between two limits is spread
)

// censoring turns sorted points with bounds into a distribution. It holds
// scratch, so that one per goroutine can be used again and again.
type censoring struct {
	ends       []end
	cells      []cell
	from, to   []int32
	mass, next []float64
	sum, rate  []float64
	lone       []float64 // weight of the observations that can lie in one cell only
	spread     []point
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
	*d = Distribution{values: d.values[:0], cum: d.cum[:0], rankLow: d.rankLow, rankHigh: d.rankHigh}
	switch {
	case between || (lower && upper):
		c.turnbull(points, d)
	case lower:
		kaplanMeier(points, d)
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
		d.values = append(d.values, points[i].value)
		d.cum = append(d.cum, sum/total)
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
func kaplanMeier(points []point, d *Distribution) {
	var atRisk float64
	last := -1
	for i := range points {
		atRisk += points[i].weight
		if points[i].bound == Exact {
			last = i
		}
	}
	survived := 1.0
	for i := range points {
		w := points[i].weight
		if points[i].bound == Exact {
			if i == len(points)-1 {
				survived = 0 // all that is left is this point itself
			} else {
				survived *= max(1-w/atRisk, 0)
			}
			d.values = append(d.values, points[i].value)
			d.cum = append(d.cum, 1-survived)
		}
		atRisk -= w
	}
	if last < len(points)-1 {
		d.upperShare, d.upperFrom = survived, points[len(points)-1].value
	}
}

// kaplanMeierBelow is the same seen in a mirror, for values and upper limits.
// What is left under the first value is known only to lie below the least
// limit, and is spread over (0, limit).
func (c *censoring) kaplanMeierBelow(points []point, d *Distribution) {
	var atRisk float64
	for i := range points {
		atRisk += points[i].weight
	}
	// Going down: d.values and d.cum are filled in descending order, then turned.
	left := 1.0
	for i := len(points) - 1; i >= 0; i-- {
		w := points[i].weight
		if points[i].bound == Exact {
			d.values = append(d.values, points[i].value)
			d.cum = append(d.cum, left) // share up to and including this value
			if i == 0 {
				left = 0
			} else {
				left *= max(1-w/atRisk, 0)
			}
		}
		atRisk -= w
	}
	if points[0].bound == LessThan && left > 0 {
		d.lowerShare, d.lowerTo = left, points[0].value
		for k := spreadPoints - 1; k >= 0; k-- {
			d.values = append(d.values, d.lowerTo*(float64(k)+0.5)/spreadPoints)
			d.cum = append(d.cum, left*float64(k+1)/spreadPoints)
		}
		d.spread = true
	}
	for i, j := 0, len(d.values)-1; i < j; i, j = i+1, j-1 {
		d.values[i], d.values[j] = d.values[j], d.values[i]
		d.cum[i], d.cum[j] = d.cum[j], d.cum[i]
	}
}

// end is one end of an observation's interval, for finding the cells on which
// Turnbull's estimate can put weight.
type end struct {
	value float64
	side  int8 // -1 just under value, 0 at it, +1 just over it
	right bool
}

func compareEnds(a, b end) int {
	if c := cmp.Compare(a.value, b.value); c != 0 {
		return c
	}
	if c := cmp.Compare(a.side, b.side); c != 0 {
		return c
	}
	// A left end before a right end, so that a single value is a cell.
	switch {
	case a.right == b.right:
		return 0
	case a.right:
		return 1
	}
	return -1
}

// cell is an innermost interval: no observation's interval cuts through it.
type cell struct{ left, right end }

// interval gives the two ends of what a point says.
func (p point) interval() (left, right end) {
	switch p.bound {
	case LessThan:
		return end{}, end{value: p.value, side: -1, right: true}
	case GreaterThan:
		return end{value: p.value, side: 1}, end{value: math.Inf(1), right: true}
	case Between:
		return end{value: p.value}, end{value: p.high, right: true}
	}
	return end{value: p.value}, end{value: p.value, right: true}
}

// turnbull is the self-consistent estimate for any mixture of values and
// bounds: the weight of each observation is shared over the cells inside its
// interval in proportion to what they hold, until nothing moves.
func (c *censoring) turnbull(points []point, d *Distribution) {
	c.findCells(points)
	c.assign(points)
	m := len(c.cells)
	c.mass = resize(c.mass, m)
	c.next = resize(c.next, m)
	c.rate = resize(c.rate, m+1)
	c.sum = resize(c.sum, m+1)
	c.lone = resize(c.lone, m)
	// Observations with one cell (all plain values) never move.
	var total float64
	for i := range points {
		total += points[i].weight
	}
	clear(c.lone)
	for i := range points {
		points[i].weight /= total
		if c.to[i]-c.from[i] == 1 {
			c.lone[c.from[i]] += points[i].weight
		}
	}
	// Start as if every cell held the same, so that none starts empty.
	for j := range c.mass {
		c.mass[j] = 1 / float64(m)
	}
	for range turnbullRounds {
		c.share(points)
		var moved float64
		for j := range c.mass {
			moved = max(moved, math.Abs(c.next[j]-c.mass[j]))
		}
		c.mass, c.next = c.next, c.mass
		if moved < turnbullTolerance {
			break
		}
	}
	c.write(d)
}

// share is one round: from c.mass to c.next. A running sum of rates hands each
// observation's weight to its run of cells in one pass over the observations
// and one over the cells.
func (c *censoring) share(points []point) {
	c.sum[0] = 0
	for j, v := range c.mass {
		c.sum[j+1] = c.sum[j] + v
	}
	clear(c.rate)
	for i := range points {
		from, to := c.from[i], c.to[i]
		if to-from == 1 {
			continue
		}
		held := c.sum[to] - c.sum[from]
		if held <= 0 {
			continue // its cells ran empty within rounding; the rest is scaled up below
		}
		r := points[i].weight / held
		c.rate[from] += r
		c.rate[to] -= r
	}
	var rate, all float64
	for j, v := range c.mass {
		rate += c.rate[j]
		c.next[j] = v*max(rate, 0) + c.lone[j]
		all += c.next[j]
	}
	for j := range c.next {
		c.next[j] /= all
	}
}

// findCells lists the innermost intervals in ascending order.
func (c *censoring) findCells(points []point) {
	c.ends = c.ends[:0]
	for i := range points {
		l, r := points[i].interval()
		c.ends = append(c.ends, l, r)
	}
	slices.SortFunc(c.ends, compareEnds)
	c.cells = c.cells[:0]
	for i := 1; i < len(c.ends); i++ {
		if !c.ends[i-1].right && c.ends[i].right {
			c.cells = append(c.cells, cell{c.ends[i-1], c.ends[i]})
		}
	}
}

// assign finds, for each observation, the run of cells inside its interval.
// There is always at least one: the first right end after its left end closes
// a cell that lies within it.
func (c *censoring) assign(points []point) {
	c.from = resize(c.from, len(points))
	c.to = resize(c.to, len(points))
	for i := range points {
		l, r := points[i].interval()
		c.from[i] = int32(sort.Search(len(c.cells), func(j int) bool { return compareEnds(c.cells[j].left, l) >= 0 }))
		c.to[i] = int32(sort.Search(len(c.cells), func(j int) bool { return compareEnds(c.cells[j].right, r) > 0 }))
	}
}

// write turns the masses of the cells into values and shares.
func (c *censoring) write(d *Distribution) {
	c.spread = c.spread[:0]
	known := 1.0
	for j, cl := range c.cells {
		w := c.mass[j]
		switch {
		case math.IsInf(cl.right.value, 1):
			if w > 0 {
				d.upperShare, d.upperFrom = w, cl.left.value
				known -= w
			}
		case cl.left.value == cl.right.value:
			c.spread = append(c.spread, point{value: cl.left.value, weight: w})
		default:
			if w <= 0 {
				continue
			}
			if j == 0 && cl.left.value == 0 && cl.right.side < 0 {
				d.lowerShare, d.lowerTo = w, cl.right.value
			}
			d.spread = true
			for k := range spreadPoints {
				at := (float64(k) + 0.5) / spreadPoints
				c.spread = append(c.spread, point{
					value:  cl.left.value + float64((cl.right.value-cl.left.value)*at),
					weight: w / spreadPoints,
				})
			}
		}
	}
	var sum float64
	for i := range c.spread {
		sum += c.spread[i].weight
		d.values = append(d.values, c.spread[i].value)
		d.cum = append(d.cum, sum)
	}
	if n := len(d.cum); n > 0 {
		d.cum[n-1] = known // sums to it within rounding
	}
}

// resize gives a slice of length n, reusing s's memory where it suffices. What
// it holds is not cleared.
func resize[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n, n+n/2)
	}
	return s[:n]
}
