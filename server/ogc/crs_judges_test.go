//go:build judges

package ogc_test

import (
	"encoding/json"
	"fmt"
	"math"
	"net/url"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/recordstest"
)

// gdal runs one of GDAL's programs (Debian package gdal-bin), which has to be
// there.
func gdal(t *testing.T, stdin string, name string, args ...string) string {
	t.Helper()
	cmd := exec.CommandContext(t.Context(), name, args...)
	cmd.Stdin = strings.NewReader(stdin)
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%s %q: %v\n%s", name, args, err, out)
	}
	return string(out)
}

// scattered adds wells all over a zone and beyond it.
func scattered(t *testing.T, w *world) {
	t.Helper()
	var wells []*records.Well
	for i := range 200 {
		x := recordstest.Plain()
		x.UID, x.Number = "", fmt.Sprintf("S%03d", i)
		x.Place.Lon, x.Place.Lat = -80+float64(i*37%1000)/97, -60+float64(i*53%1000)/8.3
		x.Yield = records.Of(records.Flow(float64(i%17) / 8))
		wells = append(wells, x)
	}
	if err := w.desk.AddAll(t.Context(), desk.LocalPerson(), wells, nil, nil); err != nil {
		t.Fatal(err)
	}
}

// Positions in each system are GDAL's, to a micrometre and a billionth of a
// degree.
func TestJudgePositions(t *testing.T) {
	w := newWorld(t)
	scattered(t, w)
	plain := w.page("/collections/wells/items?limit=1000")
	var lines strings.Builder
	for _, f := range plain.Features {
		if f.Geometry != nil {
			fmt.Fprintf(&lines, "%.15f %.15f\n", f.Geometry.Coordinates[0], f.Geometry.Coordinates[1])
		}
	}
	for code, within := range map[string]float64{"4326": 1e-9, "3857": 1e-6, "32617": 1e-6, "32618": 1e-6, "32718": 1e-6, "32610": 1e-6} {
		p := w.page("/collections/wells/items?limit=1000&crs=" + url.QueryEscape(epsg+code))
		answers := strings.Split(strings.TrimSpace(gdal(t, lines.String(), "gdaltransform", "-s_srs", "OGC:CRS84", "-t_srs", "EPSG:"+code, "-output_xy")), "\n")
		worst, i := 0.0, 0
		for n, f := range p.Features {
			if plain.Features[n].Geometry == nil {
				continue
			}
			want := strings.Fields(answers[i])
			i++
			if f.Geometry == nil || len(want) != 2 {
				t.Errorf("%s: %v, GDAL says %v", code, f.Geometry, want)
				continue
			}
			for axis, text := range want {
				v, err := strconv.ParseFloat(text, 64)
				if err != nil {
					t.Fatal(err)
				}
				if code == "4326" { // gdaltransform keeps east before north
					axis = 1 - axis
				}
				worst = max(worst, math.Abs(f.Geometry.Coordinates[axis]-v))
			}
		}
		// GDAL writes 15 digits: of ten million metres, a hundredth of a micrometre.
		if i < 200 || !(worst <= within) {
			t.Errorf("%s: off by %g at most of %d positions, want %g", code, worst, i, within)
		}
		t.Logf("%s: off by %.2g at most", code, worst)
	}
}

// What lies in a box of another system is what GDAL finds there after turning
// all of it into that system.
func TestJudgeBoxes(t *testing.T) {
	w := newWorld(t)
	scattered(t, w)
	whole := w.http.URL + "/ogc/collections/wells/items?limit=1000"
	for _, c := range []struct{ code, box string }{
		{"32618", "500000 4000000 800000 5000000"}, {"32618", "-400000 -2000000 300000 3000000"}, {"32718", "0 5000000 900000 9000000"}, {"3857", "-8500000 0 -8200000 4000000"},
	} {
		turned := filepath.Join(t.TempDir(), "turned.gpkg")
		gdal(t, "", "ogr2ogr", "-f", "GPKG", turned, whole, "-t_srs", "EPSG:"+c.code, "-nln", "wells")
		want := numbersIn(gdal(t, "", "ogrinfo", append([]string{"-ro", "-al", "-geom=NO", turned, "-spat"}, strings.Fields(c.box)...)...))
		box := strings.ReplaceAll(c.box, " ", ",")
		for _, path := range []string{
			"bbox=" + box + "&bbox-crs=" + url.QueryEscape(epsg+c.code),
			"filter=" + url.QueryEscape("S_INTERSECTS(geometry, BBOX("+box+"))") + "&filter-crs=" + url.QueryEscape(epsg+c.code),
		} {
			got := strings.Fields(w.page("/collections/wells/items?limit=1000&" + path).numbers())
			slices.Sort(got)
			if len(want) < 5 || !slices.Equal(got, want) {
				t.Errorf("%s: %d wells, GDAL finds %d", path, len(got), len(want))
			}
		}
	}
}

// numbersIn are the well numbers in what ogrinfo prints, in order.
func numbersIn(text string) (out []string) {
	for _, line := range strings.Split(text, "\n") {
		if _, v, ok := strings.Cut(line, "number (String) = "); ok && strings.HasPrefix(strings.TrimSpace(line), "number") {
			out = append(out, v)
		}
	}
	slices.Sort(out)
	return out
}

// GDAL reads a filtered page like any other, and what the filter chooses is
// what GDAL's own language chooses of all.
func TestJudgeFilters(t *testing.T) {
	w := newWorld(t)
	scattered(t, w)
	whole := filepath.Join(t.TempDir(), "whole.gpkg")
	gdal(t, "", "ogr2ogr", "-f", "GPKG", whole, w.http.URL+"/ogc/collections/wells/items?limit=1000", "-nln", "wells")
	for filter, theirs := range map[string]string{
		"yield_lps > 0.5":                                                             "yield_lps > 0.5",
		"NOT yield_lps > 0.5":                                                         "NOT yield_lps > 0.5",
		"yield_lps BETWEEN 0.25 AND 1":                                                "yield_lps BETWEEN 0.25 AND 1",
		"number IN ('S001', 'N05', 's002')":                                           "number IN ('S001', 'N05', 's002')",
		"number LIKE 'S0_5%' OR completed IS NULL":                                    "number GLOB 'S0?5*' OR completed IS NULL",
		"completed >= DATE('1990-01-01') AND yield_lps * 2 + 1 < 2":                   "completed >= '1990-01-01' AND yield_lps * 2 + 1 < 2",
		"yield_lps IS NOT NULL AND total_depth_m BETWEEN 0 AND 100 AND yield_lps < 1": "yield_lps IS NOT NULL AND total_depth_m BETWEEN 0 AND 100 AND yield_lps < 1",
		"S_WITHIN(geometry, POLYGON((-80 -50, -70 -50, -75 40, -80 -50)))":            "ST_Within(geom, GeomFromText('POLYGON((-80 -50, -70 -50, -75 40, -80 -50))')) = 1",
	} {
		want := numbersIn(gdal(t, "", "ogrinfo", "-ro", "-geom=NO", whole, "-dialect", "SQLITE", "-sql", "SELECT number FROM wells WHERE "+theirs))
		got := numbersIn(gdal(t, "", "ogrinfo", "-ro", "-al", "-geom=NO", w.http.URL+"/ogc/collections/wells/items?limit=1000&filter="+url.QueryEscape(filter)))
		if len(want) == 0 || len(want) == 257 || !slices.Equal(got, want) {
			t.Errorf("%s: %d wells, GDAL chooses %d by %s\n%s", filter, len(got), len(want), theirs, firstOf(got, want))
		}
	}
}

func firstOf(a, b []string) string {
	text, err := json.Marshal(map[string]any{"ours": a[:min(len(a), 10)], "theirs": b[:min(len(b), 10)]})
	if err != nil {
		return err.Error()
	}
	return string(text)
}
