package surface

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
)

// Line is one contour line. Walking along it, higher ground is on the left.
// A closed line repeats its first point at its end; an open one begins and
// ends where the usable ground does: at the border of the grid, at a masked
// node, or at a node without a value.
type Line struct {
	Level  float64
	Closed bool
	Points orb.LineString // metres, x then y
}

// Contours draws the lines where the field crosses each level, by marching
// squares over the nodes with linear interpolation along the sides of the
// squares; where opposite corners of a square are high, the mean of its four
// corners tells whether they join. A node exactly on a level counts as above
// it.
//
// Only squares whose four corner nodes all have a value are drawn, and, when
// supported is not nil, only those whose corners are all supported (true);
// supported is in the order of Grid.Index. Levels must be finite and strictly
// ascending. Lines come level by level and within a level from the south-west,
// always in the same order.
//
// Errors: a field or a mask that does not fit the grid, levels out of order,
// infinite values.
func Contours(field Field, levels []float64, supported []bool) ([]Line, error) {
	m, err := march(field, levels, supported)
	if err != nil {
		return nil, err
	}
	var lines []Line
	for j, level := range levels {
		for _, path := range stitch(m.crossings[j]) {
			points := make(orb.LineString, 0, len(path.keys))
			for _, key := range path.keys {
				p := m.position(key, level)
				if len(points) == 0 || points[len(points)-1] != p {
					points = append(points, p)
				}
			}
			if path.closed && len(points) > 1 && points[0] != points[len(points)-1] {
				points = append(points, points[0])
			}
			// A lone node exactly on the level is a line without length.
			if len(points) > 1 {
				lines = append(lines, Line{Level: level, Closed: path.closed, Points: points})
			}
		}
	}
	return lines, nil
}

// marcher is a field made ready for lines: the class of each node, the usable
// squares, and the crossings of each level.
type marcher struct {
	Field
	levels    []float64
	class     []int16 // of each node: how many levels are at or below its value; -1 when unusable
	crossings [][]segment
}

// segment is one directed piece of a boundary between two vertices; the
// region it bounds is on its left.
type segment struct{ from, to vertexKey }

// vertexKey names a vertex exactly, so that pieces are joined by name and not
// by comparing coordinates. The upper bits are the number of a side or of a
// node; the lowest two tell which kind it is.
type vertexKey int64

// A side of a square is named by its western or southern node: twice the
// node's index, plus one when it runs to the north.
func sideKey(node int, north bool) vertexKey {
	if north {
		return vertexKey(2*node+1) << 2
	}
	return vertexKey(2*node) << 2
}

const mostLevels = math.MaxInt16

// march classifies the nodes and collects the crossings of every level in one
// pass over the squares.
func march(field Field, levels []float64, supported []bool) (*marcher, error) {
	if err := field.Validate(); err != nil {
		return nil, err
	}
	if supported != nil && len(supported) != field.Len() {
		return nil, fmt.Errorf("surface: a mask of %d nodes for a grid of %d", len(supported), field.Len())
	}
	if len(levels) > mostLevels {
		return nil, fmt.Errorf("surface: %d levels are too many", len(levels))
	}
	for j, level := range levels {
		if !finite(level) {
			return nil, fmt.Errorf("surface: level %d is not finite: %g", j, level)
		}
		if j > 0 && !(levels[j-1] < level) {
			return nil, fmt.Errorf("surface: level %d (%g) is not above level %d (%g)", j, level, j-1, levels[j-1])
		}
	}
	m := &marcher{Field: field, levels: levels, class: make([]int16, field.Len()), crossings: make([][]segment, len(levels))}
	for i, v := range field.Values {
		switch {
		case math.IsInf(v, 0):
			return nil, fmt.Errorf("surface: value of node %d is infinite", i)
		case v != v || supported != nil && !supported[i]:
			m.class[i] = -1
		default:
			m.class[i] = m.classOf(v)
		}
	}
	for row := 0; row+1 < m.Rows; row++ {
		for col := 0; col+1 < m.Cols; col++ {
			m.square(m.Index(col, row))
		}
	}
	return m, nil
}

// classOf counts the levels at or below a value.
func (m *marcher) classOf(v float64) int16 {
	lo, hi := 0, len(m.levels)
	for lo < hi {
		mid := (lo + hi) / 2
		if m.levels[mid] <= v {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	return int16(lo)
}

// square adds the crossings of the square north-east of a node.
func (m *marcher) square(sw int) {
	se, nw := sw+1, sw+m.Cols
	ne := nw + 1
	c := [4]int16{m.class[sw], m.class[se], m.class[ne], m.class[nw]} // counter-clockwise
	lo, hi := min(c[0], c[1], c[2], c[3]), max(c[0], c[1], c[2], c[3])
	if lo == hi || lo < 0 {
		return
	}
	// Side i runs from corner i to the next, counter-clockwise.
	side := [4]vertexKey{sideKey(sw, false), sideKey(se, true), sideKey(nw, false), sideKey(sw, true)}
	for j := lo; j < hi; j++ {
		// Walking around the square the ground rises above the level at one
		// side and falls below it at another; at a saddle, twice each.
		var rise, fall vertexKey
		rises := 0
		for i := range side {
			switch a, b := c[i] > j, c[(i+1)%4] > j; {
			case b && !a:
				rise = side[i]
				rises++
			case a && !b:
				fall = side[i]
			}
		}
		if rises == 1 {
			m.crossings[j] = append(m.crossings[j], segment{fall, rise})
		} else {
			m.saddle(j, c[0] > j, side, [4]int{sw, se, ne, nw})
		}
	}
}

// saddle adds the two crossings of a square whose opposite corners are high.
// Joined, the high corners leave the two low ones cut off; parted, each high
// corner is cut off by itself.
func (m *marcher) saddle(j int16, swHigh bool, side [4]vertexKey, corner [4]int) {
	v, out := m.Values, &m.crossings[j]
	mean := v[corner[0]]/4 + v[corner[1]]/4 + v[corner[2]]/4 + v[corner[3]]/4
	joined := mean >= m.levels[j]
	for i := range 4 {
		high := (i%2 == 0) == swHigh
		before, after := side[(i+3)%4], side[i]
		switch {
		case high && !joined:
			// Around a high corner, counter-clockwise seen from it.
			*out = append(*out, segment{after, before})
		case !high && joined:
			*out = append(*out, segment{before, after})
		}
	}
}

// position returns where a level crosses a side. It is computed from the
// western or southern end whichever way the line runs, so that all that share
// the vertex share it to the last bit.
func (m *marcher) position(key vertexKey, level float64) orb.Point {
	n := int(key >> 2)
	node, north := n/2, n%2 == 1
	col, row := node%m.Cols, node/m.Cols
	x, y := m.X(col), m.Y(row)
	if north {
		return orb.Point{x, between(y, m.Y(row+1), m.Values[node], m.Values[node+m.Cols], level)}
	}
	return orb.Point{between(x, m.X(col+1), m.Values[node], m.Values[node+1], level), y}
}

// between interpolates linearly and never leaves the side.
func between(a, b, va, vb, level float64) float64 {
	t := (level - va) / (vb - va)
	if math.IsInf(vb-va, 0) {
		t = (level/2 - va/2) / (vb/2 - va/2)
	}
	return min(max(a+t*(b-a), a), b)
}
