package sqlite

import (
	"context"
	"database/sql"
	"time"

	"tallybook/records"
)

// tx is a write transaction. New wells are held back and written many at a
// time; every read writes them first.
type tx struct {
	view
	now    time.Time
	actor  records.Actor
	dirty  bool  // the commit's row and the mark of own writes are there
	failed error // what SQLite refused: the transaction will not be committed

	new     newWells
	nextID  int64            // the next well's key; 0: not looked up yet
	rocks   map[string]int64 // codes of rock units; nil: not read yet
	batch   int64            // one that is known to be there
	chunks  map[int64]bool   // pictures that no longer hold
	fresh   freshPictures    // of new wells
	extent  extentChange
	spots   map[string]*box // layers of spots that are written, and where
	merged  int             // whether there is any merge; see anyMerged
	scratch []byte
}

// Now implements records.StoreTx.
func (t *tx) Now() time.Time { return t.now }

// touch does what comes before the first write: the commit gets its number,
// and the triggers for other programs' writes are switched off.
func (t *tx) touch(ctx context.Context) error {
	if t.failed != nil {
		return t.failed
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	if t.dirty {
		return nil
	}
	t.dirty = true
	result, err := t.write(ctx, "INSERT INTO commits(at, actor_id, actor) VALUES (?, ?, ?)",
		formatTime(t.now), idOrNull(t.actor.ID), t.actor.Name)
	if err != nil {
		return err
	}
	if t.commit, err = result.LastInsertId(); err != nil {
		return t.fail(translate(err, "new commit"))
	}
	_, err = t.write(ctx, "INSERT INTO own_write VALUES (1)")
	return err
}

// finish does what comes after the last write.
func (t *tx) finish(ctx context.Context) error {
	if t.failed != nil {
		return t.failed
	}
	if !t.dirty {
		return nil
	}
	if err := t.flush(ctx); err != nil {
		return err
	}
	if err := t.finishPictures(ctx); err != nil {
		return err
	}
	if err := t.writeStatistics(ctx); err != nil {
		return err
	}
	if err := t.writeSpotStatistics(ctx); err != nil {
		return err
	}
	_, err := t.write(ctx, "DELETE FROM own_write")
	return err
}

// write runs a statement that changes something. When it fails the whole
// transaction has failed, whatever the caller does with the error.
func (t *tx) write(ctx context.Context, query string, args ...any) (sql.Result, error) {
	if t.failed != nil {
		return nil, t.failed
	}
	// A statement is short; ctx is looked at between statements, which saves
	// the driver a goroutine for each.
	result, err := t.conn.ExecContext(context.WithoutCancel(ctx), query, args...)
	if err != nil {
		return nil, t.fail(translate(err, query))
	}
	return result, nil
}

func (t *tx) fail(err error) error {
	if err != nil && t.failed == nil {
		t.failed = err
	}
	return err
}

// uidTaken says whether another row of a table has the uid.
func (t *tx) uidTaken(ctx context.Context, table, uid string, id int64) (bool, error) {
	var other int64
	found, err := t.one(ctx, "SELECT id FROM "+table+" WHERE uid = ?", []any{uid}, &other)
	return found && other != id, err
}

func textOrNull(s string) any {
	if s == "" {
		return nil
	}
	return s
}

func idOrNull(id int64) any {
	if id == 0 {
		return nil
	}
	return id
}
