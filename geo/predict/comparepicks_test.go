package predict_test

import (
	"context"
	"math"
	"testing"

	"tallybook/geo/predict"
)

// TestPicksCompared holds the estimate against kriging on the open set of bedrock
// picks. What is asserted was measured once, with some room for another draw; by
// the root mean square kriging is ahead, and that is asserted too.
func TestPicksCompared(t *testing.T) {
	obs := picks(t, "how kriging does beside the estimate")
	methods := []predict.Method{{Kind: predict.Neighbours}, {Kind: predict.Kriging}, {Kind: predict.Kriging, Log: true}, {Kind: predict.InverseDistance}}
	for _, c := range []struct {
		by predict.By
		// MAE and CRPS of the three that give a distribution, metres.
		mae, crps [3]float64
	}{
		{predict.BySite, [3]float64{6.75, 6.86, 7.25}, [3]float64{4.89, 5.15, 5.44}},
		{predict.ByBlock, [3]float64{9.05, 9.24, 9.12}, [3]float64{6.44, 6.89, 6.69}},
	} {
		got, err := predict.Compare(context.Background(), obs, methods, 0, predict.ScoreOptions{Holdout: predict.Holdout{By: c.by, Seed: 1}}, nil)
		if err != nil {
			t.Fatal(err)
		}
		for i, m := range got.Methods {
			d := got.Differences[i]
			t.Logf("by %-5s %-40s MAE %.2f (%+.2f to %+.2f) RMSE %.2f (%+.2f to %+.2f) CRPS %.2f (%+.2f to %+.2f) held %.1f %%, adjusted %.1f %%", c.by, m.Method,
				m.MAE, d.MAE.Low, d.MAE.High, m.RMSE, d.RMSE.Low, d.RMSE.High, m.CRPS, d.CRPS.Low, d.CRPS.High, 100*m.Raw.Share, 100*m.Adjusted.Share)
			if i == 3 {
				continue
			}
			if math.Abs(m.MAE/c.mae[i]-1) > 0.02 || math.Abs(m.CRPS/c.crps[i]-1) > 0.02 {
				t.Errorf("by %s: %s has MAE %.3f and CRPS %.3f, measured before %.2f and %.2f", c.by, m.Method, m.MAE, m.CRPS, c.mae[i], c.crps[i])
			}
			if i > 0 && !(d.CRPS.Low > 0) {
				t.Errorf("by %s: the CRPS of %s is not surely above that of the estimate: %+v", c.by, m.Method, d.CRPS)
			}
		}
		if k := got.Differences[1].RMSE; !(k.High < 0) {
			t.Errorf("by %s: the root mean square of kriging is not surely below that of the estimate: %+v", c.by, k)
		}
		if got.Squares < 500 || got.SquareM != 10000 {
			t.Errorf("%d squares of %g m", got.Squares, got.SquareM)
		}
	}
}
