package scout

import (
	"math"
	"slices"

	"tallybook/geo/position"
)

// ShapeKind says what the positions of a shape make.
type ShapeKind uint8

// The kinds of shapes.
const (
	Points ShapeKind = iota + 1
	Lines            // each part is a line from its first position to its last
	Areas            // each part is a ring; a ring within a ring is a hole
)

// Shape is where something lies: points, lines or areas, in degrees, WGS 84.
type Shape struct {
	Kind  ShapeKind
	Parts [][]position.LonLat
}

// distanceM is how far the plane's centre is from the shape, in metres: 0 on a
// line and within an area. ok is false for a shape without a position. Sides
// are straight on the plane, which at the lengths of a building lot is what a
// tape measures.
func (s *Shape) distanceM(plane position.Plane) (distanceM float64, ok bool) {
	best := math.Inf(1)
	inside := false
	for _, part := range s.Parts {
		for i, at := range part {
			x, y := plane.ToXY(at)
			best = min(best, math.Hypot(x, y))
			to := i + 1
			if s.Kind == Areas && to == len(part) {
				to = 0
			}
			if s.Kind == Points || to >= len(part) {
				continue
			}
			bx, by := plane.ToXY(part[to])
			best = min(best, toSide(x, y, bx, by))
			if s.Kind == Areas && (y > 0) != (by > 0) && x+(0-y)*(bx-x)/(by-y) > 0 {
				inside = !inside
			}
		}
	}
	if inside {
		return 0, true
	}
	return best, finite(best)
}

// outline is the lines around areas.
func (s *Shape) outline() Shape {
	out := Shape{Kind: Lines}
	for _, ring := range s.Parts {
		if len(ring) > 0 {
			out.Parts = append(out.Parts, append(slices.Clone(ring), ring[0]))
		}
	}
	return out
}

// toSide is the distance from 0, 0 to the side between two points.
func toSide(ax, ay, bx, by float64) float64 {
	dx, dy := bx-ax, by-ay
	length2 := dx*dx + dy*dy
	if length2 == 0 {
		return math.Hypot(ax, ay)
	}
	t := min(max(-(ax*dx+ay*dy)/length2, 0), 1)
	return math.Hypot(ax+t*dx, ay+t*dy)
}
