package recordstest

import (
	"context"
	"errors"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"tallybook/records"
)

// ConformHistory holds a store against what is asked of it for what becomes of
// records: taken out, merged, split, decided of.
func ConformHistory(t *testing.T, open Opener) {
	t.Run("names lead to what was kept", func(t *testing.T) { mergedNames(t, open(t)) })
	t.Run("taken out and back", func(t *testing.T) { takenOut(t, open(t)) })
	t.Run("decisions on pairs", func(t *testing.T) { pairDecisions(t, open(t)) })
	t.Run("found pairs", func(t *testing.T) { foundPairs(t, open(t)) })
}

// threeWells puts three records with the numbers A, B and C.
func threeWells(t *testing.T, s records.Store) (a, b, c *records.Well) {
	t.Helper()
	var out [3]*records.Well
	for i, number := range []string{"A", "B", "C"} {
		out[i] = Plain()
		out[i].UID, out[i].Number = "", number
	}
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		return errors.Join(tx.PutWell(ctx, out[0], ""), tx.PutWell(ctx, out[1], ""), tx.PutWell(ctx, out[2], ""))
	})
	return out[0], out[1], out[2]
}

// merge takes b out in favour of a.
func merge(a, b *records.Well, m *records.Merge) func(context.Context, records.StoreTx) error {
	return func(ctx context.Context, tx records.StoreTx) error {
		if err := tx.RemoveWell(ctx, b.ID, b.Revision, "the same hole"); err != nil {
			return err
		}
		*m = records.Merge{UID: b.UID, WellID: b.ID, Revision: b.Revision, IntoUID: a.UID, IntoWellID: a.ID, Before: a.Revision, After: a.Revision,
			How: records.MergedTwin, Plates: []int64{4, 7}, Why: "the same hole"}
		return tx.PutMerge(ctx, m)
	}
}

func leads(t *testing.T, s records.Store, uid string, want int64) {
	t.Helper()
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		got, err := v.WellIDByUID(ctx, uid)
		if want == 0 && records.CodeOf(err) == records.NotFound {
			return nil
		}
		if got != want {
			t.Errorf("%s leads to %d, want %d", uid, got, want)
		}
		return err
	})
	write(t, s, func(ctx context.Context, tx records.StoreTx) error { // a writer sees the same
		got, err := tx.WellIDByUID(ctx, uid)
		if want == 0 && records.CodeOf(err) == records.NotFound {
			return nil
		}
		if got != want {
			t.Errorf("for a writer %s leads to %d, want %d", uid, got, want)
		}
		return err
	})
}

func mergedNames(t *testing.T, s records.Store) {
	a, b, c := threeWells(t, s)
	var bInA, aInC records.Merge
	refused(t, s, "merged while it is there", records.Conflict, func(ctx context.Context, tx records.StoreTx) error {
		return tx.PutMerge(ctx, &records.Merge{UID: b.UID, WellID: b.ID, IntoUID: a.UID, IntoWellID: a.ID, How: records.MergedTwin})
	})
	undone(t, s, merge(a, b, &records.Merge{}))
	leads(t, s, b.UID, b.ID)
	write(t, s, merge(a, b, &bInA))
	leads(t, s, b.UID, a.ID)
	write(t, s, merge(c, a, &aInC))
	leads(t, s, b.UID, c.ID)
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		names, err := v.MergedNames(ctx)
		if diff := cmp.Diff(map[string]string{a.UID: c.UID, b.UID: c.UID}, names); diff != "" {
			t.Errorf("merged names:\n%s", diff)
		}
		got, err2 := v.MergeOf(ctx, b.UID)
		if diff := cmp.Diff(&bInA, got, cmpopts.EquateApproxTime(0)); diff != "" {
			t.Errorf("as written and read:\n%s", diff)
		}
		into, err3 := v.MergesInto(ctx, a.UID)
		if len(into) != 1 || into[0].ID != bInA.ID || into[0].By != Writer().Name {
			t.Errorf("merges into A: %+v", into)
		}
		uid, err4 := v.UIDOf(ctx, b.ID)
		if uid != b.UID {
			t.Errorf("the name of key %d is %s", b.ID, uid)
		}
		if _, err := v.UIDOf(ctx, 99); records.CodeOf(err) != records.NotFound {
			t.Errorf("the name of a key that never was: %v", err)
		}
		return errors.Join(err, err2, err3, err4)
	})
	refused(t, s, "the name of a merged record again", records.Conflict, func(ctx context.Context, tx records.StoreTx) error {
		again := Plain()
		again.UID = b.UID
		return tx.PutWell(ctx, again, "")
	})
	back := *b
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		back.ID, back.Revision = 0, 0
		return errors.Join(tx.SplitMerge(ctx, bInA.ID, "two holes after all"), tx.PutWell(ctx, &back, ""))
	})
	leads(t, s, b.UID, back.ID)
	leads(t, s, a.UID, c.ID)
	refused(t, s, "split twice", records.Conflict, func(ctx context.Context, tx records.StoreTx) error { return tx.SplitMerge(ctx, bInA.ID, "") })
	refused(t, s, "split what never was", records.NotFound, func(ctx context.Context, tx records.StoreTx) error { return tx.SplitMerge(ctx, 99, "") })
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		m, err := v.Merge(ctx, bInA.ID)
		if m.SplitAt.IsZero() || m.SplitWhy != "two holes after all" || m.SplitBy != Writer().Name {
			t.Errorf("split: %+v", m)
		}
		if _, err := v.MergeOf(ctx, b.UID); records.CodeOf(err) != records.NotFound {
			t.Errorf("split, and it leads elsewhere still: %v", err)
		}
		keys, err2 := v.FormerKeys(ctx, b.UID)
		if diff := cmp.Diff([]int64{b.ID}, keys); diff != "" {
			t.Errorf("former keys:\n%s", diff)
		}
		return errors.Join(err, err2)
	})
}

func takenOut(t *testing.T, s records.Store) {
	a, b, c := threeWells(t, s)
	kept, moved := records.Plate{Number: "1", WellID: b.ID, LinkedBy: "a clerk"}, records.Plate{Number: "2", WellID: b.ID, LinkedBy: "a clerk"}
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		if err := errors.Join(tx.PutPlate(ctx, &kept, ""), tx.PutPlate(ctx, &moved, "")); err != nil {
			return err
		}
		moved.WellID = c.ID // somebody linked it elsewhere before
		return tx.PutPlate(ctx, &moved, "")
	})
	for _, w := range []*records.Well{a, b} {
		write(t, s, func(ctx context.Context, tx records.StoreTx) error {
			return tx.RemoveWell(ctx, w.ID, w.Revision, "out with "+w.Number)
		})
	}
	list := func(skip, limit int, want ...string) {
		t.Helper()
		look(t, s, func(ctx context.Context, v records.StoreView) error {
			out, all, err := v.TakenOut(ctx, skip, limit)
			var got []string
			for _, o := range out {
				got = append(got, o.Image.Number+": "+o.Why)
				if o.By != Writer().Name || o.At.IsZero() || o.Image.ID != o.WellID {
					t.Errorf("taken out: %+v", o)
				}
			}
			if diff := cmp.Diff(want, got); diff != "" {
				t.Errorf("taken out, of %d:\n%s", all, diff)
			}
			return err
		})
	}
	list(0, 9, "B: out with B", "A: out with A")
	list(1, 9, "A: out with A")
	list(0, 1, "B: out with B")
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		lost, err := v.PlatesOnce(ctx, b.ID)
		if len(lost) != 1 || lost[0].Number != "1" || lost[0].WellID != 0 || lost[0].LinkedBy != "a clerk" {
			t.Errorf("plates that lost their link with B: %+v", lost)
		}
		none, err2 := v.PlatesOnce(ctx, a.ID)
		if len(none) != 0 {
			t.Errorf("plates that lost their link with A: %+v", none)
		}
		return errors.Join(err, err2)
	})
	back := *b
	back.ID, back.Revision = 0, 0
	write(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.PutWell(ctx, &back, "") })
	list(0, 9, "A: out with A")
	write(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.RemoveWell(ctx, back.ID, 1, "again") })
	list(0, 9, "B: again", "A: out with A")
	// A file that was taken back is told elsewhere.
	batch := records.Batch{UID: "b", Source: "f", SHA256: "0", State: "published", By: "x"}
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		if err := tx.PutBatch(ctx, &batch); err != nil {
			return err
		}
		w := Plain()
		w.UID, w.Provenance = "", records.Provenance{Source: "batch", Batch: batch.ID, Row: 1}
		return tx.PutWell(ctx, w, "")
	})
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		_, _, err := tx.RemoveBatch(ctx, batch.ID, "the wrong file")
		return err
	})
	list(0, 9, "B: again", "A: out with A")
	var n, later int64
	look(t, s, func(ctx context.Context, v records.StoreView) (err error) {
		keys, err := v.FormerKeys(ctx, b.UID)
		if err != nil {
			return err
		}
		if diff := cmp.Diff([]int64{back.ID, b.ID}, keys); diff != "" {
			t.Errorf("former keys:\n%s", diff)
		}
		n, err = v.ChangedSince(ctx, 0)
		return err
	})
	c.Number = "C2"
	write(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.PutWell(ctx, c, "") })
	look(t, s, func(ctx context.Context, v records.StoreView) (err error) {
		later, err = v.ChangedSince(ctx, v.Commit()-1)
		return err
	})
	if n != 5 || later != 1 { // four keys out, one there; then one written
		t.Errorf("changed since the first: %d, since the last but one: %d", n, later)
	}
}

func pairDecisions(t *testing.T, s records.Store) {
	a, b, c := threeWells(t, s)
	x, y := records.PairOf(b.UID, a.UID)
	d := records.PairDecision{A: x, B: y, Verdict: records.PairDifferent, Probability: 0.625, Reasons: []string{"12 m apart", "depths differ"}, MarkA: "m1", MarkB: "m2", Why: "two houses"}
	put := func(change func(d *records.PairDecision)) func(context.Context, records.StoreTx) error {
		return func(ctx context.Context, tx records.StoreTx) error {
			n := d
			change(&n)
			return tx.DecidePair(ctx, &n)
		}
	}
	write(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.DecidePair(ctx, &d) })
	first := d
	if d.Revision != 1 || d.By != Writer().Name || d.At.IsZero() {
		t.Errorf("decided: %+v", d)
	}
	refused(t, s, "stale", records.Conflict, put(func(d *records.PairDecision) { d.Revision = 0 }))
	refused(t, s, "no verdict", records.Invalid, put(func(d *records.PairDecision) { d.Verdict = "maybe" }))
	refused(t, s, "the wrong way round", records.Invalid, put(func(d *records.PairDecision) { d.A, d.B = d.B, d.A }))
	refused(t, s, "of one record", records.Invalid, put(func(d *records.PairDecision) { d.B = d.A }))
	refused(t, s, "of a record that never was", records.NotFound, put(func(d *records.PairDecision) { d.B, d.Revision = "zz", 0 }))
	undone(t, s, put(func(d *records.PairDecision) { d.Verdict = records.PairUnsure }))
	d.Verdict, d.Why, d.Reasons = records.PairOpen, "", nil
	write(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.DecidePair(ctx, &d) })
	v, w := records.PairOf(b.UID, c.UID)
	other := records.PairDecision{A: v, B: w, Verdict: records.PairUnsure}
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		return errors.Join(tx.DecidePair(ctx, &other), tx.RemoveWell(ctx, c.ID, c.Revision, ""))
	})
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		got, err := v.PairDecision(ctx, a.UID, b.UID)
		if diff := cmp.Diff(d, got); diff != "" {
			t.Errorf("the latest:\n%s", diff)
		}
		all, err2 := v.PairDecisions(ctx)
		if len(all) != 2 || all[0].Revision+all[1].Revision != 3 {
			t.Errorf("the latest of each pair: %+v", all)
		}
		past, err3 := v.PairHistory(ctx, b.UID, a.UID)
		if diff := cmp.Diff([]records.PairDecision{d, first}, past); diff != "" {
			t.Errorf("all of a pair:\n%s", diff)
		}
		none, err4 := v.PairDecision(ctx, "a", "b")
		if none.Revision != 0 || none.A != "a" {
			t.Errorf("of none: %+v", none)
		}
		return errors.Join(err, err2, err3, err4)
	})
}

func foundPairs(t *testing.T, s records.Store) {
	a, b, c := threeWells(t, s)
	pair := func(x, y *records.Well, p float64) records.FoundPair {
		if y.UID < x.UID {
			x, y = y, x
		}
		return records.FoundPair{A: x.UID, B: y.UID, IDA: x.ID, IDB: y.ID, Probability: p,
			Reasons: []records.PairReason{{Name: "depth", A: "62 m", B: "61 m", Agreement: "near", Level: "within 5 %", Weight: 2.5, Words: "depth near", Private: true}}}
	}
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		run, pairs, err := v.FoundPairs(ctx)
		if !run.At.IsZero() || len(pairs) > 0 {
			t.Errorf("found before anybody searched: %+v, %d", run, len(pairs))
		}
		return err
	})
	run := records.PairRun{Commit: 3, Records: 40, Note: "the model is the starting one"}
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		return tx.KeepPairs(ctx, &run, []records.FoundPair{pair(a, b, 0.5), pair(c, a, 0.75)})
	})
	refused(t, s, "the wrong way round", records.Invalid, func(ctx context.Context, tx records.StoreTx) error {
		return tx.KeepPairs(ctx, &records.PairRun{}, []records.FoundPair{{A: "b", B: "a", Probability: 0.5}})
	})
	refused(t, s, "no probability", records.Invalid, func(ctx context.Context, tx records.StoreTx) error {
		return tx.KeepPairs(ctx, &records.PairRun{}, []records.FoundPair{pair(a, b, 1.5)})
	})
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		got, pairs, err := v.FoundPairs(ctx)
		if diff := cmp.Diff(run, got); diff != "" {
			t.Errorf("the run:\n%s", diff)
		}
		if len(pairs) != 2 || pairs[0].Probability != 0.75 || pairs[0].Reasons != nil {
			t.Errorf("the pairs, the likeliest first: %+v", pairs)
		}
		one, err2 := v.FoundPair(ctx, b.UID, a.UID)
		if diff := cmp.Diff(pair(a, b, 0.5), one); diff != "" {
			t.Errorf("one of them:\n%s", diff)
		}
		if _, err := v.FoundPair(ctx, b.UID, c.UID); records.CodeOf(err) != records.NotFound {
			t.Errorf("one that was not found: %v", err)
		}
		return errors.Join(err, err2)
	})
	// A record goes, and comes back under another key: the pair goes and comes with it.
	back := *c
	write(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.RemoveWell(ctx, c.ID, c.Revision, "") })
	pairsAre(t, s, 1)
	back.ID, back.Revision = 0, 0
	write(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.PutWell(ctx, &back, "") })
	pairsAre(t, s, 2)
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		one, err := v.FoundPair(ctx, a.UID, c.UID)
		if one.IDA != back.ID && one.IDB != back.ID {
			t.Errorf("the record that came back has the keys %d and %d, want %d", one.IDA, one.IDB, back.ID)
		}
		return err
	})
	write(t, s, func(ctx context.Context, tx records.StoreTx) error {
		return tx.KeepPairs(ctx, &run, []records.FoundPair{pair(b, &back, 1)})
	})
	pairsAre(t, s, 1)
}

func pairsAre(t *testing.T, s records.Store, want int) {
	t.Helper()
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		_, pairs, err := v.FoundPairs(ctx)
		if len(pairs) != want {
			t.Errorf("%d pairs, want %d", len(pairs), want)
		}
		return err
	})
}
