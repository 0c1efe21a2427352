package desk

import (
	"cmp"
	"context"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/snapshot"
)

// InventoryAsk says of which part of the earth an inventory is: everything
// within RadiusM of At, or an outline.
type InventoryAsk struct {
	At      position.LonLat
	RadiusM float64 // 0: the outline counts
	Outline orb.MultiPolygon
	Name    string // what the outline is called
	// Picks is a set of own picks by which bedrock goes, "" for none. An
	// inventory lists every well, and what is marked unreliable with its mark.
	Picks   string
	Private bool // with people's names and addresses
}

// Inventory is every well of an area.
type Inventory struct {
	Ask  InventoryAsk
	From position.LonLat // distances and directions are from here: the place, or the middle of the outline
	// Wells are those within, then those that may lie within, each in order of
	// distance.
	Wells     []InventoryWell
	Within    int // of these surely, as far as positions are known
	May       int
	Unlocated int   // records that have no position, and may lie anywhere
	Commit    int64 // the state of the records
}

// InventoryWell is one well of it.
type InventoryWell struct {
	Well       *records.Well
	Picks      records.Picks // as the log says, or as picked in the set asked for
	DistanceM  float64       // along the geodesic
	BearingDeg float64       // from the place, clockwise from north
	EdgeM      float64       // how far inside the edge; negative outside of it
	// May says that the well may lie within, and as well not: its position is
	// no better than the edge is near, or is marked unreliable.
	May bool
}

// mostInventory is how many wells an inventory lists: more nobody reads, and
// they would all be held at once.
const mostInventory = 2000

// mostInventoryRadiusM is the greatest radius.
const mostInventoryRadiusM = 200_000

// Inventory lists the wells of an area. A well whose circle of accuracy crosses
// the edge is told apart, whichever side its position is on.
func (d *Desk) Inventory(ctx context.Context, actor records.Actor, ask InventoryAsk) (*Inventory, error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	if ask.Private {
		if err := d.Permit(actor, SeePrivate); err != nil {
			return nil, err
		}
	}
	edge, err := edgeOf(&ask)
	if err != nil {
		return nil, err
	}
	p := d.Picture()
	inv := &Inventory{Ask: ask, From: edge.from, Commit: p.Commit()}
	var found []inventoryRow
	p.Each(func(r snapshot.Row) bool {
		lon, lat, located := r.Position()
		if !located {
			inv.Unlocated++
			return true
		}
		if row, ok := edge.take(r, position.LonLat{Lon: lon, Lat: lat}); ok {
			found = append(found, row)
		}
		return len(found) <= mostInventory
	})
	if len(found) > mostInventory {
		return nil, records.Errorf(records.TooLarge, "more than %d wells lie there: choose a smaller radius or outline", mostInventory)
	}
	slices.SortFunc(found, func(a, b inventoryRow) int {
		if a.May != b.May {
			if b.May {
				return -1
			}
			return 1
		}
		return cmp.Or(cmp.Compare(a.DistanceM, b.DistanceM), cmp.Compare(a.key, b.key))
	})
	return inv, d.fillInventory(ctx, actor, inv, found)
}

// inventoryRow is a well that was found, ahead of reading its record.
type inventoryRow struct {
	InventoryWell
	id  int64
	key uint64
}

// fillInventory reads the records of what was found, of one state.
func (d *Desk) fillInventory(ctx context.Context, actor records.Actor, inv *Inventory, found []inventoryRow) error {
	private := inv.Ask.Private && d.Permit(actor, SeePrivate) == nil
	return d.store.View(ctx, func(v records.StoreView) error {
		inv.Commit = v.Commit()
		for i := range found {
			w, err := v.Well(ctx, found[i].id)
			if records.CodeOf(err) == records.NotFound {
				continue // taken out since the picture was made
			}
			if err != nil {
				return err
			}
			row := found[i].InventoryWell
			row.Picks = records.Trust{Marked: true, Picks: inv.Ask.Picks}.PicksOf(w, d.vocabulary)
			if !private {
				blankPrivate(w)
			}
			row.Well = w
			if row.May {
				inv.May++
			} else {
				inv.Within++
			}
			inv.Wells = append(inv.Wells, row)
		}
		return nil
	})
}

// inventoryEdge measures wells against the edge of an area.
type inventoryEdge struct {
	area   snapshot.Area
	from   position.LonLat
	radius float64 // 0: an outline
	shape  orb.MultiPolygon
	box    records.Bounds
}

func edgeOf(ask *InventoryAsk) (*inventoryEdge, error) {
	if ask.RadiusM > 0 {
		if err := ask.At.Valid(); err != nil {
			return nil, &records.Error{Code: records.Invalid, Field: "at", Message: err.Error()}
		}
		if ask.RadiusM > mostInventoryRadiusM {
			return nil, records.Errorf(records.Invalid, "a radius of %.0f km is too great: at most %d km", ask.RadiusM/1000, mostInventoryRadiusM/1000)
		}
		area := snapshot.CircleArea(ask.At, ask.RadiusM)
		return &inventoryEdge{area: area, from: ask.At, radius: ask.RadiusM, box: area.Box()}, nil
	}
	if len(ask.Outline) == 0 {
		return nil, records.Errorf(records.Invalid, "say of which place: a position with a radius above 0, or an outline")
	}
	area, err := snapshot.OutlineArea(ask.Outline)
	if err != nil {
		return nil, err
	}
	middle, _ := planar.CentroidArea(ask.Outline)
	e := &inventoryEdge{area: area, from: position.LonLat{Lon: middle[0], Lat: middle[1]}, shape: ask.Outline, box: area.Box()}
	if err := e.from.Valid(); err != nil { // an outline without an area
		e.from = position.LonLat{Lon: ask.Outline[0][0][0][0], Lat: ask.Outline[0][0][0][1]}
	}
	return e, nil
}

// take measures a well; ok is false where it does not lie within, whatever the
// accuracy of its position.
func (e *inventoryEdge) take(r snapshot.Row, at position.LonLat) (row inventoryRow, ok bool) {
	reach := r.AccuracyM()
	in := e.area.Has(at.Lon, at.Lat)
	if !in && !(reach > 0 && reaches(e.box, at, reach)) {
		return row, false
	}
	row = inventoryRow{id: r.ID(), key: r.Key()}
	row.DistanceM, row.BearingDeg = position.Distance(e.from, at)
	if e.radius > 0 {
		row.EdgeM = e.radius - row.DistanceM
	} else if row.EdgeM = edgeDistance(e.shape, at); !in {
		row.EdgeM = -row.EdgeM
	}
	if !in && -row.EdgeM > reach {
		return row, false
	}
	row.May = !in || row.EdgeM < reach || r.Unreliable()&records.PositionUnreliable != 0
	return row, true
}

// metresPerDegree is less than the shortest degree of latitude on the ellipsoid
// (110,574 m at the equator), so that boxes made with it are never too small.
const metresPerDegree = 110_500

// reaches says whether a place lies within reachM of a box, or might.
func reaches(b records.Bounds, at position.LonLat, reachM float64) bool {
	dLat := reachM / metresPerDegree
	if at.Lat < b.South-dLat || at.Lat > b.North+dLat {
		return false
	}
	c := math.Cos(min(89.9, math.Abs(at.Lat)+dLat) * math.Pi / 180)
	dLon := dLat / c
	if b.West > b.East || b.West-dLon < -180 || b.East+dLon > 180 {
		return true // over the antimeridian: measured
	}
	return at.Lon >= b.West-dLon && at.Lon <= b.East+dLon
}

// edgeDistance is the distance in metres from a place to the nearest border of
// polygons, holes included. Edges run straight in longitude and latitude. The
// nearest point of an edge is found by the lengths of a degree at the place, the
// distance to it measured along the geodesic: right to a millimetre within a
// kilometre, and to a per cent far off, where nothing is decided by it.
func edgeDistance(shape orb.MultiPolygon, at position.LonLat) float64 {
	const step = 1e-3 // degrees
	towards := -step
	if at.Lat < 0 {
		towards = step
	}
	plane := position.NewPlane(at)
	_, y := plane.ToXY(position.LonLat{Lon: at.Lon, Lat: at.Lat + towards})
	x, _ := plane.ToXY(position.LonLat{Lon: at.Lon + step, Lat: at.Lat})
	perLat, perLon := y/towards, x/step
	best, nearest := math.Inf(1), at
	for _, polygon := range shape {
		for _, ring := range polygon {
			for i := 1; i < len(ring); i++ {
				ax, ay := (ring[i-1][0]-at.Lon)*perLon, (ring[i-1][1]-at.Lat)*perLat
				bx, by := (ring[i][0]-at.Lon)*perLon, (ring[i][1]-at.Lat)*perLat
				t := 0.0
				if dx, dy := bx-ax, by-ay; dx != 0 || dy != 0 {
					t = min(max(-(ax*dx+ay*dy)/(dx*dx+dy*dy), 0), 1)
				}
				x, y := ax+t*(bx-ax), ay+t*(by-ay)
				if sq := x*x + y*y; sq < best {
					best = sq
					nearest = position.LonLat{Lon: ring[i-1][0] + t*(ring[i][0]-ring[i-1][0]), Lat: ring[i-1][1] + t*(ring[i][1]-ring[i-1][1])}
				}
			}
		}
	}
	m, _ := position.Distance(at, nearest)
	return m
}
