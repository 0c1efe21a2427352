package predict_test

import (
	"math"
	"testing"

	"tallybook/geo/position"
	"tallybook/geo/predict"
)

// TestRangeHoldsTheEstimate: where the estimate is off to the same side nearly
// everywhere (a plane without noise, seen by half of its slope), the range
// still has the estimate in it.
func TestRangeHoldsTheEstimate(t *testing.T) {
	proj := position.ForExtent(-40, 44, -39.7, 44.3)
	obs, err := predict.NewObservations(400, func(i int) predict.Observation {
		at := position.LonLat{Lon: -40 + 0.012*float64(i%20), Lat: 44 + 0.009*float64(i/20)}
		o := predict.Observation{At: at, Value: 60 + float64(i/20), Year: 1970 + float64(i%50), Key: uint64(i + 1)}
		o.XM, o.YM = proj.Forward(at)
		return o
	}, proj, predict.ObservationOptions{Unit: 1})
	if err != nil {
		t.Fatal(err)
	}
	m, _, err := predict.Calibrate(t.Context(), obs, predict.CalibrationOptions{Holdout: predict.Holdout{Seed: 1}})
	if err != nil {
		t.Fatal(err)
	}
	for i := range 200 {
		at := position.LonLat{Lon: -40 + 0.001*float64(i), Lat: 44.19 - 0.0009*float64(i)}
		e, err := m.At(predict.Site{At: at}, predict.LeaveOut{})
		if err != nil {
			t.Fatal(err)
		}
		for what, d := range map[string]*predict.Distribution{"from neighbours": &e.FromNeighbours, "of the area": &e.Area} {
			r, middle := d.Range80(), d.Median()
			if !(r.Low <= middle && middle <= r.High) || math.IsNaN(middle) {
				t.Fatalf("%s, site %d: about %g, 8 in 10 between %g and %g", what, i, middle, r.Low, r.High)
			}
		}
	}
}
