package cql2

import (
	"math"

	"github.com/paulmach/orb"
)

// where a point lies of a geometry: outside, on its boundary or within it. The
// boundary of a polygon is its outlines, of a line its two ends, of a point
// nothing (ISO 19107; OGC 06-103r4, Simple Feature Access, from memory).
type where uint8

const (
	outside where = iota
	onBoundary
	within
)

// locate says where a point lies of a geometry, both on the same plane. It is
// exact in so far as the products of differences of the numbers are.
func locate(p orb.Point, g orb.Geometry) where {
	switch g := g.(type) {
	case orb.Point:
		return locate(p, orb.MultiPoint{g})
	case orb.MultiPoint:
		for _, q := range g {
			if p == q {
				return within
			}
		}
	case orb.LineString:
		return locate(p, orb.MultiLineString{g})
	case orb.MultiLineString:
		return ofLines(p, g)
	case orb.Polygon:
		return ofPolygon(p, g)
	case orb.MultiPolygon:
		best := outside
		for _, q := range g {
			best = max(best, ofPolygon(p, q))
		}
		return best
	case orb.Collection:
		best := outside
		for _, m := range g {
			best = max(best, locate(p, m))
		}
		return best
	}
	return outside
}

// ofLines counts at how many ends of lines the point lies: where lines meet end
// to end, two and two of them, there is no boundary.
func ofLines(p orb.Point, lines orb.MultiLineString) where {
	ends, on := 0, false
	for _, l := range lines {
		for i := 1; i < len(l); i++ {
			on = on || onSegment(p, l[i-1], l[i])
		}
		if p == l[0] {
			ends++
		}
		if p == l[len(l)-1] {
			ends++
		}
	}
	switch {
	case ends%2 == 1:
		return onBoundary
	case on:
		return within
	}
	return outside
}

func ofPolygon(p orb.Point, rings orb.Polygon) where {
	for i, r := range rings {
		switch w := ofRing(p, r); {
		case w == onBoundary:
			return onBoundary
		case (w == within) != (i == 0): // outside the outline, or in a hole
			return outside
		}
	}
	return within
}

// ofRing counts how often a ray to the east crosses the ring.
func ofRing(p orb.Point, r orb.Ring) where {
	inside := false
	for i := 1; i < len(r); i++ {
		a, b := r[i-1], r[i]
		if onSegment(p, a, b) {
			return onBoundary
		}
		if (a[1] > p[1]) != (b[1] > p[1]) && (side(p, a, b) > 0) == (b[1] > a[1]) {
			inside = !inside
		}
	}
	if inside {
		return within
	}
	return outside
}

// side is positive where p lies to the left of the way from a to b. The
// products are rounded by themselves: fused with the difference they would
// differ by the processor.
func side(p, a, b orb.Point) float64 {
	return float64((b[0]-a[0])*(p[1]-a[1])) - float64((p[0]-a[0])*(b[1]-a[1]))
}

func onSegment(p, a, b orb.Point) bool {
	return side(p, a, b) == 0 &&
		p[0] >= math.Min(a[0], b[0]) && p[0] <= math.Max(a[0], b[0]) &&
		p[1] >= math.Min(a[1], b[1]) && p[1] <= math.Max(a[1], b[1])
}

// locateBox is locate for a box.
func locateBox(p orb.Point, x *Box) where {
	crosses := x.Min[0] > x.Max[0]
	in := p[0] >= x.Min[0] && p[0] <= x.Max[0]
	if crosses {
		in = p[0] >= x.Min[0] || p[0] <= x.Max[0]
	}
	switch {
	case !in || p[1] < x.Min[1] || p[1] > x.Max[1]:
		return outside
	case p[0] == x.Min[0] || p[0] == x.Max[0] || p[1] == x.Min[1] || p[1] == x.Max[1]:
		return onBoundary
	}
	return within
}
