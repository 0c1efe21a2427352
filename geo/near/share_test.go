package near_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"tallybook/geo/near"
)

func TestSites(t *testing.T) {
	cases := map[string]struct {
		x, y []float64
		tolM float64
		want []int32
	}{
		"none":                              {nil, nil, 1, []int32{}},
		"one":                               {[]float64{5}, []float64{5}, 1, []int32{0}},
		"exactly the tolerance is together": {[]float64{0, 3, 100}, []float64{0, 4, 0}, 5, []int32{0, 0, 1}},
		"just beyond it is not":             {[]float64{0, 3}, []float64{0, math.Nextafter(4, 5)}, 5, []int32{0, 1}},
		"a chain is one site":               {[]float64{0, 0.9, 1.8, 2.7, 9}, []float64{0, 0, 0, 0, 0}, 1, []int32{0, 0, 0, 0, 1}},
		"numbered as they appear":           {[]float64{50, 0, 50, 0, 20}, []float64{0, 0, 0, 0, 0}, 1, []int32{0, 1, 0, 1, 2}},
		"tolerance zero":                    {[]float64{1, 1, 1}, []float64{2, 2, math.Nextafter(2, 3)}, 0, []int32{0, 0, 1}},
		"negative zero is zero":             {[]float64{0, math.Copysign(0, -1)}, []float64{0, 0}, 0, []int32{0, 0}},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			got, err := near.Sites(c.x, c.y, c.tolM)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(c.want, got); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

func TestSitesAndBlocksReject(t *testing.T) {
	one, two, nan := []float64{1}, []float64{1, 2}, []float64{math.NaN()}
	for name, f := range map[string]func() (any, error){
		"sites lengths":            func() (any, error) { return near.Sites(one, two, 1) },
		"sites NaN":                func() (any, error) { return near.Sites(nan, one, 1) },
		"sites negative tolerance": func() (any, error) { return near.Sites(one, one, -1) },
		"sites infinite tolerance": func() (any, error) { return near.Sites(one, one, math.Inf(1)) },
		"sites NaN tolerance":      func() (any, error) { return near.Sites(one, one, math.NaN()) },
		"sites tolerance too fine": func() (any, error) { return near.Sites([]float64{0, 1e9}, two, 1e-6) },
		"blocks lengths":           func() (any, error) { return near.Blocks(one, two, 1, 10, 0) },
		"blocks NaN":               func() (any, error) { return near.Blocks(one, nan, 1, 10, 0) },
		"blocks size":              func() (any, error) { return near.Blocks(one, one, 0, 10, 0) },
		"blocks one fold":          func() (any, error) { return near.Blocks(one, one, 1, 1, 0) },
	} {
		t.Run(name, func(t *testing.T) {
			if got, err := f(); err == nil {
				t.Errorf("accepted, gave %v", got)
			}
		})
	}
}

// naiveSites floods from each well over all others.
func naiveSites(x, y []float64, tolM float64) []int32 {
	site := make([]int32, len(x))
	for i := range site {
		site[i] = -1
	}
	next := int32(0)
	for i := range x {
		if site[i] >= 0 {
			continue
		}
		site[i] = next
		for queue := []int{i}; len(queue) > 0; queue = queue[1:] {
			a := queue[0]
			for b := range x {
				dx, dy := x[a]-x[b], y[a]-y[b]
				if site[b] < 0 && float64(dx*dx)+float64(dy*dy) <= tolM*tolM {
					site[b] = next
					queue = append(queue, b)
				}
			}
		}
		next++
	}
	return site
}

func TestSitesEqualNaive(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, _ := drawCloud(t)
		if len(c.x) > 400 {
			c.x, c.y = c.x[:400], c.y[:400]
		}
		tolM := rapid.SampledFrom([]float64{0, 0.01, 1, 1.5, 1000, 3e4}).Draw(t, "tolM")
		got, err := near.Sites(c.x, c.y, tolM)
		if err != nil {
			t.Skip("tolerance too fine for this shape: ", err)
		}
		if diff := cmp.Diff(naiveSites(c.x, c.y, tolM), got, cmpopts.EquateEmpty()); diff != "" {
			t.Fatalf("(-naive +fast):\n%s", diff)
		}
	})
}

// Crowds at the edge of each other's reach: the time must not grow with the
// product of their sizes, and the index must find the one pair that joins.
func TestSitesOfCrowds(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	x, y := fill(20_000, func(i int) (float64, float64) {
		return float64(i%2)*1.3 + r.Float64()*0.25, r.Float64() * 0.25
	})
	got, err := near.Sites(x, y, 1)
	if err != nil {
		t.Fatal(err)
	}
	for i, s := range got {
		if s != int32(i%2) {
			t.Fatalf("well %d is at site %d, though the crowds are 1.05 m apart", i, s)
		}
	}
	x[10], x[11], y[10], y[11] = 0.27, 1.26, 0, 0
	if got, err = near.Sites(x, y, 1); err != nil {
		t.Fatal(err)
	}
	for i, s := range got {
		if s != 0 {
			t.Fatalf("well %d is at site %d, though a pair 0.99 m apart joins the crowds", i, s)
		}
	}
}

func TestBlocks(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	x, y := fill(20_000, func(int) (float64, float64) { return r.Float64()*4e5 - 2e5, r.Float64()*4e5 - 2e5 })
	const sizeM, folds = 1e4, 10
	got, err := near.Blocks(x, y, sizeM, folds, 1)
	if err != nil {
		t.Fatal(err)
	}
	of := map[[2]float64]int32{}
	count := make([]int, folds)
	for i, f := range got {
		if f < 0 || f >= folds {
			t.Fatalf("fold %d", f)
		}
		count[f]++
		block := [2]float64{math.Floor(x[i] / sizeM), math.Floor(y[i] / sizeM)}
		if prior, ok := of[block]; ok && prior != f {
			t.Fatalf("block %v is in folds %d and %d", block, prior, f)
		}
		of[block] = f
	}
	for f, n := range count {
		// 1,600 blocks fall into ten folds: 160 +- 12 each, 12.5 wells a block.
		if n < 1300 || n > 2700 {
			t.Errorf("fold %d holds %d of 20000 wells", f, n)
		}
	}
	other, err := near.Blocks(x, y, sizeM, folds, 2)
	if err != nil {
		t.Fatal(err)
	}
	same := 0
	for i := range got {
		if got[i] == other[i] {
			same++
		}
	}
	if same > 4000 {
		t.Errorf("another seed leaves %d of 20000 wells in their fold; about 2000 expected", same)
	}
	// A block's fold is its own: it does not change with the other wells.
	part, err := near.Blocks(x[9000:9100], y[9000:9100], sizeM, folds, 1)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(got[9000:9100], part); diff != "" {
		t.Errorf("folds depend on the other wells:\n%s", diff)
	}
	// Minus zero is zero.
	z, err := near.Blocks([]float64{0, math.Copysign(0, -1)}, []float64{1, 1}, sizeM, 1000, 3)
	if err != nil {
		t.Fatal(err)
	}
	if z[0] != z[1] {
		t.Error("minus zero is another block")
	}
}
