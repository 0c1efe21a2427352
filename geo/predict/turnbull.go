package predict

import (
	"cmp"
	"math"
	"slices"
	"sort"
)

// Turnbull's iteration stops when no share moves by more than this, or after
// this many rounds. A share of 1e-7 is far below anything that is shown, 1e-5 far
// below what tells one kappa from another.
const (
	turnbullTolerance = 1e-7
	turnbullRough     = 1e-5
	turnbullRounds    = 2000
)

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
	warm := c.warm && len(c.from) == len(points)
	if !warm {
		c.findCells(points)
		c.assign(points)
	}
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
	if !warm {
		for j := range c.mass {
			c.mass[j] = 1 / float64(m)
		}
	}
	tolerance := turnbullTolerance
	if c.rough {
		tolerance = turnbullRough
	}
	c.first = resize(c.first, m)
	c.second = resize(c.second, m)
	for range turnbullRounds {
		copy(c.first, c.mass)
		if c.round(points) < tolerance {
			break
		}
		copy(c.second, c.mass)
		if c.round(points) < tolerance {
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

// findCells lists the innermost intervals in ascending order. The points are in
// the order of comparePoints and so nearly are their ends: only the upper ends of
// 'between' come from elsewhere.
func (c *censoring) findCells(points []point) {
	c.ends, c.upper = c.ends[:0], c.upper[:0]
	// 'Less than' begins at zero.
	for i := 0; i < len(points); i++ {
		if points[i].bound == LessThan {
			c.ends = append(c.ends, end{})
		}
	}
	beyond := 0
	for i := 0; i < len(points); {
		p := &points[i]
		switch p.bound {
		case LessThan:
			c.ends = append(c.ends, end{value: p.value, side: -1, right: true})
			i++
		case GreaterThan:
			c.ends = append(c.ends, end{value: p.value, side: 1})
			beyond++
			i++
		default:
			// All that begins at this value, then all that ends there.
			from := i
			for ; i < len(points) && points[i].value == p.value && points[i].bound.side() == 0; i++ {
				c.ends = append(c.ends, end{value: p.value})
				if points[i].bound == Between {
					c.upper = append(c.upper, end{value: points[i].high, right: true})
				}
			}
			for k := from; k < i; k++ {
				if points[k].bound == Exact {
					c.ends = append(c.ends, end{value: p.value, right: true})
				}
			}
		}
	}
	for range beyond {
		c.ends = append(c.ends, end{value: math.Inf(1), right: true})
	}
	slices.SortFunc(c.upper, compareEnds)
	c.cells = c.cells[:0]
	var last end
	last.right = true // nothing is open yet
	k := 0
	for i := 0; i < len(c.ends) || k < len(c.upper); {
		var e end
		if k == len(c.upper) || (i < len(c.ends) && compareEnds(c.ends[i], c.upper[k]) <= 0) {
			e = c.ends[i]
			i++
		} else {
			e = c.upper[k]
			k++
		}
		if !last.right && e.right {
			c.cells = append(c.cells, cell{last, e})
		}
		last = e
	}
}

// assign finds, for each observation, the run of cells inside its interval.
// There is always at least one: the first right end after its left end closes
// a cell that lies within it. The ends of the points ascend with them, but for
// those at nought, at infinity, and the upper ones of 'between'.
func (c *censoring) assign(points []point) {
	c.from = resize(c.from, len(points))
	c.to = resize(c.to, len(points))
	m := int32(len(c.cells))
	var from, to int32
	for i := range points {
		l, r := points[i].interval()
		switch points[i].bound {
		case LessThan:
			c.from[i] = 0
		default:
			for from < m && compareEnds(c.cells[from].left, l) < 0 {
				from++
			}
			c.from[i] = from
		}
		switch points[i].bound {
		case GreaterThan:
			c.to[i] = m
		case Between:
			c.to[i] = int32(sort.Search(int(m), func(j int) bool { return compareEnds(c.cells[j].right, r) > 0 }))
		default:
			for to < m && compareEnds(c.cells[to].right, r) <= 0 {
				to++
			}
			c.to[i] = to
		}
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
