package sqlite

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"strings"

	"tallybook/records"
)

// What another program wrote into the columns of the layer is taken into the
// record at once on reading, and into the file by the next transaction of the
// program's own. Triggers have by then kept the earlier image, raised the
// revision and given the change a commit number.

// overlay puts what the columns of w.ID hold into w where they differ from
// what w would put there. What cannot be used is left as the record has it
// and told.
func (v *view) overlay(ctx context.Context, w *records.Well) ([]records.Fault, error) {
	groups := v.store.groups
	var names []string
	for _, g := range groups {
		names = append(names, g.names...)
	}
	var uid sql.NullString
	var values []driver.Value
	err := each(ctx, v, "SELECT uid, "+strings.Join(names, ", ")+" FROM wells WHERE id = ?", []any{w.ID}, func(rows *sql.Rows) (err error) {
		values, err = scanValues(rows, len(names)+1)
		return err
	})
	if err != nil || values == nil {
		return nil, err
	}
	if err := uid.Scan(values[0]); err != nil {
		return nil, translate(err, "uid")
	}
	w.UID = uid.String
	values = values[1:]
	var faults []records.Fault
	for _, g := range groups {
		n := len(g.names)
		if g.set != nil && !sameValues(g.put(w, make([]driver.Value, 0, n)), values[:n]) {
			if err := g.set(w, values[:n]); err != nil {
				faults = append(faults, records.Fault{Severity: records.Warning, Field: g.names[0], Message: err.Error(),
					Mend: "written by another program and not used; correct it in the record"})
			}
		}
		values = values[n:]
	}
	return faults, nil
}

// takeInOutside writes the records that other programs have changed, so that
// record and columns agree again. It comes before anything else in a
// transaction, and nothing of it is a new change: the commits and revisions
// are those that the triggers made.
func (t *tx) takeInOutside(ctx context.Context) error {
	for some := false; ; some = true {
		var ids []int64
		err := each(ctx, &t.view, "SELECT well_id FROM outside ORDER BY well_id LIMIT ?", []any{pageSize}, func(rows *sql.Rows) error {
			var id int64
			err := rows.Scan(&id)
			ids = append(ids, id)
			return err
		})
		if err != nil {
			return err
		}
		if len(ids) == 0 {
			if !some {
				return nil
			}
			if err := t.refreshStatistics(ctx); err != nil {
				return err
			}
			_, err := t.write(ctx, "DELETE FROM own_write")
			return err
		}
		if _, err := t.write(ctx, "INSERT OR IGNORE INTO own_write VALUES (1)"); err != nil {
			return err
		}
		for _, id := range ids {
			if err := t.takeIn(ctx, id); err != nil {
				return err
			}
		}
	}
}

func (t *tx) takeIn(ctx context.Context, id int64) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	var stored storedWell
	err := each(ctx, &t.view, wellSelect+"w.id = ?", []any{id}, func(rows *sql.Rows) (err error) {
		stored, err = scanWell(rows)
		return err
	})
	if err != nil {
		return err
	}
	if stored.id != 0 {
		w, err := t.unpack(ctx, stored)
		if err != nil {
			return err
		}
		if stored.doc == nil && w.Provenance.Source == "" {
			w.Provenance.Note = "added by another program"
		}
		row, err := t.rowOf(ctx, w)
		if err != nil {
			// A record that cannot be written as a whole keeps its columns.
			t.store.o.Log.Warn("a change by another program is not taken into the record", "well", id, "error", err)
		} else if err := t.rewrite(ctx, w, row, false); err != nil {
			return err
		}
	}
	_, err = t.write(ctx, "DELETE FROM outside WHERE well_id = ?", id)
	return err
}
