package sqlite_test

import (
	"context"
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"tallybook/records"
	"tallybook/records/sqlite"
)

func digests(t testing.TB, s *sqlite.Store) []records.Digest {
	t.Helper()
	var out []records.Digest
	view(t, s, func(ctx context.Context, v records.StoreView) error {
		return v.Digests(ctx, func(ds []records.Digest) error {
			out = append(out, ds...)
			return nil
		})
	})
	return out
}

// derived makes the digests afresh from the whole records.
func derived(t testing.TB, s *sqlite.Store) []records.Digest {
	t.Helper()
	var out []records.Digest
	view(t, s, func(ctx context.Context, v records.StoreView) error {
		units, err := v.RockUnits(ctx)
		if err != nil {
			return err
		}
		code := func(name string) uint16 {
			for c, n := range units {
				if n == name {
					return c
				}
			}
			return 0
		}
		return v.EachWell(ctx, nil, func(w *records.Well) error {
			out = append(out, records.Derive(w, plainReader{"1"}, code))
			return nil
		})
	})
	return out
}

var sameDigest = cmp.Options{cmpopts.EquateNaNs()}

func agree(t *testing.T, s *sqlite.Store, why string) {
	t.Helper()
	want := derived(t, s)
	for _, from := range []string{"made afresh where missing", "kept"} {
		if diff := cmp.Diff(want, digests(t, s), sameDigest); diff != "" {
			t.Errorf("%s, %s (-want +got):\n%s", why, from, diff)
		}
	}
}

func TestDigestsFollowEveryWrite(t *testing.T) {
	s, path := newStore(t)
	agree(t, s, "empty")
	var wells []*records.Well
	for i := range 50 {
		wells = append(wells, invented(uint64(i)))
	}
	put(t, s, wells...)
	agree(t, s, "new")
	ex(t, s, "SELECT count(*) FROM picture", int64(1))
	wells[3].Strata = wells[3].Strata[:2]
	put(t, s, wells[3])
	agree(t, s, "changed")
	update(t, s, func(ctx context.Context, tx records.StoreTx) error {
		return tx.PutPlate(ctx, &records.Plate{Number: "1", WellID: wells[4].ID}, "")
	})
	agree(t, s, "plate linked")
	if d := digests(t, s)[4]; d.Flags&records.HasPlate == 0 {
		t.Error("the plate does not show")
	}
	update(t, s, func(ctx context.Context, tx records.StoreTx) error {
		return tx.RemoveWell(ctx, wells[0].ID, wells[0].Revision, "")
	})
	agree(t, s, "removed")
	ex(t, s, "SELECT count(*) FROM picture", int64(1))
	foreign(t, path, "UPDATE wells SET total_depth_m = 3 WHERE id = 7", "DELETE FROM wells WHERE id = 8", "UPDATE plates SET well_id = 9")
	ex(t, s, "SELECT count(*) FROM picture", int64(0))
	agree(t, s, "changed by another program")

	// Another vocabulary: the pictures kept by the first do not hold.
	o := options(path)
	o.Reader = plainReader{"2"}
	other, err := sqlite.Open(t.Context(), o)
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	agree(t, other, "another vocabulary")
	ex(t, s, "SELECT group_concat(stamp) FROM picture", "2/2")

	// Damage is found and mended.
	foreign(t, path, "UPDATE picture SET data = substr(data, 1, length(data) - 1)")
	agree(t, other, "damaged")
}

func TestDigestsSince(t *testing.T) {
	s, path := newStore(t)
	a, b, c := invented(1), invented(2), invented(3)
	put(t, s, a, b, c)
	commit, err := s.Changes(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	b.Remarks = "changed"
	put(t, s, b)
	update(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.RemoveWell(ctx, a.ID, 1, "") })
	foreign(t, path, "INSERT INTO wells(number) VALUES ('outside')")
	check := func(since int64, changed, gone []int64) {
		t.Helper()
		view(t, s, func(ctx context.Context, v records.StoreView) error {
			ds, g, err := v.DigestsSince(ctx, since)
			var ids []int64
			for _, d := range ds {
				ids = append(ids, d.ID)
			}
			if diff := cmp.Diff(changed, ids); diff != "" {
				t.Errorf("changed since %d (-want +got):\n%s", since, diff)
			}
			if diff := cmp.Diff(gone, g); diff != "" {
				t.Errorf("gone since %d (-want +got):\n%s", since, diff)
			}
			all := derived(t, s)
			for _, d := range ds {
				i := slices.IndexFunc(all, func(x records.Digest) bool { return x.ID == d.ID })
				if i < 0 || !cmp.Equal(all[i], d, sameDigest) {
					t.Errorf("digest of well %d is not what the record gives", d.ID)
				}
			}
			return err
		})
	}
	check(commit, []int64{b.ID, 4}, []int64{a.ID})
	check(commit+1, []int64{4}, []int64{a.ID})
	check(commit+3, nil, nil)
	check(0, []int64{b.ID, c.ID, 4}, []int64{a.ID})
}

func TestStagedBatchesAreSeenByNobody(t *testing.T) {
	s, _ := newStore(t)
	own := invented(1)
	put(t, s, own)
	batch := &records.Batch{Source: "invented.geojson", SHA256: "00", StartedAt: noon, By: "A. Writer", State: "staged", Read: 20, Accepted: 20}
	update(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.PutBatch(ctx, batch) })
	var wells []*records.Well
	for i := range 20 {
		w := invented(uint64(100 + i))
		w.Provenance.Batch, w.Provenance.Row = batch.ID, int64(i+1)
		wells = append(wells, w)
	}
	put(t, s, wells...)
	staged, err := s.Changes(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	counts := func(want int64) {
		t.Helper()
		view(t, s, func(ctx context.Context, v records.StoreView) error {
			n, err := v.CountWells(ctx)
			if err != nil {
				return err
			}
			streamed, within := int64(0), int64(0)
			if err := v.EachWell(ctx, nil, func(*records.Well) error { streamed++; return nil }); err != nil {
				return err
			}
			if err := v.EachWell(ctx, &records.Bounds{West: -180, South: -90, East: 180, North: 90}, func(*records.Well) error { within++; return nil }); err != nil {
				return err
			}
			found, err := v.Find(ctx, wells[0].Number, 5)
			if err != nil {
				return err
			}
			_, errByUID := v.WellIDByUID(ctx, wells[0].UID)
			_, errByID := v.Well(ctx, wells[0].ID)
			seen := want > 1
			if n != want || streamed != want || within != want || int64(len(digests(t, s))) != want ||
				(len(found) > 0) != seen || (errByUID == nil) != seen || (errByID == nil) != seen {
				t.Errorf("want %d wells: count %d, stream %d, box %d, digests %d, found %d, by uid %v, by id %v",
					want, n, streamed, within, len(digests(t, s)), len(found), errByUID, errByID)
			}
			return nil
		})
		agree(t, s, fmt.Sprintf("%d visible", want))
	}
	since := func(commit int64) (changed, gone int) {
		t.Helper()
		view(t, s, func(ctx context.Context, v records.StoreView) error {
			ds, g, err := v.DigestsSince(ctx, commit)
			changed, gone = len(ds), len(g)
			return err
		})
		return changed, gone
	}
	counts(1)
	if n, _ := since(0); n != 1 {
		t.Errorf("%d digests since the beginning, want the office's own one", n)
	}

	batch.State = "published"
	update(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.PutBatch(ctx, batch) })
	counts(21)
	if n, gone := since(staged); n != 20 || gone != 0 {
		t.Errorf("publishing brings %d and takes %d", n, gone)
	}
	published, err := s.Changes(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	batch.Warned = 3
	update(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.PutBatch(ctx, batch) })
	if n, _ := since(published); n != 0 {
		t.Errorf("counting warnings brings %d", n)
	}

	edited := read(t, s, wells[5].ID)
	edited.Remarks = "looked at"
	put(t, s, edited)
	before, err := s.Changes(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	update(t, s, func(ctx context.Context, tx records.StoreTx) error {
		removed, kept, err := tx.RemoveBatch(ctx, batch.ID, "the wrong file")
		if removed != 19 || kept != 1 {
			t.Errorf("removed %d, kept %d", removed, kept)
		}
		return err
	})
	if n, gone := since(before); n != 1 || gone != 19 { // the edited one comes with its batch's change of state
		t.Errorf("withdrawing brings %d and takes %d", n, gone)
	}
	agree(t, s, "withdrawn")
	for _, table := range []string{"wells", "well_records", "idx_wells_geom"} {
		ex(t, s, "SELECT count(*) FROM "+table, int64(2))
	}
	ex(t, s, "SELECT count(*) FROM strata", int64(12))
	view(t, s, func(ctx context.Context, v records.StoreView) error {
		bs, err := v.Batches(ctx)
		want := *batch
		want.State = "withdrawn"
		if diff := cmp.Diff([]records.Batch{want}, bs); diff != "" {
			t.Errorf("batches (-want +got):\n%s", diff)
		}
		revisions, err2 := v.Revisions(ctx, wells[0].ID)
		if err2 != nil || len(revisions) != 1 || revisions[0].Why != "the wrong file" {
			t.Errorf("revisions of one taken out: %v (%v)", revisions, err2)
		}
		return err
	})
	ex(t, s, "SELECT row_count FROM geometry_columns_statistics WHERE f_table_name = 'wells'", int64(2))
}

func TestPackedDigestsComeBack(t *testing.T) {
	f32 := rapid.Custom(func(t *rapid.T) float32 {
		if rapid.Bool().Draw(t, "nan") {
			return records.NaN32()
		}
		return rapid.Float32().Draw(t, "f32")
	})
	value := rapid.Custom(func(t *rapid.T) records.DigestValue {
		v := records.DigestValue{Qualifier: records.Qualifier(rapid.IntRange(0, 5).Draw(t, "qualifier"))}
		if v.Qualifier != records.Missing {
			v.Value = rapid.Float64().Draw(t, "value")
		}
		if v.Qualifier == records.Between {
			v.High = rapid.Float64().Draw(t, "high")
		}
		return v
	})
	rapid.Check(t, func(t *rapid.T) {
		chunk := rapid.Int64Range(0, 1<<40).Draw(t, "chunk")
		n := rapid.IntRange(0, 20).Draw(t, "n")
		var in []sqlite.Pictured
		for i := range n {
			d := records.Digest{
				ID: chunk<<12 | int64(i*200), Revision: rapid.Int64Range(1, 1<<31).Draw(t, "revision"), Key: rapid.Uint64().Draw(t, "key"),
				Lon: rapid.Float64().Draw(t, "lon"), Lat: math.NaN(), AccuracyM: f32.Draw(t, "accuracy"),
				Bedrock: value.Draw(t, "bedrock"), Yield: value.Draw(t, "yield"), TotalDepth: value.Draw(t, "depth"),
				FirstRockM: f32.Draw(t, "rock"), CasingM: f32.Draw(t, "casing"), StaticM: f32.Draw(t, "static"), GroundM: f32.Draw(t, "ground"), Year: f32.Draw(t, "year"),
				Purpose: rapid.Uint8().Draw(t, "purpose"), Setting: rapid.Uint8().Draw(t, "setting"), Rock: rapid.Uint16().Draw(t, "unit"),
				Materials: rapid.Uint64().Draw(t, "materials"), Flags: records.DigestFlags(rapid.Uint8().Draw(t, "flags")),
			}
			for j := range d.StrikesM {
				d.StrikesM[j] = f32.Draw(t, "strike")
			}
			for range rapid.IntRange(0, 3).Draw(t, "picks") {
				d.Own = append(d.Own, records.DigestPick{Set: rapid.StringN(0, 9, -1).Draw(t, "set"), Depth: value.Draw(t, "pick")})
			}
			in = append(in, sqlite.NewPictured(d, rapid.Int64Range(0, 1<<31).Draw(t, "batch")))
		}
		out, err := sqlite.UnpackChunk(chunk, sqlite.PackChunk(in))
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(in, out, cmpopts.EquateEmpty(), cmpopts.EquateNaNs(), cmp.AllowUnexported(sqlite.Pictured{})); diff != "" {
			t.Errorf("(-in +out):\n%s", diff)
		}
	})
}

func FuzzUnpackChunk(f *testing.F) {
	f.Add(sqlite.PackChunk([]sqlite.Pictured{sqlite.NewPictured(records.Digest{ID: 5, Yield: records.DigestValue{Qualifier: records.Between, Value: 1, High: 2}}, 3)}))
	f.Add([]byte{})
	f.Add([]byte{0xFF, 0xFF, 0xFF, 0xFF, 0})
	f.Fuzz(func(t *testing.T, b []byte) {
		ds, err := sqlite.UnpackChunk(1, b)
		if err == nil && len(ds) > 4096 {
			t.Errorf("%d wells in a chunk", len(ds))
		}
	})
}
