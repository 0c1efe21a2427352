package sqlite

import (
	"context"
	"database/sql"

	"tallybook/records"
)

var groundKind = keptKind{word: "elevation grid", table: "ground_grids", docs: "ground_grids", revisions: "ground_revisions"}

// GroundGrids implements records.GroundView.
func (v *view) GroundGrids(ctx context.Context) ([]*records.GroundGrid, error) {
	return v.groundGrids(ctx, "ORDER BY id")
}

func (v *view) groundGrids(ctx context.Context, end string, args ...any) ([]*records.GroundGrid, error) {
	var out []*records.GroundGrid
	err := each(ctx, v, "SELECT id, uid, revision, doc FROM ground_grids "+end, args, func(rows *sql.Rows) error {
		var id, revision int64
		var uid string
		var doc []byte
		if err := rows.Scan(&id, &uid, &revision, &doc); err != nil {
			return err
		}
		g, err := records.ParseGroundGrid(doc)
		if err != nil { // it is told by CheckIntegrity; the others serve
			v.store.o.Log.Warn("an elevation grid cannot be read", "id", id, "error", err)
			return nil
		}
		g.ID, g.UID, g.Revision = id, uid, revision
		out = append(out, g)
		return nil
	})
	return out, err
}

// GroundGrid implements records.GroundView.
func (v *view) GroundGrid(ctx context.Context, id int64) (*records.GroundGrid, error) {
	found, err := v.groundGrids(ctx, "WHERE id = ?", id)
	if err == nil && len(found) == 0 {
		return nil, records.Errorf(records.NotFound, "there is no elevation grid %d", id)
	}
	if err != nil {
		return nil, err
	}
	return found[0], nil
}

// GroundRevisions implements records.GroundView.
func (v *view) GroundRevisions(ctx context.Context, id int64) ([]records.Earlier[records.GroundGrid], error) {
	return earlier(ctx, v, groundKind, id, func(image *records.GroundGrid, doc []byte, revision int64) []records.Fault {
		g, err := records.ParseGroundGrid(doc)
		if g != nil {
			*image = *g
		}
		image.ID, image.Revision = id, revision
		if err != nil {
			return []records.Fault{{Severity: records.Refusal, Field: "grid", Message: err.Error()}}
		}
		return nil
	})
}

// GroundTile implements records.GroundView.
func (v *view) GroundTile(ctx context.Context, grid int64, row, col int) ([]byte, error) {
	var data []byte
	_, err := v.one(ctx, "SELECT data FROM ground_tiles WHERE grid_id = ? AND tile_row = ? AND tile_col = ?", []any{grid, row, col}, &data)
	return data, err
}

// PutGroundGrid implements records.GroundTx.
func (t *tx) PutGroundGrid(ctx context.Context, g *records.GroundGrid, why string) error {
	if err := g.Validate(); err != nil {
		return err
	}
	uid, revision, err := t.admit(ctx, groundKind, g.ID, g.Revision, g.UID)
	if err != nil {
		return err
	}
	doc, err := g.Document()
	if err != nil {
		return err
	}
	if err := t.touch(ctx); err != nil {
		return err
	}
	id, err := t.putRow(ctx, groundKind, g.ID, "uid, revision, state, doc", []any{uid, revision, g.State, string(doc)}, why)
	if err != nil {
		return err
	}
	g.ID, g.UID, g.Revision = id, uid, revision
	return nil
}

// AddGroundTiles implements records.GroundTx.
func (t *tx) AddGroundTiles(ctx context.Context, grid int64, tiles []records.GroundTile) error {
	g, err := t.GroundGrid(ctx, grid)
	if err != nil {
		return err
	}
	if g.State != records.GroundStaged {
		return records.Errorf(records.Conflict, "the elevation grid %q is loaded already", g.Name)
	}
	if err := t.touch(ctx); err != nil {
		return err
	}
	for _, x := range tiles {
		if _, err := t.write(ctx, "INSERT INTO ground_tiles(grid_id, tile_row, tile_col, data) VALUES (?, ?, ?, ?)", grid, x.Row, x.Col, x.Data); err != nil {
			return err
		}
	}
	return nil
}

// DropGroundTiles implements records.GroundTx.
func (t *tx) DropGroundTiles(ctx context.Context, grid int64, most int) (left int64, err error) {
	if err := t.outOfUse(ctx, grid); err != nil {
		return 0, err
	}
	if err := t.touch(ctx); err != nil {
		return 0, err
	}
	if _, err := t.write(ctx, "DELETE FROM ground_tiles WHERE id IN (SELECT id FROM ground_tiles WHERE grid_id = ? LIMIT ?)", grid, most); err != nil {
		return 0, err
	}
	_, err = t.one(ctx, "SELECT count(*) FROM ground_tiles WHERE grid_id = ?", []any{grid}, &left)
	return left, err
}

// DropGroundGrid implements records.GroundTx.
func (t *tx) DropGroundGrid(ctx context.Context, id, revision int64, why string) error {
	if err := t.outOfUse(ctx, id); err != nil {
		return err
	}
	if _, err := t.current(ctx, groundKind, id, revision); err != nil {
		return err
	}
	var tiles int64
	if _, err := t.one(ctx, "SELECT count(*) FROM ground_tiles WHERE grid_id = ?", []any{id}, &tiles); err != nil {
		return err
	}
	if tiles > 0 {
		return records.Errorf(records.Conflict, "the elevation grid still has %d tiles", tiles)
	}
	if err := t.touch(ctx); err != nil {
		return err
	}
	if err := t.keepImage(ctx, groundKind, id, why); err != nil {
		return err
	}
	_, err := t.write(ctx, "DELETE FROM ground_grids WHERE id = ?", id)
	return err
}

// outOfUse refuses to delete what is in use, or is not there.
func (t *tx) outOfUse(ctx context.Context, id int64) error {
	var state string
	found, err := t.one(ctx, "SELECT state FROM ground_grids WHERE id = ?", []any{id}, &state)
	switch {
	case err != nil:
		return err
	case !found:
		return records.Errorf(records.NotFound, "there is no elevation grid %d", id)
	case state == records.GroundInUse:
		return records.Errorf(records.Conflict, "the elevation grid is in use: take it out first")
	}
	return nil
}
