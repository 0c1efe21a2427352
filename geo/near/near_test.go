package near_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"tallybook/geo/near"
)

func mustIndex(t interface{ Fatalf(string, ...any) }, c cloud) *near.Index {
	ix, err := near.New(c.x, c.y, c.key)
	if err != nil {
		t.Fatalf("New: %v", err)
	}
	return ix
}

func TestNewRejects(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	cases := map[string]struct {
		x, y []float64
		key  []uint64
		want string
	}{
		"lengths differ":       {[]float64{1}, []float64{1, 2}, nil, "1 x coordinates but 2 y"},
		"keys differ":          {[]float64{1}, []float64{1}, []uint64{1, 2}, "1 points but 2 keys"},
		"NaN in x":             {[]float64{1, nan}, []float64{1, 2}, nil, "point 1 is not finite"},
		"infinity in y":        {[]float64{1, 2, 3}, []float64{1, 2, -inf}, nil, "point 2 is not finite"},
		"the first fault only": {[]float64{inf, nan}, []float64{1, 2}, nil, "point 0 is not finite"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			ix, err := near.New(c.x, c.y, c.key)
			if err == nil || ix != nil {
				t.Fatalf("New = %v, %v; want an error", ix, err)
			}
			if !strings.Contains(err.Error(), c.want) {
				t.Errorf("error %q does not say %q", err, c.want)
			}
		})
	}
}

func TestZeroIndexIsEmpty(t *testing.T) {
	made, err := near.New(nil, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	for name, ix := range map[string]*near.Index{"zero value": {}, "built of nothing": made} {
		t.Run(name, func(t *testing.T) {
			if ix.Len() != 0 || len(ix.Nearest(0, 0, 3, nil)) != 0 || len(ix.Within(0, 0, 1e9, nil)) != 0 ||
				len(ix.Box(-1, -1, 1, 1, nil)) != 0 || len(around(ix, [4]float64{-1, -1, 1, 1}, 1e9)) != 0 {
				t.Error("an empty index found something")
			}
			if a, _, c, _ := ix.Bounds(); !math.IsInf(a, 1) || !math.IsInf(c, -1) {
				t.Error("bounds of nothing are not empty")
			}
		})
	}
}

func TestKeepsCopies(t *testing.T) {
	x, y, key := []float64{0, 10}, []float64{0, 0}, []uint64{2, 1}
	ix, err := near.New(x, y, key)
	if err != nil {
		t.Fatal(err)
	}
	x[0], y[0], key[0] = 99, 99, 0
	got := ix.Nearest(5, 0, 2, nil)
	if diff := cmp.Diff([]near.Hit{{I: 1, D2: 25}, {I: 0, D2: 25}}, got); diff != "" {
		t.Errorf("the index changed with the caller's slices (-want +got):\n%s", diff)
	}
	if ix.Key(0) != 2 || ix.Key(1) != 1 || mustIndex(t, cloud{x: x, y: y}).Key(1) != 1 {
		t.Error("Key does not return the tie-breaker")
	}
	if gx, gy := ix.At(0); gx != 0 || gy != 0 {
		t.Errorf("At(0) = %g, %g", gx, gy)
	}
}

func TestUnanswerable(t *testing.T) {
	ix, err := near.New([]float64{0, 1}, []float64{0, 1}, nil)
	if err != nil {
		t.Fatal(err)
	}
	nan := math.NaN()
	for name, n := range map[string]int{
		"k zero":        len(ix.Nearest(0, 0, 0, nil)),
		"k negative":    len(ix.Nearest(0, 0, -1, nil)),
		"NaN x":         len(ix.Nearest(nan, 0, 2, nil)),
		"NaN y":         len(ix.Within(0, nan, 2, nil)),
		"NaN radius":    len(ix.Within(0, 0, nan, nil)),
		"negative":      len(ix.Within(0, 0, -1, nil)),
		"inverted box":  len(ix.Box(1, 0, 0, 1, nil)),
		"NaN box":       len(ix.Box(0, nan, 1, 1, nil)),
		"around NaN":    len(around(ix, [4]float64{0, nan, 1, 1}, 1)),
		"around, NaN":   len(around(ix, [4]float64{0, 0, 1, 1}, nan)),
		"limit NaN":     len(ix.NearestWithin(0, 0, 2, nan, nil)),
		"limit below 0": len(ix.NearestWithin(0, 0, 2, -1, nil)),
	} {
		if n != 0 {
			t.Errorf("%s found %d points", name, n)
		}
	}
}

func TestFastEqualsNaive(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, r := drawCloud(t)
		ix := mustIndex(t, c)
		if ix.Len() != len(c.x) {
			t.Fatalf("Len = %d, want %d", ix.Len(), len(c.x))
		}
		for i := range c.x {
			if x, y := ix.At(i); x != c.x[i] || y != c.y[i] {
				t.Fatalf("At(%d) = %g, %g; want %g, %g", i, x, y, c.x[i], c.y[i])
			}
		}
		same := func(what string, want, got any) {
			if diff := cmp.Diff(want, got, cmpopts.EquateEmpty()); diff != "" {
				t.Fatalf("%s (-naive +fast):\n%s", what, diff)
			}
		}
		var buf []near.Hit
		for range 6 {
			x, y := c.place(r)
			k := rapid.SampledFrom([]int{1, 2, 8, 12, 39, 40, 41, 64, 200, 3000}).Draw(t, "k")
			buf = ix.Nearest(x, y, k, buf)
			same("Nearest", c.nearest(x, y, k, nil), buf)

			if len(c.x) > 0 {
				limit := c.all(x, y)[r.IntN(len(c.x))].D2 // reaches a point exactly
				within := c.nearest(x, y, k, nil)
				for len(within) > 0 && within[len(within)-1].D2 > limit {
					within = within[:len(within)-1]
				}
				same("NearestWithin", within, ix.NearestWithin(x, y, k, limit, nil))
			}

			skip := func(i int32) bool { return i%3 == 0 }
			buf = ix.NearestFunc(x, y, k, skip, buf)
			same("NearestFunc", c.nearest(x, y, k, skip), buf)

			radius := 0.0
			if len(c.x) > 0 {
				px, py := c.place(r)
				radius = math.Hypot(px-x, py-y) // may reach a point exactly
			}
			buf = ix.Within(x, y, radius, buf)
			same("Within", c.within(x, y, radius), buf)

			x2, y2 := c.place(r)
			b := [4]float64{min(x, x2), min(y, y2), max(x, x2), max(y, y2)}
			same("Box", c.box(b[0], b[1], b[2], b[3]), ix.Box(b[0], b[1], b[2], b[3], nil))
		}
	})
}

// around returns the sorted positions that Around finds.
func around(ix *near.Index, r [4]float64, d2 float64) []int32 {
	found, _ := ix.Around(r[0], r[1], r[2], r[3], d2, 0, nil)
	var positions []int32
	for _, c := range found {
		positions = append(positions, c.I)
	}
	slices.Sort(positions)
	return positions
}

func TestAroundEqualsNaive(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, r := drawCloud(t)
		ix := mustIndex(t, c)
		for range 6 {
			x1, y1 := c.place(r)
			x2, y2 := c.place(r)
			x3, y3 := c.place(r)
			b := [4]float64{min(x1, x2), min(y1, y2), max(x1, x2), max(y1, y2)}
			d2 := (x3-x1)*(x3-x1) + (y3-y1)*(y3-y1)
			var want []int32
			for i, x := range c.x {
				dx := max(0, b[0]-x, x-b[2])
				dy := max(0, b[1]-c.y[i], c.y[i]-b[3])
				if float64(dx*dx)+float64(dy*dy) <= d2 {
					want = append(want, int32(i))
				}
			}
			if diff := cmp.Diff(want, around(ix, b, d2)); diff != "" {
				t.Fatalf("(-naive +fast):\n%s", diff)
			}
			found, _ := ix.Around(b[0], b[1], b[2], b[3], d2, 0, nil)
			for _, p := range found {
				if p.X != c.x[p.I] || p.Y != c.y[p.I] {
					t.Fatalf("candidate %d carries %g, %g", p.I, p.X, p.Y)
				}
			}
			if len(want) > 1 {
				if _, whole := ix.Around(b[0], b[1], b[2], b[3], d2, len(want), nil); !whole {
					t.Fatal("gave up though the points were not too many")
				}
				if _, whole := ix.Around(b[0], b[1], b[2], b[3], d2, len(want)-1, nil); whole {
					t.Fatal("did not give up though the points were too many")
				}
			}
		}
	})
}

// A renumbered index gives the same answers under other names.
func TestRenumbered(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, r := drawCloud(t)
		ix := mustIndex(t, c)
		re, old := ix.Renumbered()
		if re.Len() != len(c.x) || len(old) != len(c.x) {
			t.Fatalf("%d points and %d numbers of %d", re.Len(), len(old), len(c.x))
		}
		for i, o := range old {
			if x, y := re.At(i); x != c.x[o] || y != c.y[o] || re.Key(i) != ix.Key(int(o)) {
				t.Fatalf("number %d is not position %d", i, o)
			}
		}
		for range 4 {
			x, y := c.place(r)
			got := re.Nearest(x, y, 12, nil)
			for i := range got {
				got[i].I = old[got[i].I]
			}
			if diff := cmp.Diff(c.nearest(x, y, 12, nil), got, cmpopts.EquateEmpty()); diff != "" {
				t.Fatalf("(-naive +renumbered):\n%s", diff)
			}
			if n := len(old); n > 1 {
				i, j := int32(r.IntN(n)), int32(r.IntN(n))
				if i != j && re.Before(i, j) != ix.Before(old[i], old[j]) {
					t.Fatalf("ties of %d and %d fall otherwise", i, j)
				}
			}
		}
	})
}

// With unique keys the order of the input never shows.
func TestOrderOfInputNeverMatters(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, r := drawCloud(t)
		n := len(c.x)
		c.key = make([]uint64, n)
		for i := range c.key {
			c.key[i] = uint64(i) * 0x9e3779b97f4a7c15
		}
		perm := r.Perm(n)
		d := cloud{make([]float64, n), make([]float64, n), make([]uint64, n)}
		for to, from := range perm {
			d.x[to], d.y[to], d.key[to] = c.x[from], c.y[from], c.key[from]
		}
		a, b := mustIndex(t, c), mustIndex(t, d)
		for range 5 {
			x, y := c.place(r)
			ha, hb := a.Nearest(x, y, 12, nil), b.Nearest(x, y, 12, nil)
			for i := range hb {
				hb[i].I = int32(perm[hb[i].I])
			}
			if diff := cmp.Diff(ha, hb, cmpopts.EquateEmpty()); diff != "" {
				t.Fatalf("order of input shows:\n%s", diff)
			}
			wa, wb := a.Within(x, y, 5e4, nil), b.Within(x, y, 5e4, nil)
			for i := range wb {
				wb[i].I = int32(perm[wb[i].I])
			}
			if diff := cmp.Diff(wa, wb, cmpopts.EquateEmpty()); diff != "" {
				t.Fatalf("order of input shows:\n%s", diff)
			}
		}
	})
}

func TestTiesFallByKey(t *testing.T) {
	// Four points at distance 5 and one at the centre.
	x := []float64{5, 3, -4, 0, 0}
	y := []float64{0, 4, 3, -5, 0}
	cases := map[string]struct {
		key  []uint64
		want []near.Hit
	}{
		"position": {nil, []near.Hit{{4, 0}, {0, 25}, {1, 25}}},
		"keys":     {[]uint64{9, 8, 7, 6, 5}, []near.Hit{{4, 0}, {3, 25}, {2, 25}}},
		"equal keys fall back to the position": {
			[]uint64{1, 1, 1, 1, 1}, []near.Hit{{4, 0}, {0, 25}, {1, 25}}},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			ix, err := near.New(x, y, c.key)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(c.want, ix.Nearest(0, 0, 3, nil)); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
			if diff := cmp.Diff(c.want, ix.Within(0, 0, 5, nil)[:3]); diff != "" {
				t.Errorf("Within (-want +got):\n%s", diff)
			}
		})
	}
}

// A warm buffer means no allocation, whatever the question.
func TestSearchDoesNotAllocate(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	x, y := clumped(r, 20000, 1e5)
	ix := mustIndex(t, cloud{x: x, y: y})
	hits := make([]near.Hit, 0, 4096)
	covers := make([]near.Candidate, 0, 4096)
	skip := func(i int32) bool { return i&1 == 0 }
	for name, ask := range map[string]func(){
		"Nearest 12":  func() { hits = ix.Nearest(5e4, 5e4, 12, hits) },
		"Nearest 200": func() { hits = ix.Nearest(5e4, 5e4, 200, hits) },
		"NearestFunc": func() { hits = ix.NearestFunc(5e4, 5e4, 12, skip, hits) },
		"Within":      func() { hits = ix.Within(5e4, 5e4, 500, hits) },
		"Around":      func() { covers, _ = ix.Around(5e4, 5e4, 5.1e4, 5.1e4, 1e4, 0, covers) },
	} {
		if n := testing.AllocsPerRun(20, ask); n != 0 {
			t.Errorf("%s allocates %g times", name, n)
		}
	}
}
