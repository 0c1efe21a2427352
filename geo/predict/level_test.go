package predict_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"tallybook/geo/predict"
)

// hilly is holes in an invented country with hills of 40 m: the depth to rock
// and the rock's level are two ways to say one thing.
func hilly(n int, seed uint64, depthOf func(ground float64, rock func(east, north float64) float64, east, north float64) float64) (depth, level []predict.Observation, ground []float64) {
	projection := countryProjection()
	hills, rock := field(seed), field(seed+1)
	r := rand.New(rand.NewPCG(seed, 9))
	for i := range n {
		at := place(r)
		x, y := projection.Forward(at)
		g := 200 + 40*hills(x, y)
		d := max(0, depthOf(g, rock, x, y)+1.5*r.NormFloat64())
		o := predict.Observation{At: at, XM: x, YM: y, Value: d, Year: math.NaN(), Key: uint64(i)*2654435761 + 1}
		depth = append(depth, o)
		o.Value = g - d + 1000
		level, ground = append(level, o), append(ground, g+1000)
	}
	return depth, level, ground
}

func observationsOf(t testing.TB, rows []predict.Observation, unit float64) *predict.Observations {
	t.Helper()
	o, err := predict.NewObservations(len(rows), func(i int) predict.Observation { return rows[i] }, countryProjection(), predict.ObservationOptions{Unit: unit})
	if err != nil {
		t.Fatal(err)
	}
	return o
}

func trial(t testing.TB, depth, level []predict.Observation, ground []float64, h predict.Holdout) predict.LevelTrial {
	t.Helper()
	out, err := predict.CompareLevels(t.Context(), observationsOf(t, depth, 0), observationsOf(t, level, predict.PlainUnit), ground, h)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// Where rock lies flat under hills its level is the better way, where a blanket
// of like thickness lies on it its depth is: each by more than luck, by sites and
// by blocks.
func TestLevelOrDepth(t *testing.T) {
	flat := func(g float64, rock func(x, y float64) float64, x, y float64) float64 {
		return g - (100 + 4*rock(x, y))
	}
	blanket := func(_ float64, rock func(x, y float64) float64, x, y float64) float64 { return 12 + 4*rock(x, y) }
	for _, by := range []predict.By{predict.BySite, predict.ByBlock} {
		h := predict.Holdout{By: by, Seed: 1}
		a, b, g := hilly(900, 21, flat)
		one := trial(t, a, b, g, h)
		a, b, g = hilly(900, 21, blanket)
		two := trial(t, a, b, g, h)
		t.Logf("by %v: flat rock %+v; blanket %+v", by, one, two)
		if !(one.Difference.High < 0 && one.Level.CRPS < 0.7*one.Depth.CRPS && one.Level.MAE < one.Depth.MAE) || one.Tested != 900 {
			t.Errorf("by %v: over flat rock the level is not clearly better: %+v", by, one)
		}
		if !(two.Difference.Low > 0 && two.Depth.CRPS < 0.7*two.Level.CRPS && two.Depth.MAE < two.Level.MAE) {
			t.Errorf("by %v: under a blanket the depth is not clearly better: %+v", by, two)
		}
	}
}

// Where the ground is level the two ways differ by their scale alone, and little;
// and it does not matter whence levels are counted.
func TestLevelsFromAnywhere(t *testing.T) {
	a, b, g := hilly(400, 5, func(_ float64, rock func(x, y float64) float64, x, y float64) float64 { return 30 + 4*rock(x, y) })
	first := trial(t, a, b, g, predict.Holdout{Seed: 1})
	for i := range b {
		b[i].Value += 2000
		g[i] += 2000
	}
	second := trial(t, a, b, g, predict.Holdout{Seed: 1})
	if first.Depth != second.Depth || math.Abs(first.Level.CRPS-second.Level.CRPS) > 1e-3 || first.Level.Params != second.Level.Params {
		t.Errorf("counted from elsewhere: %+v and %+v", first, second)
	}
	for i := range a { // level ground
		b[i].Value, g[i] = 3000-a[i].Value, 3000
	}
	even := trial(t, a, b, g, predict.Holdout{Seed: 1})
	if math.Abs(even.Level.CRPS/even.Depth.CRPS-1) > 0.03 {
		t.Errorf("on level ground the ways differ: %+v", even)
	}
}

func TestCompareLevelsRefuses(t *testing.T) {
	a, b, g := hilly(30, 5, func(float64, func(x, y float64) float64, float64, float64) float64 { return 10 })
	depth, level := observationsOf(t, a, 0), observationsOf(t, b, predict.PlainUnit)
	if _, err := predict.CompareLevels(t.Context(), depth, level, g[1:], predict.Holdout{}); err == nil {
		t.Error("a surface of other holes was taken")
	}
	few := observationsOf(t, a[:19], 0)
	if _, err := predict.CompareLevels(t.Context(), few, few, g[:19], predict.Holdout{}); err != predict.ErrTooFew { //nolint:errorlint // a sentinel, not wrapped
		t.Errorf("19 holes: %v", err)
	}
	stopped, stop := context.WithCancel(t.Context())
	stop()
	if _, err := predict.CompareLevels(stopped, depth, level, g, predict.Holdout{}); err == nil {
		t.Error("a cancelled trial gave an answer")
	}
}
