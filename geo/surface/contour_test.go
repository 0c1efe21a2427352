package surface_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
	"pgregory.net/rapid"

	"tallybook/geo/surface"
)

// unit is a grid whose nodes stand at whole metres from the origin.
func unit(cols, rows int, f func(x, y float64) float64) surface.Field {
	g := surface.Grid{Cols: cols, Rows: rows, MinX: -0.5, MinY: -0.5, CellW: 1, CellH: 1}
	field := surface.Field{Grid: g, Values: make([]float64, g.Len())}
	for i := range field.Values {
		field.Values[i] = f(g.X(i%cols), g.Y(i/cols))
	}
	return field
}

func contours(t interface{ Fatalf(string, ...any) }, f surface.Field, levels []float64, supported []bool) []surface.Line {
	lines, err := surface.Contours(f, levels, supported)
	if err != nil {
		t.Fatalf("Contours: %v", err)
	}
	return lines
}

func bands(t interface{ Fatalf(string, ...any) }, f surface.Field, levels []float64, supported []bool) []surface.Band {
	b, err := surface.Bands(f, levels, supported)
	if err != nil {
		t.Fatalf("Bands: %v", err)
	}
	return b
}

func TestContourOfAPlane(t *testing.T) {
	f := unit(4, 3, func(x, _ float64) float64 { return x })
	want := []surface.Line{{
		Level: 1.25,
		// Higher ground, in the east, is on the left: the line runs north to south.
		Points: orb.LineString{{1.25, 2}, {1.25, 1}, {1.25, 0}},
	}}
	if diff := cmp.Diff(want, contours(t, f, []float64{1.25}, nil)); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestContourOfAPeak(t *testing.T) {
	f := unit(3, 3, func(x, y float64) float64 {
		if x == 1 && y == 1 {
			return 10
		}
		return 0
	})
	want := []surface.Line{{
		Level: 5, Closed: true,
		Points: orb.LineString{{1, 0.5}, {1.5, 1}, {1, 1.5}, {0.5, 1}, {1, 0.5}},
	}}
	got := contours(t, f, []float64{5}, nil)
	if len(got) != 1 || !got[0].Closed || orb.Ring(got[0].Points).Orientation() != orb.CCW {
		t.Fatalf("got %v, want one ring counter-clockwise around the peak", got)
	}
	if !sameRing(orb.Ring(got[0].Points), orb.Ring(want[0].Points)) {
		t.Errorf("got %v, want %v", got[0].Points, want[0].Points)
	}
}

// sameRing compares rings whatever vertex they begin at.
func sameRing(a, b orb.Ring) bool {
	if len(a) != len(b) || a[0] != a[len(a)-1] || b[0] != b[len(b)-1] {
		return false
	}
	n := len(a) - 1
	for shift := range n {
		same := true
		for i := range n {
			if a[i] != b[(i+shift)%n] {
				same = false
				break
			}
		}
		if same {
			return true
		}
	}
	return false
}

func TestSaddleIsResolvedByTheMean(t *testing.T) {
	for name, c := range map[string]struct {
		high   float64 // at the south-west and north-east corners; the others are 0
		joined bool
	}{
		"mean above the level joins the high corners": {1.2, true},
		"mean on the level joins them":                {1, true},
		"mean below parts them":                       {0.8, false},
	} {
		t.Run(name, func(t *testing.T) {
			f := unit(2, 2, func(x, y float64) float64 {
				if x == y {
					return c.high
				}
				return 0
			})
			lines := contours(t, f, []float64{0.5}, nil)
			if len(lines) != 2 {
				t.Fatalf("%d lines, want 2", len(lines))
			}
			// Joined, a line joins two sides that meet in a low corner, (1, 0) or (0, 1).
			low := 0
			for _, l := range lines {
				a, b := l.Points[0], l.Points[1]
				cornerX, cornerY := math.Round((a[0]+b[0])/2), math.Round((a[1]+b[1])/2)
				if cornerX != cornerY {
					low++
				}
			}
			if c.joined && low != 2 || !c.joined && low != 0 {
				t.Errorf("%d lines around low corners: %v", low, lines)
			}
			high := bands(t, f, []float64{0.5}, nil)[1].Area
			if want := map[bool]int{true: 1, false: 2}[c.joined]; len(high) != want {
				t.Errorf("high ground in %d pieces, want %d", len(high), want)
			}
		})
	}
}

// On r^2 the crossing of a side is off the circle by at most the sagitta of
// linear interpolation: |error of r^2| <= 1/4 on sides of length 1.
func TestContourOfACircle(t *testing.T) {
	f := unit(81, 81, func(x, y float64) float64 { return (x-40.1)*(x-40.1) + (y-39.7)*(y-39.7) })
	for _, r := range []float64{5, 17.3, 33} {
		lines := contours(t, f, []float64{r * r}, nil)
		if len(lines) != 1 || !lines[0].Closed {
			t.Fatalf("radius %g: %d lines", r, len(lines))
		}
		for _, p := range lines[0].Points {
			got := math.Hypot(p[0]-40.1, p[1]-39.7)
			if math.Abs(got-r) > 0.25/(2*r)*1.01 {
				t.Errorf("radius %g: vertex at %g", r, got)
			}
		}
		// The ground rises outward, so it lies on the left of a clockwise ring.
		if orb.Ring(lines[0].Points).Orientation() != orb.CW {
			t.Errorf("radius %g: higher ground is on the right", r)
		}
		inner := bands(t, f, []float64{r * r}, nil)[0]
		if got, want := planar.Area(inner.Area), math.Pi*r*r; math.Abs(got-want) > 0.7*math.Pi {
			t.Errorf("radius %g: area %g, the circle's is %g", r, got, want)
		}
	}
}

func TestContoursReject(t *testing.T) {
	ok := unit(3, 3, func(x, _ float64) float64 { return x })
	short := ok
	short.Values = ok.Values[:8]
	infinite := unit(3, 3, func(x, y float64) float64 { return 1 / (x * y) })
	for name, c := range map[string]struct {
		f         surface.Field
		levels    []float64
		supported []bool
		want      string
	}{
		"values do not fit": {short, nil, nil, "8 values"},
		"mask does not fit": {ok, nil, make([]bool, 4), "mask of 4 nodes"},
		"levels fall":       {ok, []float64{2, 1}, nil, "not above"},
		"levels repeat":     {ok, []float64{1, 1}, nil, "not above"},
		"NaN level":         {ok, []float64{math.NaN()}, nil, "not finite"},
		"infinite value":    {infinite, []float64{1}, nil, "infinite"},
	} {
		t.Run(name, func(t *testing.T) {
			_, errLines := surface.Contours(c.f, c.levels, c.supported)
			_, errBands := surface.Bands(c.f, c.levels, c.supported)
			for _, err := range []error{errLines, errBands} {
				if err == nil || !strings.Contains(err.Error(), c.want) {
					t.Errorf("error %v does not say %q", err, c.want)
				}
			}
		})
	}
}

// drawField draws rough or smooth fields, some with many nodes exactly on a
// level, with holes of NaN and of the mask.
func drawField(t *rapid.T) (f surface.Field, levels []float64, supported []bool, r *rand.Rand) {
	r = rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 5))
	g := surface.Grid{
		Cols: rapid.IntRange(1, 24).Draw(t, "cols"), Rows: rapid.IntRange(1, 24).Draw(t, "rows"),
		MinX: 431000.7, MinY: 6123000.1, CellW: 37.3, CellH: 21.9,
	}
	f = surface.Field{Grid: g, Values: make([]float64, g.Len())}
	kind := rapid.SampledFrom([]string{"rough", "whole numbers", "smooth", "flat"}).Draw(t, "kind")
	px, py := r.Float64()*6, r.Float64()*6
	for i := range f.Values {
		switch kind {
		case "rough":
			f.Values[i] = r.Float64() * 5
		case "whole numbers":
			f.Values[i] = float64(r.IntN(6))
		case "smooth":
			f.Values[i] = 2.5 + 2.5*math.Sin(float64(i%g.Cols)/3+px)*math.Cos(float64(i/g.Cols)/2+py)
		case "flat":
			f.Values[i] = 2
		}
	}
	if rapid.Bool().Draw(t, "gaps") {
		for i := range f.Values {
			if r.IntN(12) == 0 {
				f.Values[i] = math.NaN()
			}
		}
	}
	if rapid.Bool().Draw(t, "masked") {
		supported = make([]bool, g.Len())
		cx, cy, rad := r.Float64()*24, r.Float64()*24, 4+r.Float64()*16
		for i := range supported {
			supported[i] = math.Hypot(float64(i%g.Cols)-cx, float64(i/g.Cols)-cy) < rad && r.IntN(40) > 0
		}
	}
	for v := 0.5 * float64(r.IntN(3)); v < 5.5; v += 0.5 * float64(1+r.IntN(4)) {
		levels = append(levels, v)
	}
	return f, levels, supported, r
}

// ground answers questions about the usable squares without the code under test.
type ground struct {
	surface.Field
	supported []bool
}

func (g ground) node(c, r int) bool {
	if c < 0 || r < 0 || c >= g.Cols || r >= g.Rows {
		return false
	}
	i := r*g.Cols + c
	return g.Values[i] == g.Values[i] && (g.supported == nil || g.supported[i])
}

func (g ground) square(c, r int) bool {
	return g.node(c, r) && g.node(c+1, r) && g.node(c, r+1) && g.node(c+1, r+1)
}

func (g ground) area() float64 {
	n := 0
	for r := range g.Rows {
		for c := range g.Cols {
			if g.square(c, r) {
				n++
			}
		}
	}
	return float64(n) * g.CellW * g.CellH
}

// sides lists the sides of squares that a point lies on, as the values at
// their ends with the share along, and whether the side borders unusable ground.
type side struct {
	va, vb, share float64
	border        bool
}

func (g ground) sides(p orb.Point) (found []side) {
	for r := range g.Rows {
		for c := range g.Cols {
			x, y := g.X(c), g.Y(r)
			if p[1] == y && c+1 < g.Cols && x <= p[0] && p[0] <= g.X(c+1) {
				below, above := g.square(c, r-1), g.square(c, r)
				if below || above {
					found = append(found, side{g.At(c, r), g.At(c+1, r), (p[0] - x) / (g.X(c+1) - x), below != above})
				}
			}
			if p[0] == x && r+1 < g.Rows && y <= p[1] && p[1] <= g.Y(r+1) {
				west, east := g.square(c-1, r), g.square(c, r)
				if west || east {
					found = append(found, side{g.At(c, r), g.At(c, r+1), (p[1] - y) / (g.Y(r+1) - y), west != east})
				}
			}
		}
	}
	return found
}

func (g ground) onBorder(p orb.Point) bool {
	for _, s := range g.sides(p) {
		if s.border {
			return true
		}
	}
	return false
}

func TestContourProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, levels, supported, _ := drawField(t)
		g := ground{f, supported}
		for _, line := range contours(t, f, levels, supported) {
			first, last := line.Points[0], line.Points[len(line.Points)-1]
			if line.Closed {
				if first != last {
					t.Fatalf("level %g: a closed line from %v to %v", line.Level, first, last)
				}
			} else if !g.onBorder(first) || !g.onBorder(last) {
				t.Fatalf("level %g: a line ends inside: %v to %v", line.Level, first, last)
			}
			for i, p := range line.Points {
				if i > 0 && p == line.Points[i-1] {
					t.Fatalf("level %g: vertex %v twice", line.Level, p)
				}
				ok := false
				for _, s := range g.sides(p) {
					// Coordinates of 6e6 m on sides of 20 m keep the share to
					// about 5e-11, and the values lie within 5 of each other.
					if v := s.va + s.share*(s.vb-s.va); math.Abs(v-line.Level) < 1e-8 {
						ok = true
					}
				}
				if !ok {
					t.Fatalf("level %g: vertex %v does not interpolate to it: %+v", line.Level, p, g.sides(p))
				}
			}
		}
	})
}

func TestBandProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, levels, supported, _ := drawField(t)
		g := ground{f, supported}
		all := bands(t, f, levels, supported)
		if len(all) != len(levels)+1 {
			t.Fatalf("%d bands of %d levels", len(all), len(levels))
		}
		var total float64
		edges := map[[2]orb.Point]int{}
		for c, b := range all {
			if c > 0 && b.From != all[c-1].To || b.From >= b.To {
				t.Fatalf("band %d is from %g to %g", c, b.From, b.To)
			}
			for _, polygon := range b.Area {
				for i, ring := range polygon {
					if len(ring) < 4 || ring[0] != ring[len(ring)-1] {
						t.Fatalf("band %d: not a ring: %v", c, ring)
					}
					a := shoelace(ring)
					if i == 0 && a <= 0 || i > 0 && a >= 0 {
						t.Fatalf("band %d: ring %d has area %g", c, i, a)
					}
					total += a
					for j := 1; j < len(ring); j++ {
						edges[[2]orb.Point{ring[j-1], ring[j]}]++
						if i > 0 && !planar.RingContains(polygon[0], mid(ring[j-1], ring[j])) && !planar.RingContains(polygon[0], ring[j]) {
							t.Fatalf("band %d: a hole leaves its outer ring at %v", c, ring[j])
						}
					}
				}
			}
			// A node whose value is inside the band is inside its area.
			for r := range g.Rows {
				for col := range g.Cols {
					v := g.At(col, r)
					p := orb.Point{g.X(col), g.Y(r)}
					whole := g.square(col, r) && g.square(col-1, r) && g.square(col, r-1) && g.square(col-1, r-1)
					if whole && b.From < v && v < b.To && !planar.MultiPolygonContains(b.Area, p) {
						t.Fatalf("node %d, %d of value %g is not in band %g to %g", col, r, v, b.From, b.To)
					}
				}
			}
		}
		if want := g.area(); math.Abs(total-want) > 1e-9*max(want, 1) {
			t.Fatalf("bands cover %g m2 of %g", total, want)
		}
		// Inside the ground every edge of one band is the reverse of another's.
		for e, n := range edges {
			if back := edges[[2]orb.Point{e[1], e[0]}]; back != n {
				a, b := e[0], e[1]
				straight := a[0] == b[0] || a[1] == b[1]
				if !straight || !g.onBorder(a) || !g.onBorder(b) {
					t.Fatalf("edge %v occurs %d times, its reverse %d", e, n, back)
				}
			}
		}
	})
}

func mid(a, b orb.Point) orb.Point { return orb.Point{a[0]/2 + b[0]/2, a[1]/2 + b[1]/2} }

// shoelace is the signed area about the ring's first point.
func shoelace(r orb.Ring) float64 {
	var sum float64
	for i := 1; i < len(r); i++ {
		ax, ay := r[i-1][0]-r[0][0], r[i-1][1]-r[0][1]
		bx, by := r[i][0]-r[0][0], r[i][1]-r[0][1]
		sum += ax*by - bx*ay
	}
	return sum / 2
}

func TestContoursRepeat(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, levels, supported, _ := drawField(t)
		if diff := cmp.Diff(contours(t, f, levels, supported), contours(t, f, levels, supported)); diff != "" {
			t.Fatalf("a second call differs:\n%s", diff)
		}
		if diff := cmp.Diff(bands(t, f, levels, supported), bands(t, f, levels, supported)); diff != "" {
			t.Fatalf("a second call differs:\n%s", diff)
		}
	})
}

func TestBandsWithoutLevels(t *testing.T) {
	f := unit(5, 4, func(x, y float64) float64 { return x * y })
	f.Values[0] = math.NaN()
	got := bands(t, f, nil, nil)
	want := orb.MultiPolygon{{{{1, 0}, {4, 0}, {4, 3}, {0, 3}, {0, 1}, {1, 1}, {1, 0}}}}
	if len(got) != 1 || len(got[0].Area) != 1 || len(got[0].Area[0]) != 1 || !sameRing(got[0].Area[0][0], want[0][0]) {
		t.Errorf("got %v, want %v", got, want)
	}
}
