package sqlite

import (
	"context"
	"database/sql"
	"runtime"
	"slices"
	"strings"
	"sync"

	"golang.org/x/sync/errgroup"

	"tallybook/records"
)

// stamp names what a picture was made with.
func (s *Store) stamp() string { return pictureFormat + "/" + s.o.Reader.Version() }

// keptAtOnce is how many pictures made afresh are written in one go.
const keptAtOnce = 32

type madePicture struct {
	chunk int64
	data  []byte
}

// Digests implements records.StoreView. fn is called from another goroutine
// than the caller's, so that the next wells are read while it works; the slice
// that it gets is used again after it returns. Pictures that are missing are
// made from the records and kept for the next time, if nobody is writing.
func (v *view) Digests(ctx context.Context, fn func([]records.Digest) error) error {
	group, inner := errgroup.WithContext(ctx)
	const ahead = 2
	free := make(chan []records.Digest, ahead+1)
	for range cap(free) {
		free <- nil
	}
	read := make(chan []records.Digest, ahead)
	group.Go(func() error {
		for ds := range read {
			if err := fn(ds); err != nil {
				return err
			}
			free <- ds
		}
		return nil
	})
	group.Go(func() error {
		defer close(read)
		return v.eachChunk(inner, func(ds []pictured) error {
			var out []records.Digest
			select {
			case out = <-free:
			case <-inner.Done():
				return inner.Err()
			}
			out = slices.Grow(out[:0], len(ds))
			for i := range ds {
				if !v.hidden[ds[i].batch] {
					out = append(out, ds[i].digest)
				}
			}
			if len(out) == 0 {
				free <- out
				return nil
			}
			select {
			case read <- out:
				return nil
			case <-inner.Done():
				return inner.Err()
			}
		})
	})
	return group.Wait()
}

// eachChunk hands the wells of each chunk to give, in the order of their keys
// and those that are hidden too.
func (v *view) eachChunk(ctx context.Context, give func([]pictured) error) error {
	var last sql.NullInt64
	if _, err := v.one(ctx, "SELECT max(id) FROM wells", nil, &last); err != nil || !last.Valid {
		return err
	}
	kept, err := v.keptChunks(ctx)
	if err != nil {
		return err
	}
	rocks, err := v.rockCodes(ctx)
	if err != nil {
		return err
	}
	var room []pictured
	var made []madePicture
	for chunk := range last.Int64>>chunkBits + 1 {
		if err := ctx.Err(); err != nil {
			return err
		}
		if kept[chunk] {
			ds, ok, err := v.keptChunk(ctx, chunk, room)
			if err != nil {
				return err
			}
			if ok {
				room = ds
				if err := give(ds); err != nil {
					return err
				}
				continue
			}
		}
		ds, err := v.deriveChunk(ctx, chunk, rocks)
		if err != nil {
			return err
		}
		made = append(made, madePicture{chunk, packChunk(ds)})
		if len(made) == keptAtOnce {
			v.keepPictures(ctx, made)
			made = made[:0]
		}
		if err := give(ds); err != nil {
			return err
		}
	}
	v.keepPictures(ctx, made)
	return nil
}

// keptChunk reads a picture into room; ok is false where it cannot be read.
func (v *view) keptChunk(ctx context.Context, chunk int64, room []pictured) (ds []pictured, ok bool, err error) {
	err = each(ctx, v, "SELECT data FROM picture WHERE chunk = ?", []any{chunk}, func(rows *sql.Rows) error {
		var data sql.RawBytes
		if err := rows.Scan(&data); err != nil {
			return err
		}
		var err error
		if ds, err = unpackChunk(chunk, data, room); err != nil {
			v.store.o.Log.Warn("a picture cannot be read; it is made afresh", "chunk", chunk, "error", err)
			return nil
		}
		ok = true
		return nil
	})
	return ds, ok, err
}

// keptChunks tells which pictures hold.
func (v *view) keptChunks(ctx context.Context) (map[int64]bool, error) {
	kept := map[int64]bool{}
	err := each(ctx, v, "SELECT chunk FROM picture WHERE stamp = ?", []any{v.store.stamp()}, func(rows *sql.Rows) error {
		var chunk int64
		err := rows.Scan(&chunk)
		kept[chunk] = true
		return err
	})
	return kept, err
}

func (v *view) rockCodes(ctx context.Context) (func(string) uint16, error) {
	units, err := v.RockUnits(ctx)
	codes := make(map[string]uint16, len(units))
	for code, name := range units {
		codes[name] = code
	}
	return func(name string) uint16 { return codes[name] }, err
}

// deriveChunk makes the digests of a chunk from its records, those of hidden
// batches too.
func (v *view) deriveChunk(ctx context.Context, chunk int64, rocks func(string) uint16) ([]pictured, error) {
	return v.derive(ctx, chunk<<chunkBits, (chunk+1)<<chunkBits-1, "", nil, rocks)
}

// derive makes the digests of the wells with keys from first to last that
// fulfil a condition.
func (v *view) derive(ctx context.Context, first, last int64, condition string, args []any, rocks func(string) uint16) ([]pictured, error) {
	var out []pictured
	err := v.parseAll(ctx, first, last, condition, args, func(n int) func(int, *records.Well) {
		out = make([]pictured, n)
		return func(i int, w *records.Well) {
			out[i] = pictured{records.Derive(w, v.store.o.Reader, rocks), w.Provenance.Batch}
		}
	})
	return out, err
}

// parseAll reads the wells with keys from first to last that fulfil a
// condition, those of hidden batches too unless it says otherwise. begin is
// told how many there are and gives what takes each, by its place in the
// order of the keys. Reading a record costs far more than fetching it, so that
// is done by all processors.
func (v *view) parseAll(ctx context.Context, first, last int64, condition string, args []any, begin func(n int) func(int, *records.Well)) error {
	var stored []storedWell
	err := each(ctx, v, wellSelect+"w.id BETWEEN ? AND ?"+condition+" ORDER BY w.id", append([]any{first, last}, args...), func(rows *sql.Rows) error {
		s, err := scanWell(rows)
		stored = append(stored, s)
		return err
	})
	if err != nil {
		return err
	}
	plates, err := v.platesOf(ctx, first, last)
	if err != nil {
		return err
	}
	take := begin(len(stored))
	// Those that another program has changed need a query each.
	for i := range stored {
		if stored[i].outside || stored[i].doc == nil {
			w, err := v.unpack(ctx, stored[i])
			if err != nil {
				return err
			}
			w.Plates = plates[w.ID]
			take(i, w)
		}
	}
	workers := runtime.GOMAXPROCS(0)
	var wg sync.WaitGroup
	for part := range workers {
		wg.Go(func() {
			for i := part; i < len(stored); i += workers {
				s := &stored[i]
				if s.outside || s.doc == nil {
					continue
				}
				w := &records.Well{}
				if _, err := parseFeature(s.doc, w); err != nil {
					v.store.o.Log.Warn("a record cannot be read in full", "well", s.id, "error", err)
				}
				w.ID, w.Revision, w.Plates = s.id, s.revision, plates[s.id]
				take(i, w)
			}
		})
	}
	wg.Wait()
	return ctx.Err()
}

// keepPictures writes pictures that were made afresh, if they still hold and
// nobody is writing: it never keeps a reader waiting and is no error when it
// fails.
func (v *view) keepPictures(ctx context.Context, made []madePicture) {
	if len(made) == 0 || v.flush != nil { // inside a write transaction they may be rolled back, or go stale
		return
	}
	if err := v.store.keepPictures(ctx, v.commit, made); err != nil {
		v.store.o.Log.Info("pictures made afresh were not kept", "error", err)
	}
}

func (s *Store) keepPictures(ctx context.Context, commit int64, made []madePicture) (err error) {
	select {
	case s.writing <- struct{}{}:
		defer func() { <-s.writing }()
	default:
		return nil
	}
	conn, err := s.writer.Conn(ctx)
	if err != nil {
		return err
	}
	defer func() {
		if rerr := release(conn); err == nil {
			err = rerr
		}
	}()
	if _, err := conn.ExecContext(ctx, "BEGIN IMMEDIATE"); err != nil {
		return err
	}
	var now int64
	if err := conn.QueryRowContext(ctx, lastCommit).Scan(&now); err != nil {
		return err
	}
	if now != commit { // written meanwhile: some of them may no longer hold
		return nil
	}
	for _, m := range made {
		if _, err := conn.ExecContext(ctx, "INSERT OR REPLACE INTO picture(chunk, stamp, data) VALUES (?, ?, ?)", m.chunk, s.stamp(), m.data); err != nil {
			return err
		}
	}
	_, err = conn.ExecContext(ctx, "COMMIT")
	return err
}

// DigestsSince implements records.StoreView. A batch published after the
// commit brings all its wells with it.
func (v *view) DigestsSince(ctx context.Context, commit int64) (changed []records.Digest, gone []int64, err error) {
	rocks, err := v.rockCodes(ctx)
	if err != nil {
		return nil, nil, err
	}
	ids := map[int64]bool{}
	collect := func(rows *sql.Rows) error {
		var id int64
		err := rows.Scan(&id)
		ids[id] = true
		return err
	}
	if err := each(ctx, v, "SELECT w.id FROM wells w WHERE w.changed_commit > ?"+v.staged, []any{commit}, collect); err != nil {
		return nil, nil, err
	}
	if err := each(ctx, v, `SELECT w.id FROM batches b JOIN wells w ON w.batch_id = b.id
		WHERE b.state_commit > ? AND b.state <> 'staged'`, []any{commit}, collect); err != nil {
		return nil, nil, err
	}
	keys := make([]int64, 0, len(ids))
	for id := range ids {
		keys = append(keys, id)
	}
	slices.Sort(keys)
	for page := range slices.Chunk(keys, chunkSize) {
		args := make([]any, len(page))
		for i, id := range page {
			args[i] = id
		}
		ds, err := v.derive(ctx, page[0], page[len(page)-1], " AND w.id IN ("+strings.Repeat(",?", len(page))[1:]+")", args, rocks)
		if err != nil {
			return nil, nil, err
		}
		for i := range ds {
			changed = append(changed, ds[i].digest)
		}
	}
	// Gone are those taken out, and those of a batch that was withdrawn from
	// sight.
	err = each(ctx, v, `SELECT well_id FROM removed WHERE removed_commit > ?1
		UNION SELECT w.id FROM batches b JOIN wells w ON w.batch_id = b.id WHERE b.state_commit > ?1 AND b.state = 'staged'
		ORDER BY 1`, []any{commit}, func(rows *sql.Rows) error {
		var id int64
		err := rows.Scan(&id)
		gone = append(gone, id)
		return err
	})
	return changed, gone, err
}
