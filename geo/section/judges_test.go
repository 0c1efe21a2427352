//go:build judges

package section_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"tallybook/geo/section"
)

// TestSpatiaLiteAgrees lets SpatiaLite (GEOS) measure the same: ST_Distance to
// the line, and ST_Line_Locate_Point, the share of the way at which the foot
// lies (OGC Simple Features, linear referencing). A missing judge fails.
func TestSpatiaLiteAgrees(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 11))
	around := func(m float64) section.Point {
		return section.Point{X: 620000 + (rng.Float64()-0.5)*m, Y: 4480000 + (rng.Float64()-0.5)*m}
	}
	var sql strings.Builder
	var mine []section.Projected
	var lines []*section.Line
	for range 40 {
		points := make([]section.Point, 2+rng.IntN(5))
		var wkt []string
		for i := range points {
			points[i] = around(20000)
			wkt = append(wkt, fmt.Sprintf("%.6f %.6f", points[i].X, points[i].Y))
			points[i] = section.Point{X: six(points[i].X), Y: six(points[i].Y)}
		}
		l, err := section.New(points)
		if err != nil {
			t.Fatal(err)
		}
		for range 50 {
			p := around(26000)
			p = section.Point{X: six(p.X), Y: six(p.Y)}
			mine, lines = append(mine, l.Project(p)), append(lines, l)
			g, q := fmt.Sprintf("GeomFromText('LINESTRING(%s)')", strings.Join(wkt, ", ")), fmt.Sprintf("MakePoint(%.6f, %.6f)", p.X, p.Y)
			fmt.Fprintf(&sql, "SELECT printf('%%.12f %%.12f', ST_Distance(%s, %s), ST_Line_Locate_Point(%s, %s));\n", g, q, g, q)
		}
	}
	cmd := exec.CommandContext(t.Context(), "spatialite", "-silent", ":memory:")
	cmd.Stdin = strings.NewReader(sql.String())
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("spatialite (Debian package spatialite-bin) is needed here: %v", err)
	}
	answers := strings.Split(strings.TrimSpace(string(out)), "\n")
	if len(answers) != len(mine) {
		t.Fatalf("%d answers to %d questions, the first: %.80s", len(answers), len(mine), answers[0])
	}
	ties := 0
	for i, a := range answers {
		f := strings.Fields(a)
		if len(f) != 2 {
			t.Fatalf("answer %q", a)
		}
		off, along := value(t, f[0]), value(t, f[1])*lines[i].LengthM()
		if math.Abs(math.Abs(mine[i].OffM)-off) > 1e-5 {
			t.Errorf("%d: %g m off, the judge says %g", i, mine[i].OffM, off)
		}
		if math.Abs(mine[i].AlongM-along) > 1e-4 {
			// Only where two legs are equally near may another foot be chosen.
			at := lines[i].At(along)
			foot := lines[i].At(mine[i].AlongM)
			t.Logf("%d: foot %v, the judge's %v", i, foot, at)
			ties++
		}
	}
	if ties > 0 {
		t.Errorf("%d feet lie elsewhere", ties)
	}
}

func six(v float64) float64 { return math.Round(v*1e6) / 1e6 }

func value(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatalf("the judge's answer %q: %v", text, err)
	}
	return v
}
