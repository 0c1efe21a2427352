package variogram_test

import (
	"context"
	"errors"
	"math"
	"testing"

	"tallybook/geo/variogram"
)

// TestDeclusterByHand: three samples of 10 within one cell of 100 m, one of 2 and
// one of 0 in cells of their own: three occupied cells, so each cell's mean
// counts a third: (10 + 2 + 0)/3 = 4; plain 32/5. The crowd's samples weigh
// 5/9 each, the others 5/3; half the weight, 2.5, is passed at 2.
func TestDeclusterByHand(t *testing.T) {
	x, y := []float64{0, 1, 2, 150, 350}, make([]float64, 5)
	v := []float64{10, 10, 10, 2, 0}
	d, err := variogram.Decluster(context.Background(), x, y, v, variogram.Cells{SmallestM: 100, LargestM: 100, Origins: 1})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean", d.Mean, 4, 1e-12)
	near(t, "plain mean", d.PlainMean, 6.4, 1e-12)
	near(t, "weight in the crowd", d.Weights[1], 5./9, 1e-12)
	near(t, "weight alone", d.Weights[4], 5./3, 1e-12)
	if d.Median != 2 || d.PlainMedian != 10 || len(d.Tried) != 1 || d.Tried[0].Cells != 3 {
		t.Errorf("%+v", d)
	}
}

// TestDeclusterProperties: the smallest and the largest cells give the plain
// mean; weights are above zero and sum to the number of samples; an even net
// away from its rim is left alone; the end that is sought is found.
func TestDeclusterProperties(t *testing.T) {
	ctx := context.Background()
	x, y, v := scattered(15, 300)
	for i := range 150 { // a crowd on high values
		x[i], y[i], v[i] = 500+x[i]/20, 500+y[i]/20, v[i]+30
	}
	for _, side := range []float64{0.5, 1e7} {
		d, err := variogram.Decluster(ctx, x, y, v, variogram.Cells{SmallestM: side, LargestM: side})
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(d.Mean-d.PlainMean) > 0.02*d.PlainMean {
			t.Errorf("cells of %g m: %g, plain %g", side, d.Mean, d.PlainMean)
		}
	}
	cells := variogram.Cells{SmallestM: 5, LargestM: 500}
	d, err := variogram.Decluster(ctx, x, y, v, cells)
	if err != nil {
		t.Fatal(err)
	}
	sum := 0.0
	for _, w := range d.Weights {
		if !(w > 0) {
			t.Fatal("a weight is not above zero")
		}
		sum += w
	}
	near(t, "sum of weights", sum, 300, 1e-9)
	if !d.Lowest || d.Mean > d.PlainMean-8 || len(d.Tried) != 24 {
		t.Errorf("a crowd on high values: %g, plain %g, lowest %v", d.Mean, d.PlainMean, d.Lowest)
	}
	for _, tr := range d.Tried {
		if tr.Mean < d.Mean-1e-9 {
			t.Errorf("cells of %g m give %g, less than %g", tr.CellM, tr.Mean, d.Mean)
		}
	}
	cells.Seek = variogram.SeekHighest
	if h, err := variogram.Decluster(ctx, x, y, v, cells); err != nil || h.Lowest || h.Mean < d.Mean {
		t.Errorf("the highest: %g %v", h.Mean, err)
	}
	for i := range v {
		v[i] = -v[i]
	}
	cells.Seek = variogram.SeekEither
	if m, err := variogram.Decluster(ctx, x, y, v, cells); err != nil || m.Lowest || math.Abs(m.Mean+d.Mean) > 1e-9 {
		t.Errorf("turned round: %g, want %g: %v", m.Mean, -d.Mean, err)
	}
}

func TestDeclusterRefuses(t *testing.T) {
	one := []float64{1}
	for name, c := range map[string]variogram.Cells{"no size": {}, "falling": {SmallestM: 3, LargestM: 2}, "no number": {SmallestM: math.NaN(), LargestM: 2}} {
		if _, err := variogram.Decluster(context.Background(), one, one, one, c); err == nil {
			t.Errorf("%s is taken", name)
		}
	}
	if _, err := variogram.Decluster(context.Background(), []float64{0, 1e9}, []float64{0, 1e9}, []float64{1, 2}, variogram.Cells{SmallestM: 1, LargestM: 2}); err == nil {
		t.Error("a grid without end is taken")
	}
	if _, err := variogram.Decluster(context.Background(), nil, nil, nil, variogram.Cells{SmallestM: 1, LargestM: 2}); !errors.Is(err, variogram.ErrNoSamples) {
		t.Error(err)
	}
}
