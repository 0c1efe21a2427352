package surface_test

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tallybook/geo/near"
	"tallybook/geo/surface"
)

func index(t interface{ Fatalf(string, ...any) }, x, y []float64, key []uint64) *near.Index {
	ix, err := near.New(x, y, key)
	if err != nil {
		t.Fatalf("near.New: %v", err)
	}
	return ix
}

// The seven samples of E. H. Isaaks and R. M. Srivastava, An Introduction to
// Applied Geostatistics (Oxford, 1989), chapter 11, estimated at 65E, 137N;
// coordinates and values as in a published re-computation of the chapter.
var (
	sevenX = []float64{61, 63, 64, 68, 71, 73, 75}
	sevenY = []float64{139, 140, 129, 128, 140, 141, 128}
	sevenV = []float64{477, 696, 227, 646, 606, 791, 783}
)

func TestSevenSamples(t *testing.T) {
	// The book gives 603.7 for the plain mean and 594 for power 1 (from
	// memory); every figure was computed from the seven samples by the formula,
	// outside this program, and is given to a hundredth.
	want := map[float64]float64{0: 603.71, 0.2: 600.61, 0.5: 597.02, 1: 593.95, 2: 597.62, 5: 635.37, 10: 672.99}
	ix := index(t, sevenX, sevenY, nil)
	for power, v := range want {
		got := surface.IDW{Power: power}.At(ix, sevenV, 65, 137)
		if math.Abs(got-v) > 0.005+1e-9 {
			t.Errorf("power %g: %.4f, want %.2f", power, got, v)
		}
	}
	for power, v := range map[float64]float64{0: 603.7, 1: 594} {
		got := surface.IDW{Power: power}.At(ix, sevenV, 65, 137)
		digit := 0.5
		if v != math.Trunc(v) {
			digit = 0.05
		}
		if math.Abs(got-v) > digit {
			t.Errorf("power %g: %.4f, the book rounds to %g", power, got, v)
		}
	}
	if got := (surface.IDW{Power: 2, Neighbours: 1}).At(ix, sevenV, 65, 137); got != 696 {
		t.Errorf("nearest sample: %g, want 696", got)
	}
	// The weights at power 2, as shares, from the same computation.
	for i, share := range []float64{.2582, .3972, .0794, .0574, .1147, .0645, .0285} {
		one := make([]float64, 7)
		one[i] = 1
		if got := (surface.IDW{Power: 2}).At(ix, one, 65, 137); math.Abs(got-share) > 0.00005+1e-9 {
			t.Errorf("weight of sample %d: %.5f, want %.4f", i+1, got, share)
		}
	}
}

func TestCoincidentSamples(t *testing.T) {
	// Five samples at one position, one beside it; only two are asked for.
	x := []float64{10, 10, 10, 10, 10, 20}
	y := []float64{10, 10, 10, 10, 10, 10}
	v := []float64{1, 2, 3, 4, 5, 100}
	ix := index(t, x, y, nil)
	w := surface.IDW{Power: 2, Neighbours: 2}
	if got := w.At(ix, v, 10, 10); got != 3 {
		t.Errorf("at five coincident samples: %g, want their mean 3", got)
	}
	if got := w.At(ix, v, 20, 10); got != 100 {
		t.Errorf("at a lone sample: %g", got)
	}
	w.Smoothing = 5
	w.Neighbours = 0
	// Five weights of 1/25 and one of 1/125: (15/25 + 100/125) / (5/25 + 1/125).
	if got, want := w.At(ix, v, 10, 10), (15.0/25+100.0/125)/(5.0/25+1.0/125); math.Abs(got-want) > 1e-12*want {
		t.Errorf("smoothed: %.15g, want %.15g", got, want)
	}
}

func TestRadius(t *testing.T) {
	ix := index(t, []float64{0.5, 3, 10}, []float64{0, 4, 0}, nil)
	v := []float64{1, 2, 3}
	for name, c := range map[string]struct {
		w    surface.IDW
		want float64
	}{
		"the border counts":        {surface.IDW{Power: 0, RadiusM: 5}, 1.5},
		"with neighbours":          {surface.IDW{Power: 0, RadiusM: 5, Neighbours: 12}, 1.5},
		"fewer neighbours":         {surface.IDW{Power: 0, RadiusM: 5, Neighbours: 1}, 1},
		"just inside it":           {surface.IDW{Power: 0, RadiusM: 4.999}, 1},
		"reaches all":              {surface.IDW{Power: 0, RadiusM: 10}, 2},
		"neighbours bind before":   {surface.IDW{Power: 0, RadiusM: 10, Neighbours: 2}, 1.5},
		"no limit of either":       {surface.IDW{Power: 0}, 2},
		"more neighbours than are": {surface.IDW{Power: 0, Neighbours: 50}, 2},
	} {
		if got := c.w.At(ix, v, 0, 0); got != c.want {
			t.Errorf("%s: %g, want %g", name, got, c.want)
		}
	}
	if got := (surface.IDW{Power: 2, RadiusM: 1}).At(ix, v, 100, 100); got == got {
		t.Errorf("nothing within the radius gave %g", got)
	}
	if got := surface.DefaultIDW.At(index(t, nil, nil, nil), nil, 0, 0); got == got {
		t.Errorf("no samples gave %g", got)
	}
}

func TestTiedAt(t *testing.T) {
	ix := index(t, []float64{1, -1, 0, 0, 5}, []float64{0, 0, 2, -3, 5}, nil)
	for k, want := range map[int]bool{0: false, 1: true, 2: false, 3: false, 4: false, 5: false, 9: false} {
		if got := (surface.IDW{Power: 2, Neighbours: k}).TiedAt(ix, 0, 0); got != want {
			t.Errorf("k=%d: tied %v, want %v", k, got, want)
		}
	}
	if (surface.IDW{Power: 2, Neighbours: 1, RadiusM: 0.5}).TiedAt(ix, 0, 0) {
		t.Error("a tie beyond the radius counts for nothing")
	}
}

func TestRejects(t *testing.T) {
	ix := index(t, []float64{0, 1}, []float64{0, 1}, nil)
	ok := surface.Grid{Cols: 2, Rows: 2, CellW: 1, CellH: 1}
	nan, inf := math.NaN(), math.Inf(1)
	two := []float64{1, 2}
	for name, c := range map[string]struct {
		w    surface.IDW
		v    []float64
		g    surface.Grid
		want string
	}{
		"negative power":     {surface.IDW{Power: -1}, two, ok, "power"},
		"NaN power":          {surface.IDW{Power: nan}, two, ok, "power"},
		"negative k":         {surface.IDW{Neighbours: -1}, two, ok, "neighbours"},
		"negative radius":    {surface.IDW{RadiusM: -1}, two, ok, "radius"},
		"infinite smoothing": {surface.IDW{Smoothing: inf}, two, ok, "smoothing"},
		"too few values":     {surface.DefaultIDW, two[:1], ok, "1 values for 2 wells"},
		"NaN value":          {surface.DefaultIDW, []float64{1, nan}, ok, "value 1 is not finite"},
		"no nodes":           {surface.DefaultIDW, two, surface.Grid{CellW: 1, CellH: 1}, "no nodes"},
		"too many nodes":     {surface.DefaultIDW, two, surface.Grid{Cols: 1 << 40, Rows: 1 << 40, CellW: 1, CellH: 1}, "too many"},
		"NaN corner":         {surface.DefaultIDW, two, surface.Grid{Cols: 1, Rows: 1, MinX: nan, CellW: 1, CellH: 1}, "corner"},
		"flat cells":         {surface.DefaultIDW, two, surface.Grid{Cols: 1, Rows: 1, CellW: 1}, "no area"},
		"far corner":         {surface.DefaultIDW, two, surface.Grid{Cols: 9, Rows: 1, CellW: 1e308, CellH: 1}, "far corner"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := c.w.Grid(context.Background(), ix, c.v, c.g, 1)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("error %v does not say %q", err, c.want)
			}
		})
	}
	ended, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := surface.DefaultIDW.Grid(ended, ix, two, ok, 2); !errors.Is(err, context.Canceled) {
		t.Errorf("an ended context gave %v", err)
	}
}

// methods are drawn over all that changes the arithmetic.
func drawIDW(t *rapid.T) surface.IDW {
	w := surface.IDW{
		Power:      rapid.SampledFrom([]float64{0, 0.2, 0.5, 1, 1.5, 2, 2.5, 3, 3.7, 4, 5, 10, 16, 40}).Draw(t, "power"),
		Neighbours: rapid.SampledFrom([]int{0, 1, 2, 5, 8, 12, 32, 50}).Draw(t, "k"),
	}
	if rapid.IntRange(0, 3).Draw(t, "limited") == 0 {
		w.RadiusM = rapid.Float64Range(1, 5e4).Draw(t, "radius")
	}
	if rapid.IntRange(0, 3).Draw(t, "smoothed") == 0 {
		w.Smoothing = rapid.Float64Range(0.001, 1000).Draw(t, "smoothing")
	}
	return w
}

// wells draws wells in 20 km, some of them at one position, some on whole
// metres of a coarse lattice so that ties occur.
func wells(r *rand.Rand, n int) (x, y, v []float64) {
	x, y, v = make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range x {
		switch u := r.Float64(); {
		case u < 0.1 && i > 0:
			j := r.IntN(i)
			x[i], y[i] = x[j], y[j]
		case u < 0.4:
			x[i], y[i] = float64(r.IntN(20))*1000, float64(r.IntN(20))*1000
		case u < 0.7:
			x[i], y[i] = 5000+r.NormFloat64()*300, 7000+r.NormFloat64()*300
		default:
			x[i], y[i] = r.Float64()*2e4, r.Float64()*2e4
		}
		v[i] = math.Exp(r.NormFloat64()) * 20
	}
	return x, y, v
}

// naive is the textbook formula over a full sort, with the general power.
func naive(w surface.IDW, x, y, v []float64, px, py float64) float64 {
	type near struct {
		d2, v float64
		i     int
	}
	var all []near
	for i := range x {
		dx, dy := x[i]-px, y[i]-py
		all = append(all, near{float64(dx*dx) + float64(dy*dy), v[i], i})
	}
	// Insertion sort, stable: ties stay in the order of the input.
	for i := 1; i < len(all); i++ {
		for j := i; j > 0 && all[j].d2 < all[j-1].d2; j-- {
			all[j], all[j-1] = all[j-1], all[j]
		}
	}
	at, n := 0.0, 0
	for _, a := range all {
		if a.d2 == 0 {
			at += a.v
			n++
		}
	}
	if n > 0 && w.Smoothing == 0 {
		return at / float64(n)
	}
	var sum, weights float64
	for i, a := range all {
		if w.Neighbours > 0 && i >= w.Neighbours || w.RadiusM > 0 && a.d2 > w.RadiusM*w.RadiusM {
			break
		}
		wt := math.Pow(math.Sqrt(a.d2+w.Smoothing*w.Smoothing), -w.Power)
		sum += wt * a.v
		weights += wt
	}
	return sum / weights
}

func close12(a, b float64) bool {
	return a == b || a != a && b != b || math.Abs(a-b) <= 1e-12*max(math.Abs(a), math.Abs(b))
}

func TestAtEqualsNaive(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 2))
		x, y, v := wells(r, rapid.IntRange(0, 120).Draw(t, "n"))
		w := drawIDW(t)
		ix := index(t, x, y, nil)
		for range 10 {
			px, py := float64(r.IntN(40))*500, float64(r.IntN(40))*500
			got, want := w.At(ix, v, px, py), naive(w, x, y, v, px, py)
			// Values are all positive here, so the mean is well conditioned.
			if !close12(got, want) {
				t.Fatalf("%+v at (%g, %g): %.17g, naive %.17g", w, px, py, got, want)
			}
		}
	})
}

func TestGridEqualsAt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 3))
		n := rapid.OneOf(rapid.IntRange(0, 30), rapid.IntRange(0, 3000)).Draw(t, "n")
		x, y, v := wells(r, n)
		key := make([]uint64, n)
		for i, p := range r.Perm(n) {
			key[i] = uint64(p)
		}
		w := drawIDW(t)
		if w.Neighbours == 0 && n > 300 {
			w.Neighbours = 12
		}
		ix := index(t, x, y, key)
		cell := rapid.SampledFrom([]float64{10, 50, 500, 3000}).Draw(t, "cell")
		g := surface.Grid{
			Cols: rapid.IntRange(1, 50).Draw(t, "cols"), Rows: rapid.IntRange(1, 50).Draw(t, "rows"),
			MinX: 5000 - cell*7.5, MinY: 7000 - cell*7.5, CellW: cell, CellH: cell,
		}
		f, err := w.Grid(context.Background(), ix, v, g, rapid.IntRange(0, 3).Draw(t, "workers"))
		if err != nil {
			t.Fatal(err)
		}
		if err := f.Validate(); err != nil {
			t.Fatal(err)
		}
		for row := range g.Rows {
			for col := range g.Cols {
				want := w.At(ix, v, g.X(col), g.Y(row))
				if got := f.At(col, row); !close12(got, want) {
					t.Fatalf("%+v node %d, %d: grid %.17g, At %.17g", w, col, row, got, want)
				}
			}
		}
	})
}

func TestGridDoesNotDependOnWorkers(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	x, y, v := wells(r, 2000)
	ix := index(t, x, y, nil)
	g := surface.Grid{Cols: 150, Rows: 90, CellW: 130, CellH: 220}
	one, err := surface.DefaultIDW.Grid(context.Background(), ix, v, g, 1)
	if err != nil {
		t.Fatal(err)
	}
	many, err := surface.DefaultIDW.Grid(context.Background(), ix, v, g, 7)
	if err != nil {
		t.Fatal(err)
	}
	for i := range one.Values {
		if one.Values[i] != many.Values[i] {
			t.Fatalf("node %d: %v with one worker, %v with seven", i, one.Values[i], many.Values[i])
		}
	}
}

func TestIDWProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 4))
		n := rapid.IntRange(1, 200).Draw(t, "n")
		x, y, v := wells(r, n)
		key := make([]uint64, n)
		for i := range key {
			key[i] = uint64(i)
		}
		w := drawIDW(t)
		ix := index(t, x, y, key)
		px, py := r.Float64()*2e4, r.Float64()*2e4
		base := w.At(ix, v, px, py)

		if base == base {
			lo, hi := math.Inf(1), math.Inf(-1)
			for _, a := range v {
				lo, hi = min(lo, a), max(hi, a)
			}
			if base < lo*(1-1e-14) || base > hi*(1+1e-14) {
				t.Fatalf("%+v: %g outside the values' range %g to %g", w, base, lo, hi)
			}
		}

		// Order of input.
		perm := r.Perm(n)
		sx, sy, sv, sk := make([]float64, n), make([]float64, n), make([]float64, n), make([]uint64, n)
		for to, from := range perm {
			sx[to], sy[to], sv[to], sk[to] = x[from], y[from], v[from], key[from]
		}
		if got := w.At(index(t, sx, sy, sk), sv, px, py); !(got == base || got != got && base != base) {
			t.Fatalf("%+v: order of input changes %.17g to %.17g", w, base, got)
		}

		// Shift and scale by powers of two, which round nothing that matters,
		// of all lengths alike.
		const shift, scale = 1 << 20, 4
		for i := range x {
			sx[i], sy[i] = x[i]*scale, y[i]*scale
		}
		ws := w
		ws.RadiusM, ws.Smoothing = w.RadiusM*scale, w.Smoothing*scale
		if got := ws.At(index(t, sx, sy, key), v, px*scale, py*scale); !close12(got, base) {
			t.Fatalf("%+v: scale changes %.17g to %.17g", w, base, got)
		}
		qx, qy := math.Round(px*16)/16+1.0/64, math.Round(py*16)/16 // on no lattice line
		for i := range x {
			x[i], y[i] = math.Round(x[i]*16)/16, math.Round(y[i]*16)/16
			sx[i], sy[i] = x[i]+shift, y[i]-shift
		}
		a := w.At(index(t, x, y, key), v, qx, qy)
		if b := w.At(index(t, sx, sy, key), v, qx+shift, qy-shift); !close12(a, b) {
			t.Fatalf("%+v: shift changes %.17g to %.17g", w, a, b)
		}

		// Exact at a sample that stands alone.
		if w.Smoothing == 0 {
			i := r.IntN(n)
			x[i], y[i] = 30000, 30000
			if got := w.At(index(t, x, y, key), v, 30000, 30000); got != v[i] {
				t.Fatalf("%+v: %.17g at a sample of %.17g", w, got, v[i])
			}
		}
	})
}

// No distance is so small or so large, and no power so high, that the mean
// of finite values is not finite.
func TestIDWStaysFinite(t *testing.T) {
	x := []float64{0, 5e-324, 1e-200, 1, 1e100, 1e300}
	y := []float64{0, 0, 0, 0, 0, -1e300}
	v := []float64{1, 2, 3, 4, 5, 6}
	ix := index(t, x, y, nil)
	for _, power := range []float64{0, 0.5, 1, 2, 3, 7.3, 16, 400} {
		for _, px := range []float64{0, 1e-310, 1e-160, 1e-7, 3, 1e155, -1e300} {
			got := surface.IDW{Power: power}.At(ix, v, px, 0)
			if !(got >= 1 && got <= 6) {
				t.Errorf("power %g at %g: %g", power, px, got)
			}
		}
	}
}
