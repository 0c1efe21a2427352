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

// naiveScore estimates each test well from a fresh set without its group.
func naiveScore(w surface.IDW, x, y, v []float64, group, tests []int32) surface.Score {
	var s surface.Score
	var abs, square, by float64
	for _, i := range tests {
		var ox, oy, ov []float64
		for j := range x {
			if group[j] != group[i] {
				ox, oy, ov = append(ox, x[j]), append(oy, y[j]), append(ov, v[j])
			}
		}
		e := naive(w, ox, oy, ov, x[i], y[i]) - v[i]
		if e != e {
			s.Unanswered++
			continue
		}
		s.N++
		abs += math.Abs(e)
		square += e * e
		by += e
	}
	s.MAE, s.RMSE, s.Bias = abs/float64(s.N), math.Sqrt(square/float64(s.N)), by/float64(s.N)
	return s
}

func TestScoresEqualNaive(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 6))
		n := rapid.IntRange(1, 60).Draw(t, "n")
		x, y, v := wells(r, n)
		ix := index(t, x, y, nil)
		var methods []surface.IDW
		for range rapid.IntRange(1, 4).Draw(t, "methods") {
			methods = append(methods, drawIDW(t))
		}
		site, err := near.Sites(x, y, 1)
		if err != nil {
			t.Fatal(err)
		}
		fold, err := near.Blocks(x, y, 3000, 4, 1)
		if err != nil {
			t.Fatal(err)
		}
		var tests []int32
		for range rapid.IntRange(0, 40).Draw(t, "tests") {
			tests = append(tests, int32(r.IntN(n)))
		}
		if tests == nil {
			tests = []int32{}
		}
		ctx := context.Background()
		bySite, err := surface.ScoreSites(ctx, ix, v, site, tests, methods, 2)
		if err != nil {
			t.Fatal(err)
		}
		byFold, err := surface.ScoreFolds(ctx, ix, v, fold, tests, methods, 2)
		if err != nil {
			t.Fatal(err)
		}
		same := func(what string, m surface.IDW, got, want surface.Score) {
			if got.N != want.N || got.Unanswered != want.Unanswered || !near10(got.MAE, want.MAE) ||
				!near10(got.RMSE, want.RMSE) || !(math.Abs(got.Bias-want.Bias) < 1e-9 || got.N == 0) {
				t.Fatalf("%s of %+v: %+v, naive %+v", what, m, got, want)
			}
		}
		for i, m := range methods {
			same("sites", m, bySite[i], naiveScore(m, x, y, v, site, tests))
			same("folds", m, byFold[i], naiveScore(m, x, y, v, fold, tests))
		}
	})
}

func near10(a, b float64) bool {
	return a == b || a != a && b != b || math.Abs(a-b) <= 1e-10*max(math.Abs(a), math.Abs(b))+1e-9
}

// Twins flatter a score that leaves out only the well.
func TestLeavingOutTheSiteMatters(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	n := 400
	x, y, v := make([]float64, n), make([]float64, n), make([]float64, n)
	for i := 0; i < n; i += 2 {
		x[i], y[i], v[i] = r.Float64()*1e5, r.Float64()*1e5, r.NormFloat64()
		x[i+1], y[i+1], v[i+1] = x[i]+0.2, y[i], v[i]
	}
	ix := index(t, x, y, nil)
	alone := make([]int32, n)
	for i := range alone {
		alone[i] = int32(i)
	}
	site, err := near.Sites(x, y, 1)
	if err != nil {
		t.Fatal(err)
	}
	m := []surface.IDW{surface.DefaultIDW}
	byWell, err := surface.ScoreSites(context.Background(), ix, v, alone, nil, m, 0)
	if err != nil {
		t.Fatal(err)
	}
	bySite, err := surface.ScoreSites(context.Background(), ix, v, site, nil, m, 0)
	if err != nil {
		t.Fatal(err)
	}
	if byWell[0].MAE > 0.01 || bySite[0].MAE < 0.5 {
		t.Errorf("noise was scored at %.3f leaving out wells and %.3f leaving out sites", byWell[0].MAE, bySite[0].MAE)
	}
}

func TestScoreRejects(t *testing.T) {
	ix := index(t, []float64{0, 1}, []float64{0, 1}, nil)
	v, g, m := []float64{1, 2}, []int32{0, 1}, []surface.IDW{surface.DefaultIDW}
	bg := context.Background()
	ended, cancel := context.WithCancel(bg)
	cancel()
	for name, c := range map[string]struct {
		run  func() error
		want string
	}{
		"method": {func() error {
			_, err := surface.ScoreSites(bg, ix, v, g, nil, []surface.IDW{{Power: -1}}, 1)
			return err
		}, "power"},
		"values":       {func() error { _, err := surface.ScoreSites(bg, ix, v[:1], g, nil, m, 1); return err }, "1 values"},
		"groups":       {func() error { _, err := surface.ScoreSites(bg, ix, v, g[:1], nil, m, 1); return err }, "1 groups"},
		"test":         {func() error { _, err := surface.ScoreSites(bg, ix, v, g, []int32{2}, m, 1); return err }, "test 0 is well 2"},
		"fold":         {func() error { _, err := surface.ScoreFolds(bg, ix, v, []int32{0, -1}, nil, m, 1); return err }, "fold -1 of well 1"},
		"ended, sites": {func() error { _, err := surface.ScoreSites(ended, ix, v, g, nil, m, 1); return err }, "canceled"},
		"ended, folds": {func() error { _, err := surface.ScoreFolds(ended, ix, v, g, nil, m, 1); return err }, "canceled"},
	} {
		t.Run(name, func(t *testing.T) {
			err := c.run()
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("error %v does not say %q", err, c.want)
			}
			if c.want == "canceled" && !errors.Is(err, context.Canceled) {
				t.Errorf("%v is not the context's error", err)
			}
		})
	}
}
