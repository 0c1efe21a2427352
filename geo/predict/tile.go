package predict

import (
	"math"

	"tallybook/geo/near"
	"tallybook/geo/position"
)

// tile is a handful of sites that lie together.
type tile struct {
	sites                  []tileSite
	minX, minY, maxX, maxY float64
}

// tileSite is point i of a request, on the plane.
type tileSite struct {
	i    int
	x, y float64
}

// sitesPerTile is how many sites a tile holds on average where points fill their
// box: enough to share the walk, few enough to lie inside one area.
const sitesPerTile = 36

// tiles sorts points into the squares of a grid. Points without a place are left
// out.
func (m *Model) tiles(points []position.LonLat) []tile {
	sites := make([]tileSite, 0, len(points))
	minX, minY, maxX, maxY := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for i, at := range points {
		x, y := m.obs.projection.Forward(at)
		if !finite(x) || !finite(y) {
			continue
		}
		sites = append(sites, tileSite{i, x, y})
		minX, minY, maxX, maxY = min(minX, x), min(minY, y), max(maxX, x), max(maxY, y)
	}
	if len(sites) == 0 {
		return nil
	}
	count := max(len(sites)/sitesPerTile, 1)
	width, height := maxX-minX, maxY-minY
	side := math.Sqrt(width * height / float64(count))
	if !(side > 0) { // a line of points, or one
		side = max(width, height, 1) / float64(count)
	}
	// At most four tiles a site, however stretched the box.
	for (width/side+1)*(height/side+1) > float64(4*count+4) {
		side *= 2
	}
	columns := int(width/side) + 1
	rows := int(height/side) + 1
	tiles := make([]tile, columns*rows)
	for _, s := range sites {
		t := &tiles[int((s.y-minY)/side)*columns+int((s.x-minX)/side)]
		if len(t.sites) == 0 {
			t.minX, t.minY, t.maxX, t.maxY = s.x, s.y, s.x, s.y
		}
		t.sites = append(t.sites, s)
		t.minX, t.minY = min(t.minX, s.x), min(t.minY, s.y)
		t.maxX, t.maxY = max(t.maxX, s.x), max(t.maxY, s.y)
	}
	return tiles
}

// enter readies the predictor for a tile. Where the tile is small against an
// area, all that can be in the area of any of its sites is gathered once; where
// it is not, each site is searched by itself.
func (p *Predictor) enter(t *tile, buf []near.Candidate) []near.Candidate {
	p.among = nil
	const fewest = 4 // sites that a walk must serve to be worth it
	if len(t.sites) < fewest {
		return buf
	}
	want := p.params.areaWells(p.obs.Len())
	x, y := (t.minX+t.maxX)/2, (t.minY+t.maxY)/2
	p.hits = p.obs.index.Nearest(x, y, want, p.hits)
	reach := math.Sqrt(p.hits[len(p.hits)-1].D2)
	half := math.Hypot(t.maxX-t.minX, t.maxY-t.minY) / 2
	if half > 0.8*reach {
		return buf
	}
	// What is within reach of the middle is within reach + half of every site.
	d := (reach + half) * (1 + 1e-9)
	buf, whole := p.obs.index.Around(t.minX, t.minY, t.maxX, t.maxY, d*d, 6*want, buf)
	if whole {
		p.among = buf
		p.last = circle{x, y, reach}
	}
	return buf
}

// circle holds the whole area of a site.
type circle struct{ x, y, reach float64 }

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

// findAmong is the search among a tile's candidates: the same wells that the
// index would give, of which only those that vote or carry the slope are put in
// order.
func (p *Predictor) findAmong(q *query, want int) {
	// The area of the site before, moved here, holds the area of this one.
	limit := (p.last.reach + math.Hypot(q.x-p.last.x, q.y-p.last.y)) * (1 + 1e-9)
	limit *= limit
	p.pool = resize(p.pool, len(p.among))
	n := 0
	for _, c := range p.among {
		dx, dy := c.X-q.x, c.Y-q.y
		p.pool[n] = rival{float64(dx*dx) + float64(dy*dy), c.I}
		if p.pool[n].d2 <= limit {
			n++
		}
	}
	pool := p.pool[:n]
	if len(pool) > want {
		p.first(pool, want)
		pool = pool[:want]
	}
	voters := min(max(p.params.Near, p.params.SlopeWells), len(pool))
	if len(pool) > voters {
		p.first(pool, voters)
	}
	p.sortRivals(pool[:voters])
	p.hits = resize(p.hits, len(pool))
	var far float64
	for k, r := range pool {
		p.hits[k] = near.Hit{I: r.i, D2: r.d2}
		far = max(far, r.d2)
	}
	p.last = circle{q.x, q.y, math.Sqrt(far)}
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
