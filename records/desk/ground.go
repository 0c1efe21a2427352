package desk

import (
	"cmp"
	"container/list"
	"context"
	"math"
	"slices"
	"sync"

	"tallybook/geo/ground"
	"tallybook/geo/position"
	"tallybook/geo/surface"
	"tallybook/records"
)

// GroundAt is the elevation of the ground at a place as the loaded grids have
// it: derived, never observed, and to be shown with the grid's name.
type GroundAt struct {
	OK         bool    // whether a grid in use has a height there
	ElevationM float64 // in the grid's vertical datum
	GridID     int64
	Grid       string  // the grid's name
	Datum      string  // vertical, "" where nobody says
	CellM      float64 // how wide the grid's cells are on the ground
}

// Ground gives the elevation of the ground at a place: that of the grid with
// the finest cells that has one there. Where none has, OK is false.
func (d *Desk) Ground(ctx context.Context, actor records.Actor, at position.LonLat) (GroundAt, error) {
	out, err := d.GroundAlong(ctx, actor, []position.LonLat{at})
	if err != nil {
		return GroundAt{}, err
	}
	return out[0], nil
}

// GroundAlong gives the elevation of the ground at each of many places, in
// their order: the stations of a line, the nodes of a grid, wells. It reads
// each tile once where the places allow it.
func (d *Desk) GroundAlong(ctx context.Context, actor records.Actor, places []position.LonLat) ([]GroundAt, error) {
	if err := d.Permit(actor, Look); err != nil {
		return nil, err
	}
	out := make([]GroundAt, len(places))
	commit, err := d.store.Changes(ctx)
	if err != nil {
		return nil, err
	}
	if d.ground.bare(commit) { // most offices have no grid: nothing is read for them
		return out, nil
	}
	err = d.store.View(ctx, func(v records.StoreView) error {
		sources, err := d.ground.sources(ctx, v)
		if err != nil || len(sources) == 0 {
			return err
		}
		return d.ground.read(ctx, v, sources, places, out)
	})
	return out, err
}

// HasGround says whether any elevation grid is in use.
func (d *Desk) HasGround(ctx context.Context, actor records.Actor) (bool, error) {
	list, err := d.groundSources(ctx, actor)
	return len(list) > 0, err
}

func (d *Desk) groundSources(ctx context.Context, actor records.Actor) ([]*groundSource, error) {
	return look(ctx, d, actor, func(v records.StoreView) ([]*groundSource, error) { return d.ground.sources(ctx, v) })
}

// groundSource is a grid in use, ready to be read.
type groundSource struct {
	*records.GroundGrid
	frame ground.Frame
	on    position.Projection
	unitM float64
}

// at puts a place into the grid's coordinates; ok is false where it cannot lie
// in it, which spares the projection. A grid may span the antimeridian only in
// metres.
func (s *groundSource) at(p position.LonLat) (x, y float64, ok bool) {
	if !s.Bounds.Has(p.Lon, p.Lat) {
		return 0, 0, false
	}
	x, y = s.on.Forward(p)
	return x, y, true
}

// mostTiles is how many tiles are held unpacked, at 128 KiB each.
const mostTiles = 96

// groundShelf holds what was read of the grids: which are in use as of a
// commit, and the tiles used last.
type groundShelf struct {
	mu     sync.Mutex
	known  bool
	commit int64
	list   []*groundSource
	// changed is the commit at which the list was found to be another one.
	changed int64
	tiles   map[groundKey]*list.Element
	recent  *list.List // of *heldTile, latest first
}

type groundKey struct {
	grid     int64
	row, col int
}

type heldTile struct {
	key  groundKey
	tile *ground.Tile // nil: it has no height
}

// bare says whether as of a commit there is known to be no grid.
func (g *groundShelf) bare(commit int64) bool {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.known && g.commit == commit && len(g.list) == 0
}

// sources are the grids in use, the finest first; of two alike the one that was
// loaded last.
func (g *groundShelf) sources(ctx context.Context, v records.StoreView) ([]*groundSource, error) {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.known && g.commit == v.Commit() {
		return g.list, nil
	}
	grids, err := v.GroundGrids(ctx)
	if err != nil {
		return nil, err
	}
	var out []*groundSource
	for _, x := range grids {
		if x.State != records.GroundInUse {
			continue
		}
		on, err := position.EPSG(x.EPSG)
		if err != nil {
			return nil, &records.Error{Code: records.Invalid, Message: err.Error(), Field: x.Name}
		}
		out = append(out, &groundSource{GroundGrid: x, frame: frameOf(x), on: on, unitM: x.UnitM()})
	}
	slices.SortFunc(out, func(a, b *groundSource) int {
		return cmp.Or(cmp.Compare(a.CellM, b.CellM), cmp.Compare(b.ID, a.ID))
	})
	if !slices.EqualFunc(g.list, out, func(a, b *groundSource) bool { return a.ID == b.ID && a.Revision == b.Revision }) {
		g.changed = v.Commit()
	}
	g.known, g.commit, g.list = true, v.Commit(), out
	return out, nil
}

// lastChange is the commit at which the grids in use were last found to be
// others; 0 where there was none yet.
func (g *groundShelf) lastChange() int64 {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.changed
}

func frameOf(g *records.GroundGrid) ground.Frame {
	return ground.Frame{Grid: surface.Grid{Cols: g.Cols, Rows: g.Rows, MinX: g.MinX, MinY: g.MinY, CellW: g.CellW, CellH: g.CellH}}
}

// read fills in the elevations of places. Those of one tile are read together,
// and what a fine grid has none for is asked of the next.
func (g *groundShelf) read(ctx context.Context, v records.StoreView, sources []*groundSource, places []position.LonLat, out []GroundAt) error {
	type asked struct {
		i        int
		x, y     float64
		row, col int
	}
	for _, s := range sources {
		var list []asked
		for i, p := range places {
			if out[i].OK {
				continue
			}
			x, y, ok := s.at(p)
			if !ok {
				continue
			}
			if row, col, ok := s.frame.TileAt(x, y); ok {
				list = append(list, asked{i, x, y, row, col})
			}
		}
		slices.SortFunc(list, func(a, b asked) int {
			return cmp.Or(cmp.Compare(a.row, b.row), cmp.Compare(a.col, b.col), cmp.Compare(a.i, b.i))
		})
		tiles := func(row, col int) (*ground.Tile, error) { return g.tile(ctx, v, groundKey{s.ID, row, col}) }
		for k, q := range list {
			if k%1024 == 0 && ctx.Err() != nil {
				return ctx.Err()
			}
			h, err := s.frame.At(tiles, q.x, q.y)
			if err != nil {
				return err
			}
			if !math.IsNaN(h) {
				out[q.i] = GroundAt{OK: true, ElevationM: h * s.unitM, GridID: s.ID, Grid: s.Name, Datum: s.VertDatum, CellM: s.CellM}
			}
		}
	}
	return nil
}

// tile gives a tile, unpacked. The tiles of a grid never change, and no other
// grid gets its key.
func (g *groundShelf) tile(ctx context.Context, v records.StoreView, key groundKey) (*ground.Tile, error) {
	g.mu.Lock()
	defer g.mu.Unlock()
	if e, ok := g.tiles[key]; ok {
		g.recent.MoveToFront(e)
		return e.Value.(*heldTile).tile, nil
	}
	data, err := v.GroundTile(ctx, key.grid, key.row, key.col)
	if err != nil {
		return nil, err
	}
	held := &heldTile{key: key}
	if data != nil {
		held.tile = new(ground.Tile)
		if err := ground.Unpack(data, held.tile); err != nil {
			return nil, records.WrapError(records.Invalid, err, "a part of the elevation grid is damaged: run 'tallybook check' on the database, then load the grid again")
		}
	}
	if g.tiles == nil {
		g.tiles, g.recent = map[groundKey]*list.Element{}, list.New()
	}
	g.tiles[key] = g.recent.PushFront(held)
	for g.recent.Len() > mostTiles {
		last := g.recent.Back()
		delete(g.tiles, last.Value.(*heldTile).key)
		g.recent.Remove(last)
	}
	return held.tile, nil
}
