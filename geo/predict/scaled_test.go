package predict_test

import (
	"math"
	"testing"

	"tallybook/geo/predict"
)

// A hundredth of every value, and no probability moved.
func TestScaled(t *testing.T) {
	d, err := predict.NewDistribution([]predict.Sample{
		{Value: 1200, Weight: 2}, {Value: 1200, Weight: 1}, {Value: 4000, Weight: 1}, {Value: 5000, Weight: 2, Bound: predict.GreaterThan},
	})
	if err != nil {
		t.Fatal(err)
	}
	d = d.WithRanks(0.05, 0.6)
	s := d.Scaled(0.01)
	for p := 0.02; p < 1; p += 0.03 {
		if a, b := d.Quantile(p)*0.01, s.Quantile(p); a != b && math.Abs(a-b) > 1e-12*math.Abs(a) {
			t.Errorf("quantile %.2f: %g, want %g", p, b, a)
		}
	}
	if a, b := d.Range80(), s.Range80(); math.Abs(b.Low-a.Low/100) > 1e-12 || math.Abs(b.High-a.High/100) > 1e-12 {
		t.Errorf("range %v of %v", b, a)
	}
	share, from, ok := s.UpperUnknown()
	if wantShare, _, _ := d.UpperUnknown(); !ok || share != wantShare || from != 50 {
		t.Errorf("beyond %g lie %g", from, share)
	}
	if d.Median() != 1200 && d.Quantile(0.2) != 1200 {
		t.Error("the distribution that was scaled has changed")
	}
	for _, bad := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("scaled by %g", bad)
				}
			}()
			d.Scaled(bad)
		}()
	}
}
