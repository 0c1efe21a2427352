package sqlite_test

import (
	"context"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tallybook/records"
	"tallybook/records/recordstest"
	"tallybook/records/sqlite"
)

func TestDraftsConform(t *testing.T) { recordstest.ConformDrafts(t, fresh) }

// A draft is there after a restart; those that ended long ago are swept by the
// next one, and open ones never.
func TestDraftsLastAndAreSwept(t *testing.T) {
	path := filepath.Join(t.TempDir(), "drafts.sqlite")
	now := time.Date(2026, 11, 1, 9, 0, 0, 0, time.UTC)
	reopen := func() *sqlite.Store {
		o := options(path)
		o.Create = true
		o.Now = func() time.Time { return now }
		s, err := sqlite.Open(t.Context(), o)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	put := func(s *sqlite.Store, title string) *records.Draft {
		d := &records.Draft{Title: title, Typed: records.Typed{"number": title}}
		update(t, s, func(ctx context.Context, tx records.StoreTx) error { return tx.PutDraft(ctx, d) })
		return d
	}
	s := reopen()
	kept, ended := put(s, "open"), put(s, "ended")
	update(t, s, func(ctx context.Context, tx records.StoreTx) error {
		return tx.EndDraft(ctx, ended.ID, ended.Revision, records.DraftDiscarded)
	})
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	now = now.Add(records.DraftsKeptFor - time.Hour)
	s = reopen()
	defer func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}()
	there := func(id int64) bool {
		err := s.View(t.Context(), func(v records.StoreView) error {
			d, err := v.Draft(t.Context(), id)
			if err == nil && d.Typed["number"] != d.Title {
				t.Errorf("draft %q holds %v", d.Title, d.Typed)
			}
			return err
		})
		if err != nil && records.CodeOf(err) != records.NotFound {
			t.Fatal(err)
		}
		return err == nil
	}
	put(s, "another")
	if !there(kept.ID) || !there(ended.ID) {
		t.Error("a draft went before its time")
	}
	now = now.Add(2 * time.Hour)
	put(s, "a third")
	if !there(kept.ID) || there(ended.ID) {
		t.Errorf("open is there: %v, ended: %v", there(kept.ID), there(ended.ID))
	}
}

// check finds a draft that cannot be read.
func TestCheckFindsABrokenDraft(t *testing.T) {
	path := seen(t)
	foreign(t, path, "INSERT INTO drafts(revision, person_id, person, well_id, well_revision, title, started_at, kept_at, typed) VALUES (1, 1, 'x', 0, 0, '', 'once', 'once', '[1]')")
	faults, err := open(t, path).CheckIntegrity(t.Context())
	if err != nil || len(faults) != 1 || !strings.Contains(faults[0].Message, "draft 1 cannot be read") {
		t.Errorf("%v %v", faults, err)
	}
}
