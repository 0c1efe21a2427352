package sqlite

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"time"

	"github.com/mattn/go-sqlite3"

	"tallybook/records"
)

// Store implements records.Store on one file. It is safe for use by many
// goroutines; other processes may have the file open too.
type Store struct {
	path    string
	o       Options
	writer  *sql.DB // one connection
	readers *sql.DB
	writing chan struct{} // holds a token while this process writes
	groups  []group       // the layer's columns
	inserters
	columnCount  int // of a row of wells
	layerColumns int // those of the layer among them
	claimed      claimed
	shapes       sync.Map     // of functions by handle, for conditions in the making
	lastShape    atomic.Int64 // handle
	schema       int64        // PRAGMA schema_version when the triggers were last looked at; only with the token
}

var _ records.Store = (*Store)(nil)

// Close closes the file. What is committed is in it.
func (s *Store) Close() error {
	return translate(errors.Join(s.readers.Close(), s.writer.Close(), s.claimed.close()), "close "+s.path)
}

// Changes implements records.Store.
func (s *Store) Changes(ctx context.Context) (int64, error) {
	var no int64
	err := s.readers.QueryRowContext(ctx, lastCommit).Scan(&no)
	return no, translate(err, "changes")
}

const lastCommit = "SELECT ifnull(max(no), 0) FROM commits"

// View implements records.Store. fn must not keep the StoreView.
func (s *Store) View(ctx context.Context, fn func(records.StoreView) error) (err error) {
	conn, err := s.readers.Conn(ctx)
	if err != nil {
		return translate(err, "view")
	}
	defer func() { err = errors.Join(err, release(conn)) }()
	if _, err := conn.ExecContext(ctx, "BEGIN"); err != nil {
		return translate(err, "begin view")
	}
	v := &view{store: s, conn: conn}
	if err := v.look(ctx); err != nil {
		return err
	}
	return fn(v)
}

// release ends whatever transaction is open on a connection and gives it
// back.
func release(conn *sql.Conn) error {
	err := conn.Raw(func(dc any) error {
		c := dc.(*sqlite3.SQLiteConn)
		if c.AutoCommit() { // nothing open: SQLite rolls back by itself after some errors
			return nil
		}
		_, err := c.ExecContext(context.Background(), "ROLLBACK", nil)
		return err
	})
	return translate(errors.Join(err, conn.Close()), "end transaction")
}

// Update implements records.Store. fn must not keep the StoreTx, nor call
// Update or Close, which wait for it to end.
func (s *Store) Update(ctx context.Context, actor records.Actor, fn func(records.StoreTx) error) error {
	return s.inTx(ctx, func(t *tx) error {
		t.actor = actor
		if err := t.takeInOutside(ctx); err != nil {
			return err
		}
		return fn(t)
	})
}

// inTx runs fn in a write transaction: all or nothing, also when fn panics.
func (s *Store) inTx(ctx context.Context, fn func(*tx) error) (err error) {
	select {
	case s.writing <- struct{}{}:
		defer func() { <-s.writing }()
	case <-ctx.Done():
		return ctx.Err()
	}
	conn, err := s.writer.Conn(ctx)
	if err != nil {
		return translate(err, "write")
	}
	defer func() { err = errors.Join(err, release(conn)) }()
	if err := s.begin(ctx, conn); err != nil {
		return err
	}
	t := &tx{view: view{store: s, conn: conn}, now: s.o.Now().UTC().Truncate(time.Microsecond)}
	t.view.flush = t.flush
	if err := t.look(ctx); err != nil {
		return err
	}
	if err := t.watchSchema(ctx); err != nil {
		return err
	}
	if err := fn(t); err != nil {
		return err
	}
	if err := t.finish(ctx); err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	// From here on the outcome must be known: a cancelled context no longer
	// counts.
	_, err = conn.ExecContext(context.WithoutCancel(ctx), "COMMIT")
	return translate(err, "commit")
}

// begin takes the file's write lock, waiting for another process's writer.
// SQLite's own waiting does not heed ctx, so it is kept short and repeated.
func (s *Store) begin(ctx context.Context, conn *sql.Conn) error {
	deadline := time.Now().Add(s.o.BusyWait)
	for {
		_, err := conn.ExecContext(ctx, "BEGIN IMMEDIATE")
		if err == nil {
			return nil
		}
		var e sqlite3.Error
		busy := errors.As(err, &e) && e.Code == sqlite3.ErrBusy
		if cerr := ctx.Err(); cerr != nil {
			return cerr
		}
		if !busy || time.Now().After(deadline) {
			return translate(err, "begin")
		}
	}
}

// exec runs a statement with all its values in one call into SQLite. The
// driver's own Exec makes a call for each value, which for rows by the
// hundred costs more than the rows do; its Query does not, and runs a
// statement without rows to its end.
func exec(dc any, query string, args []driver.NamedValue) error {
	rows, err := dc.(*sqlite3.SQLiteConn).QueryContext(context.Background(), query, args)
	if err != nil {
		return fmt.Errorf("%.60s: %w", query, err)
	}
	return rows.Close()
}
