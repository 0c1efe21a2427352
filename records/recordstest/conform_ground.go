package recordstest

import (
	"bytes"
	"context"
	"errors"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
)

// Ground is an invented elevation grid as it is put when its loading begins.
func Ground() *records.GroundGrid {
	return &records.GroundGrid{Name: "Invented hills", State: records.GroundStaged, Source: "hills.asc", EPSG: 32619, Datum: "WGS 84",
		Cols: 300, Rows: 200, MinX: 400000, MinY: 4.9e6, CellW: 10, CellH: 10, Unit: "ft", VertDatum: "invented", CellM: 10,
		Bounds: records.Bounds{West: -70.2, South: 44.2, East: -70.1, North: 44.3}}
}

// ConformGround holds a store against what is asked of it for elevation grids.
func ConformGround(t *testing.T, open Opener) {
	t.Run("written, revised and deleted", func(t *testing.T) { groundKept(t, open(t)) })
	t.Run("stale and wrong writes", func(t *testing.T) { groundRefused(t, open(t)) })
	t.Run("all or nothing", func(t *testing.T) {
		s := open(t)
		undone(t, s, func(ctx context.Context, tx records.StoreTx) error {
			g := Ground()
			return errors.Join(tx.PutGroundGrid(ctx, g, ""), tx.AddGroundTiles(ctx, g.ID, []records.GroundTile{{Data: []byte{1}}}))
		})
		look(t, s, func(ctx context.Context, v records.StoreView) error {
			all, err := v.GroundGrids(ctx)
			if len(all) != 0 {
				t.Errorf("%d grids were left", len(all))
			}
			return err
		})
	})
}

func groundKept(t *testing.T, s records.Store) {
	g := Ground()
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		return errors.Join(tx.PutGroundGrid(ctx, g, "not kept: there was nothing before"),
			tx.AddGroundTiles(ctx, g.ID, []records.GroundTile{{Row: 0, Col: 2, Data: []byte("north-east")}, {Row: 1, Col: 0, Data: []byte("south-west")}}))
	})
	if g.ID == 0 || g.Revision != 1 || len(g.UID) != 36 {
		t.Errorf("key %d, revision %d, uid %q", g.ID, g.Revision, g.UID)
	}
	staged := *g
	g.State, g.Filled = records.GroundInUse, 42
	write(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.PutGroundGrid(ctx, g, "loaded") })
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		got, err := v.GroundGrid(ctx, g.ID)
		if diff := cmp.Diff(g, got); diff != "" {
			t.Errorf("as written and read:\n%s", diff)
		}
		all, err2 := v.GroundGrids(ctx)
		if diff := cmp.Diff([]*records.GroundGrid{g}, all); diff != "" {
			t.Errorf("all of them:\n%s", diff)
		}
		revs, err3 := v.GroundRevisions(ctx, g.ID)
		staged.UID = "" // an image has the text alone
		if len(revs) != 1 || !cmp.Equal(&staged, revs[0].Image) || revs[0].Why != "loaded" || revs[0].By != Writer().Name {
			t.Errorf("earlier states: %+v", revs)
		}
		for _, c := range []struct {
			row, col int
			want     []byte
		}{{0, 2, []byte("north-east")}, {1, 0, []byte("south-west")}, {0, 0, nil}} {
			data, err := v.GroundTile(ctx, g.ID, c.row, c.col)
			if err != nil || !bytes.Equal(data, c.want) {
				t.Errorf("tile %d, %d: %q, %v", c.row, c.col, data, err)
			}
		}
		if _, err := v.GroundGrid(ctx, 999); records.CodeOf(err) != records.NotFound {
			t.Errorf("one that is not there: %v", err)
		}
		return errors.Join(err, err2, err3)
	})
	g.State = records.GroundOut
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		err := tx.PutGroundGrid(ctx, g, "")
		left, err2 := tx.DropGroundTiles(ctx, g.ID, 1)
		if left != 1 {
			t.Errorf("%d tiles are left, want 1", left)
		}
		if err := tx.DropGroundGrid(ctx, g.ID, g.Revision, ""); records.CodeOf(err) != records.Conflict {
			t.Errorf("deleted with its tiles: %v", err)
		}
		left, err3 := tx.DropGroundTiles(ctx, g.ID, 10)
		if left != 0 {
			t.Errorf("%d tiles are left, want 0", left)
		}
		return errors.Join(err, err2, err3, tx.DropGroundGrid(ctx, g.ID, g.Revision, "not needed"))
	})
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		if _, err := v.GroundGrid(ctx, g.ID); records.CodeOf(err) != records.NotFound {
			t.Errorf("deleted and still there: %v", err)
		}
		revs, err := v.GroundRevisions(ctx, g.ID)
		if len(revs) != 3 || revs[0].Why != "not needed" || revs[0].Image.Filled != 42 {
			t.Errorf("earlier states of what was deleted: %+v", revs)
		}
		return err
	})
}

func groundRefused(t *testing.T, s records.Store) {
	g := Ground()
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		err := tx.PutGroundGrid(ctx, g, "")
		g.State = records.GroundInUse
		return errors.Join(err, tx.PutGroundGrid(ctx, g, ""))
	})
	put := func(change func(g *records.GroundGrid)) func(context.Context, records.StoreTx) error {
		return func(ctx context.Context, tx records.StoreTx) error {
			x := *g
			change(&x)
			return tx.PutGroundGrid(ctx, &x, "")
		}
	}
	before := commits(t, s)
	refused(t, s, "stale", records.Conflict, put(func(x *records.GroundGrid) { x.Revision = 1 }))
	refused(t, s, "another name in public", records.Conflict, put(func(x *records.GroundGrid) { x.UID = "other" }))
	refused(t, s, "gone", records.NotFound, put(func(x *records.GroundGrid) { x.ID = 999 }))
	refused(t, s, "without a name", records.Invalid, put(func(x *records.GroundGrid) { x.Name = "" }))
	refused(t, s, "without a unit", records.Invalid, put(func(x *records.GroundGrid) { x.Unit = "" }))
	refused(t, s, "tiles of a grid in use", records.Conflict, func(ctx context.Context, tx records.StoreTx) error {
		return tx.AddGroundTiles(ctx, g.ID, []records.GroundTile{{Data: []byte{1}}})
	})
	refused(t, s, "dropping tiles in use", records.Conflict, func(ctx context.Context, tx records.StoreTx) error {
		_, err := tx.DropGroundTiles(ctx, g.ID, 10)
		return err
	})
	refused(t, s, "dropping a grid in use", records.Conflict, func(ctx context.Context, tx records.StoreTx) error {
		return tx.DropGroundGrid(ctx, g.ID, g.Revision, "")
	})
	if now := commits(t, s); now != before {
		t.Errorf("refused writes left commit %d, want %d", now, before)
	}
}
