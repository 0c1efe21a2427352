package main

import (
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// TestKilledAtAnyMoment kills the program (SIGKILL) at random moments while a
// later copy of a source is taken in, which makes new records and changes
// others: the copy is wholly there or wholly not, nothing else is touched, and
// check finds nothing.
func TestKilledAtAnyMoment(t *testing.T) {
	times := 50
	if testing.Short() {
		times = 5
	}
	const before, changed, added = 1200, 300, 1800
	dir := t.TempDir()
	base := filepath.Join(dir, "base.db")
	source := func(text string) string { return file(t, "county.ndjson", text) }
	must(t, "import", "--db", base, source(wells(before)))
	var later strings.Builder
	for i := range before + added {
		w := well(i, "")
		if i < changed {
			w = strings.Replace(w, `"total_depth_m":`, `"total_depth_m":10`, 1)
		}
		later.WriteString(w + "\n")
	}
	copyOf := source(later.String())
	whole := filepath.Join(dir, "whole.db")
	copyFile(t, base, whole)
	began := time.Now()
	run := programFor(ownBinary(t), "import", "--db", whole, "--copy-of", "1", copyOf)
	if out, err := run.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	took := time.Since(began)
	if !wholly(t, whole, before, changed, added) {
		t.Fatal("left alone, it is not taken in")
	}
	in, out := 0, 0
	for i := range times {
		db := filepath.Join(dir, fmt.Sprintf("killed-%d.db", i))
		copyFile(t, base, db)
		cmd := programFor(ownBinary(t), "import", "--db", db, "--copy-of", "1", copyOf)
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Duration(rand.Int64N(int64(took))))
		if err := cmd.Process.Kill(); err != nil && !errors.Is(err, os.ErrProcessDone) {
			t.Fatal(err)
		}
		var exit *exec.ExitError
		if err := cmd.Wait(); err != nil && !errors.As(err, &exit) {
			t.Fatal(err)
		}
		if wholly(t, db, before, changed, added) {
			in++
		} else {
			out++
		}
		must(t, "check", "--db", db)
		if !testing.Short() || i == 0 {
			// What is left is cleared away by the next intake, which goes on as ever.
			must(t, "import", "--db", db, source(strings.ReplaceAll(wells(2), "W-", "NEW-")))
			if n := rawCount(t, db, "SELECT count(*) FROM batches WHERE state = 'staged'"); n != 0 {
				t.Errorf("%d intakes are left unfinished", n)
			}
			must(t, "check", "--db", db)
		}
	}
	t.Logf("killed %d times within %v: %d wholly in, %d wholly not", times, took, in, out)
	if in == times {
		t.Error("it was never killed before it had ended: nothing was tested")
	}
}

// wholly says whether the later copy is there, and holds that it is there as a
// whole or not at all.
func wholly(t *testing.T, db string, before, changed, added int) bool {
	t.Helper()
	in := rawCount(t, db, "SELECT count(*) FROM batches WHERE id = 2 AND state = 'published'") == 1
	wantSeen, wantChanged := before, 0
	if in {
		wantSeen, wantChanged = before+added, changed
	}
	if n := strings.Count(must(t, "export", "--db", db).out, `"type":"Feature"`); n != wantSeen {
		t.Errorf("%d wells show, want %d (the copy is in: %v)", n, wantSeen, in)
	}
	if n := rawCount(t, db, "SELECT count(*) FROM wells WHERE total_depth_m >= 1000"); n != wantChanged {
		t.Errorf("%d wells are changed, want %d (the copy is in: %v)", n, wantChanged, in)
	}
	if n := rawCount(t, db, "SELECT count(*) FROM intake_changes WHERE wrote > 0"); n != wantChanged {
		t.Errorf("%d changes are noted, want %d (the copy is in: %v)", n, wantChanged, in)
	}
	return in
}

func copyFile(t *testing.T, from, to string) {
	t.Helper()
	r, err := os.Open(from)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	w, err := os.OpenFile(to, os.O_CREATE|os.O_WRONLY|os.O_EXCL, 0o600)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := io.Copy(w, r); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
}
