package recordstest

import (
	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"tallybook/records/cql2"
)

// spatial is a predicate of the feature's point and a place.
func (n naive) spatial(x *cql2.Spatial) truth {
	left, right := n.value(x.Left), n.value(x.Right)
	if left == nil || right == nil {
		return isUnknown
	}
	op := x.Op
	at, isField := left.(orb.Point)
	if _, field := x.Left.(*cql2.Property); !field || !isField {
		at, right = right.(orb.Point), left
		op = map[string]string{"S_WITHIN": "S_CONTAINS", "S_CONTAINS": "S_WITHIN"}[op]
		if op == "" {
			op = x.Op
		}
	}
	meets, inside, same := relate(at, right)
	switch op {
	case "S_INTERSECTS":
		return truthOf(meets)
	case "S_DISJOINT":
		return truthOf(!meets)
	case "S_WITHIN":
		return truthOf(inside)
	case "S_TOUCHES":
		return truthOf(meets && !inside)
	case "S_EQUALS", "S_CONTAINS":
		return truthOf(same)
	}
	return isFalse
}

// relate says whether a point meets a place, lies in its interior and is all of
// it. It asks distances and orb's own test of polygons.
func relate(p orb.Point, place any) (meets, inside, same bool) {
	switch g := place.(type) {
	case *cql2.Box:
		east := g.Max[0]
		if g.Min[0] > east { // over the antimeridian: turn the world on
			east += 360
			if p[0] < g.Min[0] {
				p[0] += 360
			}
		}
		b := orb.Bound{Min: g.Min, Max: orb.Point{east, g.Max[1]}}
		if b.Min == b.Max {
			return p == b.Min, p == b.Min, p == b.Min
		}
		meets = b.Contains(p)
		return meets, meets && p[0] > b.Min[0] && p[0] < b.Max[0] && p[1] > b.Min[1] && p[1] < b.Max[1], false
	case orb.Point:
		return p == g, p == g, p == g
	case orb.MultiPoint:
		same = true
		for _, q := range g {
			meets, same = meets || p == q, same && p == q
		}
		return meets, meets, same
	case orb.LineString:
		meets = planar.DistanceFrom(g, p) == 0
		return meets, meets && (g[0] == g[len(g)-1] || p != g[0] && p != g[len(g)-1]), false
	case orb.MultiLineString:
		ends := 0
		for _, l := range g {
			meets = meets || planar.DistanceFrom(l, p) == 0
			for _, q := range []orb.Point{l[0], l[len(l)-1]} {
				if p == q {
					ends++
				}
			}
		}
		return meets, meets && ends%2 == 0, false
	case orb.Polygon:
		border := false
		for _, r := range g {
			border = border || planar.DistanceFrom(orb.LineString(r), p) == 0
		}
		meets = border || planar.PolygonContains(g, p)
		return meets, meets && !border, false
	case orb.MultiPolygon:
		for _, one := range g {
			m, i, _ := relate(p, one)
			meets, inside = meets || m, inside || i
		}
	case orb.Collection:
		same = true
		for _, one := range g {
			m, i, s := relate(p, one)
			meets, inside, same = meets || m, inside || i, same && s
		}
	}
	return meets, inside, same
}
