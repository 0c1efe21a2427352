package predict_test

import (
	"context"
	"testing"

	"tallybook/geo/predict"
)

// BenchmarkPast forecasts 4,000 wells from those before them.
func BenchmarkPast(b *testing.B) {
	m, err := predict.NewModel(observe(b, generate(country{n: benchWells(b), seed: 5, signal: 1, noise: 0.4, dated: true})), predict.DefaultParams())
	if err != nil {
		b.Fatal(err)
	}
	b.Run("forecasts", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			past(b, m, predict.PastOptions{})
		}
	})
	b.Run("choices", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if _, err := m.PastChoices(context.Background(), predict.PastOptions{}); err != nil {
				b.Fatal(err)
			}
		}
	})
}

// BenchmarkPastNaively builds the set as it was before each well.
func BenchmarkPastNaively(b *testing.B) {
	rows := generate(country{n: benchWells(b), seed: 5, signal: 1, noise: 0.4, dated: true})
	b.ReportAllocs()
	i := 0
	for b.Loop() { // one forecast
		var earlier []predict.Observation
		for _, o := range rows {
			if o.Year < float64(int(rows[i%4000].Year)) {
				earlier = append(earlier, o)
			}
		}
		i++
		if len(earlier) == 0 {
			continue
		}
		m, err := predict.NewModel(observe(b, earlier), predict.DefaultParams())
		if err != nil {
			b.Fatal(err)
		}
		if _, err := m.At(predict.Site{At: rows[(i-1)%4000].At}, predict.LeaveOut{WithinM: 1}); err != nil {
			b.Fatal(err)
		}
	}
}
