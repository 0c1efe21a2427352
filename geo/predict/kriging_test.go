package predict_test

import (
	"context"
	"errors"
	"math"
	"testing"

	"tallybook/geo/near"
	"tallybook/geo/predict"
	"tallybook/geo/variogram"
)

// TestKrigingEqualsBruteForce tests every well by a system of its own from the
// wells that it may see. Sites hidden: the model of the whole set; blocks
// hidden: one fitted to the lags of the other folds alone.
func TestKrigingEqualsBruteForce(t *testing.T) {
	rows := scoredRows()
	obs := observe(t, rows)
	n := len(rows)
	x, y, z := make([]float64, n), make([]float64, n), make([]float64, n)
	key := make([]uint64, n)
	for i, o := range rows {
		x[i], y[i], z[i], key[i] = o.XM, o.YM, math.Log1p(o.Value), o.Key
	}
	folds, err := near.Blocks(x, y, 20000, 5, 4)
	if err != nil {
		t.Fatal(err)
	}
	pick := func(v []float64, some []int32) []float64 {
		out := make([]float64, len(some))
		for k, i := range some {
			out[k] = v[i]
		}
		return out
	}
	one, err := variogram.OnePerSite(x, y, 1, variogram.Sampling{Key: key})
	if err != nil {
		t.Fatal(err)
	}
	whole, err := variogram.Learn(context.Background(), pick(x, one), pick(y, one), pick(z, one), variogram.Sampling{})
	if err != nil {
		t.Fatal(err)
	}
	fitted := func(hide int32) variogram.Model {
		var rest []int32
		for _, i := range one {
			if folds[i] != hide {
				rest = append(rest, i)
			}
		}
		e, err := variogram.Measure(context.Background(), pick(x, rest), pick(y, rest), pick(z, rest), whole.Binning)
		if err != nil {
			t.Fatal(err)
		}
		f, err := variogram.FitBest(e, variogram.LearntShapes, variogram.PairsOverSquare, variogram.Classical)
		if err != nil {
			t.Fatal(err)
		}
		return f.Model
	}
	for _, by := range []predict.By{predict.BySite, predict.ByBlock} {
		var mae, square float64
		for i := range rows {
			m := whole.Fitted.Model
			hidden := folds
			if by == predict.BySite {
				hidden = nil
			} else {
				m = fitted(folds[i])
			}
			var see []int32
			for _, j := range others(rows, i, hidden) {
				see = append(see, int32(j))
			}
			k, err := variogram.NewKriging(pick(x, see), pick(y, see), pick(z, see), m, variogram.Options{Neighbours: 16, SiteM: 1})
			if err != nil {
				t.Fatal(err)
			}
			e, err := k.At(x[i], y[i], nil)
			if err != nil {
				t.Fatal(err)
			}
			// The middle of a hundred steps of the normal is its mean.
			d := math.Expm1(max(e.Value, 0)) - rows[i].Value
			mae += math.Abs(d) / float64(n)
			square += d * d / float64(n)
		}
		s, err := predict.Score(context.Background(), obs, predict.Method{Kind: predict.Kriging, Log: true, K: 16},
			predict.ScoreOptions{Holdout: predict.Holdout{By: by, BlockM: 20000, Folds: 5, Seed: 4}})
		if err != nil || s.Tested != n {
			t.Fatal(s.Tested, err)
		}
		// The median of the steps lies between the two middle ones, through exp.
		if math.Abs(s.MAE/mae-1) > 2e-3 || math.Abs(s.RMSE/math.Sqrt(square)-1) > 2e-3 {
			t.Errorf("by %v: MAE %g RMSE %g, brute force %g %g", by, s.MAE, s.RMSE, mae, math.Sqrt(square))
		}
		t.Logf("by %v: MAE %.4f CRPS %.4f, 80 %% held %.1f %%, adjusted %.1f %%", by, s.MAE, s.CRPS, 100*s.Raw.Share, 100*s.Adjusted.Share)
	}
}

// TestKrigingIgnoresBounds: bounds change nothing for it, and it says how many
// there were.
func TestKrigingIgnoresBounds(t *testing.T) {
	rows := generate(country{n: 300, seed: 5, signal: 1, noise: 0.3, greater: 0.2})
	s, err := predict.Score(context.Background(), observe(t, rows), predict.Method{Kind: predict.Kriging}, predict.ScoreOptions{})
	if err != nil {
		t.Fatal(err)
	}
	bounds := 0
	for _, o := range rows {
		if o.Bound != predict.Exact {
			bounds++
		}
	}
	if s.Unused != bounds || bounds < 30 || s.Tested != 300 {
		t.Errorf("%d unused of %d bounds, %d tested", s.Unused, bounds, s.Tested)
	}
	flat := generate(country{n: 40, seed: 6})
	for i := range flat {
		flat[i].Value = 7
	}
	if _, err := predict.Score(context.Background(), observe(t, flat), predict.Method{Kind: predict.Kriging}, predict.ScoreOptions{}); !errors.Is(err, predict.ErrTooFew) {
		t.Errorf("equal values: %v", err)
	}
}

func TestCompare(t *testing.T) {
	rows := generate(country{n: 1200, seed: 8, signal: 1, noise: 0.3, clumps: true})
	obs := observe(t, rows)
	methods := []predict.Method{{Kind: predict.GlobalMedian}, {Kind: predict.AreaMedian}, {Kind: predict.InverseDistance}, {Kind: predict.Kriging, Log: true}, {Kind: predict.Neighbours}}
	o := predict.ScoreOptions{Holdout: predict.Holdout{Seed: 1}}
	c, err := predict.Compare(context.Background(), obs, methods, 4, o, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, m := range methods {
		s, d := c.Methods[i], c.Differences[i]
		if m.Kind != predict.Neighbours { // which here is not shown its own choices
			alone, err := predict.Score(context.Background(), obs, m, o)
			if err != nil || alone.MAE != s.MAE || alone.RMSE != s.RMSE {
				t.Errorf("%v: %g, alone %g: %v", m, s.MAE, alone.MAE, err)
			}
		}
		if d.Tested != 1200 || math.Abs(d.MAE.Mean-(s.MAE-c.Methods[4].MAE)) > 1e-9 || math.Abs(d.RMSE.Mean-(s.RMSE-c.Methods[4].RMSE)) > 1e-9 {
			t.Errorf("%v: %+v", m, d)
		}
		if d.MAE.Low > d.MAE.Mean || d.MAE.High < d.MAE.Mean {
			t.Errorf("%v: the range %+v does not hold its mean", m, d.MAE)
		}
		if hasCRPS := m.Kind != predict.GlobalMedian && m.Kind != predict.InverseDistance; hasCRPS != (d.TestedCRPS == 1200) || hasCRPS && math.Abs(d.CRPS.Mean-(s.CRPS-c.Methods[4].CRPS)) > 1e-9 {
			t.Errorf("%v: CRPS %+v over %d", m, d.CRPS, d.TestedCRPS)
		}
	}
	if self := c.Differences[4].MAE; self != (predict.Drawn{}) || self.Tells() {
		t.Errorf("a method differs from itself by %+v", self)
	}
	if d := c.Differences[0].MAE; !d.Tells() || d.Low < 0 {
		t.Errorf("the median of all is as good as the neighbours: %+v", d)
	}
	if c.Squares < 40 || c.Runs != 1999 {
		t.Errorf("%d squares of %g m drawn %d times", c.Squares, c.SquareM, c.Runs)
	}
	if again, _ := predict.Compare(context.Background(), obs, methods, 4, o, nil); again.Differences[0].MAE != c.Differences[0].MAE {
		t.Error("the same seed gives another range")
	}
	if _, err := predict.Compare(context.Background(), obs, methods, 5, o, nil); err == nil {
		t.Error("a reference that is not there")
	}
	// Where kriging has nothing to fit to the others are still compared.
	for i := range rows {
		rows[i].Value = 3
	}
	flat, err := predict.Compare(context.Background(), observe(t, rows), methods, 4, o, nil)
	if err != nil || flat.Methods[3].Tested != 0 || !math.IsNaN(flat.Methods[3].MAE) || flat.Differences[3].Tested != 0 || flat.Methods[2].Tested != 1200 {
		t.Errorf("equal values: %+v %v", flat.Methods[3], err)
	}
}
