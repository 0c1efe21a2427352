//go:build judges

package surface_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"tallybook/geo/near"
	"tallybook/geo/surface"
)

// The judges are GDAL's gdal_grid and R's gstat, from the system's packages.
// These tests fail when a judge is missing: a check that was not made is no
// check that passed.

// judged is one set of generated wells in UTM coordinates and a grid over it.
type judged struct {
	x, y, v []float64
	grid    surface.Grid
}

// scattered wells stand anywhere, to the centimetre; lattice wells on a
// kilometre lattice whose lines the nodes share, so that ties abound.
func judgedSets() map[string]judged {
	r := rand.New(rand.NewPCG(400, 1))
	grid := surface.Grid{Cols: 100, Rows: 100, MinX: 400_000, MinY: 5_500_000, CellW: 500, CellH: 500}
	scattered := judged{grid: grid}
	for range 400 {
		scattered.x = append(scattered.x, 400_000+math.Round(r.Float64()*5e6)/100)
		scattered.y = append(scattered.y, 5_500_000+math.Round(r.Float64()*5e6)/100)
		scattered.v = append(scattered.v, 30*math.Exp(r.NormFloat64()))
	}
	lattice := judged{grid: grid}
	for i, p := range r.Perm(50 * 50)[:400] {
		lattice.x = append(lattice.x, 400_250+1000*float64(p%50))
		lattice.y = append(lattice.y, 5_500_250+1000*float64(p/50))
		lattice.v = append(lattice.v, float64(5+i%90))
	}
	return map[string]judged{"scattered": scattered, "lattice": lattice}
}

func TestJudgeGDAL(t *testing.T) {
	tool := need(t, "gdal_grid")
	for name, set := range judgedSets() {
		for _, w := range []surface.IDW{
			{Power: 2, Neighbours: 12, RadiusM: 1e6},
			{Power: 1, Neighbours: 12, RadiusM: 1e6},
			{Power: 3.5, Neighbours: 8, RadiusM: 1e6},
			{Power: 2, Neighbours: 12, RadiusM: 4000},
			{Power: 2, Neighbours: 12, RadiusM: 1e6, Smoothing: 700},
		} {
			t.Run(fmt.Sprintf("%s p=%g k=%d r=%g s=%g", name, w.Power, w.Neighbours, w.RadiusM, w.Smoothing), func(t *testing.T) {
				set.compare(t, w, set.gdal(t, tool, w))
			})
		}
	}
}

func TestJudgeGstat(t *testing.T) {
	tool := need(t, "Rscript")
	for name, set := range judgedSets() {
		for _, w := range []surface.IDW{
			{Power: 2, Neighbours: 12},
			{Power: 1, Neighbours: 12},
			{Power: 3.5, Neighbours: 8},
			{Power: 2},
			{Power: 2, Neighbours: 12, RadiusM: 4000},
		} {
			t.Run(fmt.Sprintf("%s p=%g k=%d r=%g", name, w.Power, w.Neighbours, w.RadiusM), func(t *testing.T) {
				set.compare(t, w, set.gstat(t, tool, w))
			})
		}
	}
}

// What the judges do where three samples share a position, and that ours is
// their mean.
func TestJudgesAtCoincidentSamples(t *testing.T) {
	set := judged{
		x: []float64{1000, 1000, 1000, 3000, 5000}, y: []float64{1000, 1000, 1000, 1000, 3000},
		v:    []float64{10, 20, 60, 5, 7},
		grid: surface.Grid{Cols: 3, Rows: 2, CellW: 2000, CellH: 2000},
	}
	w := surface.IDW{Power: 2, Neighbours: 12, RadiusM: 1e6}
	ix, err := near.New(set.x, set.y, nil)
	if err != nil {
		t.Fatal(err)
	}
	ours, err := w.Grid(context.Background(), ix, set.v, set.grid, 1)
	if err != nil {
		t.Fatal(err)
	}
	if ours.At(0, 0) != 30 {
		t.Errorf("ours is %g, want the mean 30", ours.At(0, 0))
	}
	for name, theirs := range map[string][]float64{
		"gdal_grid": set.gdal(t, need(t, "gdal_grid"), w),
		"gstat":     set.gstat(t, need(t, "Rscript"), w),
	} {
		t.Logf("%s at samples of 10, 20 and 60: %g", name, theirs[0])
		if !slices.Contains([]float64{10, 20, 60}, theirs[0]) {
			t.Errorf("%s gives %g where one of the samples was expected", name, theirs[0])
		}
		for i := 1; i < len(theirs); i++ {
			if d := math.Abs(theirs[i]-ours.Values[i]) / math.Abs(theirs[i]); d > 1e-9 {
				t.Errorf("%s, node %d: %.17g, ours %.17g", name, i, theirs[i], ours.Values[i])
			}
		}
	}
}

func need(t *testing.T, tool string) string {
	t.Helper()
	path, err := exec.LookPath(tool)
	if err != nil {
		t.Fatalf("the judge %s is not installed: %v", tool, err)
	}
	return path
}

// compare holds our surface against a judge's: to 1e-9 relative at every node
// where the choice of neighbours is not a tie.
func (s judged) compare(t *testing.T, w surface.IDW, theirs []float64) {
	t.Helper()
	ix, err := near.New(s.x, s.y, nil)
	if err != nil {
		t.Fatal(err)
	}
	ours, err := w.Grid(context.Background(), ix, s.v, s.grid, 0)
	if err != nil {
		t.Fatal(err)
	}
	if len(theirs) != s.grid.Len() {
		t.Fatalf("the judge gave %d nodes of %d", len(theirs), s.grid.Len())
	}
	tied, apart, none, worst := 0, 0, 0, 0.0
	for i, want := range theirs {
		got := ours.Values[i]
		relative := math.Abs(got-want) / math.Abs(want)
		same := relative <= 1e-9 || got != got && want != want
		if w.TiedAt(ix, s.grid.X(i%s.grid.Cols), s.grid.Y(i/s.grid.Cols)) {
			tied++
			if !same {
				apart++
			}
			continue
		}
		if got != got && want != want {
			none++
			continue
		}
		if !same {
			t.Fatalf("node %d: ours %.17g, judge %.17g (%.3g)", i, got, want, relative)
		}
		worst = max(worst, relative)
	}
	t.Logf("%d nodes; %d tied, of which %d differ; %d without value; the worst of the rest differs by %.2g", len(theirs), tied, apart, none, worst)
	if tied == len(theirs) || none == len(theirs) {
		t.Error("nothing was compared")
	}
}

// gdal runs gdal_grid and returns its nodes in our order. It writes raw
// doubles (ENVI), so no digit is lost.
func (s judged) gdal(t *testing.T, tool string, w surface.IDW) []float64 {
	t.Helper()
	dir := t.TempDir()
	s.writeCSV(t, filepath.Join(dir, "wells.csv"))
	layer := `<OGRVRTDataSource><OGRVRTLayer name="wells"><SrcDataSource relativeToVRT="1">wells.csv</SrcDataSource>` +
		`<GeometryType>wkbPoint</GeometryType><GeometryField encoding="PointFromColumns" x="x" y="y"/>` +
		`<Field name="v" type="Real"/></OGRVRTLayer></OGRVRTDataSource>`
	if err := os.WriteFile(filepath.Join(dir, "wells.vrt"), []byte(layer), 0o644); err != nil {
		t.Fatal(err)
	}
	g := s.grid
	// Unless told otherwise it writes 0 where nothing is within the radius.
	method := fmt.Sprintf("invdistnn:power=%g:max_points=%d:radius=%.17g:smoothing=%.17g:nodata=nan", w.Power, w.Neighbours, w.RadiusM, w.Smoothing)
	out := filepath.Join(dir, "out.bin")
	run(t, dir, tool, "-q", "-a", method, "-zfield", "v", "-l", "wells", "-ot", "Float64", "-of", "ENVI",
		"-txe", number(g.MinX), number(g.MinX+float64(g.Cols)*g.CellW),
		"-tye", number(g.MinY), number(g.MinY+float64(g.Rows)*g.CellH),
		"-outsize", strconv.Itoa(g.Cols), strconv.Itoa(g.Rows), "wells.vrt", out)
	raw, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	values := make([]float64, g.Len())
	if err := binary.Read(bytes.NewReader(raw), binary.LittleEndian, values); err != nil {
		t.Fatal(err)
	}
	header, err := os.ReadFile(filepath.Join(dir, "out.hdr"))
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(header), "data type = 5") || !strings.Contains(string(header), "byte order = 0") {
		t.Fatalf("not little-endian doubles:\n%s", header)
	}
	// The header ties the first row to its northing: this one has the north first.
	_, info, ok := strings.Cut(string(header), "map info = {")
	tie := strings.Split(info, ",")
	if !ok || len(tie) < 5 {
		t.Fatalf("no map info:\n%s", header)
	}
	top, err := strconv.ParseFloat(strings.TrimSpace(tie[4]), 64)
	if err != nil || top != g.MinY+float64(g.Rows)*g.CellH {
		t.Fatalf("the first row is not the northernmost:\n%s", header)
	}
	for a, b := 0, g.Rows-1; a < b; a, b = a+1, b-1 {
		for c := range g.Cols {
			values[g.Index(c, a)], values[g.Index(c, b)] = values[g.Index(c, b)], values[g.Index(c, a)]
		}
	}
	return values
}

// gstat runs idw of R's gstat; the nodes go out and the estimates come back
// with 17 digits.
func (s judged) gstat(t *testing.T, tool string, w surface.IDW) []float64 {
	t.Helper()
	dir := t.TempDir()
	s.writeCSV(t, filepath.Join(dir, "wells.csv"))
	var nodes strings.Builder
	nodes.WriteString("x,y\n")
	for i := range s.grid.Len() {
		fmt.Fprintf(&nodes, "%s,%s\n", number(s.grid.X(i%s.grid.Cols)), number(s.grid.Y(i/s.grid.Cols)))
	}
	if err := os.WriteFile(filepath.Join(dir, "nodes.csv"), []byte(nodes.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	limits := ""
	if w.Neighbours > 0 {
		limits += fmt.Sprintf(", nmax = %d", w.Neighbours)
	}
	if w.RadiusM > 0 {
		limits += fmt.Sprintf(", maxdist = %.17g", w.RadiusM)
	}
	script := fmt.Sprintf(`suppressMessages({library(sp); library(gstat)})
wells <- read.csv("wells.csv", colClasses = "numeric"); coordinates(wells) <- ~x+y
nodes <- read.csv("nodes.csv", colClasses = "numeric"); coordinates(nodes) <- ~x+y
e <- idw(v ~ 1, wells, nodes, idp = %.17g%s, debug.level = 0)
writeLines(formatC(e$var1.pred, digits = 17, format = "g"), "out.txt")
`, w.Power, limits)
	if err := os.WriteFile(filepath.Join(dir, "judge.R"), []byte(script), 0o644); err != nil {
		t.Fatal(err)
	}
	run(t, dir, tool, "--vanilla", "judge.R")
	out, err := os.ReadFile(filepath.Join(dir, "out.txt"))
	if err != nil {
		t.Fatal(err)
	}
	var values []float64
	for _, word := range strings.Fields(string(out)) {
		if word == "NA" {
			word = "NaN"
		}
		v, err := strconv.ParseFloat(word, 64)
		if err != nil {
			t.Fatal(err)
		}
		values = append(values, v)
	}
	return values
}

func (s judged) writeCSV(t *testing.T, path string) {
	t.Helper()
	var b strings.Builder
	b.WriteString("x,y,v\n")
	for i := range s.x {
		fmt.Fprintf(&b, "%s,%s,%s\n", number(s.x[i]), number(s.y[i]), number(s.v[i]))
	}
	if err := os.WriteFile(path, []byte(b.String()), 0o644); err != nil {
		t.Fatal(err)
	}
}

// number writes a double with digits enough to read back the same.
func number(v float64) string { return strconv.FormatFloat(v, 'g', 17, 64) }

func run(t *testing.T, dir, tool string, args ...string) {
	t.Helper()
	cmd := exec.Command(tool, args...)
	cmd.Dir = dir
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%s %s: %v\n%s", tool, strings.Join(args, " "), err, out)
	}
}
