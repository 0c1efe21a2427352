package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A table is looked at, its guessed mapping is edited, rehearsed and taken in;
// what was refused is mended and sent again.
func TestImportByMapping(t *testing.T) {
	dir := t.TempDir()
	db := filepath.Join(dir, "w.db")
	wells := file(t, "wells.csv", "Wells of an invented township\nWell No;X;Y;TD;DTB\nA-1;-118,5;59,25;305;40\nA-2;-118,6;59,26;205;99\nA-3;-118,7;59,26;xx;20\n")
	strata := file(t, "strata.csv", "Well No,From,To,Description\nA-1,0,40,clay\nA-1,40,305,gneiss\nA-7,0,5,sand\n")
	with := "strata=" + strata
	looked := must(t, "import", "--look", "--with", with, wells)
	if !strings.Contains(looked.err, "the names of the columns stand in row 2") || !strings.Contains(looked.err, "3 rows, all looked at") {
		t.Errorf("look said:\n%s", looked.err)
	}
	mapping := looked.out
	for field, more := range map[string]string{"total_depth": `"unit": "ft"`, "depth_to_bedrock": `"unit": "ft", "unknown": ["99"]`, "strata.top": `"unit": "ft"`, "strata.bottom": `"unit": "ft"`} {
		was := `"field": "` + field + `"`
		if !strings.Contains(mapping, was) {
			t.Fatalf("%s was not guessed:\n%s", field, mapping)
		}
		mapping = strings.Replace(mapping, was, was+", "+more, 1)
	}
	m := file(t, "m.json", mapping)

	r := do(t, "import", "--db", db, "--rehearse", "--mapping", m, "--with", with, wells)
	if want := "rehearsed, and nothing written: 4 read, 2 would be accepted, 0 of them with warnings, 2 refused"; r.code != exitPartial || r.lastLine() != want {
		t.Fatalf("rehearsed: %d, %s\n%s", r.code, r.lastLine(), r.err)
	}
	if _, err := os.Stat(db); err == nil {
		t.Error("a rehearsal made the database")
	}
	refused := filepath.Join(dir, "refused")
	r = do(t, "import", "--db", db, "--mapping", m, "--with", with, "--refused", refused, wells)
	if want := "4 read, 2 accepted, 0 of them with warnings, 2 refused"; r.code != exitPartial || r.lastLine() != want {
		t.Fatalf("taken in: %d, %s\n%s", r.code, r.lastLine(), r.err)
	}
	if !strings.Contains(r.out, "3 rows of strata (the ground as logged), 2 of them with their wells, 1 without a well") {
		t.Errorf("counted:\n%s", r.out)
	}
	// Rehearsed once more, what is there is known.
	r = do(t, "import", "--db", db, "--rehearse", "--mapping", m, "--with", with, wells)
	if want := "rehearsed, and nothing written: 4 read, 0 would be accepted, 0 of them with warnings, 4 refused"; r.lastLine() != want {
		t.Errorf("rehearsed again: %s", r.lastLine())
	}
	mended := file(t, "mended.csv", strings.Replace(read(t, refused+".rows"), "xx", "62'6\"", 1))
	parts := file(t, "mended-strata.csv", strings.Replace(read(t, refused+".strata.rows"), "A-7", "A-3", 1))
	r = must(t, "import", "--db", db, "--mapping", m, "--with", "strata="+parts, mended)
	if want := "1 read, 1 accepted, 0 of them with warnings, 0 refused"; r.lastLine() != want {
		t.Errorf("mended: %s", r.lastLine())
	}
	out := must(t, "export", "--db", db, "--private").out
	for _, want := range []string{`"depth_to_bedrock_m":12.192`, `"total_depth_given":"62'6\""`, `"description":"sand"`} {
		if !strings.Contains(out, want) {
			t.Errorf("the export does not have %s", want)
		}
	}
	if strings.Contains(out, `"99"`) {
		t.Error("a code for unknown was taken for a depth")
	}
}
