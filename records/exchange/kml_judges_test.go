//go:build judges

package exchange_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"tallybook/geo/judge"
	"tallybook/records/exchange"
)

// GDAL reads the KML: the same wells, at the same places, with the same values.
func TestGDALReadsOurKML(t *testing.T) {
	const n = 50
	path := write(t, "wells.kml", func(f *os.File) error {
		_, err := f.WriteString(kmlOf(t, someWells(n), exchange.Options{}))
		return err
	})
	back := filepath.Join(t.TempDir(), "back.geojson")
	judge.Run(t, "ogr2ogr", "-f", "GeoJSON", "-lco", "COORDINATE_PRECISION=15", back, path)
	text, err := os.ReadFile(back)
	if err != nil {
		t.Fatal(err)
	}
	var doc struct {
		Features []struct {
			Geometry   *struct{ Coordinates []float64 }
			Properties struct {
				UID    string  `json:"uid"`
				Number string  `json:"number"`
				Depth  float64 `json:"total_depth_m"`
				Rock   string  `json:"depth_to_bedrock_qualifier"`
			}
		}
	}
	if err := json.Unmarshal(text, &doc); err != nil {
		t.Fatal(err)
	}
	byUID := map[string]int{}
	for i, f := range doc.Features {
		byUID[f.Properties.UID] = i
	}
	for _, w := range someWells(n) {
		i, ok := byUID[w.UID]
		if !ok {
			t.Errorf("%s is not there", w.Number)
			continue
		}
		f := doc.Features[i]
		if f.Properties.Number != w.Number || f.Properties.Depth != float64(w.TotalDepth.Value) || f.Properties.Rock != "greater_than" || (f.Geometry != nil) != w.Place.Located {
			t.Errorf("%s is read as %+v", w.Number, f)
		}
		if f.Geometry != nil && (f.Geometry.Coordinates[0] != w.Place.Lon || f.Geometry.Coordinates[1] != w.Place.Lat) {
			t.Errorf("%s stands at %v", w.Number, f.Geometry.Coordinates)
		}
	}
	if len(byUID) != n {
		t.Errorf("%d wells of %d", len(byUID), n)
	}
}
