package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"

	"tallybook/records"
)

const draftColumns = "id, revision, person_id, person, well_id, well_revision, title, started_at, kept_at, ended"

// scanDraft reads draftColumns and, where it is asked for, what was typed.
func scanDraft(rows *sql.Rows, typed *[]byte) (*records.Draft, error) {
	d := &records.Draft{}
	var started, kept string
	into := []any{&d.ID, &d.Revision, &d.PersonID, &d.Person, &d.WellID, &d.WellRevision, &d.Title, &started, &kept, &d.Ended}
	if typed != nil {
		into = append(into, typed)
	}
	err := rows.Scan(into...)
	if err == nil {
		d.StartedAt, err = parseTime(started)
	}
	if err == nil {
		d.KeptAt, err = parseTime(kept)
	}
	return d, err
}

// Draft implements records.DraftView.
func (v *view) Draft(ctx context.Context, id int64) (*records.Draft, error) {
	var found *records.Draft
	err := each(ctx, v, "SELECT "+draftColumns+", typed FROM drafts WHERE id = ?", []any{id}, func(rows *sql.Rows) error {
		var typed []byte
		d, err := scanDraft(rows, &typed)
		if err != nil {
			return err
		}
		if err := json.Unmarshal(typed, &d.Typed); err != nil {
			return fmt.Errorf("draft %d: %w", id, err)
		}
		found = d
		return nil
	})
	if err == nil && found == nil {
		err = records.Errorf(records.NotFound, "there is no draft %d", id)
	}
	return found, err
}

// Drafts implements records.DraftView.
func (v *view) Drafts(ctx context.Context, personID int64) ([]*records.Draft, error) {
	var out []*records.Draft
	err := each(ctx, v, "SELECT "+draftColumns+" FROM drafts WHERE person_id = ? AND ended = '' ORDER BY kept_at DESC, id DESC", []any{personID}, func(rows *sql.Rows) error {
		d, err := scanDraft(rows, nil)
		out = append(out, d)
		return err
	})
	return out, err
}

// PutDraft implements records.DraftTx. It goes past tx.touch: a draft that is
// kept while somebody types is no commit, or every map would be drawn anew.
func (t *tx) PutDraft(ctx context.Context, d *records.Draft) error {
	if d.Typed == nil {
		return records.Errorf(records.Invalid, "a draft needs something typed")
	}
	typed, err := json.Marshal(d.Typed)
	if err != nil {
		return err
	}
	if _, err := t.write(ctx, "DELETE FROM drafts WHERE ended <> '' AND kept_at < ?", formatTime(t.now.Add(-records.DraftsKeptFor))); err != nil {
		return err
	}
	next := *d
	next.PersonID, next.Person, next.KeptAt, next.Ended, next.Revision = t.actor.ID, t.actor.Name, t.now, "", d.Revision+1
	if d.ID == 0 {
		if d.Revision != 0 {
			return records.Errorf(records.Conflict, "a new draft has no revision")
		}
		next.StartedAt = t.now
		result, err := t.write(ctx, "INSERT INTO drafts("+draftColumns+", typed) VALUES (NULL, 1, ?, ?, ?, ?, ?, ?, ?, '', ?)",
			next.PersonID, next.Person, next.WellID, next.WellRevision, next.Title, formatTime(t.now), formatTime(t.now), string(typed))
		if err != nil {
			return err
		}
		if next.ID, err = result.LastInsertId(); err != nil {
			return t.fail(translate(err, "new draft"))
		}
		*d = next
		return nil
	}
	was, err := t.openDraft(ctx, d.ID, d.Revision)
	if err != nil {
		return err
	}
	switch {
	case was.Ended != "":
		return records.Errorf(records.Conflict, "the draft was %s meanwhile, in another window", was.Ended)
	case was.PersonID != t.actor.ID:
		return records.Errorf(records.Forbidden, "a draft is written by the one who began it")
	}
	next.StartedAt = was.StartedAt
	if _, err := t.write(ctx, "UPDATE drafts SET revision = ?, person = ?, well_id = ?, well_revision = ?, title = ?, kept_at = ?, typed = ? WHERE id = ?",
		next.Revision, next.Person, next.WellID, next.WellRevision, next.Title, formatTime(t.now), string(typed), d.ID); err != nil {
		return err
	}
	*d = next
	return nil
}

// openDraft reads a draft that must be there at a revision.
func (t *tx) openDraft(ctx context.Context, id, revision int64) (*records.Draft, error) {
	d, err := t.Draft(ctx, id)
	if err == nil && d.Revision != revision {
		err = records.Errorf(records.Conflict, "the draft was written meanwhile in another window (you have its revision %d, it is now at %d)", revision, d.Revision)
	}
	return d, err
}

// EndDraft implements records.DraftTx.
func (t *tx) EndDraft(ctx context.Context, id, revision int64, how string) error {
	switch how {
	case "", records.DraftSaved, records.DraftDiscarded:
	default:
		return records.Errorf(records.Invalid, "a draft cannot be %q", how)
	}
	d, err := t.openDraft(ctx, id, revision)
	if err != nil {
		return err
	}
	if d.PersonID != t.actor.ID {
		return records.Errorf(records.Forbidden, "a draft is ended by the one who began it")
	}
	_, err = t.write(ctx, "UPDATE drafts SET ended = ?, kept_at = ? WHERE id = ?", how, formatTime(t.now), id)
	return err
}

// drafts looks whether every draft can be read.
func (c *integrity) drafts(ctx context.Context) error {
	found := 0
	return each(ctx, c.view, "SELECT id, typed, started_at, kept_at FROM drafts ORDER BY id", nil, func(rows *sql.Rows) error {
		var id int64
		var typed []byte
		var started, kept string
		if err := rows.Scan(&id, &typed, &started, &kept); err != nil {
			return err
		}
		var form records.Typed
		err := json.Unmarshal(typed, &form)
		if err == nil {
			_, err = parseTime(started)
		}
		if err == nil {
			_, err = parseTime(kept)
		}
		if err != nil && found < mostFaults {
			found++
			c.add("drafts", fmt.Sprintf("draft %d cannot be read: %v", id, err), "delete its row of the table drafts: no record hangs on it")
		}
		return ctx.Err()
	})
}
