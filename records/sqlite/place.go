package sqlite

import (
	"cmp"
	"context"
	"database/sql"
	"database/sql/driver"
	"slices"

	"tallybook/records"
)

// An intake's wells get their entries in the spatial index after all of them
// are written and before anybody sees them, neighbours one after the other. In
// the order of a file each would touch other pages of the index, and every
// transaction would write most of them again.

// placedAtOnce is how many wells are entered in one transaction.
const placedAtOnce = 32768

// placed is a well that is to be entered. order runs through near places one
// after the other.
type placed struct {
	order    uint64
	id       int64
	lon, lat float64
}

// PlaceBatch implements records.BulkStore.
func (s *Store) PlaceBatch(ctx context.Context, actor records.Actor, batch int64) error {
	return s.placeBatch(ctx, actor, batch, func() {})
}

// placeBatch calls between after it has looked and before it writes.
func (s *Store) placeBatch(ctx context.Context, actor records.Actor, batch int64, between func()) error {
	var list []placed
	var commit int64
	err := s.View(ctx, func(v records.StoreView) (err error) {
		commit = v.Commit()
		list, err = v.(*view).placesOfBatch(ctx, batch)
		return err
	})
	if err != nil {
		return err
	}
	between()
	slices.SortFunc(list, func(a, b placed) int { return cmp.Compare(a.order, b.order) })
	for part := range slices.Chunk(list, placedAtOnce) {
		err := s.Update(ctx, actor, func(u records.StoreTx) error { return u.(*tx).place(ctx, part, commit) })
		if err != nil {
			return err
		}
	}
	return nil
}

func (v *view) placesOfBatch(ctx context.Context, batch int64) (list []placed, err error) {
	var n int64
	if _, err := v.one(ctx, "SELECT count(*) FROM wells WHERE batch_id = ?", []any{batch}, &n); err != nil {
		return nil, err
	}
	list = make([]placed, 0, n)
	err = each(ctx, v, "SELECT id, geom FROM wells WHERE batch_id = ? AND geom IS NOT NULL", []any{batch}, func(rows *sql.Rows) error {
		var p placed
		var geom sql.RawBytes
		if err := rows.Scan(&p.id, &geom); err != nil {
			return err
		}
		var err error
		if p.lon, p.lat, err = parsePoint(geom); err != nil {
			return nil // another program's: it never was in the index
		}
		p.order = interleave(uint32((p.lon+180)/361*(1<<32))) | interleave(uint32((p.lat+90)/181*(1<<32)))<<1
		list = append(list, p)
		return nil
	})
	return list, err
}

// interleave puts a zero before each bit (Morton, 1966).
func interleave(v uint32) uint64 {
	x := uint64(v)
	x = (x | x<<16) & 0x0000ffff0000ffff
	x = (x | x<<8) & 0x00ff00ff00ff00ff
	x = (x | x<<4) & 0x0f0f0f0f0f0f0f0f
	x = (x | x<<2) & 0x3333333333333333
	return (x | x<<1) & 0x5555555555555555
}

// place enters wells into the spatial index that were looked at when commit
// was the last.
func (t *tx) place(ctx context.Context, list []placed, commit int64) error {
	if err := t.touch(ctx); err != nil {
		return err
	}
	var touched bool
	if _, err := t.one(ctx, `SELECT EXISTS (SELECT 1 FROM wells WHERE changed_commit > ?1) OR EXISTS (SELECT 1 FROM removed WHERE removed_commit > ?1)`,
		[]any{commit}, &touched); err != nil {
		return err
	}
	args := make([]driver.NamedValue, 0, 5*len(list))
	for _, p := range list {
		if touched { // perhaps this one, by another program
			var geom []byte
			if found, err := t.one(ctx, "SELECT geom FROM wells WHERE id = ?", []any{p.id}, &geom); err != nil {
				return err
			} else if !found || geom == nil {
				continue
			}
			var err error
			if p.lon, p.lat, err = parsePoint(geom); err != nil {
				continue
			}
		}
		t.extent.add(true, p.lon, p.lat)
		args = appendArgs(args, p.id, p.lon, p.lon, p.lat, p.lat)
	}
	err := t.raw(func(dc any) error { return t.store.inserters.index.insert(dc, args) })
	return t.fail(translate(err, "fill the spatial index"))
}
