package variogram_test

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"tallybook/geo/variogram"
)

// The seven samples of E. H. Isaaks and R. M. Srivastava, An Introduction to
// Applied Geostatistics (Oxford, 1989), chapter 12, estimated at 65E, 137N;
// coordinates, values, estimates and variances (given to the unit and to the
// hundredth) as in a published re-computation of the chapter. The weights to
// the thousandth were worked outside this program.
var (
	sevenX = []float64{61, 63, 64, 68, 71, 73, 75}
	sevenY = []float64{139, 140, 129, 128, 140, 141, 128}
	sevenV = []float64{477, 696, 227, 646, 606, 791, 783}
)

func TestSevenSamples(t *testing.T) {
	one := func(nugget float64, s variogram.Structure) variogram.Model {
		return variogram.Model{Nugget: nugget, Structures: []variogram.Structure{s}}
	}
	exponential := func(sill, along, across, azimuth float64) variogram.Structure {
		return variogram.Structure{Shape: variogram.Exponential, Sill: sill, RangeM: along, AcrossM: across, AzimuthDeg: azimuth}
	}
	for _, c := range []struct {
		figure          string
		model           variogram.Model
		value, variance float64
		weights         []float64
	}{
		{"12.3", one(0, exponential(10, 10, 0, 0)), 593, 8.96, []float64{.173, .318, .129, .086, .151, .057, .086}},
		{"12.6", one(0, exponential(20, 10, 0, 0)), 593, 17.91, nil},
		{"12.8", one(0, variogram.Structure{Shape: variogram.Gaussian, Sill: 10, RangeM: 10}), 559, 4.78, []float64{-.022, .676, .166, -.013, .444, -.288, .037}},
		{"12.10", one(5, exponential(5, 10, 0, 0)), 597, 10.31, []float64{.179, .226, .131, .112, .137, .104, .111}},
		{"12.12", one(0, exponential(10, 20, 0, 0)), 572, 5.76, []float64{.178, .379, .142, .065, .198, .003, .034}},
		{"12.16", one(0, exponential(10, 20, 10, 135)), 620, 6.30, nil},
		{"12.18", one(0, exponential(10, 20, 10, 45)), 574, 8.16, nil},
		{"12.20", one(0, exponential(10, 100, 10, 135)), 654, 2.83, nil},
		// Worked by hand: equal weights, and 10 (1 + 1/7).
		{"nugget alone", variogram.Model{Nugget: 10}, 604, 11.43, []float64{.143, .143, .143, .143, .143, .143, .143}},
	} {
		t.Run(c.figure, func(t *testing.T) {
			k, err := variogram.NewKriging(sevenX, sevenY, sevenV, c.model, variogram.Options{})
			if err != nil {
				t.Fatal(err)
			}
			e, weights, err := k.Weights(65, 137)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "value", e.Value, c.value, 0.5)
			near(t, "variance", e.Variance, c.variance, 0.0051)
			negative := 0.0
			for i, w := range c.weights {
				near(t, "weight", weights[i].Weight, w, 0.0005+1e-6)
				negative += min(0, w)
			}
			if c.weights != nil {
				near(t, "negative weights", e.Negative, negative, 0.002)
			}
			if c.figure == "12.3" {
				near(t, "multiplier", e.Lagrange, -0.907, 0.0005)
				near(t, "value", e.Value, 592.73, 0.005)
			}
		})
	}
}

// field draws samples some metres apart or more, and a model for them.
type field struct {
	x, y, v []float64
	m       variogram.Model
	o       variogram.Options
}

func fields(t *rapid.T, nugget bool) field {
	n := rapid.IntRange(1, 40).Draw(t, "n")
	f := field{}
	f.x, f.y, f.v = scattered(rapid.Uint64Range(0, 1e6).Draw(t, "seed"), n)
	f.m.Structures = []variogram.Structure{{
		Shape:  rapid.SampledFrom([]variogram.Shape{variogram.Spherical, variogram.Exponential}).Draw(t, "shape"),
		Sill:   rapid.Float64Range(0.1, 100).Draw(t, "sill"),
		RangeM: rapid.Float64Range(10, 3000).Draw(t, "range"),
	}}
	if rapid.Bool().Draw(t, "anisotropic") {
		f.m.Structures[0].AcrossM, f.m.Structures[0].AzimuthDeg = f.m.Structures[0].RangeM/2, rapid.Float64Range(0, 180).Draw(t, "azimuth")
	}
	if nugget {
		f.m.Nugget = rapid.Float64Range(0.01, 20).Draw(t, "nugget")
		f.o.Nugget = rapid.SampledFrom([]variogram.NuggetAs{variogram.Microscale, variogram.Measurement}).Draw(t, "as")
	}
	f.o.Neighbours = rapid.SampledFrom([]int{0, 1, 8, 16}).Draw(t, "k")
	return f
}

type fataler interface {
	Helper()
	Fatal(...any)
	Fatalf(string, ...any)
}

func (f field) kriging(t fataler) *variogram.Kriging {
	t.Helper()
	k, err := variogram.NewKriging(f.x, f.y, f.v, f.m, f.o)
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func at(t fataler, k *variogram.Kriging, x, y float64) variogram.Estimate {
	t.Helper()
	e, err := k.At(x, y, nil)
	if err != nil {
		t.Fatalf("at %g, %g: %v", x, y, err)
	}
	return e
}

// No drift at the samples: without a nugget, or with one that is the ground's,
// each is met, with no error left. A nugget of measurement leaves both.
func TestExactAtSamples(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := fields(t, rapid.Bool().Draw(t, "with nugget"))
		k := f.kriging(t)
		drift := 0.0
		for i := range f.x {
			e := at(t, k, f.x[i], f.y[i])
			if f.m.Nugget == 0 || f.o.Nugget == variogram.Microscale {
				near(t, "value", e.Value, f.v[i], 1e-8)
				near(t, "variance", e.Variance, 0, 1e-9*f.m.Sill())
			}
			drift = max(drift, math.Abs(e.Value-f.v[i]))
		}
		if f.m.Nugget > 0 && f.o.Nugget == variogram.Measurement && f.o.Neighbours != 1 && len(f.x) > 1 && drift < 1e-9 {
			t.Errorf("a nugget of measurement error was taken for the ground's: the samples are met")
		}
	})
}

func TestWeightsAndOrderAndShift(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := fields(t, rapid.Bool().Draw(t, "with nugget"))
		x, y := rapid.Float64Range(-500, 1500).Draw(t, "x"), rapid.Float64Range(-500, 1500).Draw(t, "y")
		e, weights, err := f.kriging(t).Weights(x, y)
		if err != nil {
			t.Fatal(err)
		}
		sum, value := 0.0, 0.0
		for _, w := range weights {
			sum, value = sum+w.Weight, value+w.Weight*f.v[w.I]
		}
		near(t, "sum of weights", sum, 1, 1e-10)
		near(t, "weighted values", value, e.Value, 1e-9)
		if e.Variance < 0 || e.Variance > 3*f.m.Sill() {
			t.Errorf("variance %g with sill %g", e.Variance, f.m.Sill())
		}
		g := f
		g.x, g.y, g.v = nil, nil, nil
		for _, i := range rand.New(rand.NewPCG(1, 2)).Perm(len(f.x)) {
			g.x, g.y, g.v = append(g.x, f.x[i]+524_288), append(g.y, f.y[i]+4_194_304), append(g.v, f.v[i]+1000)
		}
		moved := at(t, g.kriging(t), x+524_288, y+4_194_304)
		near(t, "moved value", moved.Value, e.Value+1000, 1e-6)
		near(t, "moved variance", moved.Variance, e.Variance, 1e-7*f.m.Sill())
	})
}

// Each site left out, once by the inverse and once by kriging without it.
func TestLeaveOneSiteOut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := fields(t, rapid.Bool().Draw(t, "with nugget"))
		if len(f.x) < 3 {
			return
		}
		// Two more samples at the place of the first: one site.
		f.x, f.y, f.v = append(f.x, f.x[0], f.x[0]), append(f.y, f.y[0], f.y[0]), append(f.v, f.v[0]+3, f.v[0]-1)
		left, scores, err := f.kriging(t).LeaveOneSiteOut(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		if len(left) != len(f.x)-2 || scores.Sites != len(left) || len(left[0].Samples) != 3 {
			t.Fatalf("%d left out, %d scored, %d samples at the first site", len(left), scores.Sites, len(left[0].Samples))
		}
		for i, o := range left[:3] {
			g := f
			g.x, g.y, g.v = nil, nil, nil
			for j := range f.x {
				if f.x[j] != f.x[i] || f.y[j] != f.y[i] {
					g.x, g.y, g.v = append(g.x, f.x[j]), append(g.y, f.y[j]), append(g.v, f.v[j])
				}
			}
			e := at(t, g.kriging(t), f.x[i], f.y[i])
			near(t, "estimate", o.Estimated, e.Value, 1e-7)
			near(t, "variance", o.Variance, e.Variance, 1e-7*f.m.Sill())
		}
	})
}

// Two samples at one place with errors of measurement count as one of half the
// error; worked by hand: two at 0 m (10 and 20), far from one of 30, no
// structure to speak of between them; the weights are as 1/(1+0.5) to 1/(1+1).
func TestSamplesAtOnePlace(t *testing.T) {
	m := variogram.Model{Nugget: 1, Structures: []variogram.Structure{{Shape: variogram.Spherical, Sill: 1, RangeM: 1}}}
	x, y, v := []float64{0, 0, 100}, []float64{0, 0, 0}, []float64{10, 20, 30}
	k, err := variogram.NewKriging(x, y, v, m, variogram.Options{Nugget: variogram.Measurement})
	if err != nil {
		t.Fatal(err)
	}
	first, second := 1/1.5, 1/2.0
	e, weights, err := k.Weights(50, 0)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "between", e.Value, (first*15+second*30)/(first+second), 1e-12)
	for i, want := range []float64{first / 2, first / 2, second} {
		near(t, "weight", weights[i].Weight, want/(first+second), 1e-12)
	}
	if k, err = variogram.NewKriging(x, y, v, m, variogram.Options{}); err != nil {
		t.Fatal(err)
	}
	near(t, "at the pair", at(t, k, 0, 0).Value, 15, 1e-12)
	if k, err = variogram.NewKriging(x, y, v, m, variogram.Options{SiteM: 200}); err != nil {
		t.Fatal(err)
	}
	if e := at(t, k, 7, 7); e.Value != 20 || e.Sites != 1 {
		t.Errorf("all one site: %+v, want its mean of 20", e)
	}
}

// A gaussian model without nugget is refused, or its weights can be believed:
// never an answer that misses the samples.
func TestSingularIsAnError(t *testing.T) {
	refused, taken := 0, 0
	for seed := range uint64(200) {
		x, y, v := scattered(seed, 3+int(seed%40))
		m := variogram.Model{Structures: []variogram.Structure{{Shape: variogram.Gaussian, Sill: 10, RangeM: 100 + 20*float64(seed)}}}
		k, err := variogram.NewKriging(x, y, v, m, variogram.Options{})
		if errors.Is(err, variogram.ErrSingular) {
			refused++
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		taken++
		for i := range x {
			near(t, "at a sample", at(t, k, x[i], y[i]).Value, v[i], 1e-6)
		}
	}
	t.Logf("%d refused, %d taken", refused, taken)
	if refused < 20 || taken < 20 {
		t.Error("one of the two was hardly tried")
	}
}

func TestKrigingRefuses(t *testing.T) {
	good := variogram.Model{Structures: []variogram.Structure{{Sill: 1, RangeM: 10}}}
	for name, try := range map[string]func() error{
		"no sample": func() error { _, err := variogram.NewKriging(nil, nil, nil, good, variogram.Options{}); return err },
		"no model": func() error {
			_, err := variogram.NewKriging(sevenX, sevenY, sevenV, variogram.Model{}, variogram.Options{})
			return err
		},
		"bad range": func() error { return variogram.Model{Structures: []variogram.Structure{{Sill: 1}}}.Validate() },
		"bad sill": func() error {
			return variogram.Model{Structures: []variogram.Structure{{Sill: -1, RangeM: 1}}}.Validate()
		},
		"bad shape": func() error {
			return variogram.Model{Structures: []variogram.Structure{{Shape: 9, Sill: 1, RangeM: 1}}}.Validate()
		},
		"bad neighbour": func() error {
			_, err := variogram.NewKriging(sevenX, sevenY, sevenV, good, variogram.Options{Neighbours: -1})
			return err
		},
		"bad site": func() error {
			_, err := variogram.NewKriging(sevenX, sevenY, sevenV, good, variogram.Options{SiteM: -1})
			return err
		},
		"lengths": func() error {
			_, err := variogram.NewKriging(sevenX, sevenY[:3], sevenV, good, variogram.Options{})
			return err
		},
	} {
		if try() == nil {
			t.Errorf("%s was taken", name)
		}
	}
	k, err := variogram.NewKriging(sevenX, sevenY, sevenV, good, variogram.Options{RadiusM: 5})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := k.At(1000, 1000, nil); !errors.Is(err, variogram.ErrNoSamples) {
		t.Errorf("far away: %v", err)
	}
	if _, err := k.At(math.NaN(), 1, nil); !errors.Is(err, variogram.ErrNoSamples) {
		t.Errorf("nowhere: %v", err)
	}
	if e := at(t, k, 62, 139); e.Sites != 2 {
		t.Errorf("%d sites within 5 m, want 2", e.Sites)
	}
	// By hand: of the seven, 3-4 (4.123) and the pairs 1-2 and 5-6 (2.236) are
	// within 5 m; the seventh, 7 m from the fourth, has none.
	_, scores, err := k.LeaveOneSiteOut(context.Background())
	if err != nil || scores.Sites != 6 || scores.Missed != 1 {
		t.Errorf("%+v, %v; want 6 and 1", scores, err)
	}
}

// A surface asks for many thousands of places: none may leave rubbish behind.
func TestEstimatesReuseTheirMemory(t *testing.T) {
	x, y, v := scattered(2, 500)
	k, err := variogram.NewKriging(x, y, v, benchModel, variogram.Options{Neighbours: 16})
	if err != nil {
		t.Fatal(err)
	}
	var s variogram.Scratch
	if n := testing.AllocsPerRun(100, func() { _, _ = k.At(500.5, 321.5, &s) }); n != 0 {
		t.Errorf("%g allocations for each estimate", n)
	}
}

// Two sites beyond each other's reach, of two measurements (10, 20) and one
// (30), nugget 1 and sill 1; worked by hand. Each is estimated by the other
// alone: 30 where 15 was seen and the reverse. The first estimate's variance is
// 1 + 1 + 1, of the ground's two values and the one measurement, and its error
// adds 1/2 for the two measurements it is held against; the second's is
// 1 + 1 + 1/2, and adds 1.
func TestScoresByHand(t *testing.T) {
	m := variogram.Model{Nugget: 1, Structures: []variogram.Structure{{Shape: variogram.Spherical, Sill: 1, RangeM: 1}}}
	for name, o := range map[string]variogram.Options{
		"by the inverse": {Nugget: variogram.Measurement},
		"one by one":     {Nugget: variogram.Measurement, RadiusM: 1000},
	} {
		k, err := variogram.NewKriging([]float64{0, 0, 100}, []float64{0, 0, 0}, []float64{10, 20, 30}, m, o)
		if err != nil {
			t.Fatal(err)
		}
		left, scores, err := k.LeaveOneSiteOut(context.Background())
		if err != nil || len(left) != 2 {
			t.Fatalf("%s: %d left out, %v", name, len(left), err)
		}
		for i, want := range []variogram.LeftOut{
			{Observed: 15, Estimated: 30, Variance: 3, ErrorVariance: 3.5},
			{Observed: 30, Estimated: 15, Variance: 2.5, ErrorVariance: 3.5},
		} {
			near(t, name+": observed", left[i].Observed, want.Observed, 1e-12)
			near(t, name+": estimated", left[i].Estimated, want.Estimated, 1e-12)
			near(t, name+": variance", left[i].Variance, want.Variance, 1e-12)
			near(t, name+": variance of the error", left[i].ErrorVariance, want.ErrorVariance, 1e-12)
		}
		near(t, name+": mean error", scores.MeanError, 0, 1e-12)
		near(t, name+": root mean square", scores.RootMeanSquare, 15, 1e-12)
		near(t, name+": standardised", scores.StandardisedSquare, 225/3.5, 1e-10)
	}
}
