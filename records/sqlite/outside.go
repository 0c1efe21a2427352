package sqlite

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"fmt"
	"strings"
	"unicode/utf8"

	"tallybook/records"
)

// What another program wrote into the columns of the layer is taken into the
// record at once on reading, and into the file by the next transaction of the
// program's own. Triggers have by then kept the earlier image and the columns
// ahead of every edit, raised the revision and given the change a commit
// number.

// unused is what another program wrote into a column and is no value for it.
type unused struct{ field, written, why string }

// overlay puts what the columns of w.ID hold into w where they differ from
// what w would put there. What cannot be used is left as the record has it
// and told.
func (v *view) overlay(ctx context.Context, w *records.Well) ([]unused, error) {
	names := v.store.layerNames()
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
	_, refused := v.store.applyColumns(w, values[1:])
	return refused, nil
}

// layerNames are the columns that follow a record, in their order.
func (s *Store) layerNames() []string {
	names := make([]string, 0, s.layerColumns)
	for _, g := range s.groups {
		names = append(names, g.names...)
	}
	return names
}

// applyColumns puts what columns hold into w where they differ from what w
// would put there, and tells of the columns that it took, by the first of each
// group, and of those that could not be used.
func (s *Store) applyColumns(w *records.Well, values []driver.Value) (taken []string, refused []unused) {
	for _, g := range s.groups {
		n := len(g.names)
		if have := g.put(w, make([]driver.Value, 0, n)); !sameValues(have, values[:n]) {
			if err := g.take(w, values[:n]); err != nil {
				for i, name := range g.names {
					if !sameValues(have[i:i+1], values[i:i+1]) {
						refused = append(refused, unused{name, writtenText(values[i]), err.Error()})
					}
				}
			} else {
				taken = append(taken, g.names...)
			}
		}
		values = values[n:]
	}
	return taken, refused
}

// take sets what the columns of a group say, if they may be edited here.
func (g *group) take(w *records.Well, values []driver.Value) error {
	if g.set == nil {
		return fmt.Errorf("it follows from the record and is not edited in the layer")
	}
	return g.set(w, values)
}

// writtenText is what was written, for people.
func writtenText(v driver.Value) string {
	switch t := v.(type) {
	case nil:
		return "nothing"
	case []byte:
		if lon, lat, err := parsePoint(t); err == nil {
			return fmt.Sprintf("%v %v", lon, lat)
		}
		return fmt.Sprintf("%.200X", t)
	case string:
		return strings.ToValidUTF8(beginning(t, records.LongestText), "\uFFFD")
	}
	return fmt.Sprint(v)
}

// beginning cuts a text at a letter, so that it and a mark for what is cut off
// hold no more than most bytes and the mark's.
func beginning(s string, most int) string {
	if len(s) <= most {
		return s
	}
	for most > 0 && !utf8.RuneStart(s[most]) {
		most--
	}
	return s[:most] + "…"
}

// TakeInOutside implements records.OutsideStore. Where nothing waits it only
// reads.
func (s *Store) TakeInOutside(ctx context.Context) (int, error) {
	var waiting int
	err := s.readers.QueryRowContext(ctx, "SELECT count(*) FROM ("+waitingWells+")", -1).Scan(&waiting)
	if err != nil || waiting == 0 {
		return 0, translate(err, "look for other programs' changes")
	}
	return waiting, s.Update(ctx, records.Actor{Name: outsider}, func(records.StoreTx) error { return nil })
}

// outsider is who wrote what another program wrote.
const outsider = "outside"

// waitingWells are the records that other programs have changed, gone ones
// among them.
const waitingWells = "SELECT well_id FROM outside UNION SELECT well_id FROM outside_journal ORDER BY well_id LIMIT ?"

// takeInOutside writes the records that other programs have changed, so that
// record and columns agree again. It comes before anything else in a
// transaction, and nothing of it is a new change: the commits and revisions
// are those that the triggers made.
func (t *tx) takeInOutside(ctx context.Context) error {
	for some := false; ; some = true {
		var ids []int64
		err := each(ctx, &t.view, waitingWells, []any{pageSize}, func(rows *sql.Rows) error {
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
	edits, err := t.edits(ctx, id)
	if err != nil {
		return err
	}
	var stored storedWell
	err = each(ctx, &t.view, wellSelect+"w.id = ?", []any{id}, func(rows *sql.Rows) (err error) {
		stored, err = scanWell(rows)
		return err
	})
	if err != nil {
		return err
	}
	if err := t.keepEdits(ctx, id, stored.doc, edits); err != nil {
		return err
	}
	if stored.id != 0 {
		if err := t.takeInRow(ctx, stored); err != nil {
			return err
		}
	}
	for _, query := range []string{"DELETE FROM outside WHERE well_id = ?", "DELETE FROM outside_journal WHERE well_id = ?"} {
		if _, err := t.write(ctx, query, id); err != nil {
			return err
		}
	}
	return nil
}

// takeInRow writes the record that the columns say.
func (t *tx) takeInRow(ctx context.Context, stored storedWell) error {
	w, err := t.unpack(ctx, stored)
	if err != nil {
		return err
	}
	refused, err := t.overlay(ctx, w)
	if err != nil {
		return err
	}
	if stored.doc == nil && w.Provenance.Source == "" {
		w.Provenance.Note = "added by another program"
	}
	row, err := t.rowOf(ctx, w)
	if err != nil {
		// A record that cannot be written as a whole keeps its columns.
		t.store.o.Log.Warn("a change by another program is not taken into the record", "well", w.ID, "error", err)
		refused = append(refused, unused{"", "", "the record cannot be written with it: " + err.Error()})
	} else if err := t.rewrite(ctx, w, row, false); err != nil {
		return err
	}
	return t.noteUnused(ctx, w.ID, w.Revision, refused)
}

// noteUnused keeps what was written in vain, each once.
func (t *tx) noteUnused(ctx context.Context, id, revision int64, refused []unused) error {
	for _, u := range refused {
		_, err := t.write(ctx, `INSERT INTO outside_refused(well_id, revision, at, field, written, why) SELECT ?1, ?2, ?3, ?4, ?5, ?6
			WHERE NOT EXISTS (SELECT 1 FROM outside_refused WHERE well_id = ?1 AND field = ?4 AND written = ?5 AND settled_at IS NULL)`,
			id, revision, formatTime(t.now), u.field, u.written, u.why)
		if err != nil {
			return err
		}
	}
	return nil
}

// OutsideRefusals implements records.OutsideView.
func (v *view) OutsideRefusals(ctx context.Context, wellID int64, settled bool) ([]records.OutsideRefusal, error) {
	var out []records.OutsideRefusal
	err := each(ctx, v, `SELECT id, well_id, revision, at, field, written, why, ifnull(settled_at, ''), ifnull(settled_by, '') FROM outside_refused
		WHERE (?1 = 0 OR well_id = ?1) AND (?2 OR settled_at IS NULL) ORDER BY id DESC`, []any{wellID, settled}, func(rows *sql.Rows) error {
		var r records.OutsideRefusal
		var at, settled string
		err := rows.Scan(&r.ID, &r.WellID, &r.Revision, &at, &r.Field, &r.Written, &r.Why, &settled, &r.SettledBy)
		if err == nil {
			r.At, err = parseTime(at)
		}
		if err == nil {
			r.SettledAt, err = parseTime(settled)
		}
		out = append(out, r)
		return err
	})
	return out, err
}

// SettleOutside implements records.OutsideTx.
func (t *tx) SettleOutside(ctx context.Context, id int64, settled bool) error {
	var well int64
	found, err := t.one(ctx, "SELECT well_id FROM outside_refused WHERE id = ?", []any{id}, &well)
	if err == nil && !found {
		err = records.Errorf(records.NotFound, "nothing of the kind was written by another program")
	}
	if err != nil {
		return err
	}
	if err := t.touch(ctx); err != nil {
		return err
	}
	var at, by any
	if settled {
		at, by = formatTime(t.now), t.actor.Name
	}
	_, err = t.write(ctx, "UPDATE outside_refused SET settled_at = ?, settled_by = ? WHERE id = ?", at, by, id)
	return err
}
