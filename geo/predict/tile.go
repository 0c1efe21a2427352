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
		t.add(s)
	}
	return tiles
}

// roomyTile is how far the corners of a tile may be from its middle, in reaches of
// the middle's own wells, for a walk to be worth it: then it gathers about six
// times what one site needs.
const roomyTile = 1.3

// fewestSites is how many sites a walk must serve to be worth it.
const fewestSites = 4

// middle is the middle of a tile and how far its corners are from there.
func (t *tile) middle() (x, y, half float64) {
	return (t.minX + t.maxX) / 2, (t.minY + t.maxY) / 2, math.Hypot(t.maxX-t.minX, t.maxY-t.minY) / 2
}

// quarters cuts a tile in four; some may be empty.
func (t *tile) quarters() (q [4]tile) {
	x, y, _ := t.middle()
	for _, s := range t.sites {
		k := 0
		if s.x > x {
			k = 1
		}
		if s.y > y {
			k += 2
		}
		q[k].add(s)
	}
	return q
}

// add puts a site into a tile.
func (t *tile) add(s tileSite) {
	if len(t.sites) == 0 {
		t.minX, t.minY, t.maxX, t.maxY = s.x, s.y, s.x, s.y
	}
	t.sites = append(t.sites, s)
	t.minX, t.minY = min(t.minX, s.x), min(t.minY, s.y)
	t.maxX, t.maxY = max(t.maxX, s.x), max(t.maxY, s.y)
}

// circle holds the whole area of a site, or all test wells that it needs.
type circle struct{ x, y, reach float64 }

// vicinity is all points that can be among the nearest of any site of a tile.
type vicinity struct {
	points []near.Candidate // none: search
	last   circle           // of the site before
}

// enter gathers the vicinity of a tile where the tile is small against what its
// sites need. Where it is not, small is false and the vicinity is empty.
func (v *vicinity) enter(t *tile, ix *near.Index, want int, hits []near.Hit) (_ []near.Hit, small bool) {
	v.points = v.points[:0]
	x, y, half := t.middle()
	hits = ix.Nearest(x, y, want, hits)
	reach := math.Sqrt(hits[len(hits)-1].D2)
	if half > roomyTile*reach {
		return hits, false
	}
	// What is within reach of the middle is within reach + half of every site.
	d := (reach + half) * (1 + 1e-9)
	v.points, small = ix.Around(t.minX, t.minY, t.maxX, t.maxY, d*d, 8*want, v.points)
	if !small {
		v.points = v.points[:0]
	}
	v.last = circle{x, y, reach}
	return hits, small
}

// inTiles calls f for each site of a tile, with the vicinities of small tiles
// gathered once for all their sites. Where the tile is not small against an area
// it is cut in four, and where that leaves few sites each is searched by itself.
func (p *Predictor) inTiles(t *tile, f func(s tileSite) error) error {
	p.among.points, p.tests.points = p.among.points[:0], p.tests.points[:0]
	if len(t.sites) >= fewestSites && (t.minX < t.maxX || t.minY < t.maxY) {
		var small bool
		if p.hits, small = p.among.enter(t, p.obs.index, p.params.areaWells(p.obs.Len()), p.hits); !small {
			q := t.quarters()
			for k := range q {
				if err := p.inTiles(&q[k], f); err != nil {
					return err
				}
			}
			return nil
		}
		if record := p.model.record.index; record != nil && record.Len() >= skillWells {
			p.around, _ = p.tests.enter(t, record, skillWells, p.around)
		}
	}
	for _, s := range t.sites {
		if err := f(s); err != nil {
			return err
		}
	}
	return nil
}
