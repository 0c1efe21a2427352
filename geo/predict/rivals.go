package predict

import (
	"math"

	"tallybook/geo/near"
)

// rival is a candidate for one site.
type rival struct {
	d2 float64
	i  int32
}

// before is the index's own order: by distance, then key, then number.
func (p *Predictor) before(a, b rival) bool {
	if a.d2 != b.d2 {
		return a.d2 < b.d2
	}
	if ka, kb := p.obs.key[a.i], p.obs.key[b.i]; ka != kb {
		return ka < kb
	}
	return a.i < b.i
}

// rivals lists the points of the vicinity that can be among the nearest of a
// site: those within limit, a squared distance. They keep their order.
func (v *vicinity) rivals(q *query, pool []rival) (_ []rival, limit float64) {
	// As many as the site before needs are within its reach, moved here.
	d := (v.last.reach + math.Hypot(q.x-v.last.x, q.y-v.last.y)) * (1 + 1e-9)
	limit = d * d
	pool = resize(pool, len(v.points))
	n := 0
	for _, c := range v.points {
		dx, dy := c.X-q.x, c.Y-q.y
		d2 := float64(dx*dx) + float64(dy*dy)
		pool[n] = rival{d2, c.I}
		n += within(d2, limit)
	}
	return pool[:n], limit
}

// findAmong is the search among a tile's candidates: the same wells that the
// index would give, of which only those that vote or carry the slope are put in
// order.
func (p *Predictor) findAmong(q *query, want int) {
	var limit float64
	p.pool, limit = p.among.rivals(q, p.pool)
	pool := p.nearest(p.pool, limit, want, max(p.params.Near, p.params.SlopeWells))
	p.hits = resize(p.hits, len(pool))
	var far float64
	for k, r := range pool {
		p.hits[k] = near.Hit{I: r.i, D2: r.d2}
		far = max(far, r.d2)
	}
	p.among.last = circle{q.x, q.y, math.Sqrt(far)}
}

// within is 1 where d2 is at most limit and else 0; neither is negative, so that
// their bits are in the order of their values and no branch is guessed wrong.
func within(d2, limit float64) int {
	return int(1 - (math.Float64bits(limit)-math.Float64bits(d2))>>63)
}

// rungs is how many steps of squared distance candidates are dealt to. Wells that
// stand evenly fill the steps evenly.
const rungs = 256

// crowdedRung is how many candidates of a step are sorted by halves and not one
// by one.
const crowdedRung = 24

// ladder deals out candidates by squared distance up to limit, step after step,
// and gives where each step ends. Within a step they come as they came.
func (p *Predictor) ladder(pool []rival, limit float64) (dealt []rival, ends *[rungs]int32, most int32) {
	perRung := (rungs - 1) / limit
	if !(perRung < math.MaxFloat64) {
		perRung = 0 // all stand here
	}
	ends = &p.ends
	*ends = [rungs]int32{}
	for i := range pool {
		ends[uint8(int(pool[i].d2*perRung))]++
	}
	var sum int32
	for r := range ends {
		c := ends[r]
		most = max(most, c)
		ends[r] = sum
		sum += c
	}
	p.dealt = resize(p.dealt, len(pool))
	dealt = p.dealt
	for _, r := range pool {
		at := &ends[uint8(int(r.d2*perRung))]
		dealt[*at] = r
		*at++
	}
	return dealt, ends, most
}

// nearest gives the want candidates that come before all others, of which the
// first sorted ones are in order. All lie within limit.
func (p *Predictor) nearest(pool []rival, limit float64, want, sorted int) []rival {
	want = min(want, len(pool))
	sorted = min(sorted, want)
	dealt, ends, most := p.ladder(pool, limit)
	r, from := 0, 0
	for done := 0; done < sorted; r++ {
		to := int(ends[r])
		if most > crowdedRung {
			p.sortRivals(dealt[done:to])
		}
		done, from = to, to
	}
	if most <= crowdedRung {
		p.insert(dealt[:from])
	}
	for ; from < want; r++ {
		to := int(ends[r])
		if to > want {
			p.first(dealt[from:to], want-from)
		}
		from = to
	}
	return dealt[:want]
}

// lastOf is the one of the want candidates before all others that comes last of
// them. There are at least want, all of them within limit. It gives up where many
// of them are about equally far.
func (p *Predictor) lastOf(pool []rival, limit float64, want int, ix *near.Index) (last rival, ok bool) {
	dealt, ends, _ := p.ladder(pool, limit)
	r, from := 0, 0
	for int(ends[r]) < want {
		from = int(ends[r])
		r++
	}
	rung := dealt[from:ends[r]]
	if len(rung) > 2*crowdedRung {
		return rival{}, false
	}
	// A handful: taken one after another.
	for k := range want - from {
		least := k
		for j := k + 1; j < len(rung); j++ {
			if rung[j].d2 < rung[least].d2 || (rung[j].d2 == rung[least].d2 && ix.Before(rung[j].i, rung[least].i)) {
				least = j
			}
		}
		rung[k], rung[least] = rung[least], rung[k]
	}
	return rung[want-from-1], true
}

// first moves the k that come before all others to the front (Hoare's selection).
func (p *Predictor) first(rs []rival, k int) {
	lo, hi := 0, len(rs)-1
	for lo < hi {
		// The middle of three, so that sorted input is no worst case.
		a, b, c := rs[lo], rs[int(uint(lo+hi)>>1)], rs[hi]
		if p.before(b, a) {
			a, b = b, a
		}
		if p.before(c, b) {
			b = c
			if p.before(b, a) {
				b = a
			}
		}
		i, j := lo, hi
		for i <= j {
			for rs[i].d2 < b.d2 || (rs[i].d2 == b.d2 && p.before(rs[i], b)) {
				i++
			}
			for b.d2 < rs[j].d2 || (b.d2 == rs[j].d2 && p.before(b, rs[j])) {
				j--
			}
			if i <= j {
				rs[i], rs[j] = rs[j], rs[i]
				i++
				j--
			}
		}
		switch {
		case k-1 <= j:
			hi = j
		case k-1 >= i:
			lo = i
		default:
			return
		}
	}
}

// sortRivals sorts a few dozen: quicker by half than sorting through a function.
func (p *Predictor) sortRivals(rs []rival) {
	for len(rs) > 16 {
		half := len(rs) / 2
		p.first(rs, half)
		p.sortRivals(rs[half:])
		rs = rs[:half]
	}
	p.insert(rs)
}

// insert sorts what is nearly in order.
func (p *Predictor) insert(rs []rival) {
	for i := 1; i < len(rs); i++ {
		r := rs[i]
		j := i
		for j > 0 && p.before(r, rs[j-1]) {
			rs[j] = rs[j-1]
			j--
		}
		rs[j] = r
	}
}
