package sqlite_test

import (
	"database/sql"
	"net/url"
	"path/filepath"
	"testing"

	"tallybook/records"
	"tallybook/records/sqlite"
)

// What the clauses of OGC 12-128r18 ask of a file, looked at by SQL: 1.1.1
// (application_id, integrity, no broken foreign key), 1.1.2 (its three
// reference systems), 1.1.3 (contents), 2.1.5 (geometry columns), 2.1.3 (the
// bytes of a point, worked by hand from the clause and from well-known binary).
func TestGeoPackageIsAsTheStandardAsks(t *testing.T) {
	path := filepath.Join(t.TempDir(), "wells ?#%.gpkg")
	g, err := sqlite.NewGeoPackage(path)
	if err != nil {
		t.Fatal(err)
	}
	columns := []records.Property{{Name: "uid", Type: "text"}, {Name: "total_depth_m", Type: "number"}, {Name: "crew.driller", Type: "text"}, {Name: "counts_for_yield", Type: "flag"}}
	do := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	do(g.Table("wells", "about", columns, true))
	do(g.Row("wells", &[2]float64{1, -2}, []string{"a", "60.5", "", "true"}))
	do(g.Row("wells", nil, []string{"b", "", "D", "false"}))
	do(g.Row("wells", &[2]float64{-71.5, 44.25}, []string{"c", "1e2", "", ""}))
	do(g.Table("strata", "about", []records.Property{{Name: "uid", Type: "text"}, {Name: "top_m", Type: "number"}, {Name: "number", Type: "whole"}}, false))
	do(g.Row("strata", nil, []string{"a", "0", "7"}))
	if err := g.Row("strata", nil, []string{"a", "deep", ""}); records.CodeOf(err) != records.Internal {
		t.Errorf("a text among numbers: %v", err)
	}
	if err := g.Row("casing", nil, nil); records.CodeOf(err) != records.Internal {
		t.Errorf("a row of no table: %v", err)
	}
	do(g.Close())

	u := url.URL{Path: path}
	db, err := sql.Open("sqlite3", "file:"+u.EscapedPath()+"?mode=ro")
	do(err)
	defer db.Close()
	for query, want := range map[string]string{
		"PRAGMA application_id":                         "1196444487", // 0x47504B47
		"PRAGMA user_version":                           "10301",
		"PRAGMA integrity_check":                        "ok",
		"SELECT count(*) FROM pragma_foreign_key_check": "0",
		"SELECT group_concat(srs_id) FROM (SELECT srs_id FROM gpkg_spatial_ref_sys ORDER BY srs_id)":                           "-1,0,4326",
		"SELECT group_concat(data_type) FROM (SELECT data_type FROM gpkg_contents ORDER BY data_type)":                         "attributes,features",
		"SELECT min_x || ' ' || min_y || ' ' || max_x || ' ' || max_y FROM gpkg_contents WHERE srs_id = 4326":                  "-71.5 -2.0 1.0 44.25",
		"SELECT table_name || column_name || geometry_type_name || srs_id || z || m FROM gpkg_geometry_columns":                "wellsgeomPOINT432600",
		"SELECT group_concat(name || ' ' || type) FROM pragma_table_info('wells')":                                             "fid INTEGER,geom POINT,uid TEXT,total_depth_m DOUBLE,crew_driller TEXT,counts_for_yield BOOLEAN",
		"SELECT hex(geom) FROM wells WHERE uid = 'a'":                                                                          "47500001E61000000101000000000000000000F03F00000000000000C0",
		"SELECT count(*) FROM wells WHERE geom IS NULL":                                                                        "1",
		"SELECT typeof(total_depth_m) || total_depth_m || typeof(crew_driller) || counts_for_yield FROM wells WHERE uid = 'a'": "real60.5null1",
		"SELECT typeof(top_m) || typeof(number) FROM strata":                                                                   "realinteger",
		"SELECT count(*) FROM gpkg_contents WHERE last_change GLOB '????-??-??T??:??:??.???Z'":                                 "2",
	} {
		var got string
		if err := db.QueryRow(query).Scan(&got); err != nil || got != want {
			t.Errorf("%s gives %q, want %q (%v)", query, got, want, err)
		}
	}
}

func TestAGeoPackageThatWasDroppedIsLetGo(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.gpkg")
	g, err := sqlite.NewGeoPackage(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := g.Drop(); err != nil {
		t.Fatal(err)
	}
	if err := g.Drop(); err != nil {
		t.Fatal(err)
	}
	if _, err := sqlite.NewGeoPackage(t.TempDir()); err == nil {
		t.Error("a folder is opened as a GeoPackage")
	}
}
