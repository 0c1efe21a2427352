package cql2

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/project"

	"tallybook/geo/position"
)

// CRS is the coordinate reference system of the positions in a filter. The
// zero CRS is longitude and latitude in degrees, WGS 84.
type CRS struct {
	// LatFirst says that the latitude stands before the longitude (EPSG:4326).
	LatFirst bool
	// Plane is the projection of metres, nil for degrees.
	Plane position.Projection
}

// Place is where a given place lies: in a plane of which longitude and
// latitude are made, within bounds in degrees. The zero Place is degrees.
type Place struct {
	plane  position.Projection
	bounds *bounds // nil where Plane is
}

type bounds struct{ west, south, east, north float64 }

func (c CRS) order() string {
	switch {
	case c.Plane != nil:
		return "the easting stands before the northing, in metres"
	case c.LatFirst:
		return "the latitude stands before the longitude here"
	}
	return "the longitude stands before the latitude"
}

// shape turns a geometry into the order east, north, and says what keeps it
// from being one there.
func (c CRS) shape(g orb.Geometry) (orb.Geometry, Place, string) {
	if c.LatFirst {
		g = swapped(g)
	}
	if c.Plane == nil {
		b := g.Bound()
		if b.Min[0] < -180 || b.Max[0] > 180 || b.Min[1] < -90 || b.Max[1] > 90 {
			return g, Place{}, "a position lies beyond 180 degrees of longitude or 90 of latitude"
		}
		return g, Place{}, ""
	}
	return g, c.in(g), ""
}

func (c CRS) box(low, high orb.Point) (orb.Point, orb.Point, Place, string) {
	if c.LatFirst {
		low, high = orb.Point{low[1], low[0]}, orb.Point{high[1], high[0]}
	}
	switch {
	case low[1] > high[1]:
		return low, high, Place{}, "the box is upside down: its south is above its north"
	case c.Plane != nil && low[0] > high[0]:
		return low, high, Place{}, "the box's west is east of its east"
	case c.Plane != nil:
		return low, high, c.in(orb.Bound{Min: low, Max: high}.ToPolygon()), ""
	case low[0] < -180 || low[0] > 180 || high[0] < -180 || high[0] > 180 || low[1] < -90 || high[1] > 90:
		return low, high, Place{}, "the box goes beyond 180 degrees of longitude or 90 of latitude"
	}
	return low, high, Place{}, ""
}

// in is the place of a geometry in the plane. A projection far from where it is
// made for may lay two places of the earth on each other, so that what lies
// beyond the geometry's own bounds is not looked at.
func (c CRS) in(g orb.Geometry) Place {
	p := Place{plane: c.Plane, bounds: &bounds{180, 90, -180, -90}}
	eachEdge(g, func(a, b orb.Point) {
		for i := range edgeSteps + 1 {
			t := float64(i) / edgeSteps
			p.bounds.add(c.Plane.Inverse(a[0]+t*(b[0]-a[0]), a[1]+t*(b[1]-a[1])))
		}
	})
	p.bounds.widen()
	return p
}

// edgeSteps is by how many places of it the bounds of a line are found, which
// is straight in the plane and curved in degrees.
const edgeSteps = 32

func (b *bounds) add(at position.LonLat) {
	if at.Valid() != nil { // off the earth: the whole of it is looked at
		*b = bounds{-180, -90, 180, 90}
		return
	}
	b.west, b.east = math.Min(b.west, at.Lon), math.Max(b.east, at.Lon)
	b.south, b.north = math.Min(b.south, at.Lat), math.Max(b.north, at.Lat)
}

// widen allows for how far a curve leaves the line between its steps: less
// than a hundredth of its length, of which there is a tenth here.
func (b *bounds) widen() {
	if b.east-b.west > 90 { // the antimeridian may be within
		b.west, b.east = -180, 180
	}
	dx, dy := 0.1*(b.east-b.west)+1e-4, 0.1*(b.north-b.south)+1e-4
	*b = bounds{b.west - dx, b.south - dy, b.east + dx, b.north + dy}
}

func (b *bounds) has(lon, lat float64) bool {
	return lon >= b.west && lon <= b.east && lat >= b.south && lat <= b.north
}

// eachEdge calls fn for every line between two positions, and for a point with
// it twice.
func eachEdge(g orb.Geometry, fn func(a, b orb.Point)) {
	line := func(l []orb.Point) {
		for i := range l {
			fn(l[max(i-1, 0)], l[i])
		}
	}
	switch g := g.(type) {
	case orb.Point:
		fn(g, g)
	case orb.MultiPoint:
		for _, p := range g {
			fn(p, p)
		}
	case orb.LineString:
		line(g)
	case orb.MultiLineString:
		for _, l := range g {
			line(l)
		}
	case orb.Polygon:
		for _, r := range g {
			line(r)
		}
	case orb.MultiPolygon:
		for _, p := range g {
			eachEdge(p, fn)
		}
	case orb.Collection:
		for _, m := range g {
			eachEdge(m, fn)
		}
	}
}

// swapped turns the two numbers of each position about.
func swapped(g orb.Geometry) orb.Geometry {
	return project.Geometry(orb.Clone(g), func(p orb.Point) orb.Point { return orb.Point{p[1], p[0]} })
}

func lonLat(lon, lat float64) position.LonLat { return position.LonLat{Lon: lon, Lat: lat} }
