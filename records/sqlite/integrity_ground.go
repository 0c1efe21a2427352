package sqlite

import (
	"context"
	"database/sql"
	"fmt"

	"tallybook/geo/ground"
	"tallybook/geo/surface"
	"tallybook/records"
)

// ground holds the elevation grids against their tiles: each tile belongs to a
// grid, lies in it and can be read, and a grid in use has as many cells with a
// height as it says.
func (c *integrity) ground(ctx context.Context) error {
	const mend = "remove the grid and load its file again"
	grids := map[int64]*records.GroundGrid{}
	err := each(ctx, c.view, "SELECT id, state, doc FROM ground_grids ORDER BY id", nil, func(rows *sql.Rows) error {
		var id int64
		var state string
		var doc []byte
		if err := rows.Scan(&id, &state, &doc); err != nil {
			return err
		}
		g, err := records.ParseGroundGrid(doc)
		switch {
		case err != nil:
			c.add("ground", fmt.Sprintf("elevation grid %d cannot be read: %v", id, err), mend)
		case g.State != state:
			c.add("ground", fmt.Sprintf("elevation grid %d: the list says %s, and the text %s", id, state, g.State), mend)
		case state == records.GroundStaged:
			c.mention("ground", fmt.Sprintf("the loading of the elevation grid %q was not finished: nobody sees any of it, and the next loading clears it away", g.Name), "nothing has to be done")
		}
		grids[id] = g
		return nil
	})
	if err != nil {
		return err
	}
	filled := map[int64]int64{}
	found := 0
	err = each(ctx, c.view, "SELECT grid_id, tile_row, tile_col, data FROM ground_tiles ORDER BY id", nil, func(rows *sql.Rows) error {
		var id int64
		var row, col int
		var data []byte
		if err := rows.Scan(&id, &row, &col, &data); err != nil {
			return err
		}
		g := grids[id]
		words := ""
		if g == nil {
			words = "belongs to no grid"
		} else if f := (ground.Frame{Grid: surface.Grid{Cols: g.Cols, Rows: g.Rows}}); row < 0 || row >= f.TileRows() || col < 0 || col >= f.TileCols() {
			words = "lies outside of it"
		} else {
			var tile ground.Tile
			if err := ground.Unpack(data, &tile); err != nil {
				words = "is damaged"
			}
			for _, v := range tile {
				if v == v {
					filled[id]++
				}
			}
		}
		if words != "" && found < mostFaults {
			found++
			c.add("ground", fmt.Sprintf("the tile %d, %d of elevation grid %d %s", row, col, id, words), mend)
		}
		return ctx.Err()
	})
	if err != nil {
		return err
	}
	for id, g := range grids {
		if g != nil && g.State != records.GroundStaged && found == 0 && filled[id] != g.Filled {
			c.add("ground", fmt.Sprintf("elevation grid %d (%q) has %d cells with a height, and says %d", id, g.Name, filled[id], g.Filled), mend)
		}
	}
	return nil
}
