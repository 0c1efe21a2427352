package sqlite

import (
	"context"
	"database/sql"

	"github.com/google/uuid"

	"tallybook/records"
)

// Batches implements records.StoreView; a batch is listed whatever its state.
func (v *view) Batches(ctx context.Context) ([]records.Batch, error) {
	var out []records.Batch
	err := each(ctx, v, `SELECT id, uid, source, sha256, started_at, by, state, read, accepted, warned, refused, ifnull(copy_of, 0), changed, same, clashes, gone
		FROM batches ORDER BY id`, nil, func(rows *sql.Rows) error {
		var b records.Batch
		var started string
		err := rows.Scan(&b.ID, &b.UID, &b.Source, &b.SHA256, &started, &b.By, &b.State, &b.Read, &b.Accepted, &b.Warned, &b.Refused,
			&b.CopyOf, &b.Changed, &b.Same, &b.Clashes, &b.Gone)
		if err != nil {
			return err
		}
		b.StartedAt, err = parseTime(started)
		out = append(out, b)
		return err
	})
	return out, err
}

// PutBatch implements records.StoreTx. A batch's wells are seen by nobody
// while its state is staged: publishing is the one row written here.
func (t *tx) PutBatch(ctx context.Context, b *records.Batch) error {
	switch b.State {
	case "staged", "published", "withdrawn":
	default:
		return &records.Error{Code: records.Invalid, Field: "state", Message: "the state of a batch is staged, published or withdrawn"}
	}
	if b.UID == "" {
		id, err := uuid.NewV7()
		if err != nil {
			return translate(err, "new uid")
		}
		b.UID = id.String()
	}
	if taken, err := t.uidTaken(ctx, "batches", b.UID, b.ID); err != nil || taken {
		if err == nil {
			err = &records.Error{Code: records.Conflict, Field: "uid", Message: "there is a batch with this uid already"}
		}
		return err
	}
	if err := t.touch(ctx); err != nil {
		return err
	}
	values := []any{b.UID, b.Source, b.SHA256, formatTime(b.StartedAt), b.By, b.State, b.Read, b.Accepted, b.Warned, b.Refused, t.commit,
		idOrNull(b.CopyOf), b.Changed, b.Same, b.Clashes, b.Gone}
	if b.ID == 0 {
		result, err := t.write(ctx, `INSERT INTO batches(uid, source, sha256, started_at, by, state, read, accepted, warned, refused, state_commit, copy_of, changed, same, clashes, gone)
			VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`, values...)
		if err != nil {
			return err
		}
		if b.ID, err = result.LastInsertId(); err != nil {
			return t.fail(translate(err, "new batch"))
		}
		return t.lookBatches(ctx)
	}
	result, err := t.write(ctx, `UPDATE batches SET uid = ?1, source = ?2, sha256 = ?3, started_at = ?4, by = ?5,
		state_commit = iif(state = ?6, state_commit, ?11), state = ?6, read = ?7, accepted = ?8, warned = ?9, refused = ?10,
		copy_of = ?12, changed = ?13, same = ?14, clashes = ?15, gone = ?16 WHERE id = ?17`,
		append(values, b.ID)...)
	if err != nil {
		return err
	}
	n, err := result.RowsAffected()
	if err != nil {
		return t.fail(translate(err, "put batch"))
	}
	if n == 0 {
		return records.Errorf(records.NotFound, "there is no batch %d", b.ID)
	}
	return t.lookBatches(ctx)
}

// untouched is an SQL condition: nobody worked on a row w of wells since it came
// in. Whoever writes it gives it another revision; whoever merges a record into
// it need not, and that record would be gone with it; nor need who decides that
// a plate is its, and that decision would be gone.
const untouched = "w.revision = 1 AND NOT EXISTS (SELECT 1 FROM merges m WHERE m.into_uid = w.uid AND m.split_at IS NULL)" +
	" AND NOT EXISTS (SELECT 1 FROM plates p JOIN plate_decisions d ON d.plate_uid = p.uid WHERE p.well_id = w.id AND d.state = 'linked' AND d.well_uid = w.uid)"

// RemoveBatch implements records.StoreTx. The images of what goes out are
// kept, except those of a batch that was never published.
func (t *tx) RemoveBatch(ctx context.Context, id int64, why string) (removed, kept int64, err error) {
	var state string
	found, err := t.one(ctx, "SELECT state FROM batches WHERE id = ?", []any{id}, &state)
	if err != nil {
		return 0, 0, err
	}
	if !found {
		return 0, 0, records.Errorf(records.NotFound, "there is no batch %d", id)
	}
	var all int64
	if _, err := t.one(ctx, "SELECT count(*) FROM wells WHERE batch_id = ?", []any{id}, &all); err != nil {
		return 0, 0, err
	}
	if err := t.touch(ctx); err != nil {
		return 0, 0, err
	}
	const going = "(SELECT id FROM wells w WHERE batch_id = ?1 AND " + untouched + ")"
	if state == "staged" {
		for _, table := range []string{"intake_changes", "intake_reports"} {
			if _, err := t.write(ctx, "DELETE FROM "+table+" WHERE batch_id = ?", id); err != nil {
				return 0, 0, err
			}
		}
	} else {
		if _, err := t.write(ctx, "INSERT INTO revisions(well_id, revision, until, by, why, image) SELECT well_id, revision, ?2, ?3, ?4, doc FROM well_records WHERE well_id IN "+going,
			id, formatTime(t.now), t.actor.Name, textOrNull(why)); err != nil {
			return 0, 0, err
		}
	}
	if _, err := t.write(ctx, "INSERT INTO removed(well_id, uid, removed_commit) SELECT id, uid, ?2 FROM wells w WHERE batch_id = ?1 AND "+untouched, id, t.commit); err != nil {
		return 0, 0, err
	}
	if err := t.unlinkPlates(ctx, "well_id IN (SELECT id FROM wells w WHERE batch_id = ? AND "+untouched+")", id, why); err != nil {
		return 0, 0, err
	}
	for _, query := range []string{
		"DELETE FROM picture WHERE chunk IN (SELECT id >> 12 FROM wells w WHERE batch_id = ?1 AND " + untouched + ")",
		"DELETE FROM idx_wells_geom WHERE pkid IN " + going,
		"DELETE FROM strata WHERE well_id IN " + going,
		"DELETE FROM well_records WHERE well_id IN " + going,
		"DELETE FROM wells AS w WHERE batch_id = ?1 AND " + untouched,
	} {
		if err := ctx.Err(); err != nil {
			return 0, 0, t.fail(err)
		}
		result, err := t.write(ctx, query, id)
		if err != nil {
			return 0, 0, err
		}
		if removed, err = result.RowsAffected(); err != nil {
			return 0, 0, t.fail(translate(err, query))
		}
	}
	t.extent.shrunk = true
	if _, err := t.write(ctx, "UPDATE batches SET state = 'withdrawn', state_commit = ? WHERE id = ?", t.commit, id); err != nil {
		return 0, 0, err
	}
	return removed, all - removed, t.lookBatches(ctx)
}
