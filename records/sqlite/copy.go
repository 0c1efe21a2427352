package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"time"

	"tallybook/records"
)

var _ records.CopyStore = (*Store)(nil)

// CopyTo implements records.CopyStore.
func (s *Store) CopyTo(ctx context.Context, path string, o records.CopyOptions) (records.Copied, error) {
	if o.Progress == nil {
		o.Progress = func(int64, int64) {}
	}
	if o.Wash != nil {
		return s.copyWashed(ctx, path, o)
	}
	return s.copyWhole(ctx, path, o)
}

// OpenCopy implements records.CopyStore.
func (s *Store) OpenCopy(ctx context.Context, path string) (records.Store, error) {
	o := s.o
	o.Path, o.Create = path, false
	c, err := Open(ctx, o)
	if err != nil {
		return nil, err
	}
	return c, nil
}

// NewLayers implements records.CopyStore.
func (s *Store) NewLayers(path string) (records.LayerSink, error) {
	f, err := NewGISFile(path)
	if err != nil {
		return nil, err
	}
	return f, nil
}

// copyWhole has SQLite write a compact copy from one read transaction. Pages
// that were freed are not in it.
func (s *Store) copyWhole(ctx context.Context, path string, o records.CopyOptions) (records.Copied, error) {
	var c records.Copied
	// A connection of its own: the readers' may not write, and VACUUM INTO, which
	// writes nothing here, counts as writing.
	db := openPool(nil, dsn(s.path, "_busy_timeout=2000"))
	defer db.Close()
	var pages, size int64
	if err := db.QueryRowContext(ctx, "SELECT (SELECT page_count FROM pragma_page_count()), (SELECT page_size FROM pragma_page_size())").Scan(&pages, &size); err != nil {
		return c, translate(err, "copy")
	}
	done := make(chan struct{})
	watched := make(chan struct{})
	go func() { // the copy's length is all that there is to go by
		defer close(watched)
		tick := time.NewTicker(200 * time.Millisecond)
		defer tick.Stop()
		for {
			select {
			case <-done:
				return
			case <-tick.C:
				if st, err := os.Stat(path); err == nil {
					o.Progress(st.Size(), pages*size)
				}
			}
		}
	}()
	_, err := db.ExecContext(ctx, "VACUUM INTO ?", path)
	close(done)
	<-watched
	if err != nil {
		if ctx.Err() != nil {
			return c, ctx.Err()
		}
		return c, translate(err, "copy")
	}
	if err := copyBeside(ctx, FolderBeside(s.path), FolderBeside(path)); err != nil {
		return c, err
	}
	return countCopy(ctx, path)
}

// countCopy tells what a whole copy holds.
func countCopy(ctx context.Context, path string) (c records.Copied, err error) {
	db := openPool(nil, dsnPlain(path))
	defer func() { err = errors.Join(err, db.Close()) }()
	err = db.QueryRowContext(ctx, `SELECT (SELECT count(*) FROM wells w WHERE NOT EXISTS (SELECT 1 FROM batches b WHERE b.id = w.batch_id AND b.state = 'staged')),
		(SELECT count(*) FROM plates), (SELECT count(*) FROM sightings), (SELECT count(*) FROM layers), (SELECT count(*) FROM contents), (SELECT ifnull(sum(size), 0) FROM contents)`).
		Scan(&c.Wells, &c.Plates, &c.Sightings, &c.Layers, &c.Scans, &c.ScansBytes)
	return c, translate(err, "count the copy")
}

// copyBeside copies the contents that lie beside the database, whole files
// alone. They never change once they are there.
func copyBeside(ctx context.Context, from, to string) error {
	if _, err := os.Stat(from); errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if _, err := os.Stat(to); err == nil {
		return records.Errorf(records.Conflict, "the folder %s is there already: name another place for the copy", to)
	}
	err := filepath.WalkDir(from, func(path string, d fs.DirEntry, err error) error {
		if err != nil || ctx.Err() != nil {
			return errors.Join(err, ctx.Err())
		}
		if !d.Type().IsRegular() || !records.ValidSHA256(d.Name()) {
			return nil
		}
		data, err := os.ReadFile(path) // of records.MostAttached at most
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(from, path)
		if err != nil {
			return err
		}
		return writeBeside(filepath.Join(to, rel), data)
	})
	if err != nil {
		return errors.Join(records.WrapError(records.Internal, err, "the scans beside the database cannot be copied to %s", to), os.RemoveAll(to))
	}
	return nil
}

// copyWashed builds a database afresh from the records.
func (s *Store) copyWashed(ctx context.Context, path string, o records.CopyOptions) (c records.Copied, err error) {
	to := s.o
	to.Path, to.Create = path, true
	dst, err := Open(ctx, to)
	if err != nil {
		return c, err
	}
	defer func() { err = errors.Join(err, dst.Close()) }()
	err = s.View(ctx, func(v records.StoreView) error {
		w := &washed{from: v.(*view), to: dst, o: o}
		defer func() { c = w.done }()
		return w.all(ctx)
	})
	return c, err
}

// washed is a washed copy being made.
type washed struct {
	from *view
	to   *Store
	o    records.CopyOptions
	done records.Copied
}

// copier is who makes a copy, as far as the copy knows.
var copier = records.Actor{Name: "copied"}

func (w *washed) all(ctx context.Context) error {
	if err := w.to.Update(ctx, copier, func(u records.StoreTx) error { return w.frame(ctx, u.(*tx)) }); err != nil {
		return err
	}
	if err := w.wells(ctx); err != nil {
		return err
	}
	return w.to.Update(ctx, copier, func(u records.StoreTx) error { return w.rest(ctx, u) })
}

// frame copies what records refer to: the intakes, by their keys.
func (w *washed) frame(ctx context.Context, t *tx) error {
	if err := t.touch(ctx); err != nil {
		return err
	}
	const columns = "id, uid, source, sha256, started_at, by, state, read, accepted, warned, refused, copy_of, changed, same, clashes, gone"
	return each(ctx, w.from, "SELECT "+columns+" FROM batches WHERE state = 'published' ORDER BY id", nil, func(rows *sql.Rows) error {
		values, err := scanValues(rows, 16)
		if err != nil {
			return err
		}
		args := []any{t.commit}
		for _, v := range values {
			args = append(args, v)
		}
		_, err = t.write(ctx, "INSERT INTO batches(state_commit, "+columns+") VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", args...)
		return err
	})
}

// copiedAtOnce is how many wells go into one transaction of a copy.
const copiedAtOnce = 20000

func (w *washed) wells(ctx context.Context) error {
	total, err := w.from.CountWells(ctx)
	if err != nil {
		return err
	}
	part := make([]*records.Well, 0, copiedAtOnce)
	flush := func() error {
		if len(part) == 0 {
			return nil
		}
		err := w.to.Update(ctx, copier, func(u records.StoreTx) error { return w.some(ctx, u.(*tx), part) })
		w.done.Wells += int64(len(part))
		w.o.Progress(w.done.Wells, total)
		part = part[:0]
		return err
	}
	err = w.from.EachWell(ctx, nil, func(well *records.Well) error {
		w.o.Wash(well)
		part = append(part, well)
		if len(part) == copiedAtOnce {
			return flush()
		}
		return nil
	})
	if err != nil {
		return err
	}
	return flush()
}

// some writes wells under the keys that they have.
func (w *washed) some(ctx context.Context, t *tx, part []*records.Well) error {
	for _, well := range part {
		id := well.ID
		well.ID, well.Revision = 0, 0
		r, err := t.store.ready(well)
		if err != nil {
			return err
		}
		if t.nextID = id; id <= 0 {
			return records.Errorf(records.Internal, "the record %s has no key", well.UID)
		}
		if _, err := t.add(ctx, r, false); err != nil {
			return err
		}
	}
	return nil
}

// rest copies plates, sightings and reference layers.
func (w *washed) rest(ctx context.Context, t records.StoreTx) error {
	err := w.from.EachPlate(ctx, func(p *records.Plate) error {
		p.ID, p.Revision = 0, 0
		w.done.Plates++
		return t.PutPlate(ctx, p, "")
	})
	if err != nil {
		return err
	}
	seen, err := w.from.Sightings(ctx, nil)
	if err != nil {
		return err
	}
	for _, s := range seen {
		s.ID, s.Revision, s.By = 0, 0, ""
		w.done.Sightings++
		if err := t.PutSighting(ctx, s, ""); err != nil {
			return err
		}
	}
	layers, err := w.from.Layers(ctx)
	if err != nil {
		return err
	}
	for i := range layers {
		layers[i].ID = 0
		w.done.Layers++
		if err := t.PutLayer(ctx, &layers[i]); err != nil {
			return err
		}
	}
	return nil
}

// dsnPlain opens a file as it is, to be read.
func dsnPlain(path string) string {
	u := url.URL{Path: path}
	return "file:" + u.EscapedPath() + "?mode=ro&_query_only=on&_busy_timeout=5000"
}
