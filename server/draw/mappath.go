package draw

import (
	"math"
	"strconv"

	"github.com/paulmach/orb"

	"tallybook/geo/surface"
)

// Long curves are most of a map's bytes. They are written relative to the
// point before, in tenths of a pixel, and as a chain of quadratic curves whose
// control points the reader of the file reflects for itself, so that a corner
// costs one pair of small numbers.

// deci is a length in tenths of a pixel.
type deci int64

func toDeci(v float64) deci { return deci(math.Round(min(max(v, -1e6), 1e6) * 10)) }

// half rounds half of a number towards the even, so that no direction is
// favoured.
func half(v deci) deci { return deci(math.RoundToEven(float64(v) / 2)) }

func (p *Path) pair(x, y deci, first bool) {
	if !first && x >= 0 {
		p.b = append(p.b, ' ')
	}
	p.b = appendDeci(p.b, x)
	if y >= 0 {
		p.b = append(p.b, ' ')
	}
	p.b = appendDeci(p.b, y)
}

func appendDeci(b []byte, v deci) []byte {
	if v < 0 {
		b = append(b, '-')
		v = -v
	}
	b = strconv.AppendInt(b, int64(v/10), 10)
	if f := v % 10; f != 0 {
		b = append(b, '.', byte('0'+f))
	}
	return b
}

// curve draws a line rounded at its corners: through the middles of its
// sides, the corners being control points, so that whoever draws the same
// corners, from either end, draws the same curve to a tenth of a pixel. The
// points are pixels with y up; a closed line repeats its first point.
func (p *Path) curve(points []orb.Point, closed bool) {
	n := len(points)
	if closed {
		n--
	}
	if n < 2 || closed && n < 3 {
		return
	}
	at := func(i int) (deci, deci) {
		q := points[i%n]
		return toDeci(q[0]), toDeci(-q[1])
	}
	cx, cy := at(0) // the control point, as the reader of the file reckons it
	x, y := cx, cy  // where the pen is
	from, to := 1, n-1
	if closed {
		lx, ly := at(n - 1)
		x, y = half(lx+cx), half(ly+cy)
		from, to = 0, n
	}
	p.b = append(p.b, 'M')
	p.pair(x, y, true)
	startX, startY := x, y
	for i := from; i < to; i++ {
		tx, ty := at(i)
		nx, ny := at(i + 1)
		first := i == from
		if first {
			cx, cy = tx, ty
		}
		// The middle is taken from the control point as it came out, which
		// keeps the rounding from adding up along the chain.
		mx, my := half(cx+nx), half(cy+ny)
		if closed && i == to-1 {
			mx, my = startX, startY
		}
		if first {
			p.b = append(p.b, 'q')
			p.pair(cx-x, cy-y, true)
			p.pair(mx-x, my-y, false)
		} else {
			if i == from+1 {
				p.b = append(p.b, 't')
			}
			p.pair(mx-x, my-y, i == from+1)
		}
		x, y = mx, my
		cx, cy = 2*mx-cx, 2*my-cy
	}
	if closed {
		p.b = append(p.b, 'z')
		return
	}
	ex, ey := at(n - 1)
	p.b = append(p.b, 'l')
	p.pair(ex-x, ey-y, true)
}

// leastRing is how many pixels across an island must be to be drawn.
const leastRing = 10.0

// tiny says whether a ring is too small to tell anybody anything. All that
// share the ring find the same.
func tiny(points []orb.Point) bool {
	if len(points) == 0 {
		return true
	}
	b := orb.LineString(points).Bound()
	return b.Max[0]-b.Min[0] < leastRing && b.Max[1]-b.Min[1] < leastRing
}

// rings draws areas given in pixels with y up.
func rings(mp orb.MultiPolygon) *Path {
	var p Path
	for _, poly := range mp {
		for i, ring := range poly {
			if tiny(ring) {
				if i == 0 {
					break // its holes are smaller still
				}
				continue
			}
			p.curve(ring, true)
		}
	}
	return &p
}

// contourPath draws the lines of one level.
func contourPath(lines []surface.Line) *Path {
	var p Path
	for _, l := range lines {
		if l.Closed && tiny(l.Points) {
			continue
		}
		p.curve(l.Points, l.Closed && len(l.Points) > 3)
	}
	return &p
}

// polyline adds the stretch of a line of pixels, y down, that is near the
// window, leaving out points that no eye tells apart.
func (p *Path) polyline(points [][2]float64, window rect) {
	var lx, ly deci
	var px, py float64 // the last point that was kept
	down := false
	for i, at := range points {
		if i == 0 {
			px, py = at[0], at[1]
			continue
		}
		if i < len(points)-1 && math.Hypot(at[0]-px, at[1]-py) < 1.2 {
			continue
		}
		seg := rect{min(at[0], px), min(at[1], py), max(at[0], px) + 0.01, max(at[1], py) + 0.01}
		if !seg.touches(window) {
			down = false
			px, py = at[0], at[1]
			continue
		}
		if !down {
			lx, ly = toDeci(px), toDeci(py)
			p.b = append(p.b, 'M')
			p.pair(lx, ly, true)
			p.b = append(p.b, 'l')
		}
		x, y := toDeci(at[0]), toDeci(at[1])
		p.pair(x-lx, y-ly, !down)
		lx, ly, down = x, y, true
		px, py = at[0], at[1]
	}
}
