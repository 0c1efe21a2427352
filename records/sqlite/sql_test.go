package sqlite_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/records/sqlite"
)

// scan reads one row by SQL.
func scan(t testing.TB, s *sqlite.Store, query string, dest ...any) {
	t.Helper()
	var skip any
	for i, d := range dest {
		if d == nil {
			dest[i] = &skip
		}
	}
	if err := s.Writer().QueryRowContext(t.Context(), query).Scan(dest...); err != nil {
		t.Fatalf("%s: %v", query, err)
	}
}

// ex expects one value of a query.
func ex(t testing.TB, s *sqlite.Store, query string, want any) {
	t.Helper()
	var got any
	scan(t, s, query, &got)
	if b, ok := got.([]byte); ok {
		got = string(b)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("%s (-want +got):\n%s", query, diff)
	}
}
