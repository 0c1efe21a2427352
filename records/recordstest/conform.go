package recordstest

import (
	"context"
	"errors"
	"testing"

	"tallybook/records"
)

// What every store has to do with what is kept for scouting. A store's own
// tests call these with a function that opens an empty one.

// Opener opens an empty store, to be closed by the test's cleanup.
type Opener func(t *testing.T) records.Store

// Writer is who writes in these tests.
func Writer() records.Actor { return records.Actor{ID: 7, Name: "A. Writer"} }

func write(t *testing.T, s records.Store, fn func(ctx context.Context, tx records.StoreTx) error) {
	t.Helper()
	if err := s.Update(t.Context(), Writer(), func(tx records.StoreTx) error { return fn(t.Context(), tx) }); err != nil {
		t.Fatalf("write: %v", err)
	}
}

func look(t *testing.T, s records.Store, fn func(ctx context.Context, v records.StoreView) error) {
	t.Helper()
	if err := s.View(t.Context(), func(v records.StoreView) error { return fn(t.Context(), v) }); err != nil {
		t.Fatalf("read: %v", err)
	}
}

// refused runs a write that has to fail with a code, in a transaction of its
// own.
func refused(t *testing.T, s records.Store, what string, code records.Code, fn func(ctx context.Context, tx records.StoreTx) error) {
	t.Helper()
	err := s.Update(t.Context(), Writer(), func(tx records.StoreTx) error { return fn(t.Context(), tx) })
	if records.CodeOf(err) != code || err == nil {
		t.Errorf("%s: got %v, want %v", what, err, code)
	}
}

// errStop makes a transaction fail after it has written.
var errStop = errors.New("stop")

// commits gives the number of the latest commit.
func commits(t *testing.T, s records.Store) int64 {
	t.Helper()
	n, err := s.Changes(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// undone looks that a transaction that fails leaves nothing.
func undone(t *testing.T, s records.Store, fn func(ctx context.Context, tx records.StoreTx) error) {
	t.Helper()
	before := commits(t, s)
	err := s.Update(t.Context(), Writer(), func(tx records.StoreTx) error {
		return errors.Join(fn(t.Context(), tx), errStop)
	})
	if !errors.Is(err, errStop) || records.CodeOf(err) != records.Internal {
		t.Errorf("the transaction gives %v, want only that it was stopped", err)
	}
	if now := commits(t, s); now != before {
		t.Errorf("a transaction that failed left commit %d, want %d", now, before)
	}
}
