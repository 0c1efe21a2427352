package sqlite

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"net/url"
	"os"
	"path/filepath"
	"time"

	"github.com/mattn/go-sqlite3"

	"tallybook/records"
)

// applicationID marks a file as ours, in the four bytes that SQLite's header
// has for it: "tlyb".
const applicationID = 0x746c7962

// Options say which file to open and what the store needs from outside.
type Options struct {
	Path   string
	Create bool             // make the file if it is not there
	Now    func() time.Time // the clock; time.Now when nil
	Reader records.Reader   // reads the ground of strata; required
	Log    *slog.Logger     // slog.Default() when nil
	// BusyWait is how long a write waits for another program's; 10 s when 0.
	BusyWait time.Duration
}

// Open opens the file, brings it to the program's schema and repairs what a
// GIS may have put in the place of the spatial index's triggers. The errors
// say in a sentence for a person why a file cannot be used.
func Open(ctx context.Context, o Options) (*Store, error) {
	if o.Reader == nil {
		panic("sqlite: Open without a Reader")
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Log == nil {
		o.Log = slog.Default()
	}
	if o.BusyWait == 0 {
		o.BusyWait = 10 * time.Second
	}
	path, err := filepath.Abs(o.Path)
	if err != nil {
		return nil, records.WrapError(records.Invalid, err, "%q is not the path of a file", o.Path)
	}
	if err := checkFile(ctx, path, o.Create); err != nil {
		return nil, err
	}
	s := &Store{path: path, o: o, writing: make(chan struct{}, 1), groups: layerGroups()}
	s.inserters = newInserters(s.groups)
	s.columnCount = s.inserters.wells.width
	for _, g := range s.groups {
		s.layerColumns += len(g.names)
	}
	s.writer = openPool(s.addFunctions, dsn(path, "_txlock=immediate&_synchronous=FULL&_busy_timeout=100&_cache_size=-65536"))
	// One connection, so that writers of this process queue here and not in
	// the file.
	s.writer.SetMaxOpenConns(1)
	s.readers = openPool(s.addFunctions, dsn(path, "_query_only=on&_busy_timeout=2000&_cache_size=-16384"))
	s.readers.SetMaxOpenConns(8)
	s.readers.SetMaxIdleConns(4)
	if err := s.prepare(ctx); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return s, nil
}

// prepare brings the file's schema and index up to date.
func (s *Store) prepare(ctx context.Context) error {
	if err := s.migrate(ctx); err != nil {
		return err
	}
	return s.inTx(ctx, func(t *tx) error {
		if err := t.repairTriggers(ctx); err != nil {
			return err
		}
		if err := t.checkStatistics(ctx); err != nil {
			return err
		}
		return t.checkSpots(ctx)
	})
}

// connector opens connections of one kind.
type connector struct {
	driver *sqlite3.SQLiteDriver
	dsn    string
}

func (c connector) Connect(context.Context) (driver.Conn, error) { return c.driver.Open(c.dsn) }
func (c connector) Driver() driver.Driver                        { return c.driver }

// openPool makes a pool of connections with what the connection string has no
// words for: notes that a statement takes to be undone by are kept in memory,
// and the log is folded into the file by 128 MB, not by 4, since a long intake
// writes the same pages of the indexes over and over.
// add gives each connection functions of ours; nil: none.
func openPool(add func(*sqlite3.SQLiteConn) error, dsn string) *sql.DB {
	return sql.OpenDB(connector{dsn: dsn, driver: &sqlite3.SQLiteDriver{ConnectHook: func(c *sqlite3.SQLiteConn) error {
		_, err := c.Exec("PRAGMA temp_store = MEMORY; PRAGMA wal_autocheckpoint = 32000; PRAGMA journal_size_limit = 67108864", nil)
		if err == nil && add != nil {
			err = add(c)
		}
		return err
	}}})
}

// dsn is the connection string for a file. The driver hands it to SQLite as a
// URI, in which '?', '#' and '%' of a file's name have to be escaped, and
// sets the pragmas on every connection that it opens. secure_delete
// overwrites what is deleted: people's names are among it. Statements are
// kept prepared.
func dsn(path, more string) string {
	u := url.URL{Scheme: "file", Path: filepath.ToSlash(path)}
	if u.Path[0] != '/' { // a drive letter
		u.Path = "/" + u.Path
	}
	return "file:" + u.EscapedPath() + "?mode=rw&_mutex=no&_journal_mode=WAL&_foreign_keys=on&_secure_delete=on&_stmt_cache_size=64&" + more
}

// checkFile refuses a file that is not ours before SQLite touches it, and
// makes a new one where none is. A file bears our mark in its header from its
// first moment, so the header is all that has to be looked at.
func checkFile(ctx context.Context, path string, create bool) error {
	head := make([]byte, 100)
	f, err := os.Open(path)
	switch {
	case errors.Is(err, fs.ErrNotExist) && create:
		return createFile(ctx, path)
	case errors.Is(err, fs.ErrNotExist):
		return records.WrapError(records.NotFound, err, "there is no file %s", path)
	case errors.Is(err, fs.ErrPermission):
		return records.WrapError(records.Forbidden, err, "the file %s may not be read", path)
	case err != nil:
		return records.WrapError(records.Invalid, err, "the file %s cannot be opened", path)
	}
	n, err := io.ReadFull(f, head)
	if cerr := f.Close(); cerr != nil {
		return fmt.Errorf("sqlite: close %s: %w", path, cerr)
	}
	switch {
	case n == 0 && errors.Is(err, io.EOF) && create: // an empty file, as touch makes one
		return createFile(ctx, path)
	case err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF):
		return records.WrapError(records.Invalid, err, "the file %s cannot be read", path)
	case string(head[:16]) != "SQLite format 3\x00" || n < len(head):
		return records.Errorf(records.Invalid, "%s is not a database of this program", path)
	case binary.BigEndian.Uint32(head[68:]) != applicationID:
		return records.Errorf(records.Invalid, "%s is a database of another program", path)
	}
	return nil
}

// createFile makes a new file that bears our mark, with SQLite's plain
// journal, so that the mark stands in the file itself and not in a log beside
// it. Only the owner may read it: there are people's names in it.
func createFile(ctx context.Context, path string) (err error) {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return records.WrapError(records.NotFound, err, "the file %s cannot be made: its folder is not there; make it first", path)
	case err != nil:
		return records.WrapError(records.Forbidden, err, "the file %s cannot be made there", path)
	}
	if err := f.Close(); err != nil {
		return fmt.Errorf("sqlite: close %s: %w", path, err)
	}
	u := url.URL{Scheme: "file", Path: filepath.ToSlash(path)}
	db := openPool(nil, "file:"+u.EscapedPath()+"?mode=rw&_txlock=exclusive&_busy_timeout=5000&_synchronous=FULL")
	defer func() {
		if cerr := db.Close(); err == nil && cerr != nil {
			err = translate(cerr, "create "+path)
		}
	}()
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return translate(err, "create "+path)
	}
	// Another process may have been first: the same mark does no harm.
	if _, err := tx.ExecContext(ctx, fmt.Sprintf("PRAGMA application_id = %d", applicationID)); err != nil {
		return errors.Join(translate(err, "mark "+path), tx.Rollback())
	}
	return translate(tx.Commit(), "create "+path)
}
