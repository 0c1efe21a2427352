//go:build judges

package main

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// judge runs a program from outside; one that is missing fails the test. It
// gives what was printed on standard output.
func judge(t *testing.T, name string, args ...string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		t.Fatalf("the judge %s is not installed: %v", name, err)
	}
	c := exec.Command(path, args...)
	c.Env = append(os.Environ(), "QT_QPA_PLATFORM=offscreen", "HOME="+t.TempDir())
	var errs strings.Builder
	c.Stderr = &errs
	out, err := c.Output()
	if err != nil {
		t.Fatalf("%s %q: %v\n%s%s", name, args, err, out, errs.String())
	}
	return strings.TrimSpace(string(out))
}

// qgis runs a native algorithm of QGIS and gives what it found. The program is
// called under its own name: Debian's wrapper hands it an option that it does
// not know.
func qgis(t *testing.T, algorithm string, parameters ...string) map[string]any {
	t.Helper()
	args := []string{"--json", "run", algorithm}
	for _, p := range parameters {
		args = append(args, "--"+p)
	}
	out := judge(t, "qgis_process.bin", args...)
	var said struct{ Results map[string]any }
	if at := strings.Index(out, "{"); at < 0 || json.Unmarshal([]byte(out[at:]), &said) != nil {
		t.Fatalf("%s said no JSON:\n%s", algorithm, out)
	}
	return said.Results
}

// python runs a script that has QGIS's own classes; what it prints last is
// JSON.
func python(t *testing.T, script string, args ...string) map[string]any {
	t.Helper()
	path := file(t, "ask.py", "import sys, json\nfrom qgis.core import *\napp = QgsApplication([], False)\napp.initQgis()\n"+script)
	lines := strings.Split(judge(t, "/usr/bin/python3", append([]string{path}, args...)...), "\n")
	var said map[string]any
	if err := json.Unmarshal([]byte(lines[len(lines)-1]), &said); err != nil {
		t.Fatalf("%v: %q", err, lines)
	}
	return said
}

// SpatiaLite, GDAL and QGIS read the GIS copy: metadata and indexes, lines
// that stand upright at the right heights, extents and coordinates, titles.
func TestJudgesReadTheGISCopy(t *testing.T) {
	db := copied(t, 30)
	gis := filepath.Join(t.TempDir(), "gis.sqlite")
	must(t, "copy", "--db", db, "--out", gis, "--for-gis")
	spatialite := func(query string) string { t.Helper(); return judge(t, "spatialite", "-silent", "-batch", gis, query) }
	if got := spatialite("SELECT CheckSpatialMetaData(), CheckSpatialIndex('wells','geom'), CheckSpatialIndex('strata','geom'), CheckSpatialIndex('water_strikes','geom'), CheckSpatialIndex('plates','geom'), CheckSpatialIndex('sightings','geom');"); got != "3|1|1|1|1|1" {
		t.Errorf("metadata and indexes: %s, want 3|1|1|1|1|1", got)
	}
	// Ground 200.125 m: the second interval from 196.625 m down to 140.125 m.
	if got := spatialite("SELECT ST_Z(StartPoint(geom)), ST_Z(EndPoint(geom)), ST_X(StartPoint(geom)) = ST_X(EndPoint(geom)), ST_SRID(geom), CoordDimension(geom), ST_NumPoints(geom) FROM strata WHERE well_number = 'W-0' AND position = 2;"); got != "196.625|140.125|1|4326|XYZ|2" {
		t.Errorf("an interval is read as %s", got)
	}
	// Plain writes by a shell without SpatiaLite.
	judge(t, "sqlite3", gis, "UPDATE strata SET geom = (SELECT geom FROM strata WHERE id = 1) WHERE id = 7; DELETE FROM strata WHERE id = 2; UPDATE water_strikes SET geom = (SELECT geom FROM water_strikes WHERE id = 1) WHERE id = 5; INSERT INTO wells(number, geom) SELECT 'shell', geom FROM wells WHERE id = 3;")
	if got := spatialite("SELECT CheckSpatialIndex('wells','geom'), CheckSpatialIndex('strata','geom'), CheckSpatialIndex('water_strikes','geom'), CheckSpatialMetaData();"); got != "1|1|1|3" {
		t.Errorf("after plain writes: %s, want 1|1|1|3", got)
	}
	for layer, want := range map[string][]string{
		"strata":        {"Geometry: 3D Line String", "Feature Count: 59", `ID["EPSG",4326]`, "Geometry Column = geom", "Extent: (-40.000000, 44.000000) - (-39.772000, 44.009000)", "top_elevation_m: Real", "class: String"},
		"water_strikes": {"Geometry: 3D Point", "Feature Count: 30", "flow_lps: Real"},
		"wells":         {"Geometry: Point", "Feature Count: 31", "strata_count: Integer"},
		"wells_us":      {"Geometry: Point", "Feature Count: 31", "total_depth_ft: Real"},
		"strata_us":     {"Geometry: 3D Line String"},
	} {
		info := judge(t, "ogrinfo", "-so", gis, layer)
		for _, w := range want {
			if !strings.Contains(info, w) {
				t.Errorf("ogrinfo does not say %q of %s:\n%s", w, layer, info)
			}
		}
	}
	// QGIS loads every layer and view, and the titles of the columns with it.
	said := python(t, `
out = {}
for name in ['wells', 'strata', 'water_strikes', 'plates', 'sightings', 'wells_us', 'strata_us', 'water_strikes_us']:
    layer = QgsVectorLayer("dbname='%s' table=\"%s\" (geom)" % (sys.argv[1], name), name, 'spatialite')
    layer.loadDefaultStyle()
    out[name] = [layer.isValid(), layer.crs().authid(), QgsWkbTypes.displayString(layer.wkbType()), layer.fields().field(2).alias()]
print(json.dumps(out))
`, gis)
	want := map[string]any{
		"wells": []any{true, "EPSG:4326", "Point", "Well number"}, "strata": []any{true, "EPSG:4326", "LineStringZ", "Well number"},
		"water_strikes": []any{true, "EPSG:4326", "PointZ", "Well number"}, "plates": []any{true, "EPSG:4326", "Point", "Number"},
		"sightings": []any{true, "EPSG:4326", "Point", "Kind"}, "wells_us": []any{true, "EPSG:4326", "Point", "Well number"},
		"strata_us": []any{true, "EPSG:4326", "LineStringZ", "Well number"}, "water_strikes_us": []any{true, "EPSG:4326", "PointZ", "Well number"},
	}
	if diff := cmp.Diff(want, said); diff != "" {
		t.Errorf("QGIS (-want +said):\n%s", diff)
	}
}

// QGIS's native algorithms run on the database itself and on the GIS copy, and
// their numbers are ours.
func TestQGISProcessComputesOnOurLayers(t *testing.T) {
	db, dir := copied(t, 40), t.TempDir()
	gis, tif := filepath.Join(dir, "gis.sqlite"), filepath.Join(dir, "depth.tif")
	must(t, "copy", "--db", db, "--out", gis, "--for-gis")
	must(t, "surface", "--db", db, "--field", "total_depth", "--method", "idw", "--everywhere", "--grid", "60x40", "--crs", "EPSG:4326", "--bbox=-40.006,43.9955,-39.766,44.0135", "--out", tif)
	number := func(v any) float64 {
		t.Helper()
		switch x := v.(type) {
		case float64:
			return x
		case string:
			n, err := strconv.ParseFloat(x, 64)
			if err != nil {
				t.Fatal(err)
			}
			return n
		}
		t.Fatalf("%v is no number", v)
		return 0
	}
	// Those deeper than a value, of the live database: 60 + y with y = 0, 1.
	deep := filepath.Join(dir, "deep.gpkg")
	qgis(t, "native:extractbyexpression", "INPUT="+db+"|layername=wells", `EXPRESSION="total_depth_m" > 60.5`, "OUTPUT="+deep)
	if got := judge(t, "sqlite3", deep, "SELECT count(*), min(total_depth_m), max(yield_lps) > 0 FROM deep"); got != "20|61.0|1" {
		t.Errorf("QGIS extracts %s, want 20|61.0|1", got)
	}
	// Statistics of a column of the GIS copy: yields of 1 + x*y mod 9 gpm.
	stats := qgis(t, "qgis:basicstatisticsforfields", "INPUT_LAYER="+gis+"|layername=wells_us", "FIELD_NAME=yield_gpm")
	sum := 0
	for i := range 40 {
		sum += 1 + (i%20)*(i/20)%9
	}
	if n, s := number(stats["COUNT"]), number(stats["SUM"]); n != 40 || s != float64(sum) {
		t.Errorf("QGIS counts %v wells with %v gpm, want 40 with %d", n, s, sum)
	}
	// Round discs about the wells; the mean of our surface in each is the depth
	// of the well in its middle, for inverse distance honours it nearly.
	discs, zones := filepath.Join(dir, "discs.gpkg"), filepath.Join(dir, "zones.gpkg")
	qgis(t, "native:buffer", "INPUT="+gis+"|layername=wells", "DISTANCE=0.0015", "SEGMENTS=16", "OUTPUT="+discs)
	qgis(t, "native:zonalstatisticsfb", "INPUT="+discs, "INPUT_RASTER="+tif, "RASTER_BAND=1", "COLUMN_PREFIX=d_", "STATISTICS=0,2", "OUTPUT="+zones)
	got := judge(t, "sqlite3", zones, "SELECT count(*), sum(abs(d_mean - total_depth_m) < 0.3), min(d_count) >= 1 FROM zones")
	if got != "40|40|1" {
		t.Errorf("QGIS's zonal means: %s, want 40|40|1\n%s", got, judge(t, "sqlite3", zones, "SELECT number, total_depth_m, d_mean, d_count FROM zones LIMIT 5"))
	}
}
