package sqlite_test

import (
	"context"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
	"tallybook/records/recordstest"
	"tallybook/records/sqlite"
)

// states lists the numbers, statuses and depths of a record's earlier images,
// the latest first.
func states(t *testing.T, s *sqlite.Store, id int64) (out [][3]any) {
	t.Helper()
	view(t, s, func(ctx context.Context, v records.StoreView) error {
		rs, err := v.Revisions(ctx, id)
		for _, r := range rs {
			if r.By != "outside" || r.Until.IsZero() {
				t.Errorf("revision %d of %d: by %q until %v", r.Revision, id, r.By, r.Until)
			}
			out = append(out, [3]any{r.Revision, r.Image.Number + r.Image.Status, float64(r.Image.TotalDepth.Value)})
		}
		return err
	})
	return out
}

func takeIn(t *testing.T, s *sqlite.Store, want int) {
	t.Helper()
	if n, err := s.TakeInOutside(t.Context()); err != nil || n != want {
		t.Errorf("took %d records in (%v), want %d", n, err, want)
	}
}

// Every edit by another program is a state of its own, though nobody took the
// first in before the second came.
func TestEveryOutsideEditIsAState(t *testing.T) {
	s, path := newStore(t)
	w := at(1, 1)
	w.Number, w.TotalDepth = "A", records.Of(records.Depth(10))
	x := at(2, 2)
	x.Number = "B"
	put(t, s, w, x)
	foreign(t, path,
		"UPDATE wells SET total_depth_m = 20 WHERE id = 1",
		"BEGIN; UPDATE wells SET status = 'unused' WHERE id = 1; UPDATE wells SET total_depth_m = 30 WHERE id = 1; COMMIT",
		"UPDATE wells SET number = number, total_depth_m = total_depth_m", // nothing of it differs
		"INSERT INTO wells(number, batch_id, batch_row, uid) VALUES ('N', 99, 4, 'mine')",
		"UPDATE wells SET number = 'N2' WHERE uid = 'mine'",
		"UPDATE wells SET number = 'B2' WHERE id = 2", "DELETE FROM wells WHERE id = 2",
		"INSERT INTO wells(number) VALUES ('short-lived')", "UPDATE wells SET total_depth_m = 5 WHERE id = 4", "DELETE FROM wells WHERE id = 4")
	before, err := s.Changes(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	takeIn(t, s, 4)
	takeIn(t, s, 0)
	if after, err := s.Changes(t.Context()); err != nil || after != before {
		t.Errorf("taking in is change %d after %d (%v)", after, before, err)
	}
	for id, want := range map[int64][][3]any{
		1: {{int64(3), "Aunused", 20.0}, {int64(2), "A", 20.0}, {int64(1), "A", 10.0}},
		2: {{int64(2), "B2", 0.0}, {int64(1), "B", 0.0}},
		3: {{int64(1), "N", 0.0}},
		4: {{int64(2), "short-lived", 5.0}, {int64(1), "short-lived", 0.0}},
	} {
		if diff := cmp.Diff(want, states(t, s, id)); diff != "" {
			t.Errorf("record %d (-want +got):\n%s", id, diff)
		}
	}
	if got := read(t, s, 1); got.Revision != 4 || got.Status != "unused" || got.TotalDepth.Value != 30 {
		t.Errorf("the record is %+v", got)
	}
	if got := read(t, s, 3); got.Revision != 2 || got.Number != "N2" || got.Provenance.Batch != 0 || got.UID != "mine" {
		t.Errorf("the added record is %+v", got)
	}
	agree(t, s, "taken in")
	indexInStep(t, s)
	outsideSound(t, s)
}

// outsideSound says whether the store's own check finds nothing.
func outsideSound(t *testing.T, s *sqlite.Store) {
	t.Helper()
	faults, err := s.CheckIntegrity(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range faults {
		if f.Severity == records.Refusal {
			t.Errorf("check: %s", f)
		}
	}
}

// What cannot be used is kept and told until somebody puts it aside.
func TestWhatCannotBeUsedIsKept(t *testing.T) {
	s, path := newStore(t)
	put(t, s, rich(t))
	was := read(t, s, 1)
	foreign(t, path,
		"UPDATE wells SET total_depth_m = 'deep', completed = 'last year', casing_depth_m = 99, geom = "+geom(500, 0)+", parcel = CAST(x'4DFC' AS TEXT) WHERE id = 1",
		"UPDATE wells SET total_depth_m = 'deeper', status = 'unused' WHERE id = 1")
	takeIn(t, s, 1)
	list := func(settled bool) (out []records.OutsideRefusal) {
		t.Helper()
		view(t, s, func(ctx context.Context, v records.StoreView) (err error) {
			out, err = v.OutsideRefusals(ctx, 1, settled)
			return err
		})
		return out
	}
	got := map[string]string{}
	for _, r := range list(false) {
		got[r.Field+" "+r.Written] = r.Why
		if r.At.IsZero() || r.WellID != 1 || r.Revision < 2 {
			t.Errorf("told as %+v", r)
		}
	}
	for _, want := range []string{"total_depth_m deep", "total_depth_m deeper", "completed last year", "casing_depth_m 99", "parcel M\uFFFD"} {
		if got[want] == "" {
			t.Errorf("%q is not told: %v", want, got)
		}
	}
	if len(got) != 6 { // the position, in digits
		t.Errorf("%d are told: %v", len(got), got)
	}
	now := read(t, s, 1)
	if now.Status != "unused" || now.TotalDepth != was.TotalDepth || now.Completed != was.Completed || now.Place.Lon != was.Place.Lon || now.Place.Parcel != was.Place.Parcel {
		t.Errorf("the record is %+v", now)
	}
	outsideSound(t, s)
	faults, err := s.CheckIntegrity(t.Context())
	if err != nil || len(faults) < 6 {
		t.Errorf("check tells of %d things (%v)", len(faults), err)
	}

	first := list(false)[0]
	update(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.SettleOutside(ctx, first.ID, true) })
	if n, all := len(list(false)), list(true); n != 5 || len(all) != 6 || all[0].SettledBy != someone.Name {
		t.Errorf("%d open after one was put aside, %d in all: %+v", n, len(all), all[0])
	}
	update(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.SettleOutside(ctx, first.ID, false) })
	if n := len(list(false)); n != 6 {
		t.Errorf("%d open after it was opened again", n)
	}
	if err := s.Update(t.Context(), someone, func(tx records.StoreTx) error { return tx.SettleOutside(t.Context(), 999, true) }); records.CodeOf(err) != records.NotFound {
		t.Errorf("one that is not there: %v", err)
	}
}

// A text that no record may hold holds nothing else of the row back.
func TestATextThatIsTooLongIsNotUsed(t *testing.T) {
	s, path := newStore(t)
	w := at(1, 1)
	w.Number = "A"
	put(t, s, w)
	foreign(t, path, "UPDATE wells SET number = replace(hex(zeroblob(40000)), '00', 'é'), status = 'unused' WHERE id = 1")
	takeIn(t, s, 1)
	if now := read(t, s, 1); now.Number != "A" || now.Status != "unused" {
		t.Errorf("the record is %.100q, %q", now.Number, now.Status)
	}
	view(t, s, func(ctx context.Context, v records.StoreView) error {
		told, err := v.OutsideRefusals(ctx, 1, false)
		if err != nil || len(told) != 1 || told[0].Field != "number" || len(told[0].Written) > records.LongestText+3 {
			t.Errorf("told %.200v, %v", told, err)
		}
		return nil
	})
	outsideSound(t, s)
	takeIn(t, s, 0)
	faults, err := s.CheckIntegrity(t.Context())
	for _, f := range faults {
		if len(f.Message) > 1000 {
			t.Errorf("check tells %d bytes", len(f.Message))
		}
	}
	if err != nil || len(faults) == 0 {
		t.Errorf("check tells of %d things (%v)", len(faults), err)
	}
}

// GDAL and QGIS believe the statistics: they are right when nobody has the
// database open.
func TestStatisticsFollowOtherPrograms(t *testing.T) {
	s, path := newStore(t)
	put(t, s, at(1, 1), at(2, 2))
	foreign(t, path, "INSERT INTO wells(number, geom) VALUES ('x', "+geom(5, -7)+")", "INSERT INTO wells(number) VALUES ('y')", "UPDATE wells SET geom = "+geom(-3, 1)+" WHERE id = 1")
	extent(t, s, 4, -3, -7, 5, 2)
	foreign(t, path, "DELETE FROM wells WHERE id = 3")
	extent(t, s, 3, -3, -7, 5, 2) // it only grows
	takeIn(t, s, 3)
	extent(t, s, 3, -3, 1, 2, 2)
}

// A plate is linked from outside with its state before kept, and stays apart
// from a record that is removed; what it says is not edited there.
func TestPlatesFromOutside(t *testing.T) {
	s, path := newStore(t)
	put(t, s, at(1, 1), at(2, 2))
	p := &records.Plate{Number: "P-1", Seen: []records.PlateSighting{{Located: true, Lon: 7, Lat: 8}}}
	update(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.PutPlate(ctx, p, "") })
	for name, q := range map[string]string{
		"number": "UPDATE plates SET number = 'x'", "text": "UPDATE plates SET doc = '{}'", "place": "UPDATE plates SET geom = " + geom(1, 1),
		"a new one": "INSERT INTO plates(uid, revision, doc) VALUES ('u', 1, '{}')", "out": "DELETE FROM plates", "a well's revision": "UPDATE wells SET revision = 7",
	} {
		if err := tryForeign(t, path, q); err == nil {
			t.Errorf("%s is not refused", name)
		}
	}
	foreign(t, path, "UPDATE plates SET well_id = 2", "UPDATE plates SET well_id = well_id", "DELETE FROM wells WHERE id = 2")
	takeIn(t, s, 1)
	view(t, s, func(ctx context.Context, v records.StoreView) error {
		now, err := v.Plate(ctx, p.ID)
		if err != nil {
			return err
		}
		if now.WellID != 0 || now.Revision != 3 {
			t.Errorf("the plate is %+v", now)
		}
		rs, err := v.PlateRevisions(ctx, p.ID)
		if len(rs) != 2 || rs[0].Image.WellID != 2 || rs[1].Image.WellID != 0 {
			t.Errorf("its states are %+v", rs)
		}
		once, err2 := v.PlatesOnce(ctx, 2)
		if len(once) != 1 || err2 != nil {
			t.Errorf("the removed record had %d plates (%v)", len(once), err2)
		}
		return err
	})
	outsideSound(t, s)
}

func TestOutsideConforms(t *testing.T) { recordstest.ConformOutside(t, fresh) }
