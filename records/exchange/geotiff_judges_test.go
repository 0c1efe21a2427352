//go:build judges

package exchange_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/geo/judge"
	"tallybook/geo/surface"
	"tallybook/records/exchange"
)

// GDAL reads the GeoTIFF: its size, place, coordinates, nodes without a value
// and every value.
func TestGDALReadsOurGeoTIFF(t *testing.T) {
	degrees := hill(7, 5, 25, 12.5)
	degrees.MinX, degrees.MinY, degrees.CellW, degrees.CellH = -71.5, 44.25, 0.125, 0.0625
	for name, c := range map[string]struct {
		f    surface.Field
		epsg int
	}{"UTM": {hill(7, 5, 25, 25), 32619}, "southern, not square": {hill(7, 5, 25, 12.5), 32755}, "degrees": {degrees, 4326}, "web": {hill(2, 1, 25, 25), 3857}} {
		t.Run(name, func(t *testing.T) {
			f := c.f
			path := write(t, "grid.tif", func(w *os.File) error { return exchange.WriteGeoTIFF(w, f, c.epsg, "depth_to_bedrock_m") })
			text := judge.Run(t, "gdalinfo", "-json", path)
			var info struct {
				Size         []int                        `json:"size"`
				GeoTransform []float64                    `json:"geoTransform"`
				Metadata     map[string]map[string]string `json:"metadata"`
				CRS          struct {
					WKT string `json:"wkt"`
				} `json:"coordinateSystem"`
				Bands []struct {
					Type   string  `json:"type"`
					Block  []int   `json:"block"`
					NoData float64 `json:"noDataValue"`
				} `json:"bands"`
			}
			if err := json.Unmarshal([]byte(text), &info); err != nil {
				t.Fatal(err)
			}
			north := f.MinY + float64(f.Rows)*f.CellH
			if diff := cmp.Diff([]float64{f.MinX, f.CellW, 0, north, 0, -f.CellH}, info.GeoTransform); diff != "" {
				t.Errorf("geotransform (-want +got):\n%s", diff)
			}
			if b := info.Bands[0]; !cmp.Equal(info.Size, []int{f.Cols, f.Rows}) || b.Type != "Float32" || b.NoData != -9999 || !cmp.Equal(b.Block, []int{f.Cols, 1}) {
				t.Errorf("size %v, band %+v", info.Size, b)
			}
			if want := fmt.Sprintf(`ID["EPSG",%d]]`, c.epsg); !strings.HasSuffix(strings.TrimSpace(info.CRS.WKT), want) {
				t.Errorf("coordinates do not end in %s: %s", want, info.CRS.WKT)
			}
			if m := info.Metadata[""]; m["TIFFTAG_IMAGEDESCRIPTION"] != "depth_to_bedrock_m" || m["AREA_OR_POINT"] != "Area" {
				t.Errorf("metadata: %v", m)
			}
			var places, errs bytes.Buffer
			for i := range f.Values {
				fmt.Fprintln(&places, i%f.Cols, f.Rows-1-i/f.Cols)
			}
			ask := exec.Command("gdallocationinfo", "-valonly", path)
			ask.Stdin, ask.Stderr = &places, &errs
			out, err := ask.Output()
			if err != nil {
				t.Fatalf("gdallocationinfo: %v\n%s", err, errs.String())
			}
			values := strings.Fields(string(out))
			if len(values) != f.Len() || errs.Len() > 0 {
				t.Fatalf("%d values of %d nodes; %s", len(values), f.Len(), errs.String())
			}
			for i, want := range f.Values {
				got, err := strconv.ParseFloat(values[i], 64)
				if math.IsNaN(want) {
					want = -9999
				}
				if err != nil || math.Abs(got-want) > 6e-8*math.Abs(want) {
					t.Errorf("node %d is %v, want %v", i, got, want)
				}
			}
		})
	}
}
