package recordstest

import (
	"context"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records"
)

// ConformDrafts holds a store against what is asked of it for drafts.
func ConformDrafts(t *testing.T, open Opener) {
	s := open(t)
	put := func(d *records.Draft) func(context.Context, records.StoreTx) error {
		return func(ctx context.Context, tx records.StoreTx) error { return tx.PutDraft(ctx, d) }
	}
	end := func(id, revision int64, how string) func(context.Context, records.StoreTx) error {
		return func(ctx context.Context, tx records.StoreTx) error { return tx.EndDraft(ctx, id, revision, how) }
	}
	before := commits(t, s)
	a := &records.Draft{WellID: 3, WellRevision: 2, Title: "T-1", Typed: records.Typed{"number": "T-1", "strata[0].description": "two\nlines \"½\""}}
	b := &records.Draft{Title: "a new one", Typed: records.Typed{}}
	write(t, s, put(a))
	write(t, s, put(b))
	if a.ID == 0 || a.ID == b.ID || a.Revision != 1 || a.PersonID != Writer().ID || a.Person != Writer().Name || a.KeptAt.IsZero() || a.StartedAt != a.KeptAt {
		t.Errorf("new: %+v", a)
	}
	first := *a
	a.Typed = records.Typed{"number": "T-2"}
	write(t, s, put(a))
	if a.Revision != 2 || a.StartedAt != first.StartedAt {
		t.Errorf("written again: %+v", a)
	}
	if now := commits(t, s); now != before {
		t.Errorf("drafts made commits: %d, before %d", now, before)
	}
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		got, err := v.Draft(ctx, a.ID)
		if diff := cmp.Diff(a, got); diff != "" {
			t.Errorf("as written and read:\n%s", diff)
		}
		if _, err := v.Draft(ctx, 99); records.CodeOf(err) != records.NotFound {
			t.Errorf("one that is not there: %v", err)
		}
		return err
	})
	listed(t, s, Writer().ID, a.ID, b.ID)
	listed(t, s, 99)

	refused(t, s, "stale", records.Conflict, put(&records.Draft{ID: a.ID, Revision: 1, Typed: records.Typed{}}))
	refused(t, s, "new with a revision", records.Conflict, put(&records.Draft{Revision: 1, Typed: records.Typed{}}))
	refused(t, s, "nothing typed", records.Invalid, put(&records.Draft{}))
	refused(t, s, "not there", records.NotFound, put(&records.Draft{ID: 99, Revision: 1, Typed: records.Typed{}}))
	refused(t, s, "ended stale", records.Conflict, end(a.ID, 1, records.DraftSaved))
	refused(t, s, "ended somehow", records.Invalid, end(a.ID, 2, "lost"))
	err := s.Update(t.Context(), records.Actor{ID: 8, Name: "Another"}, func(tx records.StoreTx) error { return tx.EndDraft(t.Context(), a.ID, 2, records.DraftDiscarded) })
	if records.CodeOf(err) != records.Forbidden {
		t.Errorf("ended by another: %v", err)
	}

	write(t, s, end(a.ID, 2, records.DraftDiscarded))
	listed(t, s, Writer().ID, b.ID)
	refused(t, s, "written after its end", records.Conflict, put(&records.Draft{ID: a.ID, Revision: 2, Typed: records.Typed{}}))
	write(t, s, end(a.ID, 2, ""))
	listed(t, s, Writer().ID, a.ID, b.ID)
	undone(t, s, end(a.ID, 2, records.DraftSaved))
	listed(t, s, Writer().ID, a.ID, b.ID)
}

// listed looks which drafts are open, in any order.
func listed(t *testing.T, s records.Store, person int64, want ...int64) {
	t.Helper()
	look(t, s, func(ctx context.Context, v records.StoreView) error {
		all, err := v.Drafts(ctx, person)
		got := map[int64]bool{}
		for _, d := range all {
			got[d.ID] = true
			if d.Typed != nil {
				t.Errorf("draft %d is listed with what was typed", d.ID)
			}
		}
		if len(all) != len(want) {
			t.Errorf("%d drafts are open, want %v", len(all), want)
		}
		for _, id := range want {
			if !got[id] {
				t.Errorf("draft %d is not listed", id)
			}
		}
		return err
	})
}
