package predict_test

import (
	"context"
	"math"
	"testing"

	"tallybook/geo/position"
	"tallybook/geo/predict"
)

// TestPresumedCategory: the nearest known category is taken, none where it is
// too far or where all are alike; and a surface asked with categories point by
// point says at each point what the site asked alone says.
func TestPresumedCategory(t *testing.T) {
	proj := position.ForExtent(-40, 44, -39.9, 44.1)
	at := func(east, north float64) position.LonLat {
		x, y := proj.Forward(position.LonLat{Lon: -39.95, Lat: 44.05})
		return proj.Inverse(x+east, y+north)
	}
	// West of the middle rock 1 gives 1 to 2, east of it rock 2 gives 20 to 21;
	// one well in between names none.
	build := func(second uint16) *predict.Observations {
		var all []predict.Observation
		for i := range 60 {
			o := predict.Observation{Category: 1, Value: 1 + float64(i%7)/7, Year: math.NaN(), Key: uint64(i + 1)}
			east := -200 - 60*float64(i%10)
			if i%2 == 1 {
				o.Category, o.Value, east = second, 20+float64(i%7)/7, 200+60*float64(i%10)
			}
			o.At = at(east, 90*float64(i/10))
			all = append(all, o)
		}
		all = append(all, predict.Observation{At: at(10, 0), Value: 5, Year: math.NaN(), Key: 99})
		obs, err := predict.NewObservations(len(all), func(i int) predict.Observation {
			o := all[i]
			o.XM, o.YM = proj.Forward(o.At)
			return o
		}, proj, predict.ObservationOptions{Unit: 1})
		if err != nil {
			t.Fatal(err)
		}
		return obs
	}
	obs := build(2)
	if c, d, ok := obs.PresumedCategory(at(60, 0), 2000); !ok || c != 2 || math.Abs(d-200) > 1 {
		t.Errorf("60 m east: category %d at %g m, %v; want 2 at 200 m", c, d, ok)
	}
	if c, _, ok := obs.PresumedCategory(at(-150, 0), 2000); !ok || c != 1 {
		t.Errorf("150 m west: category %d, %v; want 1", c, ok)
	}
	if _, _, ok := obs.PresumedCategory(at(0, -5000), 2000); ok {
		t.Error("a category is taken from five kilometres off")
	}
	if same := build(1); same.Alike() {
		t.Error("one category in all plays a part")
	} else if _, _, ok := same.PresumedCategory(at(-150, 0), 2000); ok {
		t.Error("a category is presumed where all are alike")
	}
	m, _, err := predict.Calibrate(context.Background(), obs, predict.CalibrationOptions{Params: predict.DefaultParams()})
	if err != nil {
		t.Fatal(err)
	}
	points := []position.LonLat{at(-20, 50), at(20, 50), at(120, 200)}
	categories := make([]uint16, len(points))
	for i := range points {
		categories[i], _, _ = obs.PresumedCategory(points[i], 2000)
	}
	g, err := m.EvaluateGrid(context.Background(), predict.GridRequest{Points: points, Categories: categories, Quantiles: []float64{0.5}})
	if err != nil {
		t.Fatal(err)
	}
	for i := range points {
		e, err := m.At(predict.Site{At: points[i], Category: categories[i]}, predict.LeaveOut{})
		if err != nil {
			t.Fatal(err)
		}
		if got, want := g.Quantile[0][i], e.Best().Median(); got != want {
			t.Errorf("point %d: the surface says %g, the site %g", i, got, want)
		}
	}
}
