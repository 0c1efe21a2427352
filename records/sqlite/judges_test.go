//go:build judges

package sqlite_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/tidwall/geodesic"

	"tallybook/records"
	"tallybook/records/sqlite"
)

// Outside judges: the programs that the file is for. A missing one fails the
// test.

func judge(t *testing.T, name string, args ...string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		t.Fatalf("the judge %s is not installed: %v", name, err)
	}
	out, err := exec.CommandContext(t.Context(), path, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s %q: %v\n%s", name, args, err, out)
	}
	return strings.TrimSpace(string(out))
}

// refuse runs a judge that has to be refused.
func refuse(t *testing.T, name string, args ...string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		t.Fatalf("the judge %s is not installed: %v", name, err)
	}
	out, err := exec.CommandContext(t.Context(), path, args...).CombinedOutput()
	if err == nil && !strings.Contains(strings.ToLower(string(out)), "error") {
		t.Errorf("%s %q was not refused:\n%s", name, args, out)
	}
	return string(out)
}

const judged = 500

// judgedStore is a file of invented wells, one of them without a position,
// that nobody has open.
func judgedStore(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "wells.sqlite")
	s, err := sqlite.Open(t.Context(), options(path))
	if err != nil {
		t.Fatal(err)
	}
	var wells []*records.Well
	for i := range judged {
		wells = append(wells, invented(uint64(i)))
	}
	put(t, s, append(wells, &records.Well{Number: "nowhere"})...)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

func spatialite(t *testing.T, path, query string) string {
	t.Helper()
	return judge(t, "spatialite", "-silent", "-batch", path, query)
}

func TestJudgeSpatiaLiteAcceptsTheFile(t *testing.T) {
	path := judgedStore(t)
	if got := spatialite(t, path, "SELECT CheckSpatialMetaData(), CheckSpatialIndex('wells','geom');"); got != "3|1" {
		t.Errorf("metadata and index: %s, want 3|1", got)
	}
	if got := spatialite(t, path, "SELECT UpdateLayerStatistics('wells','geom'), RecoverSpatialIndex('wells','geom'), CheckSpatialIndex('wells','geom');"); got != "1|1|1" {
		t.Errorf("statistics, recovery and check: %s, want 1|1|1", got)
	}
	if got := spatialite(t, path, "SELECT count(*), min(ST_SRID(geom)), min(ST_GeometryType(geom)), sum(ST_IsValid(geom)) FROM wells WHERE geom IS NOT NULL;"); got != fmt.Sprintf("%d|4326|POINT|%d", judged, judged) {
		t.Errorf("geometries: %s", got)
	}
	s := open(t, path)
	put(t, s, at(-70.5, 44.5))
	indexInStep(t, s)
}

// The coordinates that SpatiaLite reads are the doubles that were written,
// and its index finds what lies in a box.
func TestJudgeSpatiaLiteReadsTheSamePositions(t *testing.T) {
	path := judgedStore(t)
	s := open(t, path)
	for _, line := range strings.Split(spatialite(t, path, "SELECT id, printf('%!.17g', ST_X(geom)), printf('%!.17g', ST_Y(geom)) FROM wells WHERE geom IS NOT NULL;"), "\n") {
		f := strings.Split(line, "|")
		id, _ := strconv.ParseInt(f[0], 10, 64)
		x, errX := strconv.ParseFloat(f[1], 64)
		y, errY := strconv.ParseFloat(f[2], 64)
		if errX != nil || errY != nil {
			t.Fatalf("line %q", line)
		}
		if p := read(t, s, id).Place; p.Lon != x || p.Lat != y {
			t.Fatalf("well %d: SpatiaLite reads %v %v, the store %v %v", id, x, y, p.Lon, p.Lat)
		}
	}
	box := records.Bounds{West: -70.7, South: 44.2, East: -70.4, North: 44.6}
	want := 0
	view(t, s, func(ctx context.Context, v records.StoreView) error {
		return v.EachWell(ctx, &box, func(*records.Well) error { want++; return nil })
	})
	got := spatialite(t, path, "SELECT count(*) FROM wells WHERE ST_Within(geom, BuildMbr(-70.7,44.2,-70.4,44.6)) AND id IN (SELECT pkid FROM idx_wells_geom WHERE xmax >= -70.7 AND xmin <= -70.4 AND ymax >= 44.2 AND ymin <= 44.6);")
	if got != strconv.Itoa(want) || want == 0 {
		t.Errorf("in the box: SpatiaLite %s, the store %d", got, want)
	}
}

// Distances on the ellipsoid against Karney's algorithm (C. F. F. Karney,
// Algorithms for geodesics, Journal of Geodesy 87, 2013), in metres.
func TestJudgeSpatiaLiteMeasuresDistances(t *testing.T) {
	path := judgedStore(t)
	s := open(t, path)
	const lon, lat = -70.5, 44.5
	lines := strings.Split(spatialite(t, path, fmt.Sprintf("SELECT id, ST_Distance(geom, MakePoint(%v, %v, 4326), 1) FROM wells WHERE geom IS NOT NULL ORDER BY 2 LIMIT 100;", lon, lat)), "\n")
	if len(lines) != 100 {
		t.Fatalf("%d lines", len(lines))
	}
	last := 0.0
	for _, line := range lines {
		idText, text, _ := strings.Cut(line, "|")
		id, _ := strconv.ParseInt(idText, 10, 64)
		got, err := strconv.ParseFloat(text, 64)
		if err != nil || got < last {
			t.Fatalf("line %q after %v: %v", line, last, err)
		}
		last = got
		p := read(t, s, id).Place
		var want float64
		geodesic.WGS84.Inverse(lat, lon, p.Lat, p.Lon, &want, nil, nil)
		// SpatiaLite uses Vincenty's or Karney's method by its build: the two
		// agree within a millimetre here.
		if math.Abs(got-want) > 0.001 {
			t.Errorf("well %d: %v m, want %v m", id, got, want)
		}
	}
}

func TestJudgeSpatiaLiteWritesAndRepairs(t *testing.T) {
	path := judgedStore(t)
	spatialite(t, path, "INSERT INTO wells(number, geom) VALUES('S-1', MakePoint(-70.5,44.5,4326)); UPDATE wells SET geom = MakePoint(-70.1,44.1,4326) WHERE id = 3; DELETE FROM wells WHERE id = 4;")
	if got := spatialite(t, path, "SELECT CheckSpatialIndex('wells','geom');"); got != "1" {
		t.Errorf("index after its own writes: %s", got)
	}
	refuse(t, "spatialite", "-silent", "-batch", "-bail", path, "INSERT INTO wells(number, geom) VALUES('bad', MakePoint(7,43,32633));")
	s := open(t, path)
	if p := read(t, s, 3).Place; p.Lon != -70.1 || p.Lat != 44.1 {
		t.Errorf("moved by SpatiaLite to %v %v", p.Lon, p.Lat)
	}
	indexInStep(t, s)
	agree(t, s, "written by SpatiaLite")
	// Its own index in the place of ours, while the store is open.
	spatialite(t, path, "SELECT DisableSpatialIndex('wells','geom'); DROP TABLE idx_wells_geom; SELECT CreateSpatialIndex('wells','geom');")
	put(t, s, at(-70.25, 44.25))
	indexInStep(t, s)
	if got := spatialite(t, path, "SELECT CheckSpatialMetaData(), CheckSpatialIndex('wells','geom');"); got != "3|1" {
		t.Errorf("after the repair: %s", got)
	}
	judge(t, "sqlite3", path, "INSERT INTO wells(number) VALUES('plain');")
}

func TestJudgeGDALReadsTheLayer(t *testing.T) {
	path := judgedStore(t)
	info := judge(t, "ogrinfo", "-so", path, "wells")
	var west, south, east, north float64
	s := open(t, path)
	scan(t, s, "SELECT extent_min_x, extent_min_y, extent_max_x, extent_max_y FROM geometry_columns_statistics WHERE f_table_name='wells'", &west, &south, &east, &north)
	for _, want := range []string{
		"Geometry: Point", fmt.Sprintf("Feature Count: %d", judged+1), `ID["EPSG",4326]`, "FID Column = id", "Geometry Column = geom",
		fmt.Sprintf("Extent: (%.6f, %.6f) - (%.6f, %.6f)", west, south, east, north),
		"total_depth_m: Real", "number: String",
	} {
		if !strings.Contains(info, want) {
			t.Errorf("ogrinfo does not say %q:\n%s", want, info)
		}
	}
	box := records.Bounds{West: -70.7, South: 44.2, East: -70.4, North: 44.6}
	want := 0
	view(t, s, func(ctx context.Context, v records.StoreView) error {
		return v.EachWell(ctx, &box, func(*records.Well) error { want++; return nil })
	})
	filtered := judge(t, "ogrinfo", "-so", path, "wells", "-spat", "-70.7", "44.2", "-70.4", "44.6")
	if !strings.Contains(filtered, fmt.Sprintf("Feature Count: %d", want)) || want == 0 {
		t.Errorf("in the box the store has %d:\n%s", want, filtered)
	}
	if layers := judge(t, "ogrinfo", path); !strings.Contains(layers, "wells (Point)") {
		t.Errorf("layers:\n%s", layers)
	}
}

func TestJudgeGDALAppends(t *testing.T) {
	path := judgedStore(t)
	type feature struct {
		Type       string         `json:"type"`
		Geometry   map[string]any `json:"geometry"`
		Properties struct {
			Number string  `json:"number"`
			Depth  float64 `json:"total_depth_m"`
		} `json:"properties"`
	}
	var fs []feature
	for i := range 50 {
		f := feature{Type: "Feature", Geometry: map[string]any{"type": "Point", "coordinates": []float64{-70 - float64(i)/100, 44.5}}}
		f.Properties.Number, f.Properties.Depth = fmt.Sprintf("G-%d", i), float64(i)
		fs = append(fs, f)
	}
	text, err := json.Marshal(map[string]any{"type": "FeatureCollection", "features": fs})
	if err != nil {
		t.Fatal(err)
	}
	input := filepath.Join(t.TempDir(), "new.geojson")
	if err := os.WriteFile(input, text, 0o600); err != nil {
		t.Fatal(err)
	}
	judge(t, "ogr2ogr", "-append", "-update", path, input, "-nln", "wells")
	if got := spatialite(t, path, "SELECT CheckSpatialIndex('wells','geom');"); got != "1" {
		t.Errorf("index after appending: %s", got)
	}
	s := open(t, path)
	indexInStep(t, s)
	agree(t, s, "appended by GDAL")
	got := read(t, s, judged+1+50)
	if got.Number != "G-49" || got.TotalDepth.Value != 49 || got.Place.Lon != -70.49 || got.UID == "" {
		t.Errorf("the last one: %+v", got)
	}
	// Editing through SQL as a GIS does, then writing here.
	judge(t, "ogrinfo", path, "-dialect", "sqlite", "-sql", "UPDATE wells SET status = 'unused' WHERE number = 'G-49'")
	put(t, s, at(1, 1))
	if got := read(t, s, got.ID); got.Status != "unused" || got.Revision != 2 {
		t.Errorf("edited: status %q, revision %d", got.Status, got.Revision)
	}
	// And out into another format.
	out := filepath.Join(t.TempDir(), "out.gpkg")
	judge(t, "ogr2ogr", "-f", "GPKG", out, path, "wells")
	if info := judge(t, "ogrinfo", "-so", out, "wells"); !strings.Contains(info, fmt.Sprintf("Feature Count: %d", judged+1+50+1)) {
		t.Errorf("GeoPackage:\n%s", info)
	}
}

func TestJudgeShellWrites(t *testing.T) {
	path := judgedStore(t)
	judge(t, "sqlite3", path, "UPDATE wells SET geom = "+geom(1.5, 2.25)+", yield_lps = 0 WHERE id = 10; DELETE FROM wells WHERE id = 11; INSERT INTO wells(number, geom) VALUES ('shell', "+geom(-1.0/3, 89.9)+");")
	if got := spatialite(t, path, "SELECT CheckSpatialIndex('wells','geom');"); got != "1" {
		t.Errorf("index after the shell's writes: %s", got)
	}
	s := open(t, path)
	indexInStep(t, s)
	agree(t, s, "written by the shell")
	if w := read(t, s, 10); w.Place.Lon != 1.5 || w.Yield.Value != 0 || !w.Yield.Known() || w.Revision != 2 {
		t.Errorf("edited: %+v", w)
	}
	extentAgrees := spatialite(t, path, "SELECT (SELECT row_count FROM geometry_columns_statistics WHERE f_table_name='wells') = (SELECT count(*) FROM wells);")
	if extentAgrees != "1" {
		t.Error("statistics are stale after opening")
	}
	if got := judge(t, "sqlite3", path, "PRAGMA integrity_check;"); got != "ok" {
		t.Errorf("integrity: %s", got)
	}
}
