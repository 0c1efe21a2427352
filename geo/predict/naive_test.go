package predict_test

import (
	"errors"
	"math"
	"sort"
	"testing"

	"tallybook/geo/position"
	"tallybook/geo/predict"
)

// naive follows the steps of the estimate word for word, with no thought of
// speed: all wells sorted by distance, every value listed, sorted and summed.
type naive struct {
	rows   []predict.Observation
	params predict.Params
}

type weighted struct{ value, weight float64 }

// mixture returns the votes and the area as weighted values.
func (nv naive) mixture(site predict.Site, leaveWithinM float64) []weighted {
	projection := countryProjection()
	x, y := projection.Forward(site.At)
	type far struct {
		o       predict.Observation
		d2      float64
		e, n, d float64
	}
	var all []far
	for _, o := range nv.rows {
		d2 := (o.XM-x)*(o.XM-x) + (o.YM-y)*(o.YM-y)
		if leaveWithinM > 0 && d2 <= leaveWithinM*leaveWithinM {
			continue
		}
		all = append(all, far{o: o, d2: d2})
	}
	sort.SliceStable(all, func(i, j int) bool {
		if all[i].d2 != all[j].d2 {
			return all[i].d2 < all[j].d2
		}
		return all[i].o.Key < all[j].o.Key
	})
	p := nv.params
	m := p.Area
	if len(nv.rows) < 4*m {
		m = max(len(nv.rows)/4, 8)
	}
	m = min(m, len(all))
	area := all[:m]
	around := append([]far(nil), all[:min(max(p.Near, p.SlopeWells), len(all))]...)
	plane := position.NewPlane(site.At)
	for i := range around {
		a := &around[i]
		a.e, a.n = plane.ToXY(a.o.At)
		acc := float64(float32(a.o.AccuracyM))
		if !(acc > 0) {
			acc = 0
		}
		a.d = math.Sqrt(a.e*a.e + a.n*a.n + acc*acc + site.AccuracyM*site.AccuracyM)
	}
	sort.SliceStable(around, func(i, j int) bool { return around[i].d < around[j].d })
	voters := around[:min(p.Near, len(around))]

	var d8 float64
	for _, v := range voters[:min(8, len(voters))] {
		d8 += v.d / float64(min(8, len(voters)))
	}
	d8 = max(d8, 0.5)

	alike := func(o predict.Observation) float64 {
		if o.Category != 0 && site.Category != 0 && o.Category != site.Category {
			return p.Gamma
		}
		return 1
	}
	weights := make([]float64, len(voters))
	var total float64
	for i, v := range voters {
		w := 1 / (1 + math.Pow(v.d/(p.WeightScale*d8), 2))
		var crowd float64
		for _, o := range voters {
			crowd += math.Exp(-math.Hypot(v.e-o.e, v.n-o.n) / (p.CrowdScale * d8))
		}
		weights[i] = w / math.Pow(crowd, p.CrowdExponent) * alike(v.o)
		total += weights[i]
	}

	var sv, me, mn, mz float64
	near64 := around[:min(p.SlopeWells, len(around))]
	slopeV := make([]float64, len(near64))
	for i, v := range near64 {
		slopeV[i] = 1 / (1 + math.Pow(v.d/(p.SlopeScale*d8), 2))
		sv += slopeV[i]
	}
	for i, v := range near64 {
		slopeV[i] /= sv
		me += slopeV[i] * v.e / d8
		mn += slopeV[i] * v.n / d8
		mz += slopeV[i] * math.Log(1+v.o.Value)
	}
	var ee, en, nn, ez, nz float64
	for i, v := range near64 {
		e, n, z := v.e/d8-me, v.n/d8-mn, math.Log(1+v.o.Value)-mz
		ee += slopeV[i] * e * e
		en += slopeV[i] * e * n
		nn += slopeV[i] * n * n
		ez += slopeV[i] * e * z
		nz += slopeV[i] * n * z
	}
	ee, nn = ee+p.SlopeRidge, nn+p.SlopeRidge
	det := ee*nn - en*en
	be, bn := (nn*ez-en*nz)/det, (ee*nz-en*ez)/det

	var sw, mean, variance float64
	for _, a := range area {
		sw += alike(a.o)
	}
	for _, a := range area {
		mean += alike(a.o) / sw * math.Log(1+a.o.Value)
	}
	for _, a := range area {
		d := math.Log(1+a.o.Value) - mean
		variance += alike(a.o) / sw * d * d
	}
	s := p.BlurShare * math.Sqrt(variance)

	var out []weighted
	back := func(z float64) float64 { return math.Max(math.Exp(z)-1, 0) }
	for i, v := range voters {
		if v.o.Value == 0 {
			out = append(out, weighted{0, weights[i]})
			continue
		}
		z := math.Log(1+v.o.Value) - p.SlopeShare*(be*v.e/d8+bn*v.n/d8)
		out = append(out,
			weighted{back(z), weights[i] * 5 / 9},
			weighted{back(z - 1.5*s), weights[i] * 2 / 9},
			weighted{back(z + 1.5*s), weights[i] * 2 / 9})
	}
	for _, a := range area {
		out = append(out, weighted{a.o.Value, p.Kappa * alike(a.o) / sw})
	}
	return out
}

func TestFastEqualsNaive(t *testing.T) {
	for _, c := range []struct {
		name    string
		country country
		site    predict.Site
		change  func(*predict.Params)
		spoil   func([]predict.Observation)
	}{
		{name: "plain", country: country{n: 3000, seed: 1, signal: 1, noise: 0.4}},
		{name: "clumped", country: country{n: 3000, seed: 2, signal: 1, noise: 0.4, clumps: true}},
		{name: "categories", country: country{n: 3000, seed: 3, signal: 1, noise: 0.4, categories: 1},
			site: predict.Site{Category: 2}, change: func(p *predict.Params) { p.Gamma = 0.2 }},
		{name: "few", country: country{n: 100, seed: 4, signal: 1, noise: 0.4}},
		{name: "fewer than voters", country: country{n: 20, seed: 5, signal: 1, noise: 0.4}},
		{name: "zeros", country: country{n: 2000, seed: 6, signal: 1, noise: 1}, spoil: func(rows []predict.Observation) {
			for i := range rows {
				if i%5 == 0 {
					rows[i].Value = 0
				}
			}
		}},
		{name: "poorly located", country: country{n: 2000, seed: 7, signal: 1, noise: 0.4}, site: predict.Site{AccuracyM: 50},
			spoil: func(rows []predict.Observation) {
				for i := range rows {
					rows[i].AccuracyM = float64(i%7) * 300
				}
			}},
		{name: "half crowding", country: country{n: 2000, seed: 8, signal: 1, noise: 0.4, clumps: true},
			change: func(p *predict.Params) { p.CrowdExponent = 0.5 }},
		{name: "all on one spot", country: country{n: 50, seed: 9, signal: 1, noise: 0.4}, spoil: func(rows []predict.Observation) {
			for i := range rows {
				rows[i].At, rows[i].XM, rows[i].YM = rows[0].At, rows[0].XM, rows[0].YM
			}
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			rows := generate(c.country)
			if c.spoil != nil {
				c.spoil(rows)
			}
			params := predict.DefaultParams()
			if c.change != nil {
				c.change(&params)
			}
			m, err := predict.NewModel(observe(t, rows), params)
			if err != nil {
				t.Fatal(err)
			}
			nv := naive{rows, params}
			// The last site is on a well, and leaves it out: with the well in, its own
			// vote and its place in the area differ in the last digit, and the naive
			// way may put one before the other.
			for i, at := range append(scatter(31, 8), rows[1].At) {
				site := c.site
				site.At = at
				leave := float64(i%2) * 1.0
				e, err := m.At(site, predict.LeaveOut{WithinM: leave})
				if c.name == "all on one spot" && i == 31 {
					if !errors.Is(err, predict.ErrTooFew) {
						t.Fatalf("nothing left: error %v", err)
					}
					continue
				}
				if err != nil {
					t.Fatal(err)
				}
				var samples []predict.Sample
				for _, w := range nv.mixture(site, leave) {
					samples = append(samples, predict.Sample{Value: w.value, Weight: w.weight})
				}
				want, err := predict.NewDistribution(samples)
				if err != nil {
					t.Fatal(err)
				}
				for _, p := range []float64{0, 0.05, 0.1, 0.3, 0.5, 0.7, 0.9, 1} {
					got, want := e.FromNeighbours.Quantile(p), want.Quantile(p)
					if math.Abs(got-want) > 1e-8*(1+want) {
						t.Fatalf("site %d: quantile %g = %.12g, naive %.12g", i, p, got, want)
					}
				}
				for _, y := range []float64{0, 3, 20, 400} {
					got, want := e.FromNeighbours.CRPS(y), want.CRPS(y)
					if math.Abs(got-want) > 1e-8*(1+want) {
						t.Fatalf("site %d: CRPS(%g) = %.12g, naive %.12g", i, y, got, want)
					}
				}
			}
		})
	}
}
