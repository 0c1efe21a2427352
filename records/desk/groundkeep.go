package desk

import (
	"context"
	"errors"
	"slices"

	"tallybook/records"
)

// GroundGrids lists the elevation grids in use and those that were taken out
// and can be put back, the finest first as they are read. One that is being
// loaded is not among them.
func (d *Desk) GroundGrids(ctx context.Context, actor records.Actor) ([]*records.GroundGrid, error) {
	list, err := look(ctx, d, actor, func(v records.StoreView) ([]*records.GroundGrid, error) { return v.GroundGrids(ctx) })
	list = slices.DeleteFunc(list, func(g *records.GroundGrid) bool { return g.State == records.GroundStaged })
	slices.SortStableFunc(list, func(a, b *records.GroundGrid) int {
		switch {
		case a.State != b.State && a.State == records.GroundInUse:
			return -1
		case a.State != b.State:
			return 1
		case a.CellM < b.CellM:
			return -1
		case a.CellM > b.CellM:
			return 1
		}
		return int(b.ID - a.ID)
	})
	return list, err
}

// TakeOutGround takes a grid out of use; its heights are kept, and it can be put
// back. revision is the one that the person saw.
func (d *Desk) TakeOutGround(ctx context.Context, actor records.Actor, id, revision int64, why string) (*records.GroundGrid, error) {
	return d.moveGround(ctx, actor, id, revision, records.GroundInUse, records.GroundOut, why)
}

// PutBackGround puts a grid that was taken out into use again.
func (d *Desk) PutBackGround(ctx context.Context, actor records.Actor, id, revision int64, why string) (*records.GroundGrid, error) {
	return d.moveGround(ctx, actor, id, revision, records.GroundOut, records.GroundInUse, why)
}

func (d *Desk) moveGround(ctx context.Context, actor records.Actor, id, revision int64, from, to, why string) (*records.GroundGrid, error) {
	if err := d.Permit(actor, Administer); err != nil {
		return nil, err
	}
	var g *records.GroundGrid
	err := d.update(ctx, actor, func(tx records.StoreTx) error {
		all, err := tx.GroundGrids(ctx)
		if err != nil {
			return err
		}
		at := slices.IndexFunc(all, func(x *records.GroundGrid) bool { return x.ID == id && x.State != records.GroundStaged })
		if at < 0 {
			return records.Errorf(records.NotFound, "there is no elevation grid %d", id)
		}
		g = all[at]
		if g.State != from {
			return records.Errorf(records.Conflict, "the elevation grid %q was taken out or put back by somebody else meanwhile: look at it again", g.Name)
		}
		if to == records.GroundInUse && slices.ContainsFunc(all, func(x *records.GroundGrid) bool { return x.State == records.GroundInUse && x.Name == g.Name }) {
			return records.Errorf(records.Conflict, "another elevation grid of the name %q is in use: take that one out first", g.Name)
		}
		g.Revision, g.State = revision, to
		return tx.PutGroundGrid(ctx, g, why)
	})
	if err != nil {
		return nil, err
	}
	return g, nil
}

// DeleteGround deletes a grid that was taken out, with its heights, for good:
// nothing brings it back but its file.
func (d *Desk) DeleteGround(ctx context.Context, actor records.Actor, id, revision int64, why string) error {
	if err := d.Permit(actor, Administer); err != nil {
		return err
	}
	g, err := look(ctx, d, actor, func(v records.StoreView) (*records.GroundGrid, error) { return v.GroundGrid(ctx, id) })
	switch {
	case err != nil:
		return err
	case g.State != records.GroundOut:
		return records.Errorf(records.Conflict, "the elevation grid %q is in use: take it out first", g.Name)
	}
	release, err := d.oneGround(ctx, actor)
	if err != nil {
		return err
	}
	// From here on it cannot be put back: part of it may be gone.
	g.Revision, g.State = revision, records.GroundStaged
	if err := d.update(ctx, actor, func(tx records.StoreTx) error { return tx.PutGroundGrid(ctx, g, why) }); err != nil {
		return errors.Join(err, release())
	}
	return errors.Join(d.dropGround(ctx, actor, g, why), release())
}

// dropGround deletes a grid that nobody sees, some tiles at a time.
func (d *Desk) dropGround(ctx context.Context, actor records.Actor, g *records.GroundGrid, why string) error {
	for left := int64(1); left > 0; {
		err := d.store.Update(ctx, actor, func(tx records.StoreTx) (err error) {
			left, err = tx.DropGroundTiles(ctx, g.ID, chunkTiles)
			return err
		})
		if err != nil {
			return err
		}
	}
	return d.update(ctx, actor, func(tx records.StoreTx) error { return tx.DropGroundGrid(ctx, g.ID, g.Revision, why) })
}
