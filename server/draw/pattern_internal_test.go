package draw

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"tallybook/records/lithology"
)

// figure is one subpath in absolute places, tenths of a unit.
type figure struct {
	shape      string // the relative commands after the move
	x, y       int    // where it begins
	minX, maxX int
	minY, maxY int
}

// figures reads the path data that pen writes: m, l, q, h0, z, all relative.
func figures(t *testing.T, d string) []figure {
	t.Helper()
	var out []figure
	x, y := 0, 0
	startX, startY := 0, 0
	numbers := func(s string) []int {
		var ns []int
		s = strings.ReplaceAll(s, "-", " -")
		for f := range strings.FieldsSeq(s) {
			v, err := strconv.ParseFloat(f, 64)
			if err != nil {
				t.Fatalf("%q in %q: %v", f, s, err)
			}
			ns = append(ns, int(math.Round(v*10)))
		}
		return ns
	}
	var f *figure
	grow := func(x, y int) {
		f.minX, f.maxX = min(f.minX, x), max(f.maxX, x)
		f.minY, f.maxY = min(f.minY, y), max(f.maxY, y)
	}
	for i := 0; i < len(d); {
		j := i + 1
		for j < len(d) && !strings.ContainsRune("mlqhz", rune(d[j])) {
			j++
		}
		op, ns := d[i], numbers(d[i+1:j])
		switch {
		case op == 'm' && len(ns) == 2:
			x, y = x+ns[0], y+ns[1]
			startX, startY = x, y
			out = append(out, figure{x: x, y: y, minX: x, maxX: x, minY: y, maxY: y})
			f = &out[len(out)-1]
		case op == 'l' && len(ns) == 2:
			x, y = x+ns[0], y+ns[1]
			grow(x, y)
		case op == 'q' && len(ns) == 4:
			grow(x+ns[0], y+ns[1])
			x, y = x+ns[2], y+ns[3]
			grow(x, y)
		case op == 'h' && len(ns) == 1 && ns[0] == 0:
		case op == 'z' && len(ns) == 0:
			x, y = startX, startY
		default:
			t.Fatalf("command %q with %v", op, ns)
		}
		if op != 'm' {
			f.shape += d[i:j]
		}
		i = j
	}
	return out
}

// A mark that reaches over an edge must come in at the opposite one. Lines
// that run across the whole tile are checked by TestWavesJoin.
func TestTilesHaveNoSeam(t *testing.T) {
	for code, draw := range defaultPatterns().tiles {
		p := draw()
		w, h := tenth(p.w), tenth(p.h)
		marks := 0
		for layer := range p.layers {
			all := figures(t, string(p.layers[layer].b))
			marks += len(all)
			for _, f := range all {
				if f.maxX-f.minX >= w {
					continue
				}
				for _, shift := range []struct {
					over   bool
					dx, dy int
				}{
					{f.minX < -1 && f.maxX > 1, w, 0}, {f.maxX > w+1 && f.minX < w-1, -w, 0},
					{f.minY < -1 && f.maxY > 1, 0, h}, {f.maxY > h+1 && f.minY < h-1, 0, -h},
				} {
					if shift.over && !hasTwin(all, f, f.x+shift.dx, f.y+shift.dy) {
						t.Errorf("%s, layer %d: the mark at %d, %d has no other half at %d, %d", code, layer, f.x, f.y, f.x+shift.dx, f.y+shift.dy)
					}
				}
			}
		}
		if marks == 0 {
			t.Errorf("%s: nothing drawn", code)
		}
	}
}

// hasTwin looks for the same mark at a place; rounding to tenths may move it,
// and its points, by one.
func hasTwin(all []figure, f figure, x, y int) bool {
	near := func(a, b int) bool { return a-b <= 2 && b-a <= 2 }
	for _, o := range all {
		if near(o.x, x) && near(o.y, y) &&
			near(o.maxX-o.minX, f.maxX-f.minX) && near(o.maxY-o.minY, f.maxY-f.minY) {
			return true
		}
	}
	return false
}

func TestWavesJoin(t *testing.T) {
	tl := newTile(80, 60, "test")
	for range 20 {
		w := tl.wave(30, 2, 3)
		if d := w.at(0) - w.at(80); math.Abs(d) > 1e-9 {
			t.Errorf("level line misses itself by %g", d)
		}
		w.slope = 60.0 / 80
		if d := w.at(0) - w.at(80) - 60; math.Abs(d) > 1e-9 {
			t.Errorf("sloping line misses itself by %g", d)
		}
	}
}

func TestEveryMaterialIsPainted(t *testing.T) {
	known := paintings()
	for _, m := range lithology.Default().All() {
		if _, ok := known[m.Code]; !ok {
			t.Errorf("no painting for %s", m.Code)
		}
		delete(known, m.Code)
	}
	for code := range known {
		t.Errorf("painting for %s, which is no material", code)
	}
}

func TestPenNumbers(t *testing.T) {
	var p pen
	p.m(-.04, 0)
	p.l(.5, -.5)
	p.l(10.04, 12)
	p.dot(10, 12)
	if got, want := string(p.b), "m0 0l.5-.5l9.5 12.5m0 0h0"; got != want {
		t.Errorf("path %q, want %q", got, want)
	}
}

// In every theme the strokes must stand out from their ground: 3:1 is what
// WCAG 2.1, success criterion 1.4.11, asks of graphics. Coal is exempt: there
// the ground is the sign.
func TestStrokesShow(t *testing.T) {
	for _, theme := range []Theme{Light, Dark, Print} {
		for _, m := range lithology.Default().All() {
			if m.Code == "coal" {
				continue
			}
			g := groundColours(m, theme, defaultPatterns().tiles[m.Code]().dark)
			for _, under := range []string{g.ground, g.stone} {
				if c := contrast(g.ink, under); c < 3 {
					t.Errorf("%s, %s: contrast %.2f of %s on %s", m.Code, theme, c, g.ink, under)
				}
			}
		}
	}
}

// contrast is the contrast ratio of WCAG 2.1.
func contrast(a, b string) float64 {
	lum := func(c string) float64 {
		r, g, b := channels(c)
		lin := func(v float64) float64 {
			v /= 255
			if v <= .03928 {
				return v / 12.92
			}
			return math.Pow((v+.055)/1.055, 2.4)
		}
		return .2126*lin(r) + .7152*lin(g) + .0722*lin(b)
	}
	x, y := lum(a), lum(b)
	return (max(x, y) + .05) / (min(x, y) + .05)
}
