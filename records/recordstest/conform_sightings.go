package recordstest

import (
	"context"
	"errors"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
)

// ConformSightings holds a store against what is asked of it for sightings.
func ConformSightings(t *testing.T, open Opener) {
	t.Run("written and read", func(t *testing.T) { sightingsRead(t, open(t)) })
	t.Run("revised and taken out", func(t *testing.T) { sightingsRevised(t, open(t)) })
	t.Run("stale and wrong writes", func(t *testing.T) { sightingsRefused(t, open(t)) })
	t.Run("digests", func(t *testing.T) { sightingDigests(t, open(t)) })
	t.Run("all or nothing", func(t *testing.T) {
		s := open(t)
		undone(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.PutSighting(ctx, FullSighting(), "") })
		look(t, s, func(ctx context.Context, v records.StoreView) error {
			all, err := v.Sightings(ctx, nil)
			if len(all) != 0 {
				t.Errorf("%d sightings were left", len(all))
			}
			return err
		})
	})
}

func putSighting(t *testing.T, s records.Store, x *records.Sighting, why string) {
	t.Helper()
	write(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.PutSighting(ctx, x, why) })
}

func sightingsRead(t *testing.T, s records.Store) {
	full, ledge := FullSighting(), &records.Sighting{Kind: records.SawLedge, Located: true, Lon: 179.9, Lat: -45}
	full.Extra = []records.Member{{Name: "photo", JSON: `{"n":[1,2.50]}`}}
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		return errors.Join(tx.PutSighting(ctx, full, ""), tx.PutSighting(ctx, ledge, ""))
	})
	if full.ID == 0 || ledge.ID == full.ID || full.Revision != 1 || full.UID != FullSighting().UID || len(ledge.UID) != 36 {
		t.Errorf("keys %d and %d, revision %d, uids %q and %q", full.ID, ledge.ID, full.Revision, full.UID, ledge.UID)
	}
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		got, err := v.Sighting(ctx, full.ID)
		if diff := cmp.Diff(full, got); diff != "" {
			t.Errorf("as written and read:\n%s", diff)
		}
		all, err2 := v.Sightings(ctx, nil)
		if diff := cmp.Diff([]*records.Sighting{full, ledge}, all); diff != "" {
			t.Errorf("all of them:\n%s", diff)
		}
		for name, in := range map[string]struct {
			box  records.Bounds
			want []*records.Sighting
		}{
			"around the first":     {records.Bounds{West: -73, South: 44, East: -72, North: 45}, []*records.Sighting{full}},
			"its corner":           {records.Bounds{West: full.Lon, South: full.Lat, East: -72, North: 45}, []*records.Sighting{full}},
			"over the date line":   {records.Bounds{West: 179, South: -50, East: -179, North: 50}, []*records.Sighting{ledge}},
			"where there are none": {records.Bounds{West: 1, South: 1, East: 2, North: 2}, nil},
		} {
			got, err := v.Sightings(ctx, &in.box)
			if diff := cmp.Diff(in.want, got); diff != "" || err != nil {
				t.Errorf("%s: %v\n%s", name, err, diff)
			}
		}
		if _, err := v.Sighting(ctx, 999); records.CodeOf(err) != records.NotFound {
			t.Errorf("one that is not there: %v", err)
		}
		return errors.Join(err, err2)
	})
}

func sightingsRevised(t *testing.T, s records.Store) {
	x := FullSighting()
	putSighting(t, s, x, "not kept: there was nothing before")
	first := *x
	x.Depth = Feet[records.Depth]("9")
	putSighting(t, s, x, "measured again")
	if x.Revision != 2 {
		t.Errorf("revision %d after the second write", x.Revision)
	}
	second := *x
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		if err := tx.RemoveSighting(ctx, x.ID, 2, "seen twice"); err != nil {
			return err
		}
		if _, err := tx.Sighting(ctx, x.ID); records.CodeOf(err) != records.NotFound {
			t.Errorf("taken out and still there: %v", err)
		}
		return nil
	})
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		revs, err := v.SightingRevisions(ctx, x.ID)
		if len(revs) != 2 {
			t.Fatalf("%d earlier states, want 2", len(revs))
		}
		if diff := cmp.Diff([]*records.Sighting{&second, &first}, []*records.Sighting{revs[0].Image, revs[1].Image}); diff != "" {
			t.Errorf("images:\n%s", diff)
		}
		if r := revs[0]; r.Revision != 2 || r.Why != "seen twice" || r.By != Writer().Name || r.Until.IsZero() {
			t.Errorf("the latest: %+v", r)
		}
		if r := revs[1]; r.Revision != 1 || r.Why != "measured again" {
			t.Errorf("the first: %+v", r)
		}
		return err
	})
	// Brought back it has its name and a key of its own.
	back := second
	back.ID, back.Revision = 0, 0
	putSighting(t, s, &back, "")
	if back.ID == x.ID || back.UID != x.UID || back.Revision != 1 {
		t.Errorf("brought back: key %d (was %d), uid %s, revision %d", back.ID, x.ID, back.UID, back.Revision)
	}
}

func sightingsRefused(t *testing.T, s records.Store) {
	x := FullSighting()
	putSighting(t, s, x, "")
	put := func(change func(x *records.Sighting)) func(context.Context, records.StoreTx) error {
		return func(ctx context.Context, tx records.StoreTx) error {
			y := *x
			change(&y)
			return tx.PutSighting(ctx, &y, "")
		}
	}
	before := commits(t, s)
	refused(t, s, "stale", records.Conflict, put(func(x *records.Sighting) { x.Revision = 7 }))
	refused(t, s, "new with a revision", records.Conflict, put(func(x *records.Sighting) { x.ID = 0 }))
	refused(t, s, "the same uid twice", records.Conflict, put(func(x *records.Sighting) { x.ID, x.Revision = 0, 0 }))
	refused(t, s, "another uid", records.Conflict, put(func(x *records.Sighting) { x.UID = "0190a1b2-c3d4-7e5f-8a6b-0000000000ff" }))
	refused(t, s, "not there", records.NotFound, put(func(x *records.Sighting) { x.ID = 99 }))
	refused(t, s, "no position", records.Invalid, put(func(x *records.Sighting) { x.Located = false }))
	refused(t, s, "off the earth", records.Invalid, put(func(x *records.Sighting) { x.Lat = 91 }))
	refused(t, s, "kept what is not JSON", records.Invalid, put(func(x *records.Sighting) { x.Extra = []records.Member{{Name: "a", JSON: "{"}} }))
	refused(t, s, "removed stale", records.Conflict, func(ctx context.Context, tx records.StoreTx) error { return tx.RemoveSighting(ctx, x.ID, 7, "") })
	refused(t, s, "removed and not there", records.NotFound, func(ctx context.Context, tx records.StoreTx) error { return tx.RemoveSighting(ctx, 99, 1, "") })
	if now := commits(t, s); now != before {
		t.Errorf("refused writes left commit %d, want %d", now, before)
	}
}

func sightingDigests(t *testing.T, s records.Store) {
	x, y := FullSighting(), &records.Sighting{Kind: records.SawNoRefusal, Located: true, Lon: -72, Lat: 44, Depth: Feet[records.Depth]("8")}
	start := commits(t, s)
	putSighting(t, s, x, "")
	between := commits(t, s)
	putSighting(t, s, y, "")
	write(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.PutWell(ctx, Plain(), "") })
	digests := func(commit int64) (changed []records.Digest, gone []int64) {
		t.Helper()
		look(t, s, func(ctx context.Context, v records.StoreView) (err error) {
			changed, gone, err = v.SightingDigests(ctx, commit)
			return err
		})
		slices.SortFunc(changed, func(a, b records.Digest) int { return int(b.ID - a.ID) })
		return changed, gone
	}
	same := cmp.Comparer(func(a, b float32) bool { return a == b || a != a && b != b }) // NaN marks what is missing
	for since, want := range map[int64][]records.Digest{
		0: {x.Digest(), y.Digest()}, start: {x.Digest(), y.Digest()}, between: {y.Digest()}, commits(t, s): nil,
	} {
		changed, gone := digests(since)
		if diff := cmp.Diff(want, changed, same); diff != "" || len(gone) != 0 {
			t.Errorf("since %d: gone %v\n%s", since, gone, diff)
		}
	}
	last := commits(t, s)
	write(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.RemoveSighting(ctx, x.ID, 1, "") })
	if changed, gone := digests(last); len(changed) != 0 || !slices.Equal(gone, []int64{-x.ID}) {
		t.Errorf("after the removal: changed %v, gone %v", changed, gone)
	}
	if changed, gone := digests(0); len(changed) != 1 || len(gone) != 0 {
		t.Errorf("all of them: %v, gone %v", changed, gone)
	}
}
