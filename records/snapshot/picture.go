package snapshot

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"tallybook/geo/near"
	"tallybook/geo/position"
	"tallybook/records"
)

// base is a large, fixed set of wells with an index of those that are located.
type base struct {
	*columns             // in ascending order of id
	located  []int32     // rows that have a position
	index    *near.Index // of the located rows, x = longitude, y = latitude, degrees
}

func newBase(c *columns) (*base, error) {
	b := &base{columns: c}
	var lon, lat []float64
	var key []uint64
	for i := range c.len() {
		if !math.IsNaN(c.lon[i]) {
			b.located = append(b.located, int32(i))
			lon, lat, key = append(lon, c.lon[i]), append(lat, c.lat[i]), append(key, c.key[i])
		}
	}
	ix, err := near.New(lon, lat, key)
	if err != nil {
		return nil, fmt.Errorf("index of wells: %w", err)
	}
	b.index = ix
	return b, nil
}

// row finds a well by its id.
func (c *columns) row(id int64) (int32, bool) {
	i, ok := slices.BinarySearch(c.id, id)
	return int32(i), ok
}

// Picture is all wells as they stood at one commit. It never changes.
type Picture struct {
	base    *base
	hidden  map[int32]struct{} // rows of base that were replaced or taken out
	changed *columns           // what replaced them, and new wells, by id
	commit  int64
	rocks   map[uint16]string
}

// Commit is the number of the store's state that the picture shows.
func (p *Picture) Commit() int64 { return p.commit }

// Len is the number of wells.
func (p *Picture) Len() int { return p.base.len() - len(p.hidden) + p.changed.len() }

// RockUnit is the name behind a digest's rock code.
func (p *Picture) RockUnit(code uint16) string { return p.rocks[code] }

// RockUnits are all the rock units, by code.
func (p *Picture) RockUnits() map[uint16]string { return p.rocks }

// ByID finds a well.
func (p *Picture) ByID(id int64) (Row, bool) {
	if i, ok := p.changed.row(id); ok {
		return Row{p.changed, i}, true
	}
	if i, ok := p.base.row(id); ok {
		if _, gone := p.hidden[i]; !gone {
			return Row{p.base.columns, i}, true
		}
	}
	return Row{}, false
}

// Each shows every well until fn returns false.
func (p *Picture) Each(fn func(Row) bool) {
	for i := range int32(p.base.len()) {
		if _, gone := p.hidden[i]; gone {
			continue
		}
		if !fn(Row{p.base.columns, i}) {
			return
		}
	}
	for i := range int32(p.changed.len()) {
		if !fn(Row{p.changed, i}) {
			return
		}
	}
}

// InBox shows every located well in the box, its border included, until fn
// returns false. A box whose West is greater than its East crosses the
// antimeridian.
func (p *Picture) InBox(b records.Bounds, fn func(Row) bool) {
	if b.West > b.East {
		going := true
		keep := func(r Row) bool { going = fn(r); return going }
		p.InBox(records.Bounds{West: b.West, South: b.South, East: 180, North: b.North}, keep)
		if going {
			p.InBox(records.Bounds{West: -180, South: b.South, East: b.East, North: b.North}, keep)
		}
		return
	}
	for _, k := range p.base.index.Box(b.West, b.South, b.East, b.North, nil) {
		i := p.base.located[k]
		if _, gone := p.hidden[i]; gone {
			continue
		}
		if !fn(Row{p.base.columns, i}) {
			return
		}
	}
	for i := range int32(p.changed.len()) {
		lon, lat := p.changed.lon[i], p.changed.lat[i]
		if lon >= b.West && lon <= b.East && lat >= b.South && lat <= b.North && !fn(Row{p.changed, i}) {
			return
		}
	}
}

// Extent is the box around all located wells; ok is false when there are
// none. Sets that straddle the antimeridian get the whole round.
func (p *Picture) Extent() (b records.Bounds, ok bool) {
	b = records.Bounds{West: math.Inf(1), South: math.Inf(1), East: math.Inf(-1), North: math.Inf(-1)}
	add := func(lon, lat float64) {
		b.West, b.East = min(b.West, lon), max(b.East, lon)
		b.South, b.North = min(b.South, lat), max(b.North, lat)
		ok = true
	}
	if p.base.index.Len() > 0 {
		w, s, e, n := p.base.index.Bounds()
		add(w, s)
		add(e, n)
	}
	for i := range p.changed.len() {
		if !math.IsNaN(p.changed.lon[i]) {
			add(p.changed.lon[i], p.changed.lat[i])
		}
	}
	if !ok {
		return records.Bounds{}, false
	}
	return b, true
}

// Neighbour is a well near a place.
type Neighbour struct {
	Row
	DistanceM  float64
	BearingDeg float64 // from the place, clockwise from north
}

// metresPerDegree is less than the shortest degree of latitude on the
// ellipsoid (110,574 m at the equator), so that boxes made with it are never
// too small.
const metresPerDegree = 110_500

// Around gives the wells within radiusM of a place that keep accepts (nil:
// all), nearest first, ties by key.
func (p *Picture) Around(at position.LonLat, radiusM float64, keep func(Row) bool) []Neighbour {
	dLat := radiusM / metresPerDegree
	box := records.Bounds{West: -180, East: 180, South: max(-90, at.Lat-dLat), North: min(90, at.Lat+dLat)}
	if c := math.Cos(min(90, math.Abs(at.Lat)+dLat) * math.Pi / 180); c > 1e-6 && dLat/c < 180 {
		dLon := dLat / c
		box.West, box.East = wrap(at.Lon-dLon), wrap(at.Lon+dLon)
	}
	plane := position.NewPlane(at)
	var out []Neighbour
	p.InBox(box, func(r Row) bool {
		if keep != nil && !keep(r) {
			return true
		}
		lon, lat, _ := r.Position()
		x, y := plane.ToXY(position.LonLat{Lon: lon, Lat: lat})
		if d := math.Hypot(x, y); d <= radiusM {
			bearing := math.Atan2(x, y) * 180 / math.Pi
			if bearing < 0 {
				bearing += 360
			}
			out = append(out, Neighbour{Row: r, DistanceM: d, BearingDeg: bearing})
		}
		return true
	})
	sort.Slice(out, func(i, j int) bool {
		if out[i].DistanceM != out[j].DistanceM {
			return out[i].DistanceM < out[j].DistanceM
		}
		return out[i].Key() < out[j].Key()
	})
	return out
}

// Nearest gives the k nearest wells that keep accepts (nil: all).
func (p *Picture) Nearest(at position.LonLat, k int, keep func(Row) bool) []Neighbour {
	const halfRound = 20_100_000 // metres, more than half the way around the earth
	for radiusM := 2_000.0; ; radiusM *= 3 {
		found := p.Around(at, min(radiusM, halfRound), keep)
		if len(found) >= k || radiusM >= halfRound {
			return found[:min(k, len(found))]
		}
	}
}

func wrap(lon float64) float64 {
	switch {
	case lon > 180:
		return lon - 360
	case lon < -180:
		return lon + 360
	}
	return lon
}
