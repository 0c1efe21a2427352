package sqlite_test

import (
	"context"
	"fmt"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
	"tallybook/records/sqlite"
)

// bulk adds wells by the thousand and gives what AddWells tells.
func bulk(t *testing.T, s *sqlite.Store, wells []*records.Well) (ids, there []int64) {
	t.Helper()
	ready := make([]records.ReadyWell, len(wells))
	for i, w := range wells {
		r, err := s.Ready(w)
		if err != nil {
			t.Fatal(err)
		}
		ready[i] = r
	}
	err := s.Update(context.Background(), someone, func(tx records.StoreTx) (err error) {
		ids, there, err = tx.(records.BulkTx).AddWells(context.Background(), ready)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return ids, there
}

// stage begins a batch, and publish shows it.
func stage(t *testing.T, s *sqlite.Store) *records.Batch {
	t.Helper()
	b := &records.Batch{Source: "invented", StartedAt: noon, By: "A. Writer", State: "staged"}
	update(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.PutBatch(ctx, b) })
	return b
}

func publish(t *testing.T, s *sqlite.Store, b *records.Batch) {
	t.Helper()
	b.State = "published"
	update(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.PutBatch(ctx, b) })
}

// asNew copies records, so that what a store sets in them stays out of the
// originals.
func asNew(wells []*records.Well) (out []*records.Well) {
	for _, w := range wells {
		w := *w
		out = append(out, &w)
	}
	return out
}

// dump is what a query gives, a text a row.
func dump(t *testing.T, s *sqlite.Store, query string) (out []string) {
	t.Helper()
	rows, err := s.Readers().QueryContext(t.Context(), query)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	names, err := rows.Columns()
	if err != nil {
		t.Fatal(err)
	}
	values := make([]any, len(names))
	for rows.Next() {
		into := make([]any, len(names))
		for i := range values {
			into[i] = &values[i]
		}
		if err := rows.Scan(into...); err != nil {
			t.Fatal(err)
		}
		out = append(out, fmt.Sprint(values...))
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return out
}

// sound holds a store against its own check.
func sound(t *testing.T, s *sqlite.Store) {
	t.Helper()
	if faults, err := s.CheckIntegrity(t.Context()); err != nil || len(faults) > 0 {
		t.Fatalf("%v, %v", faults, err)
	}
}

// TestBulkIsOneByOne: records added by the thousand are those that PutWell
// writes, row for row of every table.
func TestBulkIsOneByOne(t *testing.T) {
	one, _ := newStore(t)
	many, _ := newStore(t)
	var wells []*records.Well
	for i := range 700 {
		wells = append(wells, invented(uint64(i)))
	}
	for i, w := range wells {
		w.UID = fmt.Sprintf("00000000-0000-4000-8000-%012d", i)
		if i%7 == 0 {
			w.Place = records.Place{}
		}
		if i%5 == 0 {
			w.Strata = nil
		}
		w.Rock = fmt.Sprint("rock ", i%3)
	}
	b, other := stage(t, many), stage(t, one)
	for _, w := range wells {
		w.Provenance.Batch = b.ID
	}
	ids, there := bulk(t, many, wells)
	sound(t, many) // the index is not due yet
	if err := many.PlaceBatch(t.Context(), someone, b.ID); err != nil {
		t.Fatal(err)
	}
	publish(t, many, b)
	publish(t, one, other)
	if slices.Max(there) != 0 || slices.Contains(ids, 0) {
		t.Fatal("some of the records were there already, it says")
	}
	put(t, one, asNew(wells)...)
	for _, query := range []string{
		"SELECT id, uid, revision, quote(number), quote(total_depth_m), total_depth_qualifier, quote(yield_lps), rock_unit, completed, quote(geom) FROM wells ORDER BY id",
		"SELECT * FROM well_records ORDER BY well_id", "SELECT * FROM strata ORDER BY well_id, position",
		"SELECT * FROM idx_wells_geom ORDER BY pkid", "SELECT * FROM rock_units ORDER BY code",
		"SELECT row_count, extent_min_x, extent_max_y FROM geometry_columns_statistics",
	} {
		if diff := cmp.Diff(dump(t, one, query), dump(t, many, query)); diff != "" {
			t.Errorf("%s:\n%s", query, diff)
		}
	}
	// What is there already is told and left alone.
	again := append(slices.Clone(wells[:3]), &records.Well{Number: "unplaced"})
	ids, there = bulk(t, many, again)
	if !slices.Equal(there, []int64{1, 2, 3, 0}) || !slices.Equal(ids, []int64{0, 0, 0, 701}) {
		t.Errorf("added again: ids %v, there %v", ids, there)
	}
	sound(t, many)
}

// TestPicturesOfAnIntake: the pictures written with the records are those that
// would be made of them, also where a transaction ends in the middle of one.
func TestPicturesOfAnIntake(t *testing.T) {
	s, _ := newStore(t)
	n := 0
	add := func(count int) {
		var wells []*records.Well
		for range count {
			n++
			wells = append(wells, invented(uint64(n)))
		}
		b := stage(t, s)
		for _, w := range wells {
			w.Provenance.Batch = b.ID
		}
		bulk(t, s, wells)
		sound(t, s) // holds each picture against one made afresh
	}
	add(4095) // to the last of chunk 0
	add(300)
	add(1700)
	if got := dump(t, s, "SELECT chunk FROM picture ORDER BY chunk"); !slices.Equal(got, []string{"0", "1"}) {
		t.Fatalf("pictures of the chunks %v", got)
	}
	add(1) // too few for a picture of their own: it is made at the next start
	if got := dump(t, s, "SELECT chunk FROM picture ORDER BY chunk"); !slices.Equal(got, []string{"0"}) {
		t.Fatalf("after one more, pictures of the chunks %v", got)
	}
	add(2500) // beyond the end of the chunk
	if got := dump(t, s, "SELECT chunk FROM picture ORDER BY chunk"); !slices.Equal(got, []string{"0", "2"}) {
		t.Fatalf("a picture was made of a chunk whose other wells are not known: %v", got)
	}
}

// TestUnplacedIsNoticed: once a batch is published its wells have to be in the
// spatial index.
func TestUnplacedIsNoticed(t *testing.T) {
	s, _ := newStore(t)
	b := stage(t, s)
	w := invented(1)
	w.Provenance.Batch = b.ID
	bulk(t, s, []*records.Well{w})
	publish(t, s, b)
	if faults, err := s.CheckIntegrity(t.Context()); err != nil || len(faults) != 1 || faults[0].Field != "spatial index" {
		t.Errorf("%v, %v", faults, err)
	}
}

// TestPlacedWhileOthersWrite: another program changes staged wells while they
// are entered into the spatial index.
func TestPlacedWhileOthersWrite(t *testing.T) {
	s, path := newStore(t)
	b := stage(t, s)
	var wells []*records.Well
	for i := range 50 {
		w := invented(uint64(i))
		w.Provenance.Batch = b.ID
		wells = append(wells, w)
	}
	bulk(t, s, wells)
	foreign(t, path, "UPDATE wells SET geom = "+geom(10.5, 45.25)+" WHERE id = 7")
	err := s.PlaceBatchAround(t.Context(), b.ID, func() {
		foreign(t, path, "UPDATE wells SET geom = "+geom(11.5, 46.25)+" WHERE id = 3")
		foreign(t, path, "UPDATE wells SET geom = NULL WHERE id = 4")
		foreign(t, path, "DELETE FROM wells WHERE id = 5")
	})
	if err != nil {
		t.Fatal(err)
	}
	publish(t, s, b)
	sound(t, s)
	if n := dump(t, s, "SELECT count(*) FROM idx_wells_geom"); !slices.Equal(n, []string{"48"}) {
		t.Errorf("%v wells of 48 are in the index", n)
	}
	if got := dump(t, s, "SELECT extent_max_x, extent_max_y, row_count FROM geometry_columns_statistics WHERE f_table_name = 'wells'"); len(got) != 1 || !(got[0] >= "11.5") {
		t.Errorf("the layer's statistics are %v", got)
	}
}
