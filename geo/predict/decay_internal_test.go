package predict

import (
	"math"
	"testing"
)

// TestDecayIsExp: the table and the series are the exponential function.
func TestDecayIsExp(t *testing.T) {
	table := newDecay()
	worst := 0.0
	for k := range 360_001 {
		x := float64(k) * 1e-4
		want := math.Exp(-x)
		worst = max(worst, math.Abs(table.of(x)-want)/want)
	}
	if worst > 1e-14 {
		t.Errorf("off by %.3g of the value, want at most 1e-14", worst)
	}
	if table.of(0) != 1 {
		t.Errorf("at nought %g, want exactly 1", table.of(0))
	}
}

func BenchmarkDecay(b *testing.B) {
	table := newDecay()
	for _, c := range []struct {
		name string
		f    func(x float64) float64
	}{{"table", table.of}, {"general function", func(x float64) float64 { return math.Exp(-x) }}} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			var sum float64
			for b.Loop() {
				for k := range 500 {
					sum += c.f(float64(k) * 0.05)
				}
			}
			if math.IsNaN(sum) {
				b.Fatal("not a number")
			}
		})
	}
}
