package snapshot

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"tallybook/records"
)

// soundPolygon tells in an error why a polygon encloses nothing that can be
// told from its outside: an outer ring without an area, or two edges that cross
// (OGC 06-103r4, section 6.1.11: rings may touch, and may not cross). Its rings
// are closed.
func soundPolygon(polygon orb.Polygon) error {
	if len(polygon) == 0 {
		return nil
	}
	if at, crosses := crossing(polygon); crosses {
		return records.Errorf(records.Invalid, "the outline crosses itself near %.5f, %.5f (latitude, longitude), so that its inside is not known: mend it there, or cut it into two polygons", at[1], at[0])
	}
	if planar.Area(polygon[0]) == 0 {
		return records.Errorf(records.Invalid, "the outline encloses no area: its positions lie on one line")
	}
	return nil
}

// crossing finds two edges that cross in a point inside of both. Edges are
// tried in the order of their western ends against those that begin before
// they end: few pairs, but for outlines made to be slow, which are bounded by
// mostOutline.
func crossing(polygon orb.Polygon) (orb.Point, bool) {
	type edge struct {
		a, b       orb.Point
		west, east float64
	}
	var edges []edge
	for _, ring := range polygon {
		for i := 1; i < len(ring); i++ {
			a, b := ring[i-1], ring[i]
			edges = append(edges, edge{a, b, math.Min(a[0], b[0]), math.Max(a[0], b[0])})
		}
	}
	slices.SortFunc(edges, func(a, b edge) int { return cmp.Compare(a.west, b.west) })
	for i, e := range edges {
		for _, o := range edges[i+1:] {
			if o.west > e.east {
				break
			}
			if side(e.a, e.b, o.a)*side(e.a, e.b, o.b) < 0 && side(o.a, o.b, e.a)*side(o.a, o.b, e.b) < 0 {
				return orb.Point{(max(e.west, o.west) + min(e.east, o.east)) / 2, (o.a[1] + o.b[1]) / 2}, true
			}
		}
	}
	return orb.Point{}, false
}

// side tells by its sign on which side of the line through a and b a point
// lies: -1, 0 or 1.
func side(a, b, p orb.Point) int {
	// Forced to float64, so that no processor decides otherwise.
	d := float64((b[0]-a[0])*(p[1]-a[1])) - float64((b[1]-a[1])*(p[0]-a[0]))
	return cmp.Compare(d, 0)
}
