package desk

import (
	"cmp"
	"context"
	"slices"

	"tallybook/geo/position"
	"tallybook/records"
)

// groundOut is what the grids have at every well, by its key: read at once in
// the order of the tiles, since wells come in the order of their keys and each
// would ask for another tile.
type groundOut struct {
	ids   []int64
	m     []float64
	grid  []int16
	grids []*groundSource
}

// groundOfAll reads them in a state; nil where no grid is in use.
func (d *Desk) groundOfAll(ctx context.Context, v records.StoreView) (*groundOut, error) {
	if d.ground.bare(v.Commit()) {
		return nil, nil
	}
	sources, err := d.ground.sources(ctx, v)
	if err != nil || len(sources) == 0 {
		return nil, err
	}
	var ids []int64
	var places []position.LonLat
	err = v.Digests(ctx, func(ds []records.Digest) error {
		for i := range ds {
			if ds[i].Lon == ds[i].Lon {
				ids = append(ids, ds[i].ID)
				places = append(places, position.LonLat{Lon: ds[i].Lon, Lat: ds[i].Lat})
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	found := make([]GroundAt, len(places))
	if err := d.ground.read(ctx, v, sources, places, found); err != nil {
		return nil, err
	}
	o := &groundOut{grids: sources}
	number := map[int64]int16{}
	for i, s := range sources {
		number[s.ID] = int16(i)
	}
	for i, at := range found { // digests come in the order of their keys
		if at.OK {
			o.ids, o.m, o.grid = append(o.ids, ids[i]), append(o.m, at.ElevationM), append(o.grid, number[at.GridID])
		}
	}
	return o, nil
}

func (o *groundOut) at(id int64) GroundAt {
	if o == nil {
		return GroundAt{}
	}
	i, ok := slices.BinarySearchFunc(o.ids, id, cmp.Compare[int64])
	if !ok {
		return GroundAt{}
	}
	g := o.grids[o.grid[i]]
	return GroundAt{OK: true, ElevationM: o.m[i], GridID: g.ID, Grid: g.Name, Datum: g.VertDatum, CellM: g.CellM}
}
