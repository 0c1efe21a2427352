package sqlite

import (
	"context"
	"database/sql"
	"fmt"

	"tallybook/records"
)

// reviewHead reads reviews with the latest state of each; its last column is
// the document, or nothing of it.
const (
	reviewHead = `SELECT r.id, r.uid, r.kept_at, r.kept_by, r.title, ifnull(r.author, ''), ifnull(r.note, ''), r.data_commit, r.data_digest, r.wells,
		ifnull(s.revision, 0), ifnull(s.at, ''), ifnull(s.by, ''), ifnull(s.why, ''), ifnull(s.withdrawn, 0), `
	reviewFrom = ` FROM reviews r LEFT JOIN review_states s ON s.review_id = r.id
		AND s.revision = (SELECT max(revision) FROM review_states WHERE review_id = r.id) `
)

func scanReview(rows *sql.Rows) (*records.Review, error) {
	r := &records.Review{}
	s := &r.State
	var keptAt, at string
	var doc []byte
	err := rows.Scan(&r.ID, &r.UID, &keptAt, &r.KeptBy, &r.Title, &r.Author, &r.Note, &r.DataCommit, &r.Digest, &r.Wells,
		&s.Revision, &at, &s.By, &s.Why, &s.Withdrawn, &doc)
	if err == nil {
		r.KeptAt, err = parseTime(keptAt)
	}
	if err == nil {
		s.At, err = parseTime(at)
	}
	if doc != nil {
		r.Document = doc
	}
	return r, err
}

// Review implements records.ReviewView.
func (v *view) Review(ctx context.Context, id int64) (r *records.Review, err error) {
	err = each(ctx, v, reviewHead+"r.doc"+reviewFrom+"WHERE r.id = ?", []any{id}, func(rows *sql.Rows) error {
		r, err = scanReview(rows)
		return err
	})
	if err == nil && r == nil {
		err = noReview(id)
	}
	if err != nil {
		return nil, err
	}
	return r, nil
}

func noReview(id int64) error { return records.Errorf(records.NotFound, "there is no review %d", id) }

// ReviewIDByUID implements records.ReviewView.
func (v *view) ReviewIDByUID(ctx context.Context, uid string) (id int64, err error) {
	found, err := v.one(ctx, "SELECT id FROM reviews WHERE uid = ?", []any{uid}, &id)
	if err == nil && !found {
		err = records.Errorf(records.NotFound, "there is no review %q", uid)
	}
	return id, err
}

// Reviews implements records.ReviewView.
func (v *view) Reviews(ctx context.Context) ([]*records.Review, error) {
	var out []*records.Review
	err := each(ctx, v, reviewHead+"NULL"+reviewFrom+"ORDER BY r.id DESC", nil, func(rows *sql.Rows) error {
		r, err := scanReview(rows)
		out = append(out, r)
		return err
	})
	return out, err
}

// ReviewStates implements records.ReviewView.
func (v *view) ReviewStates(ctx context.Context, id int64) ([]records.ReviewState, error) {
	var out []records.ReviewState
	err := each(ctx, v, "SELECT revision, at, by, ifnull(why, ''), withdrawn FROM review_states WHERE review_id = ? ORDER BY revision DESC", []any{id}, func(rows *sql.Rows) error {
		var s records.ReviewState
		var at string
		err := rows.Scan(&s.Revision, &at, &s.By, &s.Why, &s.Withdrawn)
		if err == nil {
			s.At, err = parseTime(at)
		}
		out = append(out, s)
		return err
	})
	return out, err
}

// KeepReview implements records.ReviewTx.
func (t *tx) KeepReview(ctx context.Context, r *records.Review) error {
	if r.ID != 0 {
		return records.Errorf(records.Conflict, "a kept review never changes")
	}
	if err := records.FaultError(r.Validate()); err != nil {
		return err
	}
	uid, err := newUID(r.UID)
	if err != nil {
		return err
	}
	if taken, err := t.uidTaken(ctx, "reviews", uid, 0); err != nil || taken {
		if err == nil {
			err = &records.Error{Code: records.Conflict, Field: "uid", Message: "there is a review with this uid already"}
		}
		return err
	}
	if err := t.touch(ctx); err != nil {
		return err
	}
	result, err := t.write(ctx, "INSERT INTO reviews(uid, kept_at, kept_by, title, author, note, data_commit, data_digest, wells, doc) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
		uid, formatTime(t.now), t.actor.Name, r.Title, textOrNull(r.Author), textOrNull(r.Note), r.DataCommit, r.Digest, r.Wells, string(r.Document))
	if err != nil {
		return err
	}
	id, err := result.LastInsertId()
	if err != nil {
		return t.fail(translate(err, "new review"))
	}
	r.ID, r.UID, r.KeptAt, r.KeptBy, r.State = id, uid, t.now, t.actor.Name, records.ReviewState{}
	return nil
}

// DecideReview implements records.ReviewTx.
func (t *tx) DecideReview(ctx context.Context, id int64, s *records.ReviewState) error {
	var revision int64
	found, err := t.one(ctx, "SELECT ifnull((SELECT max(revision) FROM review_states WHERE review_id = r.id), 0) FROM reviews r WHERE r.id = ?", []any{id}, &revision)
	switch {
	case err != nil:
		return err
	case !found:
		return noReview(id)
	case revision != s.Revision:
		return records.Errorf(records.Conflict, "somebody else decided something of the review meanwhile: look at it again")
	}
	if err := t.touch(ctx); err != nil {
		return err
	}
	if _, err := t.write(ctx, "INSERT INTO review_states(review_id, revision, at, by, why, withdrawn) VALUES (?, ?, ?, ?, ?, ?)",
		id, revision+1, formatTime(t.now), t.actor.Name, textOrNull(s.Why), s.Withdrawn); err != nil {
		return err
	}
	s.Revision, s.At, s.By = revision+1, t.now, t.actor.Name
	return nil
}

// reviews looks whether every kept review can be read, and names the records
// that it says.
func (c *integrity) reviews(ctx context.Context) error {
	found := 0
	return each(ctx, c.view, `SELECT id, json_valid(doc), ifnull(CASE WHEN json_valid(doc) THEN doc ->> '$.data.digest' END, '') = data_digest,
		ifnull(CASE WHEN json_valid(doc) THEN doc ->> '$.data.wells' END, -1) = wells FROM reviews ORDER BY id`, nil, func(rows *sql.Rows) error {
		var id int64
		var valid, digest, wells bool
		if err := rows.Scan(&id, &valid, &digest, &wells); err != nil {
			return err
		}
		if found >= mostFaults {
			return ctx.Err()
		}
		switch {
		case !valid:
			found++
			c.add("reviews", fmt.Sprintf("review %d cannot be read", id), mendFile)
		case !digest || !wells:
			found++
			c.add("reviews", fmt.Sprintf("review %d: its row names other records than its text", id), mendFile)
		}
		return ctx.Err()
	})
}
