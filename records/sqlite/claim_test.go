package sqlite_test

import (
	"runtime"
	"testing"

	"tallybook/records"
)

// TestClaims: one at a time, in one program and in two, free again on release
// and on closing.
func TestClaims(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("claims are known on Linux alone")
	}
	s, path := newStore(t)
	other := open(t, path)
	release, held, err := s.Claim("intake")
	if err != nil || !held {
		t.Fatalf("held %v, %v", held, err)
	}
	if _, _, err := other.Claim("intake"); records.CodeOf(err) != records.Busy {
		t.Errorf("another store may claim it too: %v", err)
	}
	if _, _, err := s.Claim("intake"); records.CodeOf(err) != records.Busy {
		t.Errorf("the same store may claim it twice: %v", err)
	}
	if _, held, err := other.Claim("server"); err != nil || !held {
		t.Errorf("one claim keeps the other from being had: held %v, %v", held, err)
	}
	put(t, other, at(1, 2)) // writing is no matter of claims
	if err := release(); err != nil {
		t.Fatal(err)
	}
	if _, held, err := other.Claim("intake"); err != nil || !held {
		t.Errorf("after release: held %v, %v", held, err)
	}
	if _, _, err := s.Claim("lunch"); err == nil {
		t.Error("there is no such claim")
	}
}
