package main

import (
	"path/filepath"
	"strings"
	"testing"
)

// A mark and a pick come in with a file, are left out or gone by, said, and
// go out again with every export that holds lists.
func TestMarksAndPicksOnTheCommandLine(t *testing.T) {
	db := filepath.Join(t.TempDir(), "w.db")
	var b strings.Builder
	for i := range 60 {
		extra := ""
		switch i {
		case 7:
			extra = `"unreliable":[{"about":"strata","reason":"copied from the next lot","by":"Reviewer A","date":"2026-03-02"}]`
		case 8:
			extra = `"own_picks":[{"set":"first reading","of":"bedrock","depth_m":30.48,"depth_given":"100","depth_given_unit":"ft","reason":"a boulder","by":"Reviewer A","date":"2026-03-02"}]`
		}
		b.WriteString(well(i, extra) + "\n")
	}
	must(t, "import", "--db", db, file(t, "w.geojson", b.String()))
	surface := func(args ...string) (result, string) {
		out := filepath.Join(t.TempDir(), "s.asc")
		r := must(t, append([]string{"surface", "--db", db, "--method", "idw", "--grid", "6x4", "--everywhere", "--out", out}, args...)...)
		return r, read(t, out)
	}
	plain, without := surface()
	if !strings.Contains(plain.err, "1 log left out, marked unreliable") {
		t.Errorf("not told: %s", plain.err)
	}
	taken, with := surface("--marked-too")
	if strings.Contains(taken.err, "left out") || with == without {
		t.Errorf("taken in, the surface is the same; told %q", taken.err)
	}
	picked, by := surface("--picks", "first reading")
	if !strings.Contains(picked.err, "as picked in 'first reading' in 1 log") || by == without {
		t.Errorf("by the set, the surface is the same; told %q", picked.err)
	}
	if r := do(t, "surface", "--db", db, "--grid", "6x4", "--out", filepath.Join(t.TempDir(), "s.asc"), "--picks", "second"); r.code != 4 || !strings.Contains(r.err, "first reading") {
		t.Errorf("%d: %s", r.code, r.err)
	}
	if r := must(t, "scout", "--db", db, "--at", "44.01,-39.95"); !strings.Contains(r.err, "1 log left out") {
		t.Errorf("scout does not tell: %s", r.err)
	}
	if r := must(t, "score", "--db", db, "--forward"); !strings.Contains(r.err, "1 log left out") {
		t.Errorf("score does not tell: %s", r.err)
	}
	out := must(t, "export", "--db", db).out
	for _, want := range []string{`"own_picks":[{"set":"first reading","of":"bedrock","depth_m":30.48,"depth_given":"100","depth_given_unit":"ft","reason":"a boulder"`, `"unreliable":[{"about":"strata","reason":"copied from the next lot"`} {
		if !strings.Contains(out, want) {
			t.Errorf("the export lacks %s", want)
		}
	}
	// As tables, and back.
	set, again := filepath.Join(t.TempDir(), "set"), filepath.Join(t.TempDir(), "again")
	other := filepath.Join(t.TempDir(), "other.db")
	must(t, "export", "--db", db, "--format", "csv", "--out", set)
	must(t, "import", "--db", other, "--with", "own_picks="+filepath.Join(set, "own_picks.csv"), "--with", "unreliable="+filepath.Join(set, "unreliable.csv"), filepath.Join(set, "wells.csv"))
	must(t, "export", "--db", other, "--format", "csv", "--out", again)
	for _, name := range []string{"own_picks.csv", "unreliable.csv"} {
		if was, is := read(t, filepath.Join(set, name)), read(t, filepath.Join(again, name)); was != is || strings.Count(was, "\n") != 2 {
			t.Errorf("%s came back otherwise:\n%s\n%s", name, was, is)
		}
	}
	// Many at once, undone as one.
	must(t, "correct", "--db", db, "--apply", `{"choose":{"from_year":1975,"to_year":1980},"rule":{"kind":"mark_unreliable","field":"yield","to":"the bucket leaked"}}`)
	if r := must(t, "scout", "--db", db, "--at", "44.01,-39.95"); strings.Contains(r.err, "1 log left out") || !strings.Contains(r.err, "logs left out") {
		t.Errorf("scout tells %q", r.err)
	}
	must(t, "correct", "--db", db, "--undo", "1")
	if r := must(t, "scout", "--db", db, "--at", "44.01,-39.95"); !strings.Contains(r.err, "1 log left out") {
		t.Errorf("undone, scout tells %q", r.err)
	}
}
