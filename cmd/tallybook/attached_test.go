package main

import (
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/lithology"
	"tallybook/records/recordstest"
	"tallybook/records/sqlite"
)

// A database is copied with the folder beside it, and the check says of the copy
// that it is sound; without the folder it names what is missing.
func TestACopyTakesWhatIsAttachedAlong(t *testing.T) {
	db := county(t, 3)
	store, err := sqlite.Open(t.Context(), sqlite.Options{Path: db, Reader: lithology.Default()})
	if err != nil {
		t.Fatal(err)
	}
	d, err := desk.Open(t.Context(), desk.Options{Store: store})
	if err != nil {
		t.Fatal(err)
	}
	_, _, n, err := d.Attach(t.Context(), desk.LocalPerson(), 1, []desk.AttachFile{
		{Name: "small.png", Data: recordstest.Scan("image/png", 99)}, {Name: "large.pdf", Data: recordstest.Scan("application/pdf", records.AttachedInside+1)},
	})
	if err != nil || n != 2 {
		t.Fatal(n, err)
	}
	if err := d.Close(); err != nil {
		t.Fatal(err)
	}
	copyTo := func(withFolder bool) string {
		to := filepath.Join(t.TempDir(), "copy.db")
		if err := os.WriteFile(to, []byte(read(t, db)), 0o600); err != nil {
			t.Fatal(err)
		}
		if withFolder {
			if err := os.CopyFS(sqlite.FolderBeside(to), os.DirFS(sqlite.FolderBeside(db))); err != nil {
				t.Fatal(err)
			}
		}
		return to
	}
	if r := must(t, "check", "--db", copyTo(true)); !strings.Contains(r.out, "0 problems") {
		t.Errorf("the copy: %s", r.out)
	}
	if r := do(t, "check", "--db", copyTo(false)); r.code != exitUsage || !strings.Contains(r.out, "is not in the folder beside the database") {
		t.Errorf("without the folder: %d, %s", r.code, r.out)
	}
	// The command copies both; one to give away has neither.
	whole, give := filepath.Join(t.TempDir(), "whole.db"), filepath.Join(t.TempDir(), "give.db")
	if r := must(t, "copy", "--db", db, "--private", "--out", whole); !strings.Contains(r.out, "2 scans") {
		t.Errorf("the whole copy: %s", r.out)
	}
	if r := must(t, "check", "--db", whole); !strings.Contains(r.out, "0 problems") {
		t.Errorf("the whole copy: %s", r.out)
	}
	must(t, "copy", "--db", db, "--out", give)
	if _, err := os.Stat(sqlite.FolderBeside(give)); err == nil || strings.Contains(read(t, give), "large.pdf") {
		t.Error("scans are in what is given away")
	}
	if r := do(t, "copy", "--db", db, "--private", "--out", whole); r.code != exitConflict {
		t.Errorf("over a copy it ends with %d", r.code)
	}
	out := filepath.Join(t.TempDir(), "out.geojson")
	must(t, "export", "--db", db, "--out", out)
	if text := read(t, out); strings.Contains(text, "large.pdf") {
		t.Error("what is given out without people names what is attached")
	}
	must(t, "export", "--db", db, "--out", out, "--private")
	if text := read(t, out); !strings.Contains(text, "large.pdf") {
		t.Error("what is given out whole does not name what is attached")
	}
	err = filepath.WalkDir(sqlite.FolderBeside(db), func(_ string, e fs.DirEntry, err error) error {
		if err == nil && strings.HasPrefix(e.Name(), ".part-") {
			t.Errorf("%s is left behind", e.Name())
		}
		return err
	})
	if err != nil {
		t.Error(err)
	}
}
