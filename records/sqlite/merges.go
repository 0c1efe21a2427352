package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"

	"tallybook/records"
)

// leadsTo finds the record to which a public name leads that is no record's
// own: by one merge, or by several, one after the other.
const leadsTo = `WITH RECURSIVE step(uid, n) AS (
	SELECT into_uid, 1 FROM merges WHERE uid = ?1 AND split_at IS NULL
	UNION ALL SELECT m.into_uid, n + 1 FROM step s JOIN merges m ON m.uid = s.uid AND m.split_at IS NULL WHERE n < 100)
	SELECT w.id FROM step s JOIN wells w ON w.uid = s.uid`

// led is the key of the record to which a merged name leads.
func (v *view) led(ctx context.Context, uid string) (int64, error) {
	var id int64
	found, err := v.one(ctx, leadsTo+v.staged+" ORDER BY s.n LIMIT 1", []any{uid}, &id)
	if err == nil && !found {
		err = records.Errorf(records.NotFound, "there is no well %q", uid)
	}
	return id, err
}

// UIDOf implements records.HistoryView.
func (v *view) UIDOf(ctx context.Context, id int64) (string, error) {
	var uid string
	found, err := v.one(ctx, "SELECT w.uid FROM wells w WHERE w.id = ?1"+v.staged+" UNION ALL SELECT r.uid FROM removed r WHERE r.well_id = ?1 AND r.uid IS NOT NULL LIMIT 1", []any{id}, &uid)
	if err == nil && !found {
		err = records.Errorf(records.NotFound, "there is no well %d, and there never was", id)
	}
	return uid, err
}

// FormerKeys implements records.HistoryView.
func (v *view) FormerKeys(ctx context.Context, uid string) (ids []int64, err error) {
	err = each(ctx, v, "SELECT well_id FROM removed WHERE uid = ? ORDER BY removed_commit DESC, well_id DESC", []any{uid}, func(rows *sql.Rows) error {
		var id int64
		err := rows.Scan(&id)
		ids = append(ids, id)
		return err
	})
	return ids, err
}

// PlatesOnce implements records.HistoryView.
func (v *view) PlatesOnce(ctx context.Context, wellID int64) (out []*records.Plate, err error) {
	err = each(ctx, v, "SELECT "+plateColumns+`, ifnull(r.linked_by, ''), ifnull(r.linked_at, '') FROM plates p
		JOIN plate_revisions r ON r.plate_id = p.id AND r.revision = p.revision - 1
		WHERE p.well_id IS NULL AND r.well_id = ? AND EXISTS (SELECT 1 FROM removed m WHERE m.well_id = r.well_id) ORDER BY p.id`, []any{wellID}, func(rows *sql.Rows) error {
		var by, at string
		p, err := v.scanPlate(rows, &by, &at)
		if err != nil {
			return err
		}
		p.LinkedBy = by
		p.LinkedAt, err = parseTime(at)
		out = append(out, p)
		return err
	})
	return out, err
}

// takenOut picks the latest time that each record was taken out that is not back.
// What went out with an intake that was taken back is not among them: that is
// told of the intake.
// What was staged and never published has no image, and was never seen.
const takenOut = ` FROM removed r JOIN revisions i ON i.well_id = r.well_id
	AND i.revision = (SELECT max(revision) FROM revisions WHERE well_id = r.well_id)
	WHERE NOT EXISTS (SELECT 1 FROM batches b WHERE b.state_commit = r.removed_commit AND b.state = 'withdrawn')
	AND NOT EXISTS (SELECT 1 FROM wells w WHERE w.uid = r.uid)
	AND NOT EXISTS (SELECT 1 FROM removed n WHERE n.uid = r.uid AND (n.removed_commit, n.well_id) > (r.removed_commit, r.well_id))`

// TakenOut implements records.HistoryView.
func (v *view) TakenOut(ctx context.Context, skip, limit int) (out []records.TakenOut, all int64, err error) {
	if _, err := v.one(ctx, "SELECT count(*)"+takenOut, nil, &all); err != nil {
		return nil, 0, err
	}
	err = each(ctx, v, `SELECT r.well_id, ifnull(r.uid, ''), i.revision, i.until, i.by, ifnull(i.why, ''), i.image,
		ifnull((SELECT into_uid FROM merges m WHERE m.uid = r.uid AND m.split_at IS NULL), '')`+takenOut+
		" ORDER BY r.removed_commit DESC, r.well_id DESC LIMIT ? OFFSET ?", []any{limit, skip}, func(rows *sql.Rows) error {
		o := records.TakenOut{Image: &records.Well{}}
		var at string
		var image []byte
		if err := rows.Scan(&o.WellID, &o.UID, &o.Revision, &at, &o.By, &o.Why, &image, &o.MergedTo); err != nil {
			return err
		}
		if _, err := parseFeature(image, o.Image); err != nil {
			v.store.o.Log.Warn("the last image of a record cannot be read in full", "well", o.WellID, "error", err)
		}
		o.Image.ID, o.Image.Revision = o.WellID, o.Revision
		o.At, err = parseTime(at)
		out = append(out, o)
		return err
	})
	return out, all, err
}

// mergeSelect reads merges; see scanMerge.
const mergeSelect = `SELECT id, uid, well_id, revision, into_uid, into_well_id, before, after, how, plates, at, by, ifnull(why, ''),
	ifnull(split_at, ''), ifnull(split_by, ''), ifnull(split_why, '') FROM merges WHERE `

func (v *view) merges(ctx context.Context, end string, args ...any) (out []records.Merge, err error) {
	err = each(ctx, v, mergeSelect+end, args, func(rows *sql.Rows) error {
		var m records.Merge
		var plates []byte
		var at, splitAt string
		err := rows.Scan(&m.ID, &m.UID, &m.WellID, &m.Revision, &m.IntoUID, &m.IntoWellID, &m.Before, &m.After, &m.How, &plates, &at, &m.By, &m.Why,
			&splitAt, &m.SplitBy, &m.SplitWhy)
		if err == nil && len(plates) > 0 {
			err = json.Unmarshal(plates, &m.Plates)
		}
		if err == nil {
			m.At, err = parseTime(at)
		}
		if err == nil {
			m.SplitAt, err = parseTime(splitAt)
		}
		out = append(out, m)
		return err
	})
	return out, err
}

func oneMerge(found []records.Merge, err error, what string) (*records.Merge, error) {
	if err != nil {
		return nil, err
	}
	if len(found) == 0 {
		return nil, records.Errorf(records.NotFound, "there is no merge %s", what)
	}
	return &found[0], nil
}

// Merge implements records.HistoryView.
func (v *view) Merge(ctx context.Context, id int64) (*records.Merge, error) {
	found, err := v.merges(ctx, "id = ?", id)
	return oneMerge(found, err, fmt.Sprint(id))
}

// MergeOf implements records.HistoryView.
func (v *view) MergeOf(ctx context.Context, uid string) (*records.Merge, error) {
	found, err := v.merges(ctx, "uid = ? AND split_at IS NULL", uid)
	return oneMerge(found, err, "of the record "+uid)
}

// MergesInto implements records.HistoryView.
func (v *view) MergesInto(ctx context.Context, uid string) ([]records.Merge, error) {
	return v.merges(ctx, "into_uid = ? ORDER BY id DESC", uid)
}

// MergedNames implements records.HistoryView.
func (v *view) MergedNames(ctx context.Context) (map[string]string, error) {
	step := map[string]string{}
	err := each(ctx, v, "SELECT uid, into_uid FROM merges WHERE split_at IS NULL", nil, func(rows *sql.Rows) error {
		var uid, into string
		err := rows.Scan(&uid, &into)
		step[uid] = into
		return err
	})
	out := make(map[string]string, len(step))
	for uid, into := range step {
		for range len(step) { // as many steps as there are names, at most
			next, ok := step[into]
			if !ok {
				break
			}
			into = next
		}
		out[uid] = into
	}
	return out, err
}

// PutMerge implements records.HistoryTx.
func (t *tx) PutMerge(ctx context.Context, m *records.Merge) error {
	var one int
	out, err := t.one(ctx, "SELECT 1 FROM removed r WHERE r.uid = ?1 AND r.well_id = ?2 AND NOT EXISTS (SELECT 1 FROM wells w WHERE w.uid = ?1)", []any{m.UID, m.WellID}, &one)
	if err != nil {
		return err
	}
	if !out {
		return &records.Error{Code: records.Conflict, Field: "uid", Message: "the record that is to be merged into the other must be taken out first"}
	}
	there, err := t.one(ctx, "SELECT 1 FROM wells WHERE uid = ? AND id = ?", []any{m.IntoUID, m.IntoWellID}, &one)
	switch {
	case err != nil:
		return err
	case !there:
		return &records.Error{Code: records.NotFound, Field: "into_uid", Message: "the record that is to be kept is not there"}
	case m.ID != 0:
		return records.Errorf(records.Conflict, "a merge that is kept never changes")
	}
	if err := t.touch(ctx); err != nil {
		return err
	}
	plates := ""
	if len(m.Plates) > 0 {
		text, err := json.Marshal(m.Plates)
		if err != nil {
			return t.fail(err)
		}
		plates = string(text)
	}
	result, err := t.write(ctx, "INSERT INTO merges(uid, well_id, revision, into_uid, into_well_id, before, after, how, plates, at, by, why) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
		m.UID, m.WellID, m.Revision, m.IntoUID, m.IntoWellID, m.Before, m.After, m.How, textOrNull(plates), formatTime(t.now), t.actor.Name, textOrNull(m.Why))
	if err != nil {
		return err
	}
	t.merged = mergedSome
	m.At, m.By = t.now, t.actor.Name
	if m.ID, err = result.LastInsertId(); err != nil {
		return t.fail(translate(err, "new merge"))
	}
	return nil
}

// SplitMerge implements records.HistoryTx.
func (t *tx) SplitMerge(ctx context.Context, id int64, why string) error {
	m, err := t.Merge(ctx, id)
	switch {
	case err != nil:
		return err
	case !m.SplitAt.IsZero():
		return records.Errorf(records.Conflict, "the two records were split again already")
	}
	if err := t.touch(ctx); err != nil {
		return err
	}
	_, err = t.write(ctx, "UPDATE merges SET split_at = ?, split_by = ?, split_why = ? WHERE id = ?", formatTime(t.now), t.actor.Name, textOrNull(why), id)
	return err
}

// Whether there is any merge at all, as far as a transaction knows.
const (
	mergedUnknown = iota
	mergedNone
	mergedSome
)

// anyMerged says whether there is any merge: an intake asks for the name of
// each of its rows, and where nothing is merged one look is enough for each.
func (t *tx) anyMerged(ctx context.Context) (bool, error) {
	if t.merged == mergedUnknown {
		var some int64
		if _, err := t.oneRaw(ctx, "SELECT EXISTS (SELECT 1 FROM merges WHERE split_at IS NULL) + 0 * length(?)", "", &some); err != nil {
			return false, err
		}
		t.merged = mergedNone
		if some != 0 {
			t.merged = mergedSome
		}
	}
	return t.merged == mergedSome, nil
}
