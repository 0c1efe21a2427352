package main

import (
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"
)

// Plates come in from a table, are matched with reasons, linked, exchanged and
// undone on the command line.
func TestPlatesCommand(t *testing.T) {
	db := filepath.Join(t.TempDir(), "county.db")
	must(t, "import", "--db", db, file(t, "wells.ndjson", wells(12)))
	table := file(t, "plates.csv", "number,depth_ft,seen,position\n901,300,2020-05-02,44.2 -38.7\n9?2,310,,\nx,deep,,\n")
	tried := do(t, "plates", "--db", db, "bring", table, "--try")
	if tried.code != exitPartial || !strings.Contains(tried.out, "3 rows read: 2 new and 0 seen again would be taken in, 1 refused") || !strings.Contains(tried.err, "row 3: depth") {
		t.Errorf("tried: %d %q %q", tried.code, tried.out, tried.err)
	}
	if r := must(t, "plates", "--db", db, "list"); !strings.Contains(r.out, "0 of 0 plates") {
		t.Errorf("tried, and there are plates: %q", r.out)
	}
	if r := do(t, "plates", "--db", db, "bring", table); r.code != exitPartial || !strings.Contains(r.out, "2 new and 0 seen again taken in") {
		t.Errorf("brought: %d %q", r.code, r.out)
	}
	var matched struct {
		State   string
		Records []struct {
			Well   string
			Fields []struct{ Field, Agreement string }
		}
		NoRecord float64 `json:"no_record"`
	}
	if err := json.Unmarshal([]byte(must(t, "plates", "--db", db, "match", "901", "--json").out), &matched); err != nil || matched.State != "open" || matched.NoRecord <= 0 {
		t.Errorf("matched: %+v, %v", matched, err)
	}
	var decided struct{ Decision string }
	if err := json.Unmarshal([]byte(must(t, "plates", "--db", db, "link", "901", "W-3", "--why", "the report says so", "--json").out), &decided); err != nil || decided.Decision == "" {
		t.Fatalf("linked: %+v, %v", decided, err)
	}
	if r := must(t, "plates", "--db", db, "list", "--show", "all"); !strings.Contains(r.out, "901") || !strings.Contains(r.out, "linked to record") {
		t.Errorf("listed: %q", r.out)
	}
	must(t, "plates", "--db", db, "exchange", "901", "9?2")
	if r := do(t, "plates", "--db", db, "undo", decided.Decision); r.code != exitConflict {
		t.Errorf("undone over a later decision: %d %q", r.code, r.err)
	}
	must(t, "plates", "--db", db, "none", "901")
	must(t, "plates", "--db", db, "refuse", "912", "W-3") // 9?2 fits it
	for _, c := range []struct {
		code int
		args []string
	}{
		{exitNotFound, []string{"link", "777", "W-3"}}, {exitNotFound, []string{"link", "901", "no such"}}, {exitConflict, []string{"match", "9?"}}, {exitUsage, []string{"link", "901"}},
		{exitUsage, []string{"undo"}}, {exitNotFound, []string{"undo", "no such"}}, {exitUsage, []string{"bring", "no such file"}}, {exitUsage, []string{"burn"}},
	} {
		if c.args[0] == "match" {
			c.args[1] = "9??"
		}
		if r := do(t, append([]string{"plates", "--db", db}, c.args...)...); r.code != c.code {
			t.Errorf("%v ends with %d, want %d: %s", c.args, r.code, c.code, r.err)
		}
	}
	if r := must(t, "check", "--db", db); !strings.Contains(r.out, "0 problems") {
		t.Errorf("check: %q", r.out)
	}
}
