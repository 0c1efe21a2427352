package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"time"

	"tallybook/records"
)

// view reads one state: that of a read transaction, or that of a write
// transaction with what it has written so far.
type view struct {
	store  *Store
	conn   *sql.Conn
	commit int64
	// hidden are the batches that are not published, and staged the same as
	// an SQL condition on wells w; "" when there are none.
	hidden map[int64]bool
	staged string
	// flush writes what a write transaction still holds back; nil in a read
	// transaction.
	flush func(context.Context) error
}

// look fixes the state that the view sees.
func (v *view) look(ctx context.Context) error {
	if err := v.conn.QueryRowContext(ctx, lastCommit).Scan(&v.commit); err != nil {
		return translate(err, "read the last commit")
	}
	return v.lookBatches(ctx)
}

func (v *view) lookBatches(ctx context.Context) error {
	v.hidden, v.staged = nil, ""
	var ids []string
	err := each(ctx, v, "SELECT id FROM batches WHERE state = 'staged'", nil, func(rows *sql.Rows) error {
		var id int64
		if err := rows.Scan(&id); err != nil {
			return err
		}
		if v.hidden == nil {
			v.hidden = map[int64]bool{}
		}
		v.hidden[id] = true
		ids = append(ids, fmt.Sprint(id))
		return nil
	})
	if len(ids) > 0 {
		v.staged = " AND (w.batch_id IS NULL OR w.batch_id NOT IN (" + strings.Join(ids, ",") + "))"
	}
	return err
}

// each runs a query and hands each row to fn.
func each(ctx context.Context, v *view, query string, args []any, fn func(*sql.Rows) error) (err error) {
	if v.flush != nil {
		if err := v.flush(ctx); err != nil {
			return err
		}
	}
	rows, err := v.conn.QueryContext(ctx, query, args...)
	if err != nil {
		return translate(err, query)
	}
	defer func() {
		if cerr := rows.Close(); err == nil {
			err = translate(cerr, query)
		}
	}()
	for rows.Next() {
		if err := fn(rows); err != nil {
			return translate(err, query)
		}
	}
	return translate(rows.Err(), query)
}

// one runs a query for a single row; found is false where there is none.
func (v *view) one(ctx context.Context, query string, args []any, dest ...any) (found bool, err error) {
	if v.flush != nil {
		if err := v.flush(ctx); err != nil {
			return false, err
		}
	}
	err = v.conn.QueryRowContext(ctx, query, args...).Scan(dest...)
	if errors.Is(err, sql.ErrNoRows) {
		return false, nil
	}
	return err == nil, translate(err, query)
}

// Commit implements records.StoreView.
func (v *view) Commit() int64 { return v.commit }

// wellSelect reads whole records; see scanWell.
const wellSelect = `SELECT w.id, w.revision, r.doc, EXISTS (SELECT 1 FROM outside o WHERE o.well_id = w.id)
  FROM wells w LEFT JOIN well_records r ON r.well_id = w.id WHERE `

// storedWell is a record as it lies in the file.
type storedWell struct {
	id, revision int64
	doc          []byte
	outside      bool // the columns know better
}

func scanWell(rows *sql.Rows) (storedWell, error) {
	var s storedWell
	err := rows.Scan(&s.id, &s.revision, &s.doc, &s.outside)
	return s, err
}

// Well implements records.StoreView.
func (v *view) Well(ctx context.Context, id int64) (*records.Well, error) {
	var stored storedWell
	found := false
	err := each(ctx, v, wellSelect+"w.id = ?"+v.staged, []any{id}, func(rows *sql.Rows) (err error) {
		found = true
		stored, err = scanWell(rows)
		return err
	})
	if err != nil {
		return nil, err
	}
	if !found {
		return nil, records.Errorf(records.NotFound, "there is no well %d", id)
	}
	w, err := v.unpack(ctx, stored)
	if err != nil {
		return nil, err
	}
	plates, err := v.platesOf(ctx, id, id)
	if err != nil {
		return nil, err
	}
	w.Plates = plates[id]
	return w, nil
}

// unpack makes the record of what lies in the file, taking in what another
// program has changed in the columns.
func (v *view) unpack(ctx context.Context, s storedWell) (*records.Well, error) {
	w := &records.Well{}
	if s.doc != nil {
		if _, err := parseFeature(s.doc, w); err != nil {
			// What could be read is shown; the stored text stays as it is
			// until somebody writes the record.
			v.store.o.Log.Warn("a record cannot be read in full", "well", s.id, "error", err)
		}
	}
	w.ID, w.Revision = s.id, s.revision
	if s.outside || s.doc == nil {
		refused, err := v.overlay(ctx, w)
		if err != nil {
			return nil, err
		}
		for _, u := range refused {
			v.store.o.Log.Warn("a value written by another program is not used", "well", s.id, "column", u.field, "written", beginning(u.written, 200), "why", u.why)
		}
	}
	return w, nil
}

// WellIDByUID implements records.StoreView. The name of a record that was
// merged into another leads to that one.
func (v *view) WellIDByUID(ctx context.Context, uid string) (int64, error) {
	var id int64
	found, err := v.one(ctx, "SELECT w.id FROM wells w WHERE w.uid = ?"+v.staged, []any{uid}, &id)
	if err == nil && !found {
		return v.led(ctx, uid)
	}
	return id, err
}

// CountWells implements records.StoreView.
func (v *view) CountWells(ctx context.Context) (int64, error) {
	var all, hidden int64
	if _, err := v.one(ctx, "SELECT count(*) FROM wells", nil, &all); err != nil {
		return 0, err
	}
	for batch := range v.hidden {
		var n int64
		if _, err := v.one(ctx, "SELECT count(*) FROM wells WHERE batch_id = ?", []any{batch}, &n); err != nil {
			return 0, err
		}
		hidden += n
	}
	return all - hidden, nil
}

// Revisions implements records.StoreView: the latest first.
func (v *view) Revisions(ctx context.Context, wellID int64) ([]records.Revision, error) {
	var out []records.Revision
	err := each(ctx, v, "SELECT revision, until, by, ifnull(why, ''), image FROM revisions WHERE well_id = ? ORDER BY revision DESC",
		[]any{wellID}, func(rows *sql.Rows) error {
			r := records.Revision{WellID: wellID, Image: &records.Well{}}
			var until string
			var image []byte
			if err := rows.Scan(&r.Revision, &until, &r.By, &r.Why, &image); err != nil {
				return err
			}
			var err error
			if r.Until, err = parseTime(until); err != nil {
				return err
			}
			if _, err := parseFeature(image, r.Image); err != nil {
				v.store.o.Log.Warn("an earlier image cannot be read in full", "well", wellID, "revision", r.Revision, "error", err)
			}
			r.Image.ID, r.Image.Revision = wellID, r.Revision
			out = append(out, r)
			return nil
		})
	return out, err
}

// RockUnits implements records.StoreView.
func (v *view) RockUnits(ctx context.Context) (map[uint16]string, error) {
	out := map[uint16]string{}
	err := each(ctx, v, "SELECT code, name FROM rock_units", nil, func(rows *sql.Rows) error {
		var code uint16
		var name string
		if err := rows.Scan(&code, &name); err != nil {
			return err
		}
		out[code] = name
		return nil
	})
	return out, err
}

// timeForm writes times so that they sort as text.
const timeForm = "2006-01-02T15:04:05.000000Z"

func formatTime(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(timeForm)
}

// parseTime reads what formatTime and the triggers write.
func parseTime(s string) (time.Time, error) {
	if s == "" {
		return time.Time{}, nil
	}
	t, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		return t, fmt.Errorf("time: %w", err)
	}
	return t.UTC(), nil
}
