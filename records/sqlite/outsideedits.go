package sqlite

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"strings"

	"tallybook/records"
)

// edit is one edit by another program, with the columns as they were before
// it.
type edit struct {
	at, what string
	revision int64 // of the state before
	before   []driver.Value
}

var editWords = map[string]string{"edited": "edited by another program", "removed": "removed by another program"}

// edits reads what the triggers noted of a record, in its order.
func (t *tx) edits(ctx context.Context, id int64) (out []edit, err error) {
	names := t.store.layerNames()
	const head = 3
	err = each(ctx, &t.view, "SELECT at, what, revision, "+strings.Join(names, ", ")+" FROM outside_journal WHERE well_id = ? ORDER BY no", []any{id}, func(rows *sql.Rows) error {
		values, err := scanValues(rows, head+len(names))
		if err != nil {
			return err
		}
		e := edit{before: values[head:]}
		e.at, _ = values[0].(string)
		e.what, _ = values[1].(string)
		e.revision, _ = values[2].(int64)
		if editWords[e.what] != "" {
			out = append(out, e)
		}
		return nil
	})
	return out, err
}

// keepEdits makes a revision of each state that stood between edits which
// nobody had taken in. doc is the record's text where it is there; the trigger
// kept the image of a text that is gone.
func (t *tx) keepEdits(ctx context.Context, id int64, doc []byte, edits []edit) error {
	if len(edits) == 0 {
		return nil
	}
	known := int64(0) // the revision of the text
	if doc != nil {
		if _, err := t.one(ctx, "SELECT revision FROM well_records WHERE well_id = ?", []any{id}, &known); err != nil {
			return err
		}
	} else if _, err := t.one(ctx, "SELECT revision, image FROM revisions WHERE well_id = ? AND revision <= ? ORDER BY revision DESC LIMIT 1",
		[]any{id, edits[0].revision}, &known, &doc); err != nil {
		return err
	}
	w := &records.Well{}
	if doc != nil {
		if _, err := parseFeature(doc, w); err != nil {
			t.store.o.Log.Warn("a record cannot be read in full", "well", id, "error", err)
		}
	} else {
		w.Provenance.Note = "added by another program"
		if _, err := t.one(ctx, "SELECT uid FROM wells WHERE id = ?1 UNION ALL SELECT uid FROM removed WHERE well_id = ?1", []any{id}, &w.UID); err != nil {
			return err
		}
	}
	for _, e := range edits {
		_, refused := t.store.applyColumns(w, e.before)
		if err := t.noteUnused(ctx, id, e.revision, refused); err != nil {
			return err
		}
		if e.revision <= known {
			continue // the trigger kept the text itself
		}
		image, err := appendFeature(nil, w)
		if err != nil {
			t.store.o.Log.Warn("a state that another program wrote cannot be kept", "well", id, "revision", e.revision, "error", err)
			continue
		}
		if _, err := t.write(ctx, "INSERT OR IGNORE INTO revisions(well_id, revision, until, by, why, image) VALUES (?, ?, ?, ?, ?, ?)",
			id, e.revision, e.at, outsider, editWords[e.what], string(image)); err != nil {
			return err
		}
	}
	return nil
}
