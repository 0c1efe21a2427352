package sqlite

import (
	"context"
	"database/sql/driver"
	"encoding/binary"
	"io"
	"strings"

	"github.com/google/uuid"
	"github.com/mattn/go-sqlite3"

	"tallybook/records"
)

var (
	_ records.BulkStore = (*Store)(nil)
	_ records.BulkTx    = (*tx)(nil)
)

// readyWell is a new record as it will be written, but for its key, its
// commit and the code of its rock unit, which only a transaction can tell.
type readyWell struct {
	uid, rock string
	batch     int64
	located   bool
	lon, lat  float64
	digest    records.Digest
	// packed are the columns of the layer in the order of layerGroups, then
	// the document, then of each stratum top, bottom, description, material
	// and class: see appendPacked.
	packed string
	strata int
}

// UID implements records.ReadyWell.
func (r *readyWell) UID() string { return r.uid }

// Ready implements records.BulkStore.
func (s *Store) Ready(w *records.Well) (records.ReadyWell, error) {
	if w.ID != 0 || w.Revision != 0 {
		return nil, records.Errorf(records.Conflict, "a new record has no revision")
	}
	r, err := s.ready(w)
	if err != nil {
		return nil, err
	}
	return r, nil
}

// ready makes a new record ready, with a uid of its own where it has none.
func (s *Store) ready(w *records.Well) (*readyWell, error) {
	next := *w
	next.ID, next.Revision, next.Plates = 0, 1, nil
	if next.UID == "" {
		id, err := uuid.NewV7()
		if err != nil {
			return nil, translate(err, "new uid")
		}
		next.UID = id.String()
	}
	var docRoom [2048]byte
	doc, err := appendFeature(docRoom[:0], &next)
	if err != nil {
		return nil, err
	}
	var room [4096]byte
	var valueRoom [32]driver.Value
	values := valueRoom[:0]
	for _, g := range s.groups {
		values = g.put(&next, values)
	}
	b := room[:0]
	for _, v := range values {
		b = appendPacked(b, v)
	}
	b = append(binary.AppendUvarint(append(b, packedText), uint64(len(doc))), doc...)
	read := readOnce{Reader: s.o.Reader, strata: next.Strata, grounds: make([]records.Ground, len(next.Strata))}
	for i := range next.Strata {
		stratum := &next.Strata[i]
		ground := s.o.Reader.Ground(stratum)
		read.grounds[i] = ground
		for _, depth := range [...]records.Amount[records.Depth]{stratum.Top, stratum.Bottom} {
			b = appendPacked(b, depthOf(depth))
		}
		for _, text := range [...]string{stratum.Description, ground.Material} {
			b = appendPacked(b, nullText(text))
		}
		b = appendPackedText(b, ground.Class.String())
	}
	return &readyWell{
		uid: strings.Clone(next.UID), rock: strings.Clone(next.Rock), batch: next.Provenance.Batch,
		located: next.Place.Located, lon: next.Place.Lon, lat: next.Place.Lat,
		digest: records.Derive(&next, &read, nil),
		packed: string(b), strata: len(next.Strata),
	}, nil
}

// readOnce answers for the strata of one record, whose ground was read
// before.
type readOnce struct {
	records.Reader
	strata  []records.Stratum
	grounds []records.Ground
}

// Ground implements records.Reader.
func (r *readOnce) Ground(s *records.Stratum) records.Ground {
	for i := range r.strata {
		if s == &r.strata[i] {
			return r.grounds[i]
		}
	}
	return r.Reader.Ground(s)
}

// AddWells implements records.BulkTx.
func (t *tx) AddWells(ctx context.Context, ready []records.ReadyWell) (ids, there []int64, err error) {
	ids, there = make([]int64, len(ready)), make([]int64, len(ready))
	for from := 0; from < len(ready); from += heldBack {
		part := ready[from:min(from+heldBack, len(ready))]
		if err := t.flush(ctx); err != nil { // so that the names are looked up among all that came before
			return nil, nil, err
		}
		known, err := t.idsOf(ctx, part)
		if err != nil {
			return nil, nil, err
		}
		for i, r := range part {
			r := r.(*readyWell)
			id := known[r.uid]
			if id == 0 {
				id = t.new.uids[r.uid]
			}
			if id != 0 {
				there[from+i] = id
				continue
			}
			if ids[from+i], err = t.add(ctx, r, true); err != nil {
				return nil, nil, err
			}
		}
	}
	return ids, there, nil
}

// idsOf finds which of the names are in the file already.
func (t *tx) idsOf(ctx context.Context, ready []records.ReadyWell) (map[string]int64, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	args := make([]driver.NamedValue, len(ready))
	for i, r := range ready {
		args[i] = driver.NamedValue{Ordinal: i + 1, Value: r.UID()}
	}
	var known map[string]int64
	query := "SELECT uid, id FROM wells WHERE uid IN (" + strings.Repeat(",?", len(args))[1:] + ")"
	err := t.raw(func(dc any) error {
		rows, err := dc.(*sqlite3.SQLiteConn).QueryContext(context.Background(), query, args)
		if err != nil {
			return err
		}
		for {
			var row [2]driver.Value
			if err = rows.Next(row[:]); err != nil {
				break
			}
			uid, okUID := row[0].(string)
			id, okID := row[1].(int64)
			if okUID && okID {
				if known == nil {
					known = map[string]int64{}
				}
				known[uid] = id
			}
		}
		if err == io.EOF {
			err = nil
		}
		if cerr := rows.Close(); err == nil {
			err = cerr
		}
		return err
	})
	return known, translate(err, "look names up")
}

// add holds a new record back, to be written with others. Its name must have
// been looked up.
func (t *tx) add(ctx context.Context, r *readyWell, placeLater bool) (int64, error) {
	if err := t.touch(ctx); err != nil {
		return 0, err
	}
	if t.nextID == 0 {
		// Keys are never used twice: SQLite keeps the highest ever.
		if _, err := t.one(ctx, "SELECT ifnull((SELECT seq FROM sqlite_sequence WHERE name = 'wells'), 0) + 1", nil, &t.nextID); err != nil {
			return 0, err
		}
	}
	if err := t.checkBatch(ctx, r.batch); err != nil {
		return 0, err
	}
	if err := t.nameRock(ctx, r.rock); err != nil {
		return 0, err
	}
	id := t.nextID
	t.nextID++
	t.new.add(id, r, t.commit, t.store.layerColumns, placeLater)
	t.picture(id, r)
	t.extent.count++
	t.extent.add(r.located, r.lon, r.lat)
	if t.new.full() {
		return id, t.flush(ctx)
	}
	return id, nil
}
