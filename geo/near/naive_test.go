package near_test

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"pgregory.net/rapid"

	"tallybook/geo/near"
)

// cloud is a set of points with keys and the naive answers about them.
type cloud struct {
	x, y []float64
	key  []uint64
}

func (c cloud) all(x, y float64) []near.Hit {
	hits := make([]near.Hit, len(c.x))
	for i := range c.x {
		dx, dy := c.x[i]-x, c.y[i]-y
		hits[i] = near.Hit{I: int32(i), D2: float64(dx*dx) + float64(dy*dy)}
	}
	slices.SortFunc(hits, func(a, b near.Hit) int {
		if d := cmp.Compare(a.D2, b.D2); d != 0 {
			return d
		}
		if c.key != nil {
			if d := cmp.Compare(c.key[a.I], c.key[b.I]); d != 0 {
				return d
			}
		}
		return cmp.Compare(a.I, b.I)
	})
	return hits
}

func (c cloud) nearest(x, y float64, k int, skip func(int32) bool) []near.Hit {
	hits := c.all(x, y)
	if skip != nil {
		hits = slices.DeleteFunc(hits, func(h near.Hit) bool { return skip(h.I) })
	}
	return hits[:max(0, min(k, len(hits)))]
}

func (c cloud) within(x, y, r float64) []near.Hit {
	hits := c.all(x, y)
	return slices.DeleteFunc(hits, func(h near.Hit) bool { return h.D2 > r*r })
}

func (c cloud) box(minX, minY, maxX, maxY float64) []int32 {
	var found []int32
	for i := range c.x {
		if minX <= c.x[i] && c.x[i] <= maxX && minY <= c.y[i] && c.y[i] <= maxY {
			found = append(found, int32(i))
		}
	}
	return found
}

// shapes are the arrangements that break indexes: each fills n points.
var shapes = map[string]func(r *rand.Rand, n int) (x, y []float64){
	"uniform": func(r *rand.Rand, n int) (x, y []float64) {
		return fill(n, func(int) (float64, float64) { return r.Float64() * 1e5, r.Float64() * 1e5 })
	},
	"clumps in a wide country": func(r *rand.Rand, n int) (x, y []float64) {
		return clumped(r, n, 1e6)
	},
	"all at one position": func(_ *rand.Rand, n int) (x, y []float64) {
		return fill(n, func(int) (float64, float64) { return 500123.25, 6100456.5 })
	},
	"two positions": func(r *rand.Rand, n int) (x, y []float64) {
		return fill(n, func(int) (float64, float64) { return float64(r.IntN(2)), 7 })
	},
	"lattice, full of ties": func(r *rand.Rand, n int) (x, y []float64) {
		return fill(n, func(int) (float64, float64) { return float64(r.IntN(12)), float64(r.IntN(12)) })
	},
	"along a road": func(r *rand.Rand, n int) (x, y []float64) {
		return fill(n, func(int) (float64, float64) { return r.Float64() * 1e5, 42 })
	},
	"sorted diagonal": func(_ *rand.Rand, n int) (x, y []float64) {
		return fill(n, func(i int) (float64, float64) { return float64(i), float64(-i) })
	},
	"organ pipe": func(_ *rand.Rand, n int) (x, y []float64) {
		return fill(n, func(i int) (float64, float64) { return float64(min(i, n-i)), float64(i % 7) })
	},
	"one far outlier": func(r *rand.Rand, n int) (x, y []float64) {
		x, y = fill(n, func(int) (float64, float64) { return r.Float64(), r.Float64() })
		if n > 0 {
			x[n/2], y[n/2] = 1e9, -1e9
		}
		return x, y
	},
	"astronomic": func(r *rand.Rand, n int) (x, y []float64) {
		return fill(n, func(int) (float64, float64) {
			return (r.Float64() - 0.5) * math.MaxFloat64, (r.Float64() - 0.5) * math.MaxFloat64
		})
	},
}

func fill(n int, f func(i int) (float64, float64)) (x, y []float64) {
	x, y = make([]float64, n), make([]float64, n)
	for i := range x {
		x[i], y[i] = f(i)
	}
	return x, y
}

// clumped puts most points in dense clumps of very different size, some of
// them at identical positions, and the rest anywhere: the way wells stand.
func clumped(r *rand.Rand, n int, extentM float64) (x, y []float64) {
	type clump struct{ x, y, sd float64 }
	clumps := make([]clump, 1+n/400)
	for i := range clumps {
		clumps[i] = clump{r.Float64() * extentM, r.Float64() * extentM, extentM * 0.02 * math.Exp(-4*r.Float64())}
	}
	x, y = make([]float64, n), make([]float64, n)
	for i := range x {
		switch u := r.Float64(); {
		case u < 0.1:
			x[i], y[i] = r.Float64()*extentM, r.Float64()*extentM
		case u < 0.3 && i > 0:
			j := r.IntN(i)
			x[i], y[i] = x[j], y[j]
		default:
			c := clumps[int(math.Pow(r.Float64(), 2)*float64(len(clumps)))]
			x[i], y[i] = c.x+r.NormFloat64()*c.sd, c.y+r.NormFloat64()*c.sd
		}
	}
	return x, y
}

func shapeNames() []string {
	names := make([]string, 0, len(shapes))
	for name := range shapes {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// drawCloud draws a cloud of any shape, and the generator to ask it with.
func drawCloud(t *rapid.T) (cloud, *rand.Rand) {
	r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
	n := rapid.OneOf(rapid.IntRange(0, 20), rapid.IntRange(0, 1500)).Draw(t, "n")
	name := rapid.SampledFrom(shapeNames()).Draw(t, "shape")
	x, y := shapes[name](r, n)
	c := cloud{x: x, y: y}
	switch rapid.IntRange(0, 2).Draw(t, "keys") {
	case 1:
		c.key = make([]uint64, n)
		for i, p := range r.Perm(n) {
			c.key[i] = uint64(p)
		}
	case 2: // keys that repeat
		c.key = make([]uint64, n)
		for i := range c.key {
			c.key[i] = r.Uint64N(3)
		}
	}
	return c, r
}

// place draws a question's position: on a point, near one, or far off.
func (c cloud) place(r *rand.Rand) (x, y float64) {
	if len(c.x) == 0 {
		return r.NormFloat64(), r.NormFloat64()
	}
	i, j := r.IntN(len(c.x)), r.IntN(len(c.x))
	switch r.IntN(4) {
	case 0:
		return c.x[i], c.y[i]
	case 1:
		return c.x[i]/2 + c.x[j]/2, c.y[i]/2 + c.y[j]/2
	case 2:
		return math.Round(c.x[i]) + 0.5, math.Round(c.y[j])
	default:
		return c.x[i] + 1e7*r.NormFloat64(), c.y[i] + 1e7*r.NormFloat64()
	}
}
