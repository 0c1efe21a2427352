package variogram_test

import (
	"context"
	"fmt"
	"testing"

	"tallybook/geo/variogram"
)

var benchModel = variogram.Model{Nugget: 1, Structures: []variogram.Structure{{Shape: variogram.Exponential, Sill: 50, RangeM: 400}}}

func BenchmarkMeasure(b *testing.B) {
	for _, n := range []int{1000, 5000} {
		x, y, v := scattered(1, n)
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := variogram.Measure(context.Background(), x, y, v, variogram.Binning{WidthM: 30, CutoffM: 450}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkFit(b *testing.B) {
	x, y, v := scattered(1, 1000)
	e, err := variogram.Measure(context.Background(), x, y, v, variogram.Binning{WidthM: 30, CutoffM: 450})
	if err != nil {
		b.Fatal(err)
	}
	for name, shapes := range map[string][]variogram.Shape{"one": {variogram.Spherical}, "two": {variogram.Spherical, variogram.Exponential}} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := variogram.Fit(e, shapes, variogram.PairsOverSquare, variogram.Classical); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkKrigingAt(b *testing.B) {
	for _, c := range []struct{ n, neighbours int }{{100_000, 16}, {100_000, 32}, {500, 0}} {
		x, y, v := scattered(1, c.n)
		k, err := variogram.NewKriging(x, y, v, benchModel, variogram.Options{Neighbours: c.neighbours})
		if err != nil {
			b.Fatal(err)
		}
		b.Run(fmt.Sprintf("n=%d k=%d", c.n, c.neighbours), func(b *testing.B) {
			b.ReportAllocs()
			var s variogram.Scratch
			i := 0
			for b.Loop() {
				i++
				if _, err := k.At(float64(i*37%1000)+.5, float64(i*91%1000)+.5, &s); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkLeaveOneSiteOut(b *testing.B) {
	x, y, v := scattered(1, 500)
	k, err := variogram.NewKriging(x, y, v, benchModel, variogram.Options{})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, _, err := k.LeaveOneSiteOut(context.Background()); err != nil {
			b.Fatal(err)
		}
	}
}
