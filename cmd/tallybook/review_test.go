package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tallybook/records/review"
)

// A review written from one database is repeated on a copy that was taken in
// anew in another order, and told apart on one with a well more.
func TestReviewRepeated(t *testing.T) {
	db := county(t, 200)
	folder := filepath.Join(t.TempDir(), "study")
	r := must(t, "review", "--db", db, "--field", "yield", "--from", "1975", "--out", folder, "--title", "A county")
	if !strings.HasPrefix(r.out, "180 of 200 wells") || !strings.Contains(r.out, "neighbours") {
		t.Errorf("it prints:\n%s", r.out)
	}
	for _, name := range []string{"review.json", "completeness-by_decade.csv", "distribution-columns.csv", "distribution-shares.csv", "years-years.csv", "depth-running.csv", "depth-figures.csv"} {
		if text := read(t, filepath.Join(folder, name)); len(text) < 20 {
			t.Errorf("%s holds %q", name, text)
		}
	}
	saved := filepath.Join(folder, "review.json")
	lines := strings.Split(strings.TrimSpace(wells(200)), "\n")
	for i, j := 0, len(lines)-1; i < j; i, j = i+1, j-1 {
		lines[i], lines[j] = lines[j], lines[i]
	}
	other := filepath.Join(t.TempDir(), "other.db")
	must(t, "import", "--db", other, file(t, "wells.ndjson", strings.Join(lines, "\n")+"\n"))
	r = must(t, "review", "--db", other, "--settings", saved)
	if !strings.Contains(r.out, "The records are the same: 180 wells") || !strings.Contains(r.out, "Every number is the same") {
		t.Errorf("on a copy:\n%s", r.out)
	}
	must(t, "import", "--db", other, file(t, "more.ndjson", well(205, "")+"\n"))
	r = do(t, "review", "--db", other, "--settings", saved)
	if r.code != exitConflict || !strings.Contains(r.out, "180 wells then, 181 now") || !strings.Contains(r.out, "completeness, wells: 180 before, 181 now") || !strings.Contains(r.err, "not the same") {
		t.Errorf("with a well more: %d\n%s%s", r.code, r.out, r.err)
	}
	// Settings alone are asked with and nothing is compared.
	d, err := review.Parse([]byte(read(t, saved)))
	if err != nil || d.Title != "A county" || d.Settings.Quantity != "yield" {
		t.Fatalf("%+v %v", d, err)
	}
	for name, args := range map[string][]string{
		"no review":        {"--settings", file(t, "no.json", "{}")},
		"no file":          {"--settings", filepath.Join(t.TempDir(), "none.json")},
		"no box":           {"--box", "1,2,3"},
		"off the earth":    {"--box", "1,2,3,95"},
		"no place":         {"--at", "nowhere"},
		"no radius":        {"--at", "44,-40", "--radius", "far"},
		"no outline":       {"--outline", file(t, "line.geojson", `{"type":"LineString","coordinates":[[0,0],[1,1]]}`)},
		"a folder in use":  {"--out", folder},
		"no such material": {"--met", "cheese"},
		"no such setting":  {"--set", "nonsense=1"},
		"no such picks":    {"--picks", "mine"},
	} {
		if r := do(t, append([]string{"review", "--db", db}, args...)...); r.code != exitUsage && r.code != exitNotFound {
			t.Errorf("%s: %d %s", name, r.code, r.err)
		}
	}
	if r := do(t, "review", "--db", db, "--json", "--box=-41,43,-39,46"); r.code != exitOK || !strings.Contains(r.out, `"format": "tallybook review 1"`) {
		t.Errorf("as JSON: %d %.200s", r.code, r.out)
	}
	if _, err := os.Stat(filepath.Join(folder, "review.json")); err != nil {
		t.Error(err)
	}
}
