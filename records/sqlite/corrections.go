package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"

	"tallybook/records"
)

// Corrections implements records.CorrectionView.
func (v *view) Corrections(ctx context.Context) (out []records.CorrectionDone, err error) {
	err = each(ctx, v, "SELECT id, rule, at, by, ifnull(why, ''), records, ifnull(undone_at, ''), ifnull(undone_by, ''), left_over FROM corrections ORDER BY id DESC", nil, func(rows *sql.Rows) error {
		var c records.CorrectionDone
		var rule []byte
		var at, undone string
		err := rows.Scan(&c.ID, &rule, &at, &c.By, &c.Why, &c.Records, &undone, &c.UndoneBy, &c.Left)
		if err != nil {
			return err
		}
		if err := json.Unmarshal(rule, &c.Correction); err != nil {
			v.store.o.Log.Warn("a correction cannot be read in full", "correction", c.ID, "error", err)
		}
		if c.At, err = parseTime(at); err != nil {
			return err
		}
		c.UndoneAt, err = parseTime(undone)
		out = append(out, c)
		return err
	})
	return out, err
}

// CorrectedRecords implements records.CorrectionView.
func (v *view) CorrectedRecords(ctx context.Context, id int64) (out []records.CorrectedRecord, err error) {
	err = each(ctx, v, "SELECT well_id, before_revision, after_revision FROM corrected WHERE correction_id = ? ORDER BY well_id", []any{id}, func(rows *sql.Rows) error {
		var c records.CorrectedRecord
		err := rows.Scan(&c.WellID, &c.Before, &c.After)
		out = append(out, c)
		return err
	})
	return out, err
}

// PutCorrection implements records.CorrectionTx.
func (t *tx) PutCorrection(ctx context.Context, c *records.CorrectionDone, changed []records.CorrectedRecord) error {
	if err := t.touch(ctx); err != nil {
		return err
	}
	if c.ID != 0 {
		result, err := t.write(ctx, "UPDATE corrections SET undone_at = ?, undone_by = ?, left_over = ? WHERE id = ? AND undone_at IS NULL",
			formatTime(t.now), t.actor.Name, c.Left, c.ID)
		if err != nil {
			return err
		}
		if n, err := result.RowsAffected(); err != nil || n == 0 {
			if err != nil {
				return t.fail(translate(err, "undo a correction"))
			}
			return records.Errorf(records.Conflict, "correction %d is not there, or was undone already", c.ID)
		}
		c.UndoneAt, c.UndoneBy = t.now, t.actor.Name
		return nil
	}
	rule, err := json.Marshal(c.Correction)
	if err != nil {
		return err
	}
	c.At, c.By, c.Records = t.now, t.actor.Name, int64(len(changed))
	result, err := t.write(ctx, "INSERT INTO corrections(rule, at, by, why, records) VALUES (?, ?, ?, ?, ?)", string(rule), formatTime(c.At), c.By, textOrNull(c.Why), c.Records)
	if err != nil {
		return err
	}
	if c.ID, err = result.LastInsertId(); err != nil {
		return t.fail(translate(err, "new correction"))
	}
	for _, r := range changed {
		if _, err := t.write(ctx, "INSERT INTO corrected(correction_id, well_id, before_revision, after_revision) VALUES (?, ?, ?, ?)", c.ID, r.WellID, r.Before, r.After); err != nil {
			return err
		}
	}
	return nil
}

// corrections holds what was changed for many at once against its lists.
func (c *integrity) corrections(ctx context.Context) error {
	const mend = "the records stand as they are; undo what is wrong in them one by one"
	for _, q := range []string{
		"SELECT 'correction ' || c.id || ' counts ' || c.records || ' records and lists ' || (SELECT count(*) FROM corrected r WHERE r.correction_id = c.id) FROM corrections c WHERE c.records <> (SELECT count(*) FROM corrected r WHERE r.correction_id = c.id) LIMIT ?",
		"SELECT 'correction ' || r.correction_id || ' changed record ' || r.well_id || ', of which there is no state before it' FROM corrected r WHERE EXISTS (SELECT 1 FROM wells w WHERE w.id = r.well_id) AND NOT EXISTS (SELECT 1 FROM revisions v WHERE v.well_id = r.well_id AND v.revision = r.before_revision) LIMIT ?",
	} {
		if err := c.list(ctx, "corrections", mend, q, mostFaults); err != nil {
			return err
		}
	}
	return nil
}
