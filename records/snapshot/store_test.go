package snapshot_test

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"path/filepath"
	"testing"

	"tallybook/records"
	"tallybook/records/recordstest"
	"tallybook/records/snapshot"
	"tallybook/records/sqlite"
)

// TestOnTheRealStore follows edits in a real file, and shows what another
// program wrote into it.
func TestOnTheRealStore(t *testing.T) {
	path := filepath.Join(t.TempDir(), "wells.db")
	open := func() *sqlite.Store {
		s, err := sqlite.Open(t.Context(), sqlite.Options{Path: path, Create: true, Reader: recordstest.ByClass{}, Log: slog.New(slog.NewTextHandler(io.Discard, nil))})
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() {
			if err := s.Close(); err != nil {
				t.Error(err)
			}
		})
		return s
	}
	store, other := open(), open()
	actor := records.Actor{ID: 1, Name: "A. Writer"}
	write := func(s records.Store, fn func(records.StoreTx) error) {
		t.Helper()
		if err := s.Update(t.Context(), actor, fn); err != nil {
			t.Fatal(err)
		}
	}
	var wells []*records.Well
	write(store, func(tx records.StoreTx) error {
		for i := range 30 {
			w := recordstest.Plain()
			w.UID, w.Number, w.Place.Lon = "", fmt.Sprint(i), -72.5+float64(i)/100
			wells = append(wells, w)
			if err := tx.PutWell(t.Context(), w, ""); err != nil {
				return err
			}
		}
		return nil
	})
	s, err := snapshot.Open(t.Context(), store)
	if err != nil {
		t.Fatal(err)
	}
	s.SetFoldAt(8)
	for i := range 20 {
		w := wells[i]
		write(other, func(tx records.StoreTx) error {
			switch i % 4 {
			case 0:
				return tx.RemoveWell(t.Context(), w.ID, w.Revision, "gone")
			case 1:
				w.Place.Lat += 0.5
			case 2:
				w.Place.Located = false
			default:
				w.Yield = recordstest.Gpm("<1")
			}
			return tx.PutWell(t.Context(), w, "corrected")
		})
		if news, err := s.Refresh(t.Context(), store); err != nil || !news {
			t.Fatalf("edit %d by another program: %v, %v", i, news, err)
		}
		fresh, err := snapshot.Open(context.Background(), store)
		if err != nil {
			t.Fatal(err)
		}
		got, want := all(s.Picture()), all(fresh.Picture())
		if len(got) != len(want) || len(got) == 0 {
			t.Fatalf("edit %d: %d wells, opened anew %d", i, len(got), len(want))
		}
		for id, d := range want {
			if fmt.Sprintf("%+v", got[id]) != fmt.Sprintf("%+v", d) {
				t.Fatalf("edit %d, well %d:\nfollowed %+v\nanew     %+v", i, id, got[id], d)
			}
		}
	}
	s.Settle()
	if n, _ := s.FoldState(); n >= 8 {
		t.Errorf("%d changes lie over the base after folding at 8", n)
	}
}
