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

// BenchmarkFill kriges a grid from the nearest 24; cells/s is what counts. gstat's
// krige with nmax = 24 does the same.
func BenchmarkFill(b *testing.B) {
	for _, n := range []int{10_000, 100_000} {
		x, y, v := scattered(1, n)
		k, err := variogram.NewKriging(x, y, v, benchModel, variogram.Options{Neighbours: 24})
		if err != nil {
			b.Fatal(err)
		}
		for _, side := range []int{100, 500} {
			b.Run(fmt.Sprintf("n=%d/%dx%d", n, side, side), func(b *testing.B) {
				for b.Loop() {
					_, err := k.Fill(context.Background(), side*side, 0, func(i int) (float64, float64, bool) {
						return (float64(i%side) + .5) * 1000 / float64(side), (float64(i/side) + .5) * 1000 / float64(side), true
					})
					if err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(float64(side*side)*float64(b.N)/b.Elapsed().Seconds(), "cells/s")
			})
		}
	}
}

// BenchmarkStructure is all that a chart of the structure needs, lags chosen and
// values dealt out, from wells of which pairs are drawn.
func BenchmarkStructure(b *testing.B) {
	for _, n := range []int{2_000, 100_000, 1_000_000} {
		x, y, v := scattered(1, n)
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				l, err := variogram.Learn(context.Background(), x, y, v, variogram.Sampling{})
				if err != nil {
					b.Fatal(err)
				}
				if _, err := l.Pairs.Shuffled(context.Background(), 199, 1); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkDecluster(b *testing.B) {
	for _, n := range []int{10_000, 1_000_000} {
		x, y, v := scattered(1, n)
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			for b.Loop() {
				if _, err := variogram.Decluster(context.Background(), x, y, v, variogram.Cells{SmallestM: 10, LargestM: 300}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
