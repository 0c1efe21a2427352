package predict_test

import (
	"context"
	"math"
	"testing"

	"tallybook/geo/position"
	"tallybook/geo/predict"
)

// TestGridIsAtInTowns: however wells stand and however dense the sites are, a
// grid says to the last digit what each site says alone: wells in towns, many on
// one spot, bounds both ways; sites far wider apart than wells, far closer, all
// on one spot.
func TestGridIsAtInTowns(t *testing.T) {
	rows := generate(country{n: 4000, seed: 11, signal: 1, noise: 0.3, clumps: true, greater: 0.05, less: 0.01})
	for i := range rows {
		if i%4 == 0 && i > 400 { // a thousand wells on a hundred spots
			from := rows[i%400]
			rows[i].At, rows[i].XM, rows[i].YM = from.At, from.XM, from.YM
		}
		if i%50 == 0 {
			rows[i].Bound, rows[i].High = predict.Between, rows[i].Value+3
		}
	}
	m, _ := calibrate(t, rows, predict.CalibrationOptions{Holdout: predict.Holdout{TestWells: 500}})
	town := rows[0].At
	for _, c := range []struct {
		name    string
		stepDeg float64
		middle  position.LonLat
	}{
		{"over all", 0.06, position.LonLat{Lon: countryLon, Lat: countryLat}},
		{"a parish", 0.004, position.LonLat{Lon: countryLon, Lat: countryLat}},
		{"a town", 0.0004, town},
		{"a yard", 1e-6, town},
		{"one spot", 0, town},
	} {
		t.Run(c.name, func(t *testing.T) {
			var points []position.LonLat
			for i := range 24 * 18 {
				points = append(points, position.LonLat{
					Lon: c.middle.Lon + c.stepDeg*float64(i%24-12), Lat: c.middle.Lat + 0.65*c.stepDeg*float64(i/24-9),
				})
			}
			g, err := m.EvaluateGrid(context.Background(), predict.GridRequest{Points: points, Quantiles: []float64{0.5, 0.8}})
			if err != nil {
				t.Fatal(err)
			}
			for i, at := range points {
				e, err := m.At(predict.Site{At: at}, predict.LeaveOut{})
				if err != nil {
					t.Fatal(err)
				}
				d := e.Best()
				low := d.Range80().Low
				if d.Range80().AtMostLow {
					low = 0
				}
				got := []float64{g.Quantile[0][i], g.Quantile[1][i], g.Low[i], g.Skill[i]}
				for k, want := range []float64{d.Median(), d.Quantile(0.8), low, e.Skill.Skill} {
					if got[k] != want {
						t.Fatalf("point %d, number %d: grid %g, site %g", i, k, got[k], want)
					}
				}
				if g.Verdict[i] != e.Skill.Verdict || math.Abs(g.NearestM[i]-e.Basis.NearestM) > 1e-6 {
					t.Fatalf("point %d: %v %g, site %v %g", i, g.Verdict[i], g.NearestM[i], e.Skill.Verdict, e.Basis.NearestM)
				}
			}
		})
	}
}
