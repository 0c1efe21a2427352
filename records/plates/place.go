package plates

import (
	"math"
	"slices"
)

// Levels of places: how many times their joint accuracy two lie apart.
const (
	placeWithin = iota
	placeTwice
	placeFour
	placeTen
	placeFar
)

var placeRatios = [...]float64{placeWithin: 1, placeTwice: 2, placeFour: 4, placeTen: 10}

// metresPerDegree of latitude on a sphere of 6,371,008.8 m, the mean radius
// of WGS 84; for distances of a few kilometres it is good to half a percent.
const metresPerDegree = 6371008.8 * math.Pi / 180

// apartM is the distance between two places near each other, metres.
func apartM(a, b *spot) float64 {
	dLat := a.lat - b.lat
	dLon := math.Remainder(a.lon-b.lon, 360)
	return metresPerDegree * math.Hypot(dLat, dLon*math.Cos((a.lat+b.lat)/2*math.Pi/180))
}

func jointM(a, b *spot) float64 { return math.Hypot(a.accuracyM, b.accuracyM) }

// compareSpots takes the best of the places on each side.
func compareSpots(a, b []spot) (level int, i, j int) {
	if len(a) == 0 || len(b) == 0 {
		return missing, 0, 0
	}
	best := math.Inf(1)
	for x := range a {
		for y := range b {
			if r := apartM(&a[x], &b[y]) / jointM(&a[x], &b[y]); r < best {
				best, i, j = r, x, y
			}
		}
	}
	for l, r := range placeRatios {
		if best <= r {
			return l, i, j
		}
	}
	return placeFar, i, j
}

// grid finds records by place: rows of latitude, cut into cells about as wide
// as they are high.
type grid struct {
	cells []cell
	where map[uint64]int32 // of a cell: its place in cells
	of    []int32          // records, cell by cell
}

type cell struct {
	key      uint64
	from, to int32
}

const cellDegrees = 0.005 // some 550 m

func rowOf(lat float64) int { return int(math.Floor((lat + 90) / cellDegrees)) }

// columnsIn is how many cells a row has around the earth.
func columnsIn(row int) int {
	lat := (float64(row)+0.5)*cellDegrees - 90
	return max(1, int(360*math.Cos(lat*math.Pi/180)/cellDegrees))
}

func columnOf(lon float64, columns int) int {
	c := int(math.Floor((lon + 180) / 360 * float64(columns)))
	return ((c % columns) + columns) % columns
}

func cellKey(row, column int) uint64 { return uint64(row)<<32 | uint64(column) }

func newGrid(f *file) *grid {
	type placed struct {
		key uint64
		i   int32
	}
	var all []placed
	for i := range int32(f.len()) {
		if f.located(i) {
			row := rowOf(f.row[i].lat)
			all = append(all, placed{cellKey(row, columnOf(f.row[i].lon, columnsIn(row))), i})
		}
	}
	slices.SortFunc(all, func(a, b placed) int {
		switch {
		case a.key != b.key && a.key < b.key:
			return -1
		case a.key != b.key:
			return 1
		}
		return int(a.i - b.i)
	})
	g := &grid{where: map[uint64]int32{}, of: make([]int32, len(all))}
	for k, p := range all {
		g.of[k] = p.i
		if k == 0 || all[k-1].key != p.key {
			g.where[p.key] = int32(len(g.cells))
			g.cells = append(g.cells, cell{key: p.key, from: int32(k)})
		}
		g.cells[len(g.cells)-1].to = int32(k + 1)
	}
	return g
}

// around gives the records of the cells that a circle touches, and tells how
// many cells those are.
func (g *grid) around(s *spot, radiusM float64, give func(i int32)) (cells int) {
	high := radiusM / metresPerDegree
	for row := rowOf(s.lat - high); row <= rowOf(s.lat+high); row++ {
		columns := columnsIn(row)
		wide := high / math.Max(0.01, math.Cos(s.lat*math.Pi/180))
		first := int(math.Floor((s.lon - wide + 180) / 360 * float64(columns)))
		last := int(math.Floor((s.lon + wide + 180) / 360 * float64(columns)))
		last = min(last, first+columns-1)
		for c := first; c <= last; c++ {
			cells++
			at, ok := g.where[cellKey(row, ((c%columns)+columns)%columns)]
			if !ok {
				continue
			}
			for _, i := range g.of[g.cells[at].from:g.cells[at].to] {
				give(i)
			}
		}
	}
	return cells
}

// densityM2 is how many records stand on a square metre about a place, one
// more than there are; own is a record not to be counted, or -1.
func (g *grid) densityM2(s *spot, own int32) float64 {
	const reachM, cellM = 800, cellDegrees * metresPerDegree
	n := 1
	cells := g.around(s, reachM, func(i int32) {
		if i != own {
			n++
		}
	})
	return float64(n) / (float64(max(cells, 1)) * cellM * cellM)
}
