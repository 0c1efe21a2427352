package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// groundFiles are wells on a slope without elevations, whose rock lies level, and
// the slope as a grid with what describes its coordinates beside it.
func groundFiles(t *testing.T) (wells, grid string) {
	t.Helper()
	height := func(lon, lat float64) float64 { return 200 + 1500*(lon+40) + 12*math.Sin(lat*900) }
	var b strings.Builder
	for i := range 120 {
		lon, lat := -40+float64(i%12)*0.004, 44+float64(i/12)*0.004
		fmt.Fprintf(&b, `{"type":"Feature","geometry":{"type":"Point","coordinates":[%.4f,%.4f]},"properties":{"number":"G-%d","depth_to_bedrock_m":%.2f}}`+"\n", lon, lat, i, height(lon, lat)-150)
	}
	dir := t.TempDir()
	wells, grid = filepath.Join(dir, "wells.ndjson"), filepath.Join(dir, "slope.asc")
	var g strings.Builder
	const cell = 0.0005
	fmt.Fprintf(&g, "ncols 120\nnrows 110\nxllcorner -40.005\nyllcorner 43.995\ncellsize %g\n", cell)
	for row := 109; row >= 0; row-- {
		for col := range 120 {
			fmt.Fprintf(&g, "%.2f ", height(-40.005+(float64(col)+0.5)*cell, 43.995+(float64(row)+0.5)*cell))
		}
		g.WriteByte('\n')
	}
	for path, text := range map[string]string{wells: b.String(), grid: g.String(), filepath.Join(dir, "slope.prj"): wktOf(4326) + "\n"} {
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return wells, grid
}

func (r result) says(t *testing.T, words ...string) {
	t.Helper()
	for _, w := range words {
		if !strings.Contains(r.out+r.err, w) {
			t.Errorf("does not say %q:\n%s%s", w, r.out, r.err)
		}
	}
}

func TestGroundCommands(t *testing.T) {
	db := filepath.Join(t.TempDir(), "g.db")
	wells, grid := groundFiles(t)
	must(t, "import", "--db", db, wells)
	must(t, "ground", "list", "--db", db).says(t, "no elevation grid was loaded yet")
	must(t, "ground", "at", "--db", db, "44.01 -39.99").says(t, "no grid in use")
	if r := do(t, "surface", "--db", db, "--field", "bedrock_elevation", "--grid", "5x5", "--out", filepath.Join(t.TempDir(), "x.asc")); r.code != exitNotFound {
		t.Errorf("without elevations it ends with %d: %s", r.code, r.err)
	}
	if r := must(t, "score", "--db", db); strings.Contains(r.out, "elevation") {
		t.Errorf("without elevations:\n%s", r.out)
	}
	// What is said twice must agree, and a datum is a name.
	if r := do(t, "ground", "load", "--db", db, "--name", "Slope", "--datum", "invented", "--srid", "32626", grid); r.code != exitUsage || !strings.Contains(r.err, "says EPSG:4326 and the code given is EPSG:32626") {
		t.Errorf("a code that the .prj gainsays: %d %s", r.code, r.err)
	}
	if r := do(t, "ground", "load", "--db", db, "--name", "Slope", "--datum", " ", grid); r.code != exitUsage || !strings.Contains(r.err, "--datum") {
		t.Errorf("no datum: %d %s", r.code, r.err)
	}
	must(t, "ground", "load", "--db", db, "--name", "Slope", "--datum", "invented", grid).says(t, "Slope: 120 by 110 cells", "13200 of them with a height")
	must(t, "ground", "list", "--db", db).says(t, "answers for 120 wells", "0 have an elevation of their own, 120 get one derived")
	must(t, "ground", "at", "--db", db, "44.01 -39.99", "10 10").says(t, "derived from Slope", "above invented", "10 10: no grid")

	out := filepath.Join(t.TempDir(), "rock.asc")
	args := []string{"surface", "--db", db, "--field", "bedrock_elevation", "--grid", "20x20", "--out", out}
	must(t, args...).says(t, "interpolated as elevation (", "120 wells from a grid", "CRPS")
	if rows := strings.Split(read(t, out), "\n"); len(rows) > 10 {
		var sum float64
		var n int
		for _, w := range strings.Fields(rows[12]) {
			var v float64
			if _, err := fmt.Sscan(w, &v); err == nil && v != -9999 {
				sum, n = sum+v, n+1
			}
		}
		if n == 0 || math.Abs(sum/float64(n)-150) > 1 {
			t.Errorf("rock at %g on %d nodes, want about 150", sum/float64(n), n)
		}
	}
	must(t, append(args, "--through", "depth")...).says(t, "interpolated as depth, taken off the ground, as asked")
	if r := do(t, append(args, "--method", "kriging")...); r.code != exitUsage {
		t.Errorf("kriging ends with %d: %s", r.code, r.err)
	}
	must(t, "score", "--db", db).says(t, "bedrock by depth or by elevation", "elevation does better")
	var a struct {
		Elevation struct {
			Tested        int
			DepthCRPS     float64 `json:"depth_crps"`
			ElevationCRPS float64 `json:"elevation_crps"`
		} `json:"as_elevation"`
	}
	if err := json.Unmarshal([]byte(must(t, "score", "--db", db, "--json").out), &a); err != nil || a.Elevation.Tested != 120 || !(a.Elevation.ElevationCRPS < a.Elevation.DepthCRPS) {
		t.Errorf("%+v, %v", a, err)
	}

	for _, name := range []string{"w.geojson", "w.csv", "w.kml", "w.gpkg"} {
		to := filepath.Join(t.TempDir(), name)
		must(t, "export", "--db", db, "--out", to)
		if text := read(t, to); !strings.Contains(text, "Slope") {
			t.Errorf("%s does not name the grid", name)
		}
		must(t, "export", "--db", db, "--no-derived", "--out", to)
		if text := read(t, to); strings.Contains(text, "Slope") {
			t.Errorf("%s names the grid", name)
		}
	}

	must(t, "check", "--db", db)
	must(t, "ground", "remove", "--db", db, "Slope").says(t, "taken out")
	if r := do(t, "ground", "remove", "--db", db, "Slope"); r.code != exitNotFound {
		t.Errorf("taken out twice ends with %d", r.code)
	}
	must(t, "ground", "list", "--db", db).says(t, "taken out", "120 have none")
	must(t, "ground", "restore", "--db", db, "Slope").says(t, "in use again")
	must(t, "ground", "load", "--db", db, "--name", "Slope", "--datum", "invented", "--unit", "ft", grid)
	must(t, "ground", "remove", "--db", db, "--for-good", "Slope").says(t, "deleted")
	if r := do(t, "ground", "load", "--db", db, "--name", "x", "--datum", "d", wells); r.code != exitUsage {
		t.Errorf("no grid ends with %d: %s", r.code, r.err)
	}
	if r := do(t, "ground", "load", "--db", db, "--name", "x", "--datum", "d", "missing.asc"); r.code != exitNotFound {
		t.Errorf("no file ends with %d: %s", r.code, r.err)
	}
}
