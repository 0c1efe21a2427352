package recordstest

import (
	"context"
	"encoding/json"
	"errors"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
)

// FullReview is a review in which everything that can be said is said.
func FullReview() *records.Review {
	return &records.Review{Title: "North of the river", Author: "A. Consultant", Note: "for the hearing", DataCommit: 12, Digest: "ab12", Wells: 900,
		Document: json.RawMessage(`{"format":"tallybook review 1","data":{"digest":"ab12","wells":900},"answers":[]}`)}
}

// ConformReviews holds a store against what is asked of it for reviews.
func ConformReviews(t *testing.T, open Opener) {
	t.Run("kept as it was", func(t *testing.T) { reviewsKept(t, open(t)) })
	t.Run("withdrawn and back", func(t *testing.T) { reviewsDecided(t, open(t)) })
	t.Run("all or nothing", func(t *testing.T) {
		s := open(t)
		undone(t, s, func(ctx context.Context, tx records.StoreTx) error {
			r := FullReview()
			return errors.Join(tx.KeepReview(ctx, r), tx.DecideReview(ctx, r.ID, &records.ReviewState{Withdrawn: true}))
		})
		look(t, s, func(ctx context.Context, v records.StoreView) error {
			all, err := v.Reviews(ctx)
			if len(all) != 0 {
				t.Errorf("%d reviews were left", len(all))
			}
			return err
		})
	})
}

func keepReview(t *testing.T, s records.Store, r *records.Review) {
	t.Helper()
	write(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.KeepReview(ctx, r) })
}

func readReview(t *testing.T, s records.Store, id int64) (r *records.Review) {
	t.Helper()
	look(t, s, func(ctx context.Context, v records.StoreView) (err error) {
		r, err = v.Review(ctx, id)
		return err
	})
	return r
}

func reviewsKept(t *testing.T, s records.Store) {
	first, second := FullReview(), &records.Review{Title: "Another", Document: json.RawMessage(`{"data":{"digest":"","wells":0}}`)}
	keepReview(t, s, first)
	keepReview(t, s, second)
	if first.ID == 0 || first.UID == "" || first.KeptBy != Writer().Name || first.KeptAt.IsZero() || first.ID == second.ID {
		t.Errorf("kept: %+v", first)
	}
	if diff := cmp.Diff(first, readReview(t, s, first.ID)); diff != "" {
		t.Errorf("read again:\n%s", diff)
	}
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		all, err := v.Reviews(ctx)
		if len(all) != 2 || all[0].ID != second.ID || all[1].Document != nil || all[1].Title != first.Title {
			t.Errorf("listed: %+v", all)
		}
		id, err2 := v.ReviewIDByUID(ctx, first.UID)
		if id != first.ID {
			t.Errorf("by its uid: %d", id)
		}
		if _, err := v.ReviewIDByUID(ctx, "nobody"); records.CodeOf(err) != records.NotFound {
			t.Errorf("a uid that is none: %v", err)
		}
		if _, err := v.Review(ctx, 99); records.CodeOf(err) != records.NotFound {
			t.Errorf("one that is not there: %v", err)
		}
		return errors.Join(err, err2)
	})
	again := func(change func(r *records.Review)) func(context.Context, records.StoreTx) error {
		return func(ctx context.Context, tx records.StoreTx) error {
			r := *first
			change(&r)
			return tx.KeepReview(ctx, &r)
		}
	}
	refused(t, s, "kept once more", records.Conflict, again(func(*records.Review) {}))
	refused(t, s, "the same uid twice", records.Conflict, again(func(r *records.Review) { r.ID = 0 }))
	refused(t, s, "without a title", records.Invalid, again(func(r *records.Review) { r.ID, r.UID, r.Title = 0, "", "" }))
	refused(t, s, "no JSON", records.Invalid, again(func(r *records.Review) { r.ID, r.UID, r.Document = 0, "", json.RawMessage("{") }))
}

func reviewsDecided(t *testing.T, s records.Store) {
	r := FullReview()
	keepReview(t, s, r)
	decide := func(st records.ReviewState) records.ReviewState {
		t.Helper()
		write(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.DecideReview(ctx, r.ID, &st) })
		return st
	}
	out := decide(records.ReviewState{Withdrawn: true, Why: "the wrong township"})
	if out.Revision != 1 || out.By != Writer().Name || out.At.IsZero() {
		t.Errorf("the first state: %+v", out)
	}
	back := decide(records.ReviewState{Revision: 1})
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		all, err := v.ReviewStates(ctx, r.ID)
		if diff := cmp.Diff([]records.ReviewState{back, out}, all); diff != "" {
			t.Errorf("states:\n%s", diff)
		}
		return err
	})
	got := readReview(t, s, r.ID)
	if diff := cmp.Diff(back, got.State); diff != "" {
		t.Errorf("the latest:\n%s", diff)
	}
	got.State = records.ReviewState{}
	if diff := cmp.Diff(r, got); diff != "" {
		t.Errorf("states changed the review:\n%s", diff)
	}
	refused(t, s, "stale", records.Conflict, func(ctx context.Context, tx records.StoreTx) error {
		return tx.DecideReview(ctx, r.ID, &records.ReviewState{Revision: 1})
	})
	refused(t, s, "no such review", records.NotFound, func(ctx context.Context, tx records.StoreTx) error {
		return tx.DecideReview(ctx, 99, &records.ReviewState{})
	})
}
