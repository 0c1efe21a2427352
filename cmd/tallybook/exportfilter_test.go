package main

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"
)

func TestExportByFilter(t *testing.T) {
	db := filepath.Join(t.TempDir(), "county.db")
	var rows strings.Builder
	for i := range 20 {
		fmt.Fprintf(&rows, "{\"type\":\"Feature\",\"id\":\"w%d\",\"geometry\":null,\"properties\":{\"number\":\"%d\",\"total_depth_m\":%d", i, i, i*10)
		if i%3 > 0 {
			fmt.Fprintf(&rows, ",\"yield_lps\":%d", i%3)
		}
		rows.WriteString("}}\n")
	}
	must(t, "import", "--db", db, file(t, "a.ndjson", rows.String()))
	all := must(t, "export", "--db", db)
	some := must(t, "export", "--db", db, "--filter", "total_depth_m > 60 AND yield_lps IS NOT NULL")
	a, s := strings.Count(all.out, `"Feature"`), strings.Count(some.out, `"Feature"`)
	if s == 0 || s >= a || !strings.Contains(some.err, fmt.Sprintf("%d wells written", s)) {
		t.Errorf("%d of %d wells, said %q", s, a, some.err)
	}
	if r := must(t, "export", "--db", db, "--filter", "NOT (total_depth_m > 60 AND yield_lps IS NOT NULL) OR total_depth_m IS NULL"); strings.Count(r.out, `"Feature"`) != a-s {
		t.Errorf("%d wells by the contrary, want %d", strings.Count(r.out, `"Feature"`), a-s)
	}
	r := do(t, "export", "--db", db, "--filter", "depth > 60")
	if r.code != exitUsage || !strings.Contains(r.err, `the filter at character 1, "depth > 60": there is no field depth`) || strings.Contains(r.out, "Feature") {
		t.Errorf("exit %d, %q", r.code, r.err)
	}
	// Fifty metres are 164.041995 ft (0.3048 m exactly), a litre a second
	// 15.850323 gpm (3.785411784 L exactly): worked by hand.
	for filter, want := range map[string]int{"total_depth_ft > 164.0419 AND total_depth_ft < 164.0421": 1, "total_depth_ft >= 164.041996": 14, "yield_gpm = 15.850323": 7, "yield_gpm IS NULL": 7} {
		if r := must(t, "export", "--db", db, "--filter", filter); strings.Count(r.out, `"Feature"`) != want {
			t.Errorf("%s: %d wells, want %d", filter, strings.Count(r.out, `"Feature"`), want)
		}
	}
	if r := do(t, "export", "--db", db, "--filter", "owner_name = 'x'"); r.code != exitUsage {
		t.Errorf("a private field is asked for: exit %d, %q", r.code, r.err)
	}
}

func TestCopyForGISByFilter(t *testing.T) {
	db, dir := copied(t, 30), t.TempDir()
	out := filepath.Join(dir, "gis.sqlite")
	// Every third well has no elevation: ten of thirty.
	r := must(t, "copy", "--db", db, "--out", out, "--for-gis", "--filter", "ground_elevation_m IS NULL")
	if !strings.Contains(r.out, "10 wells, 20 intervals, 10 water strikes") {
		t.Errorf("it says %q", r.out)
	}
	if n := rowsOf(t, out, "SELECT count(*) FROM strata WHERE ground_elevation_m IS NULL"); n != 20 {
		t.Errorf("%d intervals, want 20", n)
	}
	for _, args := range [][]string{{"--for-gis", "--filter", "depth > 1"}, {"--filter", "ground_elevation_m IS NULL"}} {
		r := do(t, append([]string{"copy", "--db", db, "--out", filepath.Join(dir, "none.db")}, args...)...)
		if r.code != exitUsage || !strings.Contains(r.err, "filter") {
			t.Errorf("%q: exit %d, %q", args, r.code, r.err)
		}
	}
	onlyHolds(t, dir, "gis.sqlite")
}
