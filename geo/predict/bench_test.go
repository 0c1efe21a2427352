package predict_test

import (
	"context"
	"os"
	"strconv"
	"testing"

	"tallybook/geo/position"
	"tallybook/geo/predict"
)

// benchWells is how many generated wells the large benchmarks use; set
// TALLYBOOK_BENCH_WELLS=1000000 to run them by hand at a million.
func benchWells(b *testing.B) int {
	b.Helper()
	s := os.Getenv("TALLYBOOK_BENCH_WELLS")
	if s == "" {
		return 43000
	}
	n, err := strconv.Atoi(s)
	if err != nil {
		b.Fatal(err)
	}
	return n
}

func BenchmarkNewObservations(b *testing.B) {
	rows := generate(country{n: benchWells(b), seed: 5, signal: 1, noise: 0.4})
	b.ReportAllocs()
	for b.Loop() {
		observe(b, rows)
	}
	b.ReportMetric(float64(len(rows)*b.N)/b.Elapsed().Seconds(), "wells/s")
}

// BenchmarkEstimate is one site after another with everything settled.
func BenchmarkEstimate(b *testing.B) {
	rows := generate(country{n: benchWells(b), seed: 5, signal: 1, noise: 0.4})
	bounded := generate(country{n: benchWells(b), seed: 5, signal: 1, noise: 0.4, greater: 0.3})
	mixed := generate(country{n: benchWells(b), seed: 5, signal: 1, noise: 0.4, greater: 0.3, less: 0.1})
	for _, c := range []struct {
		name string
		rows []predict.Observation
	}{{"values", rows}, {"lower limits", bounded}, {"limits both ways", mixed}} {
		b.Run(c.name, func(b *testing.B) {
			m, err := predict.NewModel(observe(b, c.rows), predict.DefaultParams())
			if err != nil {
				b.Fatal(err)
			}
			p := m.Predictor()
			sites := scatter(1000, 9)
			b.ReportAllocs()
			i := 0
			for b.Loop() {
				if _, _, err := p.Distribution(predict.Site{At: sites[i%len(sites)]}, predict.LeaveOut{}); err != nil {
					b.Fatal(err)
				}
				i++
			}
		})
	}
}

func BenchmarkCalibrate(b *testing.B) {
	obs := observe(b, generate(country{n: benchWells(b), seed: 5, signal: 1, noise: 0.4}))
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := predict.Calibrate(context.Background(), obs, predict.CalibrationOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkCalibrateLimits is the same with limits both ways all over: the
// dearest case.
func BenchmarkCalibrateLimits(b *testing.B) {
	obs := observe(b, generate(country{n: benchWells(b), seed: 5, signal: 1, noise: 0.4, greater: 0.1, less: 0.1}))
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := predict.Calibrate(context.Background(), obs, predict.CalibrationOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkCalibrateNaively does the same tests without sharing the search and
// one pass over the values among all kappas: a model for each.
func BenchmarkCalibrateNaively(b *testing.B) {
	obs := observe(b, generate(country{n: benchWells(b), seed: 5, signal: 1, noise: 0.4}))
	b.ReportAllocs()
	for b.Loop() {
		for _, kappa := range []float64{0.06, 0.12, 0.25, 0.5, 1, 2, 4, 16, 64} {
			params := predict.DefaultParams()
			params.Kappa = kappa
			m, err := predict.NewModel(obs, params)
			if err != nil {
				b.Fatal(err)
			}
			p := m.Predictor()
			for i := range min(12000, obs.Len()) {
				d, _, err := p.Distribution(predict.Site{At: obs.Observation(i).At}, predict.LeaveOut{WithinM: 1})
				if err != nil {
					b.Fatal(err)
				}
				d.CRPS(float64(i % 50))
			}
		}
	}
}

// BenchmarkGrid is a surface of 200 x 150 sites: median, range, a probability
// and the local verdict of each.
func BenchmarkGrid(b *testing.B) {
	obs := observe(b, generate(country{n: benchWells(b), seed: 5, signal: 1, noise: 0.4}))
	m, _, err := predict.Calibrate(context.Background(), obs, predict.CalibrationOptions{})
	if err != nil {
		b.Fatal(err)
	}
	var points []position.LonLat
	for r := range 150 {
		for c := range 200 {
			points = append(points, position.LonLat{
				Lon: countryLon + (float64(c)/199-0.5)*countryWidthDeg,
				Lat: countryLat + (float64(r)/149-0.5)*countryHeightDeg,
			})
		}
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := m.EvaluateGrid(context.Background(), predict.GridRequest{
			Points: points, Quantiles: []float64{0.5}, Thresholds: []float64{20},
		}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(len(points)*b.N)/b.Elapsed().Seconds(), "sites/s")
}
