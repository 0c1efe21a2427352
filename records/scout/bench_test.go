package scout_test

import (
	"math/rand/v2"
	"testing"

	"tallybook/records"
	"tallybook/records/scout"
)

// voters is what an estimate stands on: 32 near wells and 200 of the area,
// half of them without strikes.
func voters() []scout.Neighbour {
	r := rand.New(rand.NewPCG(1, 2))
	holes := make([]scout.Neighbour, 232)
	for i := range holes {
		bedrock := 10 + 100*r.Float64()
		depth := bedrock + 50 + 500*r.Float64()
		holes[i] = hole(int64(i+1), bedrock, depth, [2]float64{bedrock + 20 + 20*r.Float64(), 1}, [2]float64{depth - 5, 10 * r.Float64()})
		if i%2 == 0 {
			holes[i].Strikes = nil
		}
		holes[i].Weight = r.Float64()
	}
	return holes
}

func BenchmarkCostOf(b *testing.B) {
	holes, r := voters(), scout.InventedRates()
	for _, c := range []struct {
		name   string
		budget scout.Cents
	}{{"plan", 0}, {"budget", 1_500_000}} {
		b.Run(c.name, func(b *testing.B) {
			p := plan()
			p.Budget = c.budget
			b.ReportAllocs()
			for b.Loop() {
				if _, err := scout.CostOf(holes, p, scout.Own{}, &r); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkGoOn(b *testing.B) {
	holes, r := voters(), scout.InventedRates()
	b.ReportAllocs()
	for b.Loop() {
		scout.GoOn(holes, bit(), []records.Length{50 * ft, 100 * ft, 200 * ft}, 0, &r)
	}
}
