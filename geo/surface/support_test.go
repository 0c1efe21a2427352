package surface_test

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"tallybook/geo/surface"
)

func TestSupported(t *testing.T) {
	// A crowd on a lattice of 100 m, a pair of wells far off, and a lone well.
	var x, y []float64
	for i := range 100 {
		x, y = append(x, float64(i%10)*100), append(y, float64(i/10)*100)
	}
	x, y = append(x, 50_000, 100_000), append(y, 0, 0)
	ix := index(t, x, y, nil)
	s := surface.Support{MinM: 150, MaxM: 4000, Factor: 2}
	for name, c := range map[string]struct {
		x, y float64
		want bool
	}{
		"at a well":                          {0, 0, true},
		"within the minimum":                 {-150, 0, true},
		"in the crowd":                       {450, 450, true},
		"two spacings of the corner well":    {-399, 0, true}, // its 4th other distance is 223.6 m
		"beyond them":                        {-460, 0, false},
		"near the lone well":                 {53_999, 0, true},
		"beyond the cap of the lone well":    {54_001, 0, false},
		"between":                            {20_000, 0, false},
		"just beyond the minimum of a crowd": {450, 1050, true},
	} {
		if got := s.Supported(ix, c.x, c.y); got != c.want {
			t.Errorf("%s: supported %v, want %v", name, got, c.want)
		}
	}
	if s.Supported(index(t, nil, nil, nil), 0, 0) {
		t.Error("supported by no wells")
	}
	if !s.Supported(index(t, []float64{0}, []float64{0}, nil), 3999, 0) {
		t.Error("a lone well supports as far as the cap")
	}
}

func TestMaskProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 7))
		n := rapid.IntRange(0, 200).Draw(t, "n")
		x, y, _ := wells(r, n)
		ix := index(t, x, y, nil)
		s := surface.Support{MinM: r.Float64() * 1000, Factor: r.Float64() * 3}
		s.MaxM = s.MinM + r.Float64()*5000
		g := surface.Grid{Cols: 40, Rows: 30, MinX: -5000, MinY: -5000, CellW: 750, CellH: 1000}
		mask, err := s.Mask(context.Background(), ix, g, 2)
		if err != nil {
			t.Fatal(err)
		}
		wide := s
		wide.Factor *= 2
		wider, err := wide.Mask(context.Background(), ix, g, 1)
		if err != nil {
			t.Fatal(err)
		}
		for i, got := range mask {
			px, py := g.X(i%g.Cols), g.Y(i/g.Cols)
			if got != naiveSupported(s, x, y, px, py) {
				t.Fatalf("%+v node %d: %v", s, i, got)
			}
			if got && !wider[i] {
				t.Fatalf("node %d loses support when the factor grows", i)
			}
		}
	})
}

func naiveSupported(s surface.Support, x, y []float64, px, py float64) bool {
	best := -1
	dist2 := func(i int, px, py float64) float64 {
		dx, dy := x[i]-px, y[i]-py
		return float64(dx*dx) + float64(dy*dy)
	}
	for i := range x {
		if best < 0 || dist2(i, px, py) < dist2(best, px, py) {
			best = i
		}
	}
	if best < 0 {
		return false
	}
	var d2 []float64
	for i := range x {
		d2 = append(d2, dist2(i, x[best], y[best]))
	}
	slices.Sort(d2)
	d2 = slices.Compact(d2[:min(17, len(d2))])
	spacing := math.Inf(1)
	if len(d2) > 1 {
		spacing = math.Sqrt(d2[min(4, len(d2)-1)])
	} else if len(x) > 17 {
		spacing = 0
	}
	reach := min(max(s.Factor*spacing, s.MinM), s.MaxM)
	return dist2(best, px, py) <= reach*reach
}

func TestMaskRejects(t *testing.T) {
	ix := index(t, nil, nil, nil)
	ok := surface.Grid{Cols: 1, Rows: 1, CellW: 1, CellH: 1}
	nan := math.NaN()
	for name, s := range map[string]surface.Support{
		"inverted": {MinM: 5, MaxM: 1, Factor: 1}, "negative": {MinM: -1, MaxM: 1}, "NaN": {MaxM: nan}, "factor": {Factor: nan},
	} {
		if _, err := s.Mask(context.Background(), ix, ok, 1); err == nil {
			t.Errorf("%s accepted", name)
		}
	}
	if _, err := surface.DefaultSupport.Mask(context.Background(), ix, surface.Grid{}, 1); err == nil {
		t.Error("a grid without nodes accepted")
	}
}
