//go:build judges

package desk_test

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tallybook/geo/judge"
	"tallybook/geo/position"
	"tallybook/geo/surface"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/exchange"
)

// GDAL is asked for the same heights between cells (gdalwarp -r bilinear), and
// to describe coordinates and convert rasters as the help says. The tests fail
// where it is missing.

// invented is a raster of hills with some cells left out.
func invented(cols, rows int, minX, minY, cell float64) surface.Field {
	rng := rand.New(rand.NewPCG(5, 6))
	f := surface.Field{Grid: surface.Grid{Cols: cols, Rows: rows, MinX: minX, MinY: minY, CellW: cell, CellH: cell}}
	for row := range rows {
		for col := range cols {
			h := 300 + 40*math.Sin(float64(col)/20) + 30*math.Cos(float64(row)/15) + rng.Float64()
			if col > 200 && col < 220 && row > 30 && row < 50 {
				h = math.NaN()
			}
			f.Values = append(f.Values, math.Round(h*1000)/1000)
		}
	}
	return f
}

func TestGDALReadsTheSameHeights(t *testing.T) {
	for name, c := range map[string]struct {
		epsg int
		f    surface.Field
	}{
		"UTM":     {32619, invented(300, 260, 400000, 4.9e6, 10)},
		"degrees": {4326, invented(300, 260, -70.25, 44.25, 1.0/8192)},
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			asc := filepath.Join(dir, "hills.asc")
			var b bytes.Buffer
			if err := exchange.WriteASC(&b, c.f); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(asc, b.Bytes(), 0o600); err != nil {
				t.Fatal(err)
			}
			prj := judge.Run(t, "gdalsrsinfo", "-o", "wkt_esri", fmt.Sprintf("EPSG:%d", c.epsg))
			d, _ := newDesk(t)
			g := load(t, d, "hills", b.String(), func(in *desk.GroundLoad) { in.EPSG, in.PRJ = 0, strings.TrimSpace(prj) })
			if g.EPSG != c.epsg {
				t.Fatalf("GDAL's description of EPSG:%d is read as %d", c.epsg, g.EPSG)
			}
			// GDAL's nodes stand three eighths of a cell east and a quarter north of ours.
			w, h := c.f.CellW, c.f.CellH
			to := surface.Grid{Cols: c.f.Cols - 2, Rows: c.f.Rows - 2, MinX: c.f.MinX + 0.375*w, MinY: c.f.MinY + 0.25*h, CellW: w, CellH: h}
			warped := filepath.Join(dir, "warped.tif")
			judge.Run(t, "gdalwarp", "-q", "-r", "bilinear", "-ot", "Float64", "-oo", "DATATYPE=Float64", "-s_srs", fmt.Sprintf("EPSG:%d", c.epsg), "-dstnodata", "-9999",
				"-te", text(to.MinX), text(to.MinY), text(to.MinX+float64(to.Cols)*w), text(to.MinY+float64(to.Rows)*h),
				"-ts", fmt.Sprint(to.Cols), fmt.Sprint(to.Rows), asc, warped)
			out := filepath.Join(dir, "warped.asc")
			judge.Run(t, "gdal_translate", "-q", "-of", "AAIGrid", "-co", "SIGNIFICANT_DIGITS=17", "-co", "FORCE_CELLSIZE=YES", warped, out)
			theirs := readASC(t, out)
			on, err := position.EPSG(c.epsg)
			if err != nil {
				t.Fatal(err)
			}
			places := make([]position.LonLat, to.Len())
			for row := range to.Rows {
				for col := range to.Cols {
					places[to.Index(col, row)] = on.Inverse(to.X(col), to.Y(row))
				}
			}
			ours, err := d.GroundAlong(t.Context(), me, places)
			if err != nil {
				t.Fatal(err)
			}
			compared, bare := 0, 0
			for i, at := range ours {
				switch {
				case !at.OK:
					bare++
				case !(math.Abs(at.ElevationM-theirs.Values[i]) <= 1e-6):
					t.Fatalf("node %d: %.9f, and GDAL %.9f", i, at.ElevationM, theirs.Values[i])
				default:
					compared++
				}
			}
			// Only where one of the four has no height are we silent and GDAL is not.
			if compared+bare != to.Len() || bare > 20*20+1 {
				t.Errorf("%d compared, %d without a height, of %d", compared, bare, to.Len())
			}
			t.Logf("%d heights agree within 1e-6 m; %d about the gap have none", compared, bare)
		})
	}
}

func text(v float64) string { return fmt.Sprintf("%.17g", v) }

func readASC(t *testing.T, path string) surface.Field {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	out, err := exchange.ReadASC(f, 1e6)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// A GeoTIFF in tiles, packed, is brought to an ASCII grid as the help says, and
// gives the heights that the plain file gives, to the 32 bits that it holds.
func TestGeoTIFFByTheHelpsWay(t *testing.T) {
	dir := t.TempDir()
	f := invented(300, 260, 400000, 4.9e6, 10)
	asc, tif, packed, back := filepath.Join(dir, "a.asc"), filepath.Join(dir, "a.tif"), filepath.Join(dir, "p.tif"), filepath.Join(dir, "b.asc")
	var b, plain bytes.Buffer
	if err := errors.Join(exchange.WriteGeoTIFF(&b, f, 32619, "ground_m"), exchange.WriteASC(&plain, f)); err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(os.WriteFile(tif, b.Bytes(), 0o600), os.WriteFile(asc, plain.Bytes(), 0o600)); err != nil {
		t.Fatal(err)
	}
	judge.Run(t, "gdal_translate", "-q", "-co", "TILED=YES", "-co", "COMPRESS=DEFLATE", "-co", "PREDICTOR=3", tif, packed)
	judge.Run(t, "gdal_translate", "-q", "-of", "AAIGrid", packed, back)
	desks := map[string]*desk.Desk{}
	grids := map[string]*records.GroundGrid{}
	for name, path := range map[string]string{"plain": asc, "packed": back} {
		file, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		desks[name], _ = newDesk(t)
		grids[name] = load(t, desks[name], name, string(file), func(in *desk.GroundLoad) {
			in.EPSG = 32619
			if name == "plain" {
				return
			}
			prj, err := os.ReadFile(strings.TrimSuffix(path, ".asc") + ".prj")
			if err != nil {
				t.Fatal(err)
			}
			in.EPSG, in.PRJ = 0, string(prj)
		})
	}
	if a, b := grids["plain"], grids["packed"]; a.Filled != b.Filled || a.EPSG != b.EPSG || a.CellM != b.CellM {
		t.Errorf("%+v\n%+v", a, b)
	}
	on := position.UTM(19, true)
	rng := rand.New(rand.NewPCG(7, 8))
	some := 0
	for range 2000 {
		at := on.Inverse(f.MinX+rng.Float64()*3000, f.MinY+rng.Float64()*2600)
		a, b := groundAt(t, desks["plain"], at.Lon, at.Lat), groundAt(t, desks["packed"], at.Lon, at.Lat)
		if a.OK != b.OK || math.Abs(a.ElevationM-b.ElevationM) > 2e-5 { // half a unit of 32 bits at 370 m is 1.5e-5 m
			t.Fatalf("%+v and %+v", a, b)
		}
		if a.OK {
			some++
		}
	}
	if some < 1800 {
		t.Errorf("only %d of 2000 places have a height", some)
	}
}
