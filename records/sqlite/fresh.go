package sqlite

import (
	"context"
)

// freshPictures are the digests of the wells that a transaction adds, by
// chunk, in the order of their keys.
type freshPictures map[int64][]pictured

// worthPicturing is how many wells a transaction has to add so that their
// pictures are written with them. Fewer leave them to the next start: a
// picture is half a megabyte, too much to be written again for each new well.
const worthPicturing = 256

// picture notes the digest of a new well.
func (t *tx) picture(id int64, r *readyWell) {
	if t.fresh == nil {
		t.fresh = freshPictures{}
	}
	d := r.digest
	d.ID = id
	if r.rock != "" {
		d.Rock = uint16(t.rocks[r.rock])
	}
	t.fresh[id>>chunkBits] = append(t.fresh[id>>chunkBits], pictured{d, r.batch})
}

// forgetPicture notes that the picture with a well no longer holds, nor what
// this transaction knows of its chunk.
func (t *tx) forgetPicture(id int64) {
	if t.chunks == nil {
		t.chunks = map[int64]bool{}
	}
	t.chunks[id>>chunkBits] = true
}

// finishPictures takes out the pictures that no longer hold and writes those
// of the chunks that were filled.
func (t *tx) finishPictures(ctx context.Context) error {
	added := 0
	for _, fresh := range t.fresh {
		added += len(fresh)
	}
	for chunk, fresh := range t.fresh {
		if t.chunks[chunk] {
			continue
		}
		if added < worthPicturing {
			t.forgetPicture(chunk << chunkBits)
			continue
		}
		whole, err := t.before(ctx, chunk, fresh)
		if err != nil {
			return err
		}
		if whole == nil {
			t.forgetPicture(chunk << chunkBits)
			continue
		}
		if _, err := t.write(ctx, "INSERT OR REPLACE INTO picture(chunk, stamp, data) VALUES (?, ?, ?)", chunk, t.store.stamp(), packChunk(whole)); err != nil {
			return err
		}
	}
	for chunk := range t.chunks {
		if _, err := t.write(ctx, "DELETE FROM picture WHERE chunk = ?", chunk); err != nil {
			return err
		}
	}
	return nil
}

// before puts the wells that a chunk had before new ones; nil where what it
// had would have to be read from the records.
func (t *tx) before(ctx context.Context, chunk int64, fresh []pictured) ([]pictured, error) {
	var data []byte
	if found, err := t.one(ctx, "SELECT data FROM picture WHERE chunk = ? AND stamp = ?", []any{chunk, t.store.stamp()}, &data); err != nil {
		return nil, err
	} else if found {
		whole, err := unpackChunk(chunk, data, nil)
		if err != nil {
			t.store.o.Log.Warn("a picture cannot be read; it is made afresh", "chunk", chunk, "error", err)
			return nil, nil
		}
		return append(whole, fresh...), nil
	}
	var others bool
	if _, err := t.one(ctx, "SELECT EXISTS (SELECT 1 FROM wells WHERE id >= ? AND id < ?)", []any{chunk << chunkBits, fresh[0].digest.ID}, &others); err != nil || others {
		return nil, err
	}
	return fresh, nil
}
