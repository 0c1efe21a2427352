package sqlite

import (
	"context"
	"database/sql"
	"fmt"
	"math"
	"slices"
	"strings"

	"tallybook/records"
)

// IntakeReport implements records.IntakeView.
func (v *view) IntakeReport(ctx context.Context, batch int64) (*records.IntakeReport, error) {
	r := &records.IntakeReport{Batch: batch}
	found, err := v.one(ctx, "SELECT about, rows, refused FROM intake_reports WHERE batch_id = ?", []any{batch}, &r.About, &r.Rows, &r.Refused)
	if err == nil && !found {
		err = records.Errorf(records.NotFound, "no row report was kept of intake %d", batch)
	}
	return r, err
}

// IntakeStanding implements records.IntakeView.
func (v *view) IntakeStanding(ctx context.Context, batch int64) (there, written int64, err error) {
	_, err = v.one(ctx, "SELECT count(*), ifnull(sum(NOT ("+untouched+")), 0) FROM wells w WHERE batch_id = ?"+v.staged, []any{batch}, &there, &written)
	return there, written, err
}

// PutIntakeReport implements records.IntakeTx.
func (t *tx) PutIntakeReport(ctx context.Context, r *records.IntakeReport) error {
	if err := t.checkBatch(ctx, r.Batch); err != nil {
		return err
	}
	if err := t.touch(ctx); err != nil {
		return err
	}
	_, err := t.write(ctx, "INSERT INTO intake_reports(batch_id, about, rows, refused) VALUES (?1, ?2, ?3, ?4) ON CONFLICT(batch_id) DO UPDATE SET about = ?2, rows = ?3, refused = ?4",
		r.Batch, string(r.About), notNil(r.Rows), notNil(r.Refused))
	return err
}

func notNil(b []byte) []byte {
	if b == nil {
		return []byte{}
	}
	return b
}

// sourceImage is an SQL expression: what its source last told of well w, whose
// text is r. A record that was taken out and brought back began anew with
// what it was then: the image that it came in with stands under its old key.
// Its first value is an intake: only those before it count.
const sourceImage = `coalesce(
  (SELECT c.image FROM intake_changes c JOIN batches b ON b.id = c.batch_id
    WHERE c.well_id = w.id AND c.image IS NOT NULL AND b.state = 'published' AND c.batch_id < ? ORDER BY c.batch_id DESC LIMIT 1),
  (SELECT e.image FROM removed m JOIN revisions e ON e.well_id = m.well_id AND e.revision = 1 WHERE m.uid = w.uid ORDER BY m.well_id LIMIT 1),
  (SELECT e.image FROM revisions e WHERE e.well_id = w.id AND e.revision = 1),
  r.doc)`

// SourceImages implements records.IntakeView.
func (v *view) SourceImages(ctx context.Context, batches []int64, fn func(*records.SourceImage) error) error {
	if len(batches) == 0 {
		return nil
	}
	ids := make([]string, len(batches))
	for i, b := range batches {
		ids[i] = fmt.Sprint(b)
	}
	in := strings.Join(ids, ",")
	there := "SELECT w.id, " + sourceImage + " FROM wells w LEFT JOIN well_records r ON r.well_id = w.id WHERE w.batch_id IN (" + in + ") AND w.id > ?" + v.staged + " ORDER BY w.id LIMIT ?"
	if err := v.images(ctx, there, []any{int64(math.MaxInt64)}, false, fn); err != nil {
		return err
	}
	out := `SELECT m.well_id, e.image FROM removed m JOIN revisions e ON e.well_id = m.well_id
		WHERE json_extract(e.image, '$.batch') IN (` + in + `) AND m.well_id > ?
		AND e.revision = (SELECT max(revision) FROM revisions l WHERE l.well_id = m.well_id)
		AND NOT EXISTS (SELECT 1 FROM wells w WHERE w.uid = m.uid) ORDER BY m.well_id LIMIT ?`
	return v.images(ctx, out, nil, true, fn)
}

// images hands out what a query finds, a page at a time.
func (v *view) images(ctx context.Context, query string, args []any, out bool, fn func(*records.SourceImage) error) error {
	for last := int64(math.MinInt64); ; {
		var page []*records.SourceImage
		err := each(ctx, v, query, append(slices.Clone(args), last, pageSize), func(rows *sql.Rows) error {
			s := &records.SourceImage{Image: &records.Well{}, Out: out}
			var doc []byte
			if err := rows.Scan(&s.WellID, &doc); err != nil {
				return err
			}
			v.readImage(s.WellID, doc, s.Image)
			page = append(page, s)
			return nil
		})
		if err != nil {
			return err
		}
		for _, s := range page {
			if err := fn(s); err != nil {
				return err
			}
		}
		if len(page) < pageSize {
			return nil
		}
		last = page[len(page)-1].WellID
	}
}

// readImage reads an image; what cannot be read of it is told in the log.
func (v *view) readImage(id int64, doc []byte, w *records.Well) {
	if doc == nil {
		return
	}
	if _, err := parseFeature(slices.Clone(doc), w); err != nil {
		v.store.o.Log.Warn("an earlier image cannot be read in full", "well", id, "error", err)
	}
}

// SourceImage implements records.IntakeView.
func (v *view) SourceImage(ctx context.Context, wellID, before int64) (*records.Well, error) {
	if before == 0 {
		before = math.MaxInt64
	}
	var doc []byte
	found, err := v.one(ctx, "SELECT "+sourceImage+" FROM wells w LEFT JOIN well_records r ON r.well_id = w.id WHERE w.id = ?"+v.staged, []any{before, wellID}, &doc)
	if err != nil {
		return nil, err
	}
	if !found {
		return nil, records.Errorf(records.NotFound, "there is no well %d", wellID)
	}
	w := &records.Well{}
	v.readImage(wellID, doc, w)
	return w, nil
}

// CopyChanges implements records.IntakeView.
func (v *view) CopyChanges(ctx context.Context, batch, after int64, limit int) ([]records.CopyChange, error) {
	var out []records.CopyChange
	err := each(ctx, v, "SELECT well_id, row, what, image, wrote, clashes FROM intake_changes WHERE batch_id = ? AND well_id > ? ORDER BY well_id LIMIT ?",
		[]any{batch, after, limit}, func(rows *sql.Rows) error {
			c := records.CopyChange{Batch: batch}
			var image []byte
			if err := rows.Scan(&c.WellID, &c.Row, &c.What, &image, &c.Wrote, &c.Clashes); err != nil {
				return err
			}
			if image != nil {
				c.Image = &records.Well{}
				v.readImage(c.WellID, image, c.Image)
			}
			out = append(out, c)
			return nil
		})
	return out, err
}

// CopiesOf implements records.IntakeView.
func (v *view) CopiesOf(ctx context.Context, wellID int64) ([]records.CopyChange, error) {
	var out []records.CopyChange
	err := each(ctx, v, `SELECT c.batch_id, c.row, c.what, c.wrote, c.clashes FROM intake_changes c JOIN batches b ON b.id = c.batch_id
		WHERE c.well_id = ? AND b.state = 'published' ORDER BY c.batch_id DESC`, []any{wellID}, func(rows *sql.Rows) error {
		c := records.CopyChange{WellID: wellID}
		err := rows.Scan(&c.Batch, &c.Row, &c.What, &c.Wrote, &c.Clashes)
		out = append(out, c)
		return err
	})
	return out, err
}

// PutCopyChange implements records.IntakeTx.
func (t *tx) PutCopyChange(ctx context.Context, c *records.CopyChange) error {
	if c.What != records.CopyDiffers && c.What != records.CopyGone || (c.Image == nil) != (c.What == records.CopyGone) {
		return &records.Error{Code: records.Invalid, Field: "what", Message: "a copy's record differs, and has an image, or is gone"}
	}
	if err := t.checkBatch(ctx, c.Batch); err != nil {
		return err
	}
	if err := t.touch(ctx); err != nil {
		return err
	}
	var image any
	if c.Image != nil {
		doc, err := appendFeature(nil, c.Image)
		if err != nil {
			return err
		}
		image = string(doc)
	}
	clashes := string(c.Clashes)
	if clashes == "" {
		clashes = "[]"
	}
	_, err := t.write(ctx, `INSERT INTO intake_changes(batch_id, well_id, row, what, image, wrote, clashes) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)
		ON CONFLICT(batch_id, well_id) DO UPDATE SET row = ?3, what = ?4, image = ?5, wrote = ?6, clashes = ?7`,
		c.Batch, c.WellID, c.Row, c.What, image, c.Wrote, clashes)
	return err
}

// SettingsNamed implements records.IntakeView.
func (v *view) SettingsNamed(ctx context.Context, prefix string) ([]records.SettingValue, error) {
	var out []records.SettingValue
	err := each(ctx, v, "SELECT name, value, revision, at, by FROM settings WHERE substr(name, 1, length(?1)) = ?1 ORDER BY name", []any{prefix}, func(rows *sql.Rows) error {
		var s records.SettingValue
		var at string
		if err := rows.Scan(&s.Name, &s.Value, &s.Revision, &at, &s.By); err != nil {
			return err
		}
		var err error
		s.At, err = parseTime(at)
		out = append(out, s)
		return err
	})
	return out, err
}
