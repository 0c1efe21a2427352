package main

import (
	"context"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// copied is a database with owners, an earlier state, strata, strikes and
// elevations; every third well has no elevation. Everybody in it is invented.
func copied(t testing.TB, n int) string {
	t.Helper()
	var source strings.Builder
	for i := range n {
		extra := `"owner":{"name":"Nobody Invented","telephone":"555 0100"},"landlord":"Nobody Invented","strata":[{"top_m":0,"bottom_m":3.5,"description":"clay"},{"top_m":3.5,"bottom_m":60,"description":"schist"}],"strikes_as":"gain","strikes":[{"depth_m":20.25,"flow_lps":0.5}]`
		if i%3 != 2 {
			extra += `,"ground_elevation_m":` + strconv.Itoa(200+i) + `.125,"vertical_datum":"local datum, invented"`
		}
		if i == 1 {
			extra += `,"unreliable":[{"about":"strata","reason":"tried"},{"about":"yield","reason":"tried"}],"own_picks":[{"set":"a","of":"bedrock","depth_m":4},{"set":"b","of":"bedrock","depth_m":4.5}]`
		}
		source.WriteString(well(i, extra) + "\n")
	}
	db := filepath.Join(t.TempDir(), "county.db")
	must(t, "import", "--db", db, file(t, "wells.ndjson", source.String()))
	rawSQL(t, db, "UPDATE wells SET status = 'unused' WHERE id = 1")
	return db
}

// rowsOf counts what a query counts in a file.
func rowsOf(t testing.TB, path, query string) (n int) {
	t.Helper()
	db, err := sqlOpen(path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if err := db.QueryRow(query).Scan(&n); err != nil {
		t.Fatalf("%s: %v", query, err)
	}
	return n
}

func TestCopyToGiveHoldsNothingPrivate(t *testing.T) {
	db, dir := copied(t, 30), t.TempDir()
	out := filepath.Join(dir, "give.db")
	r := must(t, "copy", "--db", db, "--out", out)
	if !strings.Contains(r.out, "30 records") || !strings.Contains(r.out, "not in it: owners") || !strings.Contains(r.out, "kept reviews") {
		t.Errorf("it says %q", r.out)
	}
	if text := read(t, out); strings.Contains(text, "Nobody") || strings.Contains(text, "555 0100") {
		t.Error("owners are in the bytes of the file")
	}
	must(t, "check", "--db", out)
	// The same records, to the digit, but for what is private.
	one, two := filepath.Join(dir, "1.geojsonl"), filepath.Join(dir, "2.geojsonl")
	must(t, "export", "--db", db, "--out", one)
	must(t, "export", "--db", out, "--out", two, "--private")
	if diff := cmp.Diff(read(t, one), read(t, two)); diff != "" {
		t.Errorf("the copy differs (-given out +copied): %.600s", diff)
	}
	if n := rowsOf(t, out, "SELECT count(*) FROM revisions"); n != 0 {
		t.Errorf("%d earlier states are in it", n)
	}
	if n := rowsOf(t, out, "SELECT count(*) FROM wells WHERE number = 'W-4' AND id = 5"); n != 1 {
		t.Error("a record does not have its key")
	}
	onlyHolds(t, dir, "give.db", "1.geojsonl", "2.geojsonl")
}

func TestWholeCopyIsEverything(t *testing.T) {
	db, dir := copied(t, 30), t.TempDir()
	out := filepath.Join(dir, "backup.db")
	if err := os.MkdirAll(db+".attached/ab", 0o700); err != nil {
		t.Fatal(err)
	}
	r := must(t, "copy", "--db", db, "--out", out, "--private")
	if !strings.Contains(r.out, "30 records") || !strings.Contains(r.out, "earlier states") {
		t.Errorf("it says %q", r.out)
	}
	must(t, "check", "--db", out)
	one, two := filepath.Join(dir, "1.geojsonl"), filepath.Join(dir, "2.geojsonl")
	must(t, "export", "--db", db, "--out", one, "--private")
	must(t, "export", "--db", out, "--out", two, "--private")
	if read(t, one) != read(t, two) || !strings.Contains(read(t, two), "Nobody Invented") {
		t.Error("the copy's records are others")
	}
	const states = "SELECT count(*) FROM revisions"
	if a, b := rowsOf(t, db, states), rowsOf(t, out, states); a != b || a == 0 {
		t.Errorf("%d earlier states, %d in the copy", a, b)
	}
	if st, err := os.Stat(out); err != nil || st.Mode().Perm() != 0o600 {
		t.Errorf("others may read it: %v %v", st.Mode(), err)
	}
	onlyHolds(t, dir, "backup.db", "1.geojsonl", "2.geojsonl")
}

func TestCopyIsWholeOrNotThere(t *testing.T) {
	db, dir := copied(t, 5), t.TempDir()
	out := filepath.Join(dir, "there.db")
	if err := os.WriteFile(out, []byte("mine"), 0o600); err != nil {
		t.Fatal(err)
	}
	gone, cancel := context.WithCancel(context.Background())
	cancel()
	for _, more := range [][]string{nil, {"--private"}, {"--for-gis"}} {
		if r := do(t, append([]string{"copy", "--db", db, "--out", out}, more...)...); r.code != exitConflict || !strings.Contains(r.err, "never written over") {
			t.Errorf("%v over a file ends with %d and says %q", more, r.code, r.err)
		}
		if r := do(t, append([]string{"copy", "--db", db, "--out", db}, more...)...); r.code != exitConflict {
			t.Errorf("%v over itself ends with %d", more, r.code)
		}
		if r := do(t, append([]string{"copy", "--db", db, "--out", filepath.Join(dir, "none", "a.db")}, more...)...); r.code != exitNotFound || !strings.Contains(r.err, "make it first") {
			t.Errorf("%v into a missing folder ends with %d and says %q", more, r.code, r.err)
		}
		if r := doWith(t, gone, append([]string{"copy", "--db", db, "--out", filepath.Join(dir, "b.db")}, more...)...); r.code != exitInterrupted {
			t.Errorf("%v broken off ends with %d and says %q", more, r.code, r.err)
		}
	}
	if read(t, out) != "mine" {
		t.Error("a file was written over")
	}
	onlyHolds(t, dir, "there.db")
}

func TestCopyForGIS(t *testing.T) {
	db, dir := copied(t, 30), t.TempDir()
	out := filepath.Join(dir, "gis.sqlite")
	r := must(t, "copy", "--db", db, "--out", out, "--for-gis")
	if !strings.Contains(r.out, "30 wells, 60 intervals, 30 water strikes") || !strings.Contains(r.out, "30 rows of strata and strikes without") {
		t.Errorf("it says %q", r.out)
	}
	if strings.Contains(read(t, out), "Nobody") {
		t.Error("owners are in it")
	}
	for query, want := range map[string]int{
		"SELECT count(*) FROM wells WHERE geom IS NOT NULL": 30,
		"SELECT count(*) FROM strata":                       60,
		"SELECT count(*) FROM wells WHERE number = 'W-1' AND marked_unreliable = 'strata, yield' AND own_picks = 2 AND own_bedrock_set = 'b' AND own_bedrock_m = 4.5":     1,
		"SELECT count(*) FROM wells WHERE marked_unreliable IS NULL AND own_picks = 0 AND own_bedrock_m IS NULL":                                                          29,
		"SELECT (SELECT count(*) FROM strata WHERE marked_unreliable = 'strata, yield') + (SELECT count(*) FROM water_strikes WHERE marked_unreliable = 'strata, yield')": 3,
		// By hand: ground 200.125 less 3.5 and 60.
		"SELECT count(*) FROM strata WHERE well_number = 'W-0' AND position = 2 AND top_elevation_m = 196.625 AND bottom_elevation_m = 140.125 AND class = 'rock' AND vertical_datum = 'local datum, invented' AND elevation_from = 'record'": 1,
		"SELECT count(*) FROM strata WHERE geom IS NULL AND ground_elevation_m IS NULL AND vertical_datum IS NULL":                                                                                                                            20,
		"SELECT count(*) FROM strata WHERE geom IS NOT NULL": 40,
		"SELECT count(*) FROM idx_strata_geom":               40,
		"SELECT count(*) FROM water_strikes WHERE geom IS NOT NULL AND elevation_m = ground_elevation_m - 20.25 AND flow_is = 'gain'":                                                   20,
		"SELECT count(*) FROM strata_us WHERE bottom_ft = round(3.5 / 0.3048, 6)":                                                                                                       30,
		"SELECT count(*) FROM wells_us WHERE number = 'W-0' AND yield_gpm = 1":                                                                                                          1,
		"SELECT count(*) FROM geometry_columns_statistics WHERE f_table_name = 'strata' AND row_count = 60 AND extent_min_x = -40":                                                      1,
		"SELECT count(*) FROM pragma_table_info('wells') WHERE name LIKE 'owner%'":                                                                                                      0,
		"SELECT count(*) FROM pragma_table_info('wells') i WHERE name NOT IN ('id', 'geom') AND NOT EXISTS (SELECT 1 FROM field_titles f WHERE f.layer = 'wells' AND f.field = i.name)": 0,
	} {
		if n := rowsOf(t, out, query); n != want {
			t.Errorf("%s gives %d, want %d", query, n, want)
		}
	}
	private := filepath.Join(dir, "private.sqlite")
	must(t, "copy", "--db", db, "--out", private, "--for-gis", "--private")
	if n := rowsOf(t, private, "SELECT count(*) FROM wells WHERE owner_name = 'Nobody Invented' AND owner_telephone = '555 0100'"); n != 30 {
		t.Errorf("%d owners, want 30", n)
	}
	onlyHolds(t, dir, "gis.sqlite", "private.sqlite")
}
