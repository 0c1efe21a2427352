//go:build judges

package sqlite_test

import (
	"context"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/recordstest"
)

func TestJudgesReadTheLayerOfSightings(t *testing.T) {
	path := seen(t)
	if got := spatialite(t, path, "SELECT CheckSpatialMetaData(), CheckSpatialIndex('wells','geom');"); got != "3|1" {
		t.Errorf("metadata and the wells' index: %s, want 3|1", got)
	}
	if got := spatialite(t, path, "SELECT ST_X(geom) = -72.5125, ST_Y(geom) = 44.2575, ST_SRID(geom) FROM sightings ORDER BY id LIMIT 1;"); got != "1|1|4326" {
		t.Errorf("SpatiaLite reads %s", got)
	}
	info := judge(t, "ogrinfo", "-so", path, "sightings")
	for _, want := range []string{"Geometry: Point", "Feature Count: 2", `ID["EPSG",4326]`, "FID Column = id", "Geometry Column NOT NULL = geom",
		"Extent: (-72.512500, 44.000000) - (-72.000000, 44.257500)", "kind: String", "depth_to_bedrock_m: Real"} {
		if !strings.Contains(info, want) {
			t.Errorf("ogrinfo does not say %q:\n%s", want, info)
		}
	}
	if info := judge(t, "ogrinfo", "-so", path, "sightings", "-spat", "-72.6", "44.2", "-72.4", "44.3"); !strings.Contains(info, "Feature Count: 1") {
		t.Errorf("in a box:\n%s", info)
	}
	if layers := judge(t, "ogrinfo", path); !strings.Contains(layers, "sightings (Point)") || !strings.Contains(layers, "wells (Point)") {
		t.Errorf("layers:\n%s", layers)
	}
	refuse(t, "spatialite", "-silent", "-batch", "-bail", path, "UPDATE sightings SET kind = 'ledge';")
}

// SpatiaLite's own index and statistics are taken out by the next write, and
// GDAL counts what is there.
func TestJudgesAfterAnIndexOfSightings(t *testing.T) {
	path := seen(t)
	if got := spatialite(t, path, "SELECT CreateSpatialIndex('sightings','geom'), UpdateLayerStatistics('sightings','geom'), CheckSpatialIndex('sightings','geom');"); got != "1|1|1" {
		t.Errorf("made by SpatiaLite: %s, want 1|1|1", got)
	}
	s := open(t, path)
	update(t, s, func(ctx context.Context, tx records.StoreTx) error {
		return tx.PutSighting(ctx, &records.Sighting{Kind: records.SawLedge, Located: true, Lon: -70, Lat: 44}, "")
	})
	update(t, s, func(ctx context.Context, tx records.StoreTx) error {
		x := recordstest.FullSighting()
		x.ID, x.Revision, x.Lon = 1, 1, -75
		return tx.PutSighting(ctx, x, "")
	})
	if got := spatialite(t, path, "SELECT CheckSpatialMetaData(), CheckSpatialIndex('wells','geom');"); got != "3|1" {
		t.Errorf("metadata after the repair: %s, want 3|1", got)
	}
	info := judge(t, "ogrinfo", "-so", path, "sightings")
	for _, want := range []string{"Feature Count: 3", "Extent: (-75.000000, 44.000000) - (-70.000000, 44.257500)"} {
		if !strings.Contains(info, want) {
			t.Errorf("ogrinfo does not say %q:\n%s", want, info)
		}
	}
	if got := judge(t, "sqlite3", path, "PRAGMA integrity_check;"); got != "ok" {
		t.Errorf("integrity: %s", got)
	}
}
