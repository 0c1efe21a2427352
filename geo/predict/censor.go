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
			before := survived
			if i == len(points)-1 {
				survived = 0 // all that is left is this point itself
			} else {
				survived *= max(1-w/atRisk, 0)
			}
			d.push(points[i].value, 1-survived, before-survived)
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
	// Going down, what each value takes is noted in place; then it is read upward.
	c.mass = resize(c.mass, len(points))
	left := 1.0
	for i := len(points) - 1; i >= 0; i-- {
		w := points[i].weight
		c.mass[i] = 0
		if points[i].bound == Exact {
			after := 0.0
			if i > 0 {
				after = left * max(1-w/atRisk, 0)
			}
			c.mass[i] = left - after
			left = after
		}
		atRisk -= w
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

// end is one end of an observation's interval, for finding the cells on which
// Turnbull's estimate can put weight.
type end struct {
	value float64
	side  int8 // -1 just under value, 0 at it, +1 just over it
	right bool
}

func compareEnds(a, b end) int {
	switch {
	case a.value < b.value:
		return -1
	case a.value > b.value:
		return 1
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
	c.largest = resize(c.largest, m)
	clear(c.lone)
	clear(c.largest)
	for i := range points {
		points[i].weight /= total
		if j := c.from[i]; c.to[i]-j == 1 {
			c.lone[j] += points[i].weight
			c.largest[j] = max(c.largest[j], points[i].weight)
		}
	}
	for j := range c.largest {
		if c.lone[j] > 0 {
			c.largest[j] /= c.lone[j]
		} else {
			c.largest[j] = 1
		}
	}
	// Start as if every cell held the same, so that none starts empty.
	for j := range c.mass {
		c.mass[j] = 1 / float64(m)
	}
	c.first = resize(c.first, m)
	c.second = resize(c.second, m)
	for range turnbullRounds {
		copy(c.first, c.mass)
		if c.round(points) < turnbullTolerance {
			break
		}
		copy(c.second, c.mass)
		if c.round(points) < turnbullTolerance {
			break
		}
		c.leap()
	}
	c.write(d)
}

// round shares once, and gives the largest move of any cell.
func (c *censoring) round(points []point) (moved float64) {
	c.share(points)
	for j := range c.mass {
		moved = max(moved, math.Abs(c.next[j]-c.mass[j]))
	}
	c.mass, c.next = c.next, c.mass
	return moved
}

// leap goes on along the way of the last two rounds by as much as they promise.
// Plain rounds creep: their moves shrink by a nearly constant factor, and the
// leap sums what is left of them (Varadhan and Roland, Scand. J. Stat. 35, 2008,
// scheme S3; from memory). The next rounds correct it, so that only the number of
// rounds depends on it and not where they end.
func (c *censoring) leap() {
	var rr, vv float64
	for j := range c.mass {
		r := c.second[j] - c.first[j]
		v := c.mass[j] - c.second[j] - r
		rr += float64(r * r)
		vv += float64(v * v)
	}
	if vv == 0 {
		return
	}
	step := math.Sqrt(rr / vv)
	if step <= 1 {
		return
	}
	var all float64
	for j := range c.next {
		r := c.second[j] - c.first[j]
		v := c.mass[j] - c.second[j] - r
		c.next[j] = c.first[j] + float64(2*step*r) + float64(step*step*v)
		if c.next[j] < 0 {
			// Never onto nothing, from which no round returns.
			c.next[j] = c.mass[j] / 2
		}
		all += c.next[j]
	}
	for j := range c.next {
		c.next[j] /= all
	}
	c.mass, c.next = c.next, c.mass
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
	var sum float64
	known := 1.0
	for j, cl := range c.cells {
		w := c.mass[j]
		switch {
		case w <= 0:
		case math.IsInf(cl.right.value, 1):
			d.upperShare, d.upperFrom = w, cl.left.value
			known -= w
		case cl.left.value == cl.right.value:
			sum += w
			d.push(cl.left.value, sum, w*c.largest[j])
		default:
			if j == 0 && cl.left.value == 0 && cl.right.side < 0 {
				d.lowerShare, d.lowerTo = w, cl.right.value
			}
			sum = d.spreadOver(cl.left.value, cl.right.value, sum, w)
		}
	}
	if n := len(d.cum); n > 0 {
		d.cum[n-1] = known // but for rounding
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
