package snapshot

import (
	"fmt"
	"math"
	"slices"

	"tallybook/geo/near"
	"tallybook/records"
)

// base is a large, fixed set of wells with an index of those that are located.
type base struct {
	*columns             // in ascending order of id
	located  []int32     // rows that have a position; nil: all have
	index    *near.Index // of the located rows, x = longitude, y = latitude, degrees
}

func newBase(c *columns) (*base, error) {
	n := 0
	for _, lon := range c.lon {
		if !math.IsNaN(lon) {
			n++
		}
	}
	b := &base{columns: c}
	lon, lat, key := c.lon, c.lat, c.key
	if n < c.len() {
		b.located = make([]int32, 0, n)
		lon, lat, key = make([]float64, 0, n), make([]float64, 0, n), make([]uint64, 0, n)
		for i := range c.len() {
			if !math.IsNaN(c.lon[i]) {
				b.located = append(b.located, int32(i))
				lon, lat, key = append(lon, c.lon[i]), append(lat, c.lat[i]), append(key, c.key[i])
			}
		}
	}
	ix, err := near.New(lon, lat, key)
	if err != nil {
		return nil, fmt.Errorf("index of wells: %w", err)
	}
	b.index = ix
	return b, nil
}

// rowOf is the row behind a place in the index.
func (b *base) rowOf(k int32) int32 {
	if b.located == nil {
		return k
	}
	return b.located[k]
}

// rowSet is a set of rows, a bit each; nil is empty.
type rowSet []uint64

func (s rowSet) has(i int32) bool { return s != nil && s[i>>6]&(1<<(i&63)) != 0 }

// row finds a well by its id.
func (c *columns) row(id int64) (int32, bool) {
	i, ok := slices.BinarySearch(c.id, id)
	return int32(i), ok
}

// Picture is all wells as they stood at one commit. It never changes.
type Picture struct {
	base    *base
	hidden  rowSet   // rows of base that were replaced or taken out
	hiding  int      // how many those are
	changed *columns // what replaced them, and new wells, by id
	state
}

// state is what a picture holds beside its wells.
type state struct {
	commit    int64
	content   int64 // the commit that last changed a well or a sighting
	rocks     map[uint16]string
	sightings *columns
}

// Commit is the number of the store's state that the picture shows.
func (p *Picture) Commit() int64 { return p.commit }

// Content is the number of the latest commit that changed what the picture
// shows: others (a setting, a job, a kept forecast) leave estimates as they
// are.
func (p *Picture) Content() int64 { return p.content }

// Len is the number of wells.
func (p *Picture) Len() int { return p.base.len() - p.hiding + p.changed.len() }

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
		if !p.hidden.has(i) {
			return Row{p.base.columns, i}, true
		}
	}
	return Row{}, false
}

// Each shows every well until fn returns false.
func (p *Picture) Each(fn func(Row) bool) {
	for i := range int32(p.base.len()) {
		if p.hidden.has(i) {
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
		i := p.base.rowOf(k)
		if p.hidden.has(i) {
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
