//go:build judges

package exchange_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tallybook/geo/judge"
	"tallybook/geo/surface"
	"tallybook/records"
	"tallybook/records/exchange"
)

// These checks ask GDAL (ogrinfo, ogr2ogr, gdalinfo, gdal_translate) how it
// reads what is written here. They fail where GDAL is missing: a check that was
// not made is no check that passed.

func someWells(n int) []*records.Well {
	var out []*records.Well
	for i := range n {
		w := &records.Well{UID: fmt.Sprintf("00000000-0000-5000-8000-%012d", i), Number: fmt.Sprintf("W-%04d", i)}
		w.Place = records.Place{Located: i%10 != 9, Lon: -118 + float64(i)/1000, Lat: 59 + float64(i%7)/100}
		w.TotalDepth = records.Of(records.Depth(30 + float64(i)/8))
		w.Bedrock = records.MoreThan(records.Depth(12.5))
		w.Strata = []records.Stratum{{Top: records.Of(records.Depth(0)), Bottom: records.Of(records.Depth(30)), Description: "tönern"}}
		w.Remarks = "a, \"b\"\nc"
		out = append(out, w)
	}
	return out
}

func write(t *testing.T, name string, fn func(*os.File) error) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := fn(f); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestGDALReadsOurGeoJSON(t *testing.T) {
	const n = 500
	for _, lines := range []bool{false, true} {
		name, driver := "wells.geojson", "GeoJSON"
		if lines {
			name, driver = "wells.geojsonl", "GeoJSONSeq"
		}
		path := write(t, name, func(f *os.File) error {
			_, err := f.WriteString(export(t, someWells(n), exchange.Options{NDJSON: lines}))
			return err
		})
		info := judge.Run(t, "ogrinfo", "-so", "-al", path)
		for _, want := range []string{
			"using driver `" + driver + "' successful", fmt.Sprintf("Feature Count: %d", n), `ID["EPSG",4326]`, "Geometry: Point",
			"uid: String", "number: String", "total_depth_m: Real", "depth_to_bedrock_m: Real", "depth_to_bedrock_qualifier: String", "strata: String(JSON)",
			"Extent: (-118.000000, 59.000000) - (-117.502000, 59.060000)",
		} {
			if !strings.Contains(info, want) {
				t.Errorf("%s: ogrinfo does not say %q:\n%s", name, want, info)
			}
		}
		// Through GDAL and back: the values are the same.
		back := filepath.Join(t.TempDir(), "back.geojsonl")
		judge.Run(t, "ogr2ogr", "-f", "GeoJSONSeq", "-lco", "COORDINATE_PRECISION=15", "-lco", "SIGNIFICANT_FIGURES=17", back, path)
		text, err := os.ReadFile(back)
		if err != nil {
			t.Fatal(err)
		}
		got, want := readWells(t, string(text)), someWells(n)
		if len(got) != n {
			t.Fatalf("%s: %d wells came back", name, len(got))
		}
		for i := range want {
			g, w := got[i], want[i]
			if g.UID != w.UID || g.Number != w.Number || g.TotalDepth.Value != w.TotalDepth.Value || g.Bedrock.Qualifier != w.Bedrock.Qualifier ||
				g.Place.Located != w.Place.Located || g.Place.Located && (g.Place.Lon != w.Place.Lon || g.Place.Lat != w.Place.Lat) ||
				len(g.Strata) != 1 || g.Strata[0].Description != "tönern" || g.Remarks != w.Remarks {
				t.Fatalf("%s: well %d came back as %+v", name, i, g)
			}
		}
	}
}

func TestGDALReadsOurCSV(t *testing.T) {
	const n = 50
	path := write(t, "wells.csv", func(f *os.File) error {
		c, err := exchange.NewCSV(f, nil, exchange.Options{})
		if err != nil {
			return err
		}
		for _, w := range someWells(n) {
			if err := c.Write(w); err != nil {
				return err
			}
		}
		return c.Close()
	})
	info := judge.Run(t, "ogrinfo", "-so", "-al", "-oo", "AUTODETECT_TYPE=YES", "-oo", "X_POSSIBLE_NAMES=lon", "-oo", "Y_POSSIBLE_NAMES=lat", path)
	for _, want := range []string{fmt.Sprintf("Feature Count: %d", n), "Geometry: Point", "number: String", "total_depth_m: Real"} {
		if !strings.Contains(info, want) {
			t.Errorf("ogrinfo does not say %q:\n%s", want, info)
		}
	}
	remark := judge.Run(t, "ogrinfo", "-q", "-al", "-where", "number='W-0007'", path)
	if !strings.Contains(remark, "a, \"b\"\nc") {
		t.Errorf("remarks are not read as written:\n%s", remark)
	}
}

func TestGDALReadsOurGrids(t *testing.T) {
	for name, f := range map[string]surface.Field{"square": hill(7, 5, 25, 25), "not square": hill(7, 5, 25, 12.5)} {
		t.Run(name, func(t *testing.T) {
			path := write(t, "grid.asc", func(w *os.File) error { return exchange.WriteASC(w, f) })
			var info struct {
				Size         []int     `json:"size"`
				GeoTransform []float64 `json:"geoTransform"`
				Bands        []struct {
					NoData float64 `json:"noDataValue"`
				} `json:"bands"`
			}
			if err := json.Unmarshal([]byte(judge.Run(t, "gdalinfo", "-json", path)), &info); err != nil {
				t.Fatal(err)
			}
			north := f.MinY + float64(f.Rows)*f.CellH
			if diff := cmp.Diff([]float64{f.MinX, f.CellW, 0, north, 0, -f.CellH}, info.GeoTransform); diff != "" {
				t.Errorf("geotransform (-want +got):\n%s", diff)
			}
			if diff := cmp.Diff([]int{f.Cols, f.Rows}, info.Size); diff != "" || info.Bands[0].NoData != -9999 {
				t.Errorf("size or nodata %v: %s", info.Bands, diff)
			}
			// Each node's value, as GDAL finds it at the node's place.
			var places, errs bytes.Buffer
			for r := range f.Rows {
				for c := range f.Cols {
					fmt.Fprintln(&places, f.X(c), f.Y(r))
				}
			}
			ask := exec.Command("gdallocationinfo", "-valonly", "-geoloc", "--config", "AAIGRID_DATATYPE", "Float64", path)
			ask.Stdin, ask.Stderr = &places, &errs
			out, err := ask.Output()
			if err != nil {
				t.Fatalf("gdallocationinfo: %v\n%s", err, errs.String())
			}
			values := strings.Fields(string(out))
			if len(values) != f.Len() {
				t.Fatalf("%d values of %d nodes", len(values), f.Len())
			}
			for i, want := range f.Values {
				got, err := strconv.ParseFloat(values[i], 64)
				if err != nil {
					t.Fatal(err)
				}
				if math.IsNaN(want) {
					want = -9999
				}
				if math.Abs(got-want) > 1e-12*math.Max(1, math.Abs(want)) {
					t.Errorf("node %d is %v, want %v", i, got, want)
				}
			}
			// And what GDAL writes, we read.
			copied := filepath.Join(t.TempDir(), "copy.asc")
			args := []string{"-q", "-of", "AAIGrid", "-co", "DECIMAL_PRECISION=17", "-co", "FORCE_CELLSIZE=FALSE", path, copied}
			judge.Run(t, "gdal_translate", args...)
			file, err := os.Open(copied)
			if err != nil {
				t.Fatal(err)
			}
			defer file.Close()
			got, err := exchange.ReadASC(file, 1000)
			if err != nil {
				t.Fatal(err)
			}
			if got.Grid != f.Grid || math.Abs(got.At(3, 2)-f.At(3, 2)) > 1e-5 || !math.IsNaN(got.At(1, 0)) {
				t.Errorf("GDAL's copy reads as %+v", got)
			}
		})
	}
}

func TestGDALReadsOurContours(t *testing.T) {
	f := hill(20, 20, 25, 25)
	lines, err := surface.Contours(f, []float64{50, 100, 150}, nil)
	if err != nil {
		t.Fatal(err)
	}
	layer := exchange.Layer{Name: "depth_to_bedrock_m", ToLonLat: func(x, y float64) (float64, float64) { return (x - 500000) / 1e5, y / 1e5 }}
	path := write(t, "contours.geojson", func(w *os.File) error { return exchange.WriteContours(w, lines, layer) })
	info := judge.Run(t, "ogrinfo", "-so", "-al", path)
	for _, want := range []string{fmt.Sprintf("Feature Count: %d", len(lines)), "Geometry: Line String", "depth_to_bedrock_m: Integer"} {
		if !strings.Contains(info, want) {
			t.Errorf("ogrinfo does not say %q:\n%s", want, info)
		}
	}
	bands, err := surface.Bands(f, []float64{50, 100, 150}, nil)
	if err != nil {
		t.Fatal(err)
	}
	areas := write(t, "bands.geojson", func(w *os.File) error { return exchange.WriteBands(w, bands, layer) })
	if valid := judge.Run(t, "ogrinfo", "-q", areas, "-dialect", "SQLite", "-sql", "SELECT count(*) AS n FROM bands WHERE ST_IsValid(geometry)"); !strings.Contains(valid, "n (Integer) = 4") {
		t.Errorf("bands are not all valid: %s", valid)
	}
}
