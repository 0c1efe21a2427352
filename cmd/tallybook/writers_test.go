package main

import (
	"archive/zip"
	"database/sql"
	"encoding/binary"
	"encoding/json"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// lines reads features one a line, without what a set of tables does not hold.
func lines(t *testing.T, text string) []map[string]any {
	t.Helper()
	var out []map[string]any
	for d := json.NewDecoder(strings.NewReader(text)); ; {
		d.UseNumber()
		var f map[string]any
		if err := d.Decode(&f); err == io.EOF {
			return out
		} else if err != nil {
			t.Fatal(err)
		}
		delete(f, "id")
		if p, ok := f["properties"].(map[string]any); ok {
			delete(p, "plates")
		}
		out = append(out, f)
	}
}

func TestExportAsASetOfTables(t *testing.T) {
	var source strings.Builder
	for i := range 60 {
		source.WriteString(well(i, []string{
			`"strata":[{"top_m":0,"bottom_m":3.50,"description":"- clay"},{"top_m":3.50,"bottom_ft":"62'6\"","description":"=schist, \"hard\""}],"casing":[{"from_m":-0.5,"to_m":10,"material":"steel"}]`,
			`"strikes_as":"gain","strikes":[{"depth_m":20,"flow_gpm":"<1"}],"remarks":"@\n+1"`,
			``,
		}[i%3]) + "\n")
	}
	db, dir := filepath.Join(t.TempDir(), "county.db"), t.TempDir()
	must(t, "import", "--db", db, file(t, "wells.ndjson", source.String()))
	folder := filepath.Join(dir, "tables")
	r := must(t, "export", "--db", db, "--format", "csv", "--out", folder)
	if !strings.Contains(r.err, "60 wells written") {
		t.Errorf("it says %q", r.err)
	}
	if r := do(t, "export", "--db", db, "--format", "csv", "--out", folder); r.code != exitUsage || !strings.Contains(r.err, "not empty") {
		t.Errorf("over an earlier set it ends with %d and says %q", r.code, r.err)
	}
	if r := do(t, "export", "--db", db, "--format", "csv", "--out", filepath.Join(dir, "a.txt")); r.code != exitUsage || !strings.Contains(r.err, "folder") {
		t.Errorf("to a.txt it ends with %d and says %q", r.code, r.err)
	}
	if r := do(t, "export", "--db", db, "--format", "csv", "--out", filepath.Join(dir, "none", "set")); r.code != exitNotFound || !strings.Contains(r.err, "make it first") {
		t.Errorf("beside a missing folder it ends with %d and says %q", r.code, r.err)
	}

	// Taken in elsewhere, the same wells.
	entries, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	if len(entries) != 4 {
		t.Errorf("%d tables, want wells, strata, casing and strikes", len(entries))
	}
	again := filepath.Join(t.TempDir(), "again.db")
	args := []string{"import", "--db", again}
	for _, e := range entries {
		if list := strings.TrimSuffix(e.Name(), ".csv"); list != "wells" {
			args = append(args, "--with", list+"="+filepath.Join(folder, e.Name()))
		}
	}
	must(t, append(args, filepath.Join(folder, "wells.csv"))...)
	one, two := filepath.Join(t.TempDir(), "1.geojsonl"), filepath.Join(t.TempDir(), "2.geojsonl")
	must(t, "export", "--db", db, "--out", one)
	must(t, "export", "--db", again, "--out", two)
	if diff := cmp.Diff(lines(t, read(t, one)), lines(t, read(t, two))); diff != "" {
		t.Errorf("came back changed (-out +in):\n%s", diff)
	}

	// The archive holds the same tables.
	packed := filepath.Join(dir, "tables.zip")
	must(t, "export", "--db", db, "--format", "csv", "--out", packed)
	z, err := zip.OpenReader(packed)
	if err != nil {
		t.Fatal(err)
	}
	defer z.Close()
	if len(z.File) != len(entries) {
		t.Errorf("%d tables in the archive, %d in the folder", len(z.File), len(entries))
	}
	for _, f := range z.File {
		in, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(in)
		if err != nil || string(text) != read(t, filepath.Join(folder, f.Name)) {
			t.Errorf("%s differs: %v", f.Name, err)
		}
	}
	onlyHolds(t, dir, "tables", "tables.zip")
}

// sameGridAs holds the values of a GeoTIFF, which stand at its end in the
// order of the ASCII grid's, against those.
func sameGridAs(t *testing.T, tif []byte, asc []string) {
	t.Helper()
	if len(tif) < 4*len(asc) || string(tif[:4]) != "II*\x00" {
		t.Fatalf("%d bytes are no GeoTIFF of %d nodes", len(tif), len(asc))
	}
	tif = tif[len(tif)-4*len(asc):]
	for i, text := range asc {
		want, err := strconv.ParseFloat(text, 64)
		if got := math.Float32frombits(binary.LittleEndian.Uint32(tif[4*i:])); err != nil || got != float32(want) {
			t.Errorf("node %d is %v in the GeoTIFF and %s in the ASCII grid", i, got, text)
		}
	}
}

func TestExportAsKML(t *testing.T) {
	db := county(t, 30)
	byName := filepath.Join(t.TempDir(), "a.kml")
	must(t, "export", "--db", db, "--out", byName)
	text := read(t, byName)
	if n := strings.Count(text, "<Placemark>"); n != 30 || !strings.HasPrefix(text, "<?xml") || strings.Count(text, "<coordinates>-") != 30 {
		t.Errorf("%d placemarks: %.200s", n, text)
	}
	if r := must(t, "export", "--db", db, "--format", "kml"); r.out != text {
		t.Error("--format kml on the screen is not what .kml gives")
	}
}

func TestExportAsGeoPackage(t *testing.T) {
	var source strings.Builder
	for i := range 30 {
		source.WriteString(well(i, `"owner":{"name":"Nobody Invented"},"strata":[{"top_m":0,"bottom_m":3.5,"description":"=clay"},{"top_m":3.5,"bottom_m":60,"description":"schist"}]`) + "\n")
	}
	dir := t.TempDir()
	db, out := filepath.Join(t.TempDir(), "county.db"), filepath.Join(dir, "a.gpkg")
	must(t, "import", "--db", db, file(t, "wells.ndjson", source.String()))
	for range 2 { // the second over the first
		if r := must(t, "export", "--db", db, "--out", out); !strings.Contains(r.err, "30 wells written") {
			t.Errorf("it says %q", r.err)
		}
	}
	text := read(t, out)
	if !strings.HasPrefix(text, "SQLite format 3\x00") || text[68:72] != "GPKG" || strings.Contains(text, "Nobody") {
		t.Errorf("%d bytes: %.100q", len(text), text)
	}
	must(t, "export", "--db", db, "--out", out, "--private")
	packed, err := sql.Open("sqlite3", "file:"+out+"?mode=ro")
	if err != nil {
		t.Fatal(err)
	}
	defer packed.Close()
	for query, want := range map[string]int{
		"SELECT count(*) FROM wells WHERE owner_name = 'Nobody Invented' AND geom IS NOT NULL":                      30,
		"SELECT count(*) FROM strata s JOIN wells w USING (uid) WHERE s.description = '=clay' AND s.bottom_m = 3.5": 30,
		"SELECT count(*) FROM strata":                   60,
		"SELECT count(*) FROM gpkg_contents":            2,
		"SELECT count(*) FROM pragma_foreign_key_check": 0,
	} {
		var n int
		if err := packed.QueryRow(query).Scan(&n); err != nil || n != want {
			t.Errorf("%s gives %d, want %d (%v)", query, n, want, err)
		}
	}
	onlyHolds(t, dir, "a.gpkg")
	for _, args := range [][]string{{"--format", "gpkg"}, {"--format", "gpkg", "--out", dir}} {
		if r := do(t, append([]string{"export", "--db", db}, args...)...); r.code != exitUsage || !strings.Contains(r.err, "FILE.gpkg") {
			t.Errorf("%v ends with %d and says %q", args, r.code, r.err)
		}
	}
}
