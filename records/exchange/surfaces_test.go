package exchange_test

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"tallybook/geo/surface"
	"tallybook/records"
	"tallybook/records/exchange"
)

// hill is a field with a value that tells its node apart, and one hole.
func hill(cols, rows int, cellW, cellH float64) surface.Field {
	f := surface.Field{Grid: surface.Grid{Cols: cols, Rows: rows, MinX: 500000.5, MinY: -10, CellW: cellW, CellH: cellH}}
	for r := range rows {
		for c := range cols {
			f.Values = append(f.Values, float64(c)/3+float64(r)*10)
		}
	}
	f.Values[f.Index(1, 0)] = math.NaN()
	return f
}

func TestASCComesBack(t *testing.T) {
	for name, f := range map[string]surface.Field{
		"square":       hill(5, 4, 25, 25),
		"not square":   hill(5, 4, 25, 12.5),
		"one node":     {Grid: surface.Grid{Cols: 1, Rows: 1, CellW: 1, CellH: 1}, Values: []float64{1e-300}},
		"-9999 is met": {Grid: surface.Grid{Cols: 3, Rows: 1, CellW: 1, CellH: 1}, Values: []float64{-9999, math.NaN(), -123456}},
	} {
		t.Run(name, func(t *testing.T) {
			var b bytes.Buffer
			if err := exchange.WriteASC(&b, f); err != nil {
				t.Fatal(err)
			}
			got, err := exchange.ReadASC(&b, 1000)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(f, got, cmpopts.EquateNaNs()); diff != "" {
				t.Errorf("came back changed:\n%s", diff)
			}
		})
	}
}

func TestASCIsWrittenFromTheNorth(t *testing.T) {
	var b bytes.Buffer
	if err := exchange.WriteASC(&b, hill(3, 2, 25, 25)); err != nil {
		t.Fatal(err)
	}
	want := "ncols 3\nnrows 2\nxllcorner 500000.5\nyllcorner -10\ncellsize 25\nNODATA_value -9999\n" +
		"10 10.333333333333334 10.666666666666666\n0 -9999 0.6666666666666666\n"
	if diff := cmp.Diff(want, b.String()); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	inf := hill(2, 2, 1, 1)
	inf.Values[0] = math.Inf(1)
	if err := exchange.WriteASC(&b, inf); records.CodeOf(err) != records.Invalid {
		t.Errorf("infinite value: %v", err)
	}
}

func TestReadASC(t *testing.T) {
	head := "NCOLS 2\nNROWS 1\nXLLCENTER 0.5\nYLLCENTER 10\nCELLSIZE 1\n"
	want := surface.Field{Grid: surface.Grid{Cols: 2, Rows: 1, MinX: 0, MinY: 9.5, CellW: 1, CellH: 1}, Values: []float64{1, math.NaN()}}
	for _, mark := range []string{"", "\ufeff"} { // a byte-order mark, as some editors write
		f, err := exchange.ReadASC(strings.NewReader(mark+head+"1 -9999\n"), 10)
		if diff := cmp.Diff(want, f, cmpopts.EquateNaNs()); err != nil || diff != "" {
			t.Errorf("%q: %v\n%s", mark, err, diff)
		}
	}
	for name, c := range map[string]struct{ text, say string }{
		"empty":        {"", "not an ASCII grid"},
		"JSON":         {"{}", "not an ASCII grid"},
		"cut off":      {head + "1", "cut off"},
		"too many":     {head + "1 2 3", "more than the 2 values"},
		"no number":    {head + "1 x", `"x", is not a number`},
		"twice":        {"ncols 1\nncols 1\n", "twice"},
		"no rows":      {"ncols 2\nxllcorner 0\nyllcorner 0\ncellsize 1\n1 2", "nrows"},
		"half a cell":  {"ncols 2\nnrows 1\nxllcorner 0\nyllcorner 0\ndx 1\n1 2", "dx and dy"},
		"no corner":    {"ncols 2\nnrows 1\nxllcorner 0\ncellsize 1\n1 2", "yllcorner"},
		"no area":      {"ncols 2\nnrows 1\nxllcorner 0\nyllcorner 0\ncellsize 0\n1 2", "no area"},
		"huge":         {"ncols 1000000000\nnrows 1000000000\nxllcorner 0\nyllcorner 0\ncellsize 1\n1 2", "too many nodes"},
		"over the cap": {"ncols 100\nnrows 100\nxllcorner 0\nyllcorner 0\ncellsize 1\n1 2", "more than 10"},
		"endless word": {head + strings.Repeat("1", 1<<16), "cannot be read"},
	} {
		t.Run(name, func(t *testing.T) {
			if _, err := exchange.ReadASC(strings.NewReader(c.text), 10); err == nil || !strings.Contains(err.Error(), c.say) {
				t.Errorf("error %v does not say %q", err, c.say)
			}
		})
	}
}

func FuzzReadASC(f *testing.F) {
	f.Add("ncols 2\nnrows 1\nxllcorner 0\nyllcorner 0\ncellsize 1\nNODATA_value -1\n1 -1\n")
	f.Add("ncols 2\nnrows 2\nxllcenter 1e3\nyllcenter -0\ndx 1\ndy 2\n1 2 nan -9999")
	f.Fuzz(func(t *testing.T, text string) {
		field, err := exchange.ReadASC(strings.NewReader(text), 1000)
		if err != nil {
			return
		}
		var b bytes.Buffer
		if err := exchange.WriteASC(&b, field); err != nil {
			t.Fatalf("read but not written: %v", err)
		}
		again, err := exchange.ReadASC(&b, 1000)
		if err != nil {
			t.Fatal(err)
		}
		again.CellW, again.CellH = field.CellW, field.CellH // nearly square cells become square
		if diff := cmp.Diff(field, again, cmpopts.EquateNaNs()); diff != "" {
			t.Fatalf("came back changed:\n%s", diff)
		}
	})
}

func TestSurfacesAsGeoJSON(t *testing.T) {
	f := hill(4, 4, 25, 25)
	layer := exchange.Layer{
		Name:     "depth_to_bedrock_m",
		ToLonLat: func(x, y float64) (float64, float64) { return (x - 500000.5) / 1e5, y / 1e5 },
		Beside:   []exchange.NodeValues{{Name: "support", Values: make([]float64, f.Len())}},
	}
	lines, err := surface.Contours(f, []float64{5, 15}, nil)
	if err != nil {
		t.Fatal(err)
	}
	bands, err := surface.Bands(f, []float64{5, 15}, nil)
	if err != nil {
		t.Fatal(err)
	}
	var nodes, contours, areas bytes.Buffer
	for _, err := range []error{
		exchange.WriteNodes(&nodes, f, layer), exchange.WriteContours(&contours, lines, layer), exchange.WriteBands(&areas, bands, layer),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	for name, c := range map[string]struct {
		text string
		n    int
		kind string
	}{"nodes": {nodes.String(), f.Len() - 1, "Point"}, "contours": {contours.String(), len(lines), "LineString"}, "bands": {areas.String(), 3, "MultiPolygon"}} {
		got, ok := tree(t, c.text).(map[string]any)["features"].([]any)
		if !ok || len(got) != c.n {
			t.Errorf("%s: %d features, want %d", name, len(got), c.n)
			continue
		}
		if kind := got[0].(map[string]any)["geometry"].(map[string]any)["type"]; kind != c.kind {
			t.Errorf("%s: %v", name, kind)
		}
	}
	if want := `{"type":"Feature","geometry":{"type":"Point","coordinates":[0.000125,0.000025]},"properties":{"depth_to_bedrock_m":0,"support":0}}`; !strings.Contains(nodes.String(), want) {
		t.Errorf("first node is not %s in %s", want, nodes.String()[:300])
	}
	layer.ToLonLat = func(float64, float64) (float64, float64) { return math.NaN(), 0 }
	if err := exchange.WriteNodes(&nodes, f, layer); records.CodeOf(err) != records.Invalid {
		t.Errorf("a grid that is nowhere: %v", err)
	}
	layer.Beside[0].Values = nil
	if err := exchange.WriteNodes(&nodes, f, layer); records.CodeOf(err) != records.Invalid {
		t.Errorf("values that do not fit: %v", err)
	}
}
