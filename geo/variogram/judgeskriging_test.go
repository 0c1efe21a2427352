//go:build judges

package variogram_test

import (
	"context"
	"fmt"
	"math"
	"testing"

	"tallybook/geo/variogram"
)

func TestJudgeKriging(t *testing.T) {
	structure := func(shape variogram.Shape, sill, rangeM float64) variogram.Structure {
		return variogram.Structure{Shape: shape, Sill: sill, RangeM: rangeM}
	}
	models := []variogram.Model{
		{Nugget: 0.05, Structures: []variogram.Structure{structure(variogram.Spherical, 0.59, 897)}},
		{Structures: []variogram.Structure{structure(variogram.Exponential, 0.7, 1200)}},
		{Nugget: 0.15, Structures: []variogram.Structure{structure(variogram.Gaussian, 0.5, 800)}},
		{Nugget: 0.02, Structures: []variogram.Structure{structure(variogram.Spherical, 0.2, 300), structure(variogram.Exponential, 0.5, 2000)}},
		{Nugget: 0.05, Structures: []variogram.Structure{{Shape: variogram.Spherical, Sill: 0.59, RangeM: 1200, AcrossM: 480, AzimuthDeg: 40}}},
	}
	options := []variogram.Options{{}, {Neighbours: 12}, {Neighbours: 40, RadiusM: 700}}
	// Places anywhere, and five of the samples. With measurement error two of
	// the samples are there twice, with other values: the judge takes two at
	// the very same place to share one error, so the second is set a thousandth
	// of a millimetre beside the first, and we join the two to one site.
	script := `set.seed(5); n <- 150
p <- data.frame(x = runif(n, 178700, 181300), y = runif(n, 329800, 333600))
p[1:5, ] <- coordinates(meuse)[c(3, 40, 77, 100, 150), ]
give("places", p); coordinates(p) <- ~x+y
twice <- data.frame(x = coordinates(meuse)[, 1], y = coordinates(meuse)[, 2], v = meuse$v)
more <- twice[c(3, 40), ]; more$v <- more$v + c(0.3, -0.2); more$x <- more$x + 1e-6; twice <- rbind(twice, more)
give("twice", twice); coordinates(twice) <- ~x+y
`
	for i, m := range models {
		for as, kind := range kinds {
			for o, opt := range options {
				if skipped(m, as) {
					continue
				}
				script += judgedKriging(i, o, m, opt, kind)
			}
		}
	}
	tables := judge(t, script)
	places := tables("places")
	for i, m := range models {
		for as, kind := range kinds {
			for o, opt := range options {
				if skipped(m, as) {
					continue
				}
				t.Run(fmt.Sprintf("model %d %s options %d", i, kind, o), func(t *testing.T) {
					samples := tables("samples")
					opt.Nugget = variogram.NuggetAs(as)
					if opt.Nugget == variogram.Measurement && opt.Neighbours == 0 {
						samples, opt.SiteM = tables("twice"), 1e-5
					}
					k, err := variogram.NewKriging(samples["x"], samples["y"], samples["v"], m, opt)
					if err != nil {
						t.Fatal(err)
					}
					compareEstimates(t, k, places, tables(fmt.Sprintf("k_%d_%s_%d", i, kind, o)))
					if opt.Nugget == variogram.Microscale {
						compareLeftOut(t, k, tables(fmt.Sprintf("cv_%d_%s_%d", i, kind, o)))
					}
				})
			}
		}
	}
}

// kinds is the judge's names for what a nugget is, in the order of ours.
var kinds = []string{"Nug", "Err"}

// skipped is a measurement error of nothing.
func skipped(m variogram.Model, as int) bool { return m.Nugget == 0 && as == 1 }

// judgedKriging is the judge's script for one model and choice.
func judgedKriging(i, o int, m variogram.Model, opt variogram.Options, as string) string {
	model := ""
	for j, s := range m.Structures {
		direction := ""
		if s.AcrossM > 0 {
			direction = fmt.Sprintf(", anis = c(%g, %g)", s.AzimuthDeg, s.AcrossM/s.RangeM)
		}
		add := ""
		if j > 0 {
			add = ", add.to = " + model
		}
		model = fmt.Sprintf("vgm(%g, '%s', %.17g%s%s)", s.Sill, theirs[s.Shape].name, s.RangeM/theirs[s.Shape].times, direction, add)
	}
	if m.Nugget > 0 {
		model = fmt.Sprintf("vgm(%g, '%s', 0, add.to = %s)", m.Nugget, as, model)
	}
	limits, data := "", "meuse"
	if opt.Neighbours > 0 {
		limits = fmt.Sprintf(", nmax = %d", opt.Neighbours)
	} else if as == "Err" {
		data = "twice"
	}
	if opt.RadiusM > 0 {
		limits += fmt.Sprintf(", maxdist = %g", opt.RadiusM)
	}
	script := fmt.Sprintf("k <- krige(v ~ 1, %s, p, %s%s, debug.level = 0); give('k_%d_%s_%d', data.frame(value = k$var1.pred, variance = k$var1.var))\n", data, model, limits, i, as, o)
	if as == "Nug" {
		script += fmt.Sprintf("k <- krige.cv(v ~ 1, meuse, %s%s, verbose = FALSE, debug.level = 0); give('cv_%d_%s_%d', data.frame(value = k$var1.pred, variance = k$var1.var))\n", model, limits, i, as, o)
	}
	return script
}

func compareEstimates(t *testing.T, k *variogram.Kriging, places, want map[string][]float64) {
	t.Helper()
	w := worst{}
	var s variogram.Scratch
	none := 0
	for i := range places["x"] {
		e, err := k.At(places["x"][i], places["y"][i], &s)
		if math.IsNaN(want["value"][i]) {
			none++
			if err == nil {
				t.Errorf("place %d: %+v where the judge has no sample", i, e)
			}
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		w.compare(t, "value", e.Value, want["value"][i], 1e-6)
		w.compare(t, "variance", e.Variance, want["variance"][i], 1e-6)
	}
	if len(want["value"]) != 150 || none > 75 {
		t.Errorf("%d places, %d without value: too few were compared", len(want["value"]), none)
	}
	t.Logf("%d places, %d without sample; worst differences %v", len(want["value"]), none, w)
}

func compareLeftOut(t *testing.T, k *variogram.Kriging, want map[string][]float64) {
	t.Helper()
	left, _, err := k.LeaveOneSiteOut(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	if len(left) != len(want["value"]) || len(left) < 150 {
		t.Fatalf("%d sites left out, the judge's %d", len(left), len(want["value"]))
	}
	w := worst{}
	for i, o := range left {
		if math.IsNaN(want["value"][i]) != math.IsNaN(o.Estimated) {
			t.Errorf("site %d: %g, the judge's %g", i, o.Estimated, want["value"][i])
		} else if !math.IsNaN(o.Estimated) {
			w.compare(t, "left out", o.Estimated, want["value"][i], 1e-6)
			w.compare(t, "its variance", o.Variance, want["variance"][i], 1e-6)
		}
	}
	t.Logf("left out one by one: %v", w)
}
