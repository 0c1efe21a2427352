package snapshot

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"tallybook/geo/position"
	"tallybook/records"
)

// Area is a part of the earth that a Filter is limited to. Wells that are not
// located are in none.
type Area interface {
	// Has says whether a position, degrees, lies in the area, its border
	// included.
	Has(lon, lat float64) bool
	// Box is around all of it; West > East crosses the antimeridian.
	Box() records.Bounds
	// Key is a text that two areas share exactly when they are the same.
	Key() string
}

// boxArea is a box of degrees.
type boxArea struct{ b records.Bounds }

// BoxArea is the area of a box.
func BoxArea(b records.Bounds) Area { return boxArea{b} }

func (a boxArea) Has(lon, lat float64) bool { return a.b.Has(lon, lat) }
func (a boxArea) Box() records.Bounds       { return a.b }
func (a boxArea) Key() string {
	return fmt.Sprintf("box %g %g %g %g", a.b.West, a.b.South, a.b.East, a.b.North)
}

// circleArea is everything within a distance of a place.
type circleArea struct {
	m       *measure
	radiusM float64
	box     records.Bounds
}

// CircleArea is everything within radiusM of a place, measured along the
// geodesic.
func CircleArea(at position.LonLat, radiusM float64) Area {
	m := newMeasure(at)
	return circleArea{&m, radiusM, boxAround(at, radiusM)}
}

func (a circleArea) Has(lon, lat float64) bool {
	if !a.box.Has(lon, lat) {
		return false
	}
	x, y := a.m.plane.ToXY(position.LonLat{Lon: lon, Lat: lat})
	return math.Hypot(x, y) <= a.radiusM
}
func (a circleArea) Box() records.Bounds { return a.box }
func (a circleArea) Key() string {
	return fmt.Sprintf("circle %g %g %g", a.m.at.Lon, a.m.at.Lat, a.radiusM)
}

// outlineArea is what polygons enclose.
type outlineArea struct {
	shape orb.MultiPolygon
	bound orb.Bound
	key   string
}

// OutlineArea is what polygons enclose, their holes left out. Edges run
// straight in longitude and latitude, as RFC 7946 says of GeoJSON; an outline
// over the antimeridian is to be cut there first, as it says too. The error
// tells what is wrong with the outline.
func OutlineArea(shape orb.MultiPolygon) (Area, error) {
	h := sha256.New()
	points := 0
	for _, polygon := range shape {
		fmt.Fprint(h, "polygon ")
		for _, ring := range polygon {
			if len(ring) < 4 || ring[0] != ring[len(ring)-1] {
				return nil, records.Errorf(records.Invalid, "the outline has a ring that is not closed: its last position must be its first, with three more at least")
			}
			fmt.Fprint(h, "ring ")
			for i, p := range ring {
				if err := (position.LonLat{Lon: p[0], Lat: p[1]}).Valid(); err != nil {
					return nil, records.Errorf(records.Invalid, "the outline has a position off the earth: %v (GeoJSON gives longitude first)", err)
				}
				if i > 0 && math.Abs(p[0]-ring[i-1][0]) > 180 {
					return nil, records.Errorf(records.Invalid, "the outline crosses the antimeridian: cut it there into two polygons")
				}
				fmt.Fprintf(h, "%g %g ", p[0], p[1])
				points++
			}
		}
	}
	if points == 0 {
		return nil, records.Errorf(records.Invalid, "the outline encloses nothing")
	}
	if points > mostOutline {
		return nil, records.Errorf(records.TooLarge, "the outline has %d positions, and at most %d are read: simplify it", points, mostOutline)
	}
	for _, polygon := range shape {
		if err := soundPolygon(polygon); err != nil {
			return nil, err
		}
	}
	return outlineArea{shape, shape.Bound(), "outline " + hex.EncodeToString(h.Sum(nil)[:16])}, nil
}

// mostOutline is how many positions an outline may have: each well is held
// against all of them.
const mostOutline = 20000

func (a outlineArea) Has(lon, lat float64) bool {
	p := orb.Point{lon, lat}
	return a.bound.Contains(p) && planar.MultiPolygonContains(a.shape, p)
}

func (a outlineArea) Box() records.Bounds {
	return records.Bounds{West: a.bound.Min[0], South: a.bound.Min[1], East: a.bound.Max[0], North: a.bound.Max[1]}
}
func (a outlineArea) Key() string { return a.key }
