//go:build judges

package main

import (
	"encoding/json"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// GDAL reads the GeoPackage: its tables, their counts, coordinates and types,
// every place and every depth.
func TestGDALReadsOurGeoPackage(t *testing.T) {
	ask := func(name string, args ...string) string {
		t.Helper()
		out, err := exec.Command(name, args...).CombinedOutput()
		if err != nil || strings.Contains(string(out), "Warning") || strings.Contains(string(out), "ERROR") {
			t.Fatalf("%s %v: %v\n%s", name, args, err, out)
		}
		return string(out)
	}
	const n = 40
	var source strings.Builder
	for i := range n {
		source.WriteString(well(i, `"strata":[{"top_m":0,"bottom_m":3.5,"description":"clay"},{"top_m":3.5,"bottom_m":60,"description":"schist"}]`) + "\n")
	}
	db, dir := filepath.Join(t.TempDir(), "county.db"), t.TempDir()
	must(t, "import", "--db", db, file(t, "wells.ndjson", source.String()+`{"type":"Feature","geometry":null,"properties":{"number":"lost","total_depth_m":9}}`))
	packed := filepath.Join(dir, "a.gpkg")
	must(t, "export", "--db", db, "--out", packed)
	info := ask("ogrinfo", "-so", packed, "wells")
	for _, want := range []string{"Feature Count: 41", "Geometry: Point", `ID["EPSG",4326]]`, "FID Column = fid", "Geometry Column = geom", "total_depth_m: Real", "number: String", "counts_for_yield: Integer(Boolean)",
		"Extent: (-40.000000, 44.000000) - (-39.772000, 44.009000)"} {
		if !strings.Contains(info, want) {
			t.Errorf("ogrinfo does not say %q:\n%s", want, info)
		}
	}
	if info := ask("ogrinfo", "-so", packed, "strata"); !strings.Contains(info, "Feature Count: 80") || !strings.Contains(info, "Geometry: None") || !strings.Contains(info, "bottom_m: Real") {
		t.Errorf("strata: %s", info)
	}
	// By way of GDAL's GeoJSON, the same places and depths as by ours.
	theirs, ours := filepath.Join(dir, "theirs.geojsonl"), filepath.Join(dir, "ours.geojsonl")
	ask("ogr2ogr", "-f", "GeoJSONSeq", "-lco", "COORDINATE_PRECISION=15", "-lco", "SIGNIFICANT_FIGURES=17", theirs, packed, "wells")
	must(t, "export", "--db", db, "--out", ours)
	pick := func(path string) (out []any) {
		for _, f := range lines(t, read(t, path)) {
			p, ok := f["properties"].(map[string]any)
			if !ok {
				t.Fatalf("%v", f)
			}
			var at any
			if g, ok := f["geometry"].(map[string]any); ok {
				at = g["coordinates"]
			}
			out = append(out, []any{at, p["uid"], p["number"], p["total_depth_m"], p["depth_to_bedrock_m"], p["yield_lps"], p["completed"]})
		}
		return out
	}
	a, b := pick(ours), pick(theirs)
	if diff := cmp.Diff(a, b, cmp.Comparer(sameDigits)); diff != "" || len(a) != n+1 {
		t.Errorf("%d wells (-ours +theirs):\n%s", len(a), diff)
	}
}

// sameDigits says whether two numbers of JSON are the same number.
func sameDigits(a, b json.Number) bool {
	x, err := a.Float64()
	y, err2 := b.Float64()
	return err == nil && err2 == nil && x == y
}
