package surface

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// Band is the ground between two levels: From <= value < To. The first band
// begins at -Inf, the last ends at +Inf.
type Band struct {
	From, To float64
	// Area is in metres, x then y. Outer rings run counter-clockwise and
	// holes clockwise, each repeating its first point; it may be empty.
	Area orb.MultiPolygon
}

// Bands cuts the usable ground of the field into filled bands, one more than
// there are levels, lowest first. Their edges are the lines that Contours
// draws and the border of the usable squares: neighbouring bands have the same
// vertices to the last bit, so they neither gap nor overlap, and together they
// cover the usable squares exactly. Which squares are usable, what levels must
// be, and the errors are as for Contours.
//
// Pieces of one band that touch at a single point are separate polygons where
// the touch is a node on the border of the usable ground.
func Bands(field Field, levels []float64, supported []bool) ([]Band, error) {
	m, err := march(field, levels, supported)
	if err != nil {
		return nil, err
	}
	border := m.border()
	bands := make([]Band, len(levels)+1)
	for c := range bands {
		from, to := math.Inf(-1), math.Inf(1)
		edges := border[c]
		if c > 0 {
			from = levels[c-1]
			edges = append(edges, m.crossings[c-1]...)
		}
		if c < len(levels) {
			to = levels[c]
			// The ground below a line is on its right, so it runs the other way.
			for _, s := range m.crossings[c] {
				edges = append(edges, segment{s.to | upper, s.from | upper})
			}
		}
		bands[c] = Band{From: from, To: to, Area: m.polygons(edges, from, to)}
	}
	return bands, nil
}

// Kinds of vertex, in the lowest two bits of a key.
const (
	kindBits  vertexKey = 3
	upper     vertexKey = 1 // on a side, at the upper level of the band; 0 is at the lower
	corner    vertexKey = 2 // a node
	cornerTwo vertexKey = 3 // the same node, where usable squares touch only there: the northern one's
)

// border returns, for each band, the pieces of the border of the usable
// squares whose values lie in it, with the usable ground on the left.
func (m *marcher) border() [][]segment {
	pieces := make([][]segment, len(m.levels)+1)
	across := m.Cols - 1
	usable := make([]bool, max(0, across*(m.Rows-1)))
	for row := 0; row+1 < m.Rows; row++ {
		for col := range across {
			n := m.Index(col, row)
			usable[row*across+col] = m.class[n] >= 0 && m.class[n+1] >= 0 && m.class[n+m.Cols] >= 0 && m.class[n+m.Cols+1] >= 0
		}
	}
	is := func(col, row int) bool {
		return col >= 0 && row >= 0 && col < across && row < m.Rows-1 && usable[row*across+col]
	}
	// key names a node for the usable square at (col, row), whose corner it is.
	key := func(nodeCol, nodeRow, row int) vertexKey {
		sw, se := is(nodeCol-1, nodeRow-1), is(nodeCol, nodeRow-1)
		nw, ne := is(nodeCol-1, nodeRow), is(nodeCol, nodeRow)
		k := vertexKey(m.Index(nodeCol, nodeRow))<<2 | corner
		if sw == ne && nw == se && sw != nw && row == nodeRow {
			k |= cornerTwo
		}
		return k
	}
	for row := 0; row+1 < m.Rows; row++ {
		for col := range across {
			if !is(col, row) {
				continue
			}
			sw := m.Index(col, row)
			for _, side := range [4]struct {
				beyondCol, beyondRow int
				fromCol, fromRow     int
				toCol, toRow         int
				key                  vertexKey
			}{
				{col, row - 1, col, row, col + 1, row, sideKey(sw, false)},
				{col + 1, row, col + 1, row, col + 1, row + 1, sideKey(sw+1, true)},
				{col, row + 1, col + 1, row + 1, col, row + 1, sideKey(sw+m.Cols, false)},
				{col - 1, row, col, row + 1, col, row, sideKey(sw, true)},
			} {
				if is(side.beyondCol, side.beyondRow) {
					continue
				}
				at := key(side.fromCol, side.fromRow, row)
				c := m.class[m.Index(side.fromCol, side.fromRow)]
				last := m.class[m.Index(side.toCol, side.toRow)]
				for ; c < last; c++ { // rising out of the top of each band
					pieces[c] = append(pieces[c], segment{at, side.key | upper})
					at = side.key
				}
				for ; c > last; c-- { // falling out of the bottom
					pieces[c] = append(pieces[c], segment{at, side.key})
					at = side.key | upper
				}
				pieces[c] = append(pieces[c], segment{at, key(side.toCol, side.toRow, row)})
			}
		}
	}
	return pieces
}

// polygons joins the edges of a band into rings and puts holes in their outer
// rings.
func (m *marcher) polygons(edges []segment, from, to float64) orb.MultiPolygon {
	var outers, holes []bounded
	for _, path := range stitch(edges) {
		ring := m.ring(path.keys, from, to)
		if ring == nil {
			continue
		}
		area := ringArea(ring)
		switch {
		case math.Abs(area) <= 1e-12*m.CellW*m.CellH:
			// Ground exactly on a level may leave a ring that runs out and
			// back without enclosing anything.
		case area > 0:
			outers = append(outers, bounded{ring: ring, bound: ring.Bound(), area: area})
		default:
			holes = append(holes, bounded{ring: ring, bound: ring.Bound(), area: area})
		}
	}
	return nest(outers, holes)
}

// ring places the vertices of a closed path, dropping repeated points and the
// nodes along a straight border. It is nil when fewer than three remain.
func (m *marcher) ring(keys []vertexKey, from, to float64) orb.Ring {
	points := make(orb.Ring, 0, len(keys)+1)
	node := make([]bool, 0, len(keys)+1)
	for _, k := range keys {
		var p orb.Point
		isNode := false
		switch k & kindBits {
		case corner, cornerTwo:
			n := int(k >> 2)
			p, isNode = orb.Point{m.X(n % m.Cols), m.Y(n / m.Cols)}, true
		case upper:
			p = m.position(k, to)
		default:
			p = m.position(k, from)
		}
		if last := len(points) - 1; last >= 0 && points[last] == p {
			node[last] = node[last] && isNode
			continue
		}
		points, node = append(points, p), append(node, isNode)
	}
	for len(points) > 1 && points[0] == points[len(points)-1] {
		node[0] = node[0] && node[len(points)-1]
		points, node = points[:len(points)-1], node[:len(points)-1]
	}
	n := len(points)
	kept := make(orb.Ring, 0, n+1)
	for i, p := range points {
		a, b := points[(i+n-1)%n], points[(i+1)%n]
		if node[i] && (a[0] == p[0] && p[0] == b[0] || a[1] == p[1] && p[1] == b[1]) {
			continue
		}
		kept = append(kept, p)
	}
	if len(kept) < 3 {
		return nil
	}
	return append(kept, kept[0])
}

// bounded is a ring with what is asked about it often.
type bounded struct {
	ring  orb.Ring
	bound orb.Bound
	area  float64 // m2, positive when counter-clockwise
}

// ringArea is the signed area in m2, taken about the first point so that large
// coordinates do not cancel.
func ringArea(r orb.Ring) float64 {
	var sum float64
	o := r[0]
	for i := 1; i+1 < len(r); i++ {
		ax, ay := r[i][0]-o[0], r[i][1]-o[1]
		bx, by := r[i+1][0]-o[0], r[i+1][1]-o[1]
		sum += float64(ax*by) - float64(bx*ay)
	}
	return sum / 2
}

// nest puts each hole into the smallest outer ring around it. Outer rings keep
// their order, and holes theirs.
func nest(outers, holes []bounded) orb.MultiPolygon {
	polygons := make(orb.MultiPolygon, len(outers))
	for i, o := range outers {
		polygons[i] = orb.Polygon{o.ring}
	}
	bySize := make([]int, len(outers))
	for i := range bySize {
		bySize[i] = i
	}
	slices.SortStableFunc(bySize, func(a, b int) int {
		switch {
		case outers[a].area < outers[b].area:
			return -1
		case outers[a].area > outers[b].area:
			return 1
		}
		return 0
	})
	for _, h := range holes {
		for _, i := range bySize {
			if o := &outers[i]; o.area >= -h.area && o.holds(h) {
				polygons[i] = append(polygons[i], h.ring)
				break
			}
		}
	}
	return polygons
}

// holds tells whether a hole lies inside. A hole may touch the outer ring at
// vertices, and only there, so the first vertex that is not shared decides.
func (o *bounded) holds(h bounded) bool {
	if !o.bound.Contains(h.bound.Min) || !o.bound.Contains(h.bound.Max) {
		return false
	}
	for _, p := range h.ring {
		if inside, shared := encloses(o.ring, p); !shared {
			return inside
		}
	}
	return true
}

// encloses counts the edges of a ring to the east of a point: an odd number
// encloses it. An edge belongs to its lower end and not to its upper, so a
// vertex at the point's height counts once. shared tells that the point is a
// vertex of the ring, which leaves the question open.
func encloses(ring orb.Ring, p orb.Point) (inside, shared bool) {
	for i := 1; i < len(ring); i++ {
		a, b := ring[i-1], ring[i]
		if b == p {
			return false, true
		}
		if (a[1] > p[1]) != (b[1] > p[1]) && p[0] < a[0]+(p[1]-a[1])/(b[1]-a[1])*(b[0]-a[0]) {
			inside = !inside
		}
	}
	return inside, false
}
