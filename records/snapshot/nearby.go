package snapshot

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"tallybook/geo/position"
	"tallybook/records"
)

// Neighbour is a well near a place.
type Neighbour struct {
	Row
	DistanceM  float64
	BearingDeg float64 // from the place, clockwise from north
}

// nearer orders neighbours by distance, ties by key.
func nearer(a, b Neighbour) int {
	if c := cmp.Compare(a.DistanceM, b.DistanceM); c != 0 {
		return c
	}
	return cmp.Compare(a.Key(), b.Key())
}

// metresPerDegree is less than the shortest degree of latitude on the
// ellipsoid (110,574 m at the equator), so that boxes made with it are never
// too small.
const metresPerDegree = 110_500

// boxAround is a box that holds everything within radiusM of a place.
func boxAround(at position.LonLat, radiusM float64) records.Bounds {
	dLat := radiusM / metresPerDegree
	box := records.Bounds{West: -180, East: 180, South: max(-90, at.Lat-dLat), North: min(90, at.Lat+dLat)}
	if c := math.Cos(min(90, math.Abs(at.Lat)+dLat) * math.Pi / 180); c > 1e-6 && dLat/c < 180 {
		dLon := dLat / c
		box.West, box.East = position.WrapLongitude(at.Lon-dLon), position.WrapLongitude(at.Lon+dLon)
	}
	return box
}

// Around gives the wells within radiusM of a place that keep accepts (nil:
// all), nearest first, ties by key. Distances are those of the geodesic.
func (p *Picture) Around(at position.LonLat, radiusM float64, keep func(Row) bool) []Neighbour {
	var out []Neighbour
	m := newMeasure(at)
	p.InBox(boxAround(at, radiusM), func(r Row) bool {
		if keep != nil && !keep(r) {
			return true
		}
		if n, ok := m.within(r, radiusM); ok {
			out = append(out, n)
		}
		return true
	})
	slices.SortFunc(out, nearer)
	return out
}

// Nearest gives the k nearest wells that keep accepts (nil: all), nearest
// first, ties by key; fewer where there are no more. k below 1 gives none.
func (p *Picture) Nearest(at position.LonLat, k int, keep func(Row) bool) []Neighbour {
	if k < 1 {
		return nil
	}
	const halfRound = 20_100_000 // metres, more than half the way around the earth
	m := newMeasure(at)
	for radiusM := 2_000.0; ; radiusM *= 4 {
		radiusM = min(radiusM, halfRound)
		if found := p.nearest(&m, radiusM, k, keep); len(found) == k || radiusM == halfRound {
			return found
		}
	}
}

// nearest gives the k nearest within a radius. It keeps no more than k, so
// that a place far from a million wells costs no list of a million.
func (p *Picture) nearest(m *measure, radiusM float64, k int, keep func(Row) bool) []Neighbour {
	var best []Neighbour // in order
	reach := radiusM
	p.InBox(boxAround(m.at, radiusM), func(r Row) bool {
		n, ok := m.within(r, reach)
		if !ok || keep != nil && !keep(r) {
			return true
		}
		i := sort.Search(len(best), func(i int) bool { return nearer(n, best[i]) < 0 })
		if i == k {
			return true
		}
		if len(best) < k {
			best = append(best, n)
		}
		copy(best[i+1:], best[i:])
		best[i] = n
		if len(best) == k {
			reach = min(reach, best[k-1].DistanceM)
		}
		return true
	})
	return best
}

// measure measures distances from one place.
type measure struct {
	at    position.LonLat
	plane position.Plane
}

func newMeasure(at position.LonLat) measure { return measure{at, position.NewPlane(at)} }

// The geodesic is solved exactly far away, which costs microseconds. A sphere
// tells most of what is too far at a tenth of that: no distance on the
// ellipsoid is shorter than its sphere's of radius sphereM by more than the
// 0.6 % that surely allows for.
const (
	sphereM = 6_371_008.8
	surely  = 0.99
	farDeg  = 2.5 // about where the plane begins to solve the geodesic
)

// within measures a well, and leaves it out where it is farther than reachM.
func (m *measure) within(r Row, reachM float64) (Neighbour, bool) {
	at := position.LonLat{Lon: r.c.lon[r.i], Lat: r.c.lat[r.i]}
	far := math.Abs(at.Lat-m.at.Lat) > farDeg || math.Abs(at.Lon-m.at.Lon) > farDeg
	if far && position.Haversine(m.at, at, sphereM)*surely > reachM {
		return Neighbour{}, false
	}
	x, y := m.plane.ToXY(at)
	d := math.Hypot(x, y)
	if !(d <= reachM) {
		return Neighbour{}, false
	}
	bearing := math.Atan2(x, y) * 180 / math.Pi
	if bearing < 0 {
		bearing += 360
	}
	return Neighbour{Row: r, DistanceM: d, BearingDeg: bearing}, true
}
