package variogram_test

import (
	"context"
	"errors"
	"math"
	"slices"
	"testing"

	"tallybook/geo/variogram"
)

var fillModel = variogram.Model{Nugget: 2, Structures: []variogram.Structure{{Shape: variogram.Spherical, Sill: 40, RangeM: 350}}}

// TestFillIsAt: a whole grid at once gives what one place after another gives,
// also where the places share systems, and on any number of goroutines.
func TestFillIsAt(t *testing.T) {
	x, y, v := scattered(11, 220)
	const side = 60
	place := func(i int) (float64, float64, bool) {
		return float64(i%side) * 18, float64(i/side) * 18, i%7 != 3
	}
	for name, o := range map[string]variogram.Options{"nearest": {Neighbours: 12}, "within": {Neighbours: 16, RadiusM: 90}, "all": {}} {
		k, err := variogram.NewKriging(x, y, v, fillModel, o)
		if err != nil {
			t.Fatal(err)
		}
		f, err := k.Fill(context.Background(), side*side, 1, place)
		if err != nil {
			t.Fatal(err)
		}
		places, negative := 0, 0
		for i := range side * side {
			px, py, ok := place(i)
			e, err := k.At(px, py, nil)
			if !ok || err != nil {
				if !math.IsNaN(f.Value[i]) || !math.IsNaN(f.Variance[i]) {
					t.Errorf("%s: place %d has %g", name, i, f.Value[i])
				}
				continue
			}
			places++
			if e.Negative < 0 {
				negative++
			}
			if math.Abs(f.Value[i]-e.Value) > 1e-9 || math.Abs(f.Variance[i]-e.Variance) > 1e-9 {
				t.Fatalf("%s: place %d: %g +- %g, one by one %g +- %g", name, i, f.Value[i], f.Variance[i], e.Value, e.Variance)
			}
		}
		if f.Places != places || math.Abs(float64(f.Negative-negative)) > 3 || f.Singular != 0 || f.Beyond > f.Negative {
			t.Errorf("%s: %d places (%d), %d with negative weights (%d)", name, f.Places, places, f.Negative, negative)
		}
		g, err := k.Fill(context.Background(), side*side, 3, place)
		same := func(a, b float64) bool { return math.Float64bits(a) == math.Float64bits(b) }
		if err != nil || !slices.EqualFunc(f.Value, g.Value, same) || !slices.EqualFunc(f.Variance, g.Variance, same) {
			t.Errorf("%s: three goroutines give another answer: %v", name, err)
		}
		t.Logf("%s: %d places, %d with weights below zero, %d beyond their samples", name, f.Places, f.Negative, f.Beyond)
	}
}

// TestFillAtSamples: where the nugget is of the ground, the surface passes
// through every sample with no error (D. G. Krige's estimate is exact: Isaaks
// and Srivastava 1989, chapter 12).
func TestFillAtSamples(t *testing.T) {
	x, y, v := scattered(12, 300)
	k, err := variogram.NewKriging(x, y, v, fillModel, variogram.Options{Neighbours: 20})
	if err != nil {
		t.Fatal(err)
	}
	f, err := k.Fill(context.Background(), len(x), 0, func(i int) (float64, float64, bool) { return x[i], y[i], true })
	if err != nil {
		t.Fatal(err)
	}
	for i := range x {
		if math.Abs(f.Value[i]-v[i]) > 1e-8 || f.Variance[i] > 1e-8 {
			t.Errorf("sample %d: %g +- %g, is %g", i, f.Value[i], f.Variance[i], v[i])
		}
	}
}

func TestFillStops(t *testing.T) {
	x, y, v := scattered(13, 100)
	k, err := variogram.NewKriging(x, y, v, fillModel, variogram.Options{Neighbours: 8})
	if err != nil {
		t.Fatal(err)
	}
	gone, stop := context.WithCancel(context.Background())
	stop()
	if _, err := k.Fill(gone, 5000, 0, func(i int) (float64, float64, bool) { return float64(i), 0, true }); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}

// TestWithoutAndHidden: leaving samples out is as if they had never been there.
func TestWithoutAndHidden(t *testing.T) {
	x, y, v := scattered(14, 150)
	x[20], y[20] = x[21], y[21]
	o := variogram.Options{Neighbours: 10}
	k, err := variogram.NewKriging(x, y, v, fillModel, o)
	if err != nil {
		t.Fatal(err)
	}
	odd := func(s []float64) (out []float64) {
		for i, f := range s {
			if i%2 == 1 {
				out = append(out, f)
			}
		}
		return out
	}
	// Samples 20 and 21 stand together, so both go.
	less, err := k.Without(func(i int32) bool { return i%2 == 1 }, fillModel)
	if err != nil {
		t.Fatal(err)
	}
	ox, oy, ov := odd(x), odd(y), odd(v)
	ox, oy, ov = slices.Delete(ox, 10, 11), slices.Delete(oy, 10, 11), slices.Delete(ov, 10, 11)
	want, err := variogram.NewKriging(ox, oy, ov, fillModel, o)
	if err != nil || less.Sites() != 74 {
		t.Fatal(less.Sites(), err)
	}
	if a, b := at(t, less, 333, 444), at(t, want, 333, 444); a != b {
		t.Errorf("without half of them %+v, of the other half %+v", a, b)
	}
	hidden, err := k.AtHidden(x[20], y[20], 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	left, _, err := k.LeaveOneSiteOut(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	if got := left[20].Estimated; len(left[20].Samples) != 2 || math.Abs(got-hidden.Value) > 1e-9 {
		t.Errorf("hidden %g, left out %g of %v", hidden.Value, got, left[20].Samples)
	}
	if _, err := k.Without(func(int32) bool { return false }, fillModel); !errors.Is(err, variogram.ErrNoSamples) {
		t.Errorf("without any: %v", err)
	}
}
