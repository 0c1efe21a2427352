package predict_test

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"sort"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"tallybook/geo/near"
	"tallybook/geo/predict"
)

// scoredRows are few enough to score by brute force, with shared positions among
// them.
func scoredRows() []predict.Observation {
	rows := generate(country{n: 400, seed: 81, signal: 1, noise: 0.3, clumps: true})
	for i := 0; i < len(rows); i += 5 {
		rows[i].At, rows[i].XM, rows[i].YM = rows[i/2].At, rows[i/2].XM, rows[i/2].YM
	}
	return rows
}

// others are the wells that a test of well i may see, nearest first.
func others(rows []predict.Observation, i int, folds []int32) []int {
	type far struct {
		j  int
		d2 float64
	}
	var all []far
	for j := range rows {
		d2 := math.Pow(rows[j].XM-rows[i].XM, 2) + math.Pow(rows[j].YM-rows[i].YM, 2)
		if d2 <= 1 || (folds != nil && folds[j] == folds[i]) {
			continue
		}
		all = append(all, far{j, d2})
	}
	sort.Slice(all, func(a, b int) bool {
		if all[a].d2 != all[b].d2 {
			return all[a].d2 < all[b].d2
		}
		return rows[all[a].j].Key < rows[all[b].j].Key
	})
	out := make([]int, len(all))
	for k, f := range all {
		out[k] = f.j
	}
	return out
}

// TestScoreEqualsBruteForce scores the plain methods on every well by loops over
// all wells.
func TestScoreEqualsBruteForce(t *testing.T) {
	rows := scoredRows()
	obs := observe(t, rows)
	x, y := make([]float64, len(rows)), make([]float64, len(rows))
	values := make([]float64, len(rows))
	for i, o := range rows {
		x[i], y[i], values[i] = o.XM, o.YM, o.Value
	}
	blocks, err := near.Blocks(x, y, 20000, 5, 4)
	if err != nil {
		t.Fatal(err)
	}
	sort.Float64s(values)
	const threshold = 20
	for _, by := range []predict.By{predict.BySite, predict.ByBlock} {
		var folds []int32
		if by == predict.ByBlock {
			folds = blocks
		}
		idw := func(power float64, k int) func(i int) float64 {
			return func(i int) float64 {
				var sum, weights float64
				for _, j := range others(rows, i, folds)[:k] {
					w := 1 / math.Pow(math.Hypot(rows[j].XM-rows[i].XM, rows[j].YM-rows[i].YM), power)
					sum += w * rows[j].Value
					weights += w
				}
				return sum / weights
			}
		}
		for _, c := range []struct {
			method   predict.Method
			estimate func(i int) float64
		}{
			{predict.Method{Kind: predict.GlobalMedian}, func(int) float64 { return (values[199] + values[200]) / 2 }},
			{predict.Method{Kind: predict.NearestWell}, func(i int) float64 { return rows[others(rows, i, folds)[0]].Value }},
			{predict.Method{Kind: predict.InverseDistance}, idw(2, 12)},
			{predict.Method{Kind: predict.InverseDistance, Power: 1.5, K: 7}, idw(1.5, 7)},
			{predict.Method{Kind: predict.AreaMedian}, func(i int) float64 {
				var area []float64
				for _, j := range others(rows, i, folds)[:100] { // a quarter of 400
					area = append(area, rows[j].Value)
				}
				sort.Float64s(area)
				return (area[49] + area[50]) / 2
			}},
		} {
			s, err := predict.Score(context.Background(), obs, c.method, predict.ScoreOptions{
				Holdout: predict.Holdout{By: by, BlockM: 20000, Folds: 5, Seed: 4}, Thresholds: []float64{threshold},
			})
			if err != nil {
				t.Fatal(err)
			}
			var mae, square, wrong float64
			for i := range rows {
				e := c.estimate(i)
				mae += math.Abs(e-rows[i].Value) / float64(len(rows))
				square += (e - rows[i].Value) * (e - rows[i].Value) / float64(len(rows))
				if (e >= threshold) != (rows[i].Value >= threshold) {
					wrong += 1 / float64(len(rows))
				}
			}
			if s.Tested != len(rows) || math.Abs(s.MAE-mae) > 1e-9*mae || math.Abs(s.RMSE-math.Sqrt(square)) > 1e-9*s.RMSE {
				t.Errorf("%v by %v: %d tested, MAE %.9g RMSE %.9g; brute force %d, %.9g, %.9g", c.method, by, s.Tested, s.MAE, s.RMSE, len(rows), mae, math.Sqrt(square))
			}
			if c.method.Kind != predict.AreaMedian {
				if math.Abs(s.Brier[0]-wrong) > 1e-9 {
					t.Errorf("%v by %v: Brier score of a certainty %.6f, share wrong %.6f", c.method, by, s.Brier[0], wrong)
				}
				if !math.IsNaN(s.CRPS) || !math.IsNaN(s.Raw.Share) {
					t.Errorf("%v: a spread from one number: %+v", c.method, s)
				}
			}
		}
	}
}

// TestScoreOfNeighboursIsTheReport: Score and Calibrate test alike.
func TestScoreOfNeighboursIsTheReport(t *testing.T) {
	rows := generate(country{n: 1500, seed: 82, signal: 1, noise: 0.3, greater: 0.1})
	for _, by := range []predict.By{predict.BySite, predict.ByBlock} {
		h := predict.Holdout{By: by, Seed: 6}
		s, err := predict.Score(context.Background(), observe(t, rows), predict.Method{}, predict.ScoreOptions{Holdout: h})
		if err != nil {
			t.Fatal(err)
		}
		_, r := calibrate(t, rows, predict.CalibrationOptions{Holdout: h})
		got := []float64{s.CRPS, s.MAE, s.Raw.Share, s.Adjusted.Share, s.Params.Kappa}
		want := []float64{r.CRPS, r.MAE, r.Raw.Share, r.Adjusted.Share, r.Params.Kappa}
		if d := cmp.Diff(want, got, cmpopts.EquateApprox(1e-9, 0)); d != "" {
			t.Errorf("by %v: report and score differ:\n%s", by, d)
		}
	}
}

// TestScoreIsSettledByItsSeed: not by the order of rows nor the workers.
func TestScoreIsSettledByItsSeed(t *testing.T) {
	rows := scoredRows()
	turned := append([]predict.Observation(nil), rows...)
	rand.New(rand.NewPCG(3, 2)).Shuffle(len(turned), func(i, j int) { turned[i], turned[j] = turned[j], turned[i] })
	for _, m := range predict.Methods() {
		var got [3]predict.Scores
		for k, c := range []struct {
			rows    []predict.Observation
			workers int
			seed    uint64
		}{{rows, 1, 5}, {turned, 4, 5}, {rows, 1, 6}} {
			s, err := predict.Score(context.Background(), observe(t, c.rows), m, predict.ScoreOptions{
				Holdout: predict.Holdout{By: predict.ByBlock, Seed: c.seed, Workers: c.workers, TestWells: 200}, Thresholds: []float64{10},
			})
			if err != nil {
				t.Fatal(err)
			}
			got[k] = s
		}
		if d := cmp.Diff(got[0], got[1], cmpopts.EquateNaNs()); d != "" {
			t.Errorf("%v depends on order:\n%s", m, d)
		}
		if got[0].MAE == got[2].MAE {
			t.Errorf("%v: another seed gave the same draw", m)
		}
	}
}

func TestScoreRefuses(t *testing.T) {
	few := observe(t, generate(country{n: 19, seed: 1, signal: 1, noise: 0.4}))
	if _, err := predict.Score(context.Background(), few, predict.Method{}, predict.ScoreOptions{}); !errors.Is(err, predict.ErrTooFew) {
		t.Errorf("19 wells: error %v", err)
	}
	obs := observe(t, scoredRows())
	for _, m := range []predict.Method{{Kind: 77}, {Kind: predict.InverseDistance, Power: -1}, {Kind: predict.InverseDistance, K: -3}} {
		if _, err := predict.Score(context.Background(), obs, m, predict.ScoreOptions{}); err == nil {
			t.Errorf("%v was scored", m)
		}
	}
}
