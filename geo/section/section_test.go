package section_test

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"tallybook/geo/section"
)

// All expected values here were worked by hand on right triangles.

func line(t *testing.T, xy ...float64) *section.Line {
	t.Helper()
	var ps []section.Point
	for i := 0; i < len(xy); i += 2 {
		ps = append(ps, section.Point{X: xy[i], Y: xy[i+1]})
	}
	l, err := section.New(ps)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func near(a, b float64) bool { return math.Abs(a-b) < 1e-9 }

func TestProject(t *testing.T) {
	// East 300 m, then north 400 m: a turn to the left by a right angle.
	ell := []float64{0, 0, 300, 0, 300, 400}
	// East 100 m, then back to the north-west: a turn to the left by 135 degrees.
	sharp := []float64{0, 0, 100, 0, 0, 100}
	tests := []struct {
		name   string
		line   []float64
		x, y   float64
		along  float64
		off    float64
		deg    float64
		leg    int
		beyond float64
	}{
		{"north of a line to the east is left of it", []float64{0, 0, 500, 0}, 120, 30, 120, -30, 0, 0, 0},
		{"south of it is right", []float64{0, 0, 500, 0}, 120, -30, 120, 30, 180, 0, 0},
		{"on it", []float64{0, 0, 500, 0}, 120, 0, 120, 0, 0, 0, 0},
		{"a slanting line of 3, 4, 5", []float64{0, 0, 300, 400}, 180 + 8, 240 - 6, 300, 10, azimuthOf(8, -6), 0, 0},
		{"before the beginning, right", []float64{0, 0, 500, 0}, -30, -40, 0, 50, azimuthOf(-30, -40), 0, -30},
		{"behind the end, left", []float64{0, 0, 500, 0}, 530, 40, 500, -50, azimuthOf(30, 40), 0, 30},
		{"straight behind the end: neither side, told as right", []float64{0, 0, 500, 0}, 530, 0, 500, 30, 90, 0, 30},
		{"the second leg, east of it is right", ell, 310, 250, 550, 10, 90, 1, 0},
		{"inside the bend, equally near to both: the earlier leg", ell, 200, 100, 200, -100, 0, 0, 0},
		{"inside the bend, nearer to the later", ell, 201, 100, 400, -99, 270, 1, 0},
		{"outside of the bend: the bend itself, the outer side", ell, 330, -40, 300, 50, azimuthOf(30, -40), 0, 0},
		// Left of the first leg's line, and yet outside of the turn.
		{"outside of a sharp bend", sharp, 130, 10, 100, math.Hypot(30, 10), azimuthOf(30, 10), 0, 0},
		{"before the beginning of a bent line", ell, -5, 0, 0, 5, 270, 0, -5},
		{"a repeated place changes nothing", []float64{0, 0, 0, 0, 250, 0, 250, 0, 500, 0}, 400, -7, 400, 7, 180, 1, 0},
	}
	for _, c := range tests {
		t.Run(c.name, func(t *testing.T) {
			got := line(t, c.line...).Project(section.Point{X: c.x, Y: c.y})
			if !near(got.AlongM, c.along) || !near(got.OffM, c.off) || !near(got.OffDeg, c.deg) || got.Leg != c.leg || !near(got.BeyondM, c.beyond) {
				t.Errorf("got %+v, want along %g off %g towards %g leg %d beyond %g", got, c.along, c.off, c.deg, c.leg, c.beyond)
			}
		})
	}
}

// azimuthOf is worked apart from the package: the angle by the arc cosine.
func azimuthOf(east, north float64) float64 {
	a := math.Acos(north/math.Sqrt(east*east+north*north)) * 180 / math.Pi
	if east < 0 {
		return 360 - a
	}
	return a
}

func TestTieDoesNotHangOnRounding(t *testing.T) {
	// The bisector of a right angle that is turned and moved far from the
	// origin, where each distance is rounded otherwise.
	for i := range 360 {
		sin, cos := math.Sincos(float64(i) * math.Pi / 180)
		turn := func(x, y float64) section.Point {
			return section.Point{X: 5e5 + x*cos - y*sin, Y: 4.8e6 + x*sin + y*cos}
		}
		l, err := section.New([]section.Point{turn(0, 0), turn(300, 0), turn(300, 400)})
		if err != nil {
			t.Fatal(err)
		}
		if got := l.Project(turn(200, 100)); got.Leg != 0 || math.Abs(got.AlongM-200) > 1e-6 || math.Abs(got.OffM+100) > 1e-6 {
			t.Fatalf("turned by %d: %+v", i, got)
		}
	}
}

func TestNewRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		points []section.Point
		want   error
	}{
		"nothing":             {nil, section.ErrShort},
		"one place":           {[]section.Point{{1, 2}}, section.ErrShort},
		"twice the same":      {[]section.Point{{1, 2}, {1, 2.0005}}, section.ErrShort},
		"a place that is NaN": {[]section.Point{{1, 2}, {math.NaN(), 2}}, section.ErrPoint},
		"infinitely far":      {[]section.Point{{1, 2}, {math.Inf(1), 2}}, section.ErrPoint},
	} {
		if _, err := section.New(c.points); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", name, err, c.want)
		}
	}
	if got := line(t, 0, 0, 9, 0).Project(section.Point{X: math.NaN()}); !math.IsNaN(got.AlongM) || !math.IsNaN(got.OffM) {
		t.Errorf("NaN gives %+v", got)
	}
}

func TestAlong(t *testing.T) {
	l := line(t, 0, 0, 300, 0, 300, 400)
	for _, c := range []struct{ along, x, y, deg float64 }{
		{-5, 0, 0, 90}, {0, 0, 0, 90}, {150, 150, 0, 90}, {300, 300, 0, 0}, {500, 300, 200, 0}, {700, 300, 400, 0}, {900, 300, 400, 0},
	} {
		if p := l.At(c.along); !near(p.X, c.x) || !near(p.Y, c.y) || !near(l.AzimuthDeg(c.along), c.deg) {
			t.Errorf("at %g: %+v towards %g", c.along, p, l.AzimuthDeg(c.along))
		}
	}
	if l.LengthM() != 700 || len(l.BendsM()) != 1 || l.BendsM()[0] != 300 || l.Legs() != 2 {
		t.Errorf("length %g, bends %v", l.LengthM(), l.BendsM())
	}
	if west := line(t, 0, 0, -3, 0).AzimuthDeg(1); west != 270 {
		t.Errorf("a line to the west runs %g", west)
	}
}

func TestStations(t *testing.T) {
	// 700 m in 7 parts: none longer than 100 m, and the bend is one of them.
	got := line(t, 0, 0, 300, 0, 300, 400).Stations(7)
	want := []float64{0, 100, 200, 300, 400, 500, 600, 700}
	if len(got) != len(want) {
		t.Fatalf("got %v", got)
	}
	for i := range want {
		if !near(got[i], want[i]) {
			t.Errorf("got %v, want %v", got, want)
		}
	}
	if got := line(t, 0, 0, 10, 0).Stations(0); len(got) != 2 {
		t.Errorf("no parts: %v", got)
	}
}

func TestExaggeration(t *testing.T) {
	for _, c := range []struct{ length, width, height, most, want float64 }{
		{10000, 1000, 200, 400, 20}, // 10 m a pixel long; 400 px for 200 m allow 20
		{10000, 1000, 100, 390, 30}, // 39 allowed
		{1000, 1000, 200, 400, 2},   // 2 allowed
		{10000, 1000, 200, 390, 15}, // 19.5 allowed
		{10000, 1000, 100, 699, 60}, // 69.9 allowed
		{100, 1000, 200, 400, 0.2},  // a short line, drawn longer than high
		{1000, 1000, 400, 399, 0.5},
		{1000, 1000, 400, 400, 1},
		{0, 1000, 0, 400, 1},
	} {
		if got := section.Exaggeration(c.length, c.width, c.height, c.most); got != c.want {
			t.Errorf("%+v: got %g", c, got)
		}
	}
}

// Properties, on any bent line: the foot lies on the line as far off as the
// offset says; nothing on the line is nearer; the line run backwards gives the
// other side and the rest of the way; the direction points from foot to place.
func TestProjectProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		coordinate := rapid.Float64Range(-5000, 5000)
		n := rapid.IntRange(2, 6).Draw(t, "n")
		points := make([]section.Point, n)
		for i := range points {
			points[i] = section.Point{X: coordinate.Draw(t, "x"), Y: coordinate.Draw(t, "y")}
		}
		l, err := section.New(points)
		if err != nil {
			t.Skip()
		}
		p := section.Point{X: coordinate.Draw(t, "px"), Y: coordinate.Draw(t, "py")}
		got := l.Project(p)
		foot := l.At(got.AlongM)
		off := math.Abs(got.OffM)
		if d := math.Hypot(foot.X-p.X, foot.Y-p.Y); math.Abs(d-off) > 1e-6 {
			t.Fatalf("the foot lies %g away, said %g", d, off)
		}
		for _, s := range l.Stations(200) {
			at := l.At(s)
			if d := math.Hypot(at.X-p.X, at.Y-p.Y); d < off-1e-5 {
				t.Fatalf("%g along the line it is %g away, said %g at %g", s, d, off, got.AlongM)
			}
		}
		if off > 1e-3 {
			sin, cos := math.Sincos(got.OffDeg * math.Pi / 180)
			if math.Abs(foot.X+off*sin-p.X) > 1e-5 || math.Abs(foot.Y+off*cos-p.Y) > 1e-5 {
				t.Fatalf("towards %g from the foot is not the place", got.OffDeg)
			}
		}
		if got.AlongM < 0 || got.AlongM > l.LengthM() {
			t.Fatalf("%g along a line of %g", got.AlongM, l.LengthM())
		}
	})
}
