package predict_test

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"tallybook/geo/predict"
)

// measure is how an estimate from censored records did against the truth, and
// against the estimate from the whole truth, over thresholds under a cut.
type measure struct {
	under    float64 // CRPS of the thresholds under the cut
	off      float64 // mean distance of P(y >= t) from that of the whole truth
	quantile float64 // mean relative distance of the 10, 25 and 50 % quantiles under 0.9 of the cut
	median   float64 // mean error of medians that are known
	moreThan float64 // share of sites whose true upper end is beyond 1.3 cuts that say 'more than'
	finite   float64 // share of them that give a number beyond 1.3 cuts
}

// TestCensoringMeasured censors known values two ways and asks for what they were.
//
// Three in ten at random become 'more than' an even share of themselves, which is
// how holes look that stopped before they met what was asked. (Kaplan and Meier
// take it that a hole did not stop because of what it was about to meet; here the
// limit follows the value, and the estimate leans deep.)
//
// The deepest three in ten become 'more than the cut': under the cut nothing may
// be lost, and over it nothing may be claimed.
func TestCensoringMeasured(t *testing.T) {
	if testing.Short() {
		t.Skip("NOT CHECKED (-short): what censoring costs")
	}
	c := country{n: 8000, seed: 97, signal: 1, noise: 0.3}
	next := c
	next.n, next.draw = 1500, 1
	t.Run("generated country", func(t *testing.T) {
		measureCensoring(t, observe(t, generate(c)), generate(next))
	})
	t.Run("picks", func(t *testing.T) {
		whole := picks(t, "what censoring costs on 43,244 real picks")
		var sites []predict.Observation
		for _, i := range rand.New(rand.NewPCG(5, 5)).Perm(whole.Len())[:1500] {
			sites = append(sites, whole.Observation(i))
		}
		measureCensoring(t, whole, sites)
	})
}

func measureCensoring(t *testing.T, whole *predict.Observations, sites []predict.Observation) {
	n := whole.Len()
	values := make([]float64, n)
	for i := range values {
		values[i] = whole.Observation(i).Value
	}
	slices.Sort(values)
	cut := values[n*7/10]
	var full, capped, capDropped, capTaken, stopped, stopDropped, stopTaken []predict.Observation
	r := rand.New(rand.NewPCG(6, 6))
	for i := range n {
		o := whole.Observation(i)
		full = append(full, o)
		limit := o
		limit.Bound = predict.GreaterThan
		taken := o
		if o.Value > cut {
			limit.Value, taken.Value = cut, cut
			capped, capTaken = append(capped, limit), append(capTaken, taken)
		} else {
			capped, capDropped, capTaken = append(capped, o), append(capDropped, o), append(capTaken, o)
		}
		if r.Float64() < 0.3 {
			limit.Value = o.Value * r.Float64()
			taken.Value = limit.Value
			stopped, stopTaken = append(stopped, limit), append(stopTaken, taken)
		} else {
			stopped, stopDropped, stopTaken = append(stopped, o), append(stopDropped, o), append(stopTaken, o)
		}
	}
	truth := estimates(t, full, sites)
	say := func(name string, rows []predict.Observation) measure {
		m := compareUnder(estimates(t, rows, sites), truth, sites, cut)
		t.Logf("%-34s CRPS under %.1f: %.4f; P(>= t) off by %.4f; quantiles under it off by %.1f%%; medians off by %.3f; beyond it %.1f%% say 'more than', %.1f%% a number",
			name, cut, m.under, m.off, 100*m.quantile, m.median, 100*m.moreThan, 100*m.finite)
		return m
	}
	all := say("the whole truth", full)
	cap1, cap2, cap3 := say("deepest 30 % cut, as limits", capped), say("deepest 30 % cut, dropped", capDropped), say("deepest 30 % cut, as values", capTaken)
	stop1, stop2, stop3 := say("30 % stopped at random, as limits", stopped), say("30 % stopped at random, dropped", stopDropped), say("30 % stopped at random, as values", stopTaken)
	if cap1.under > 1.03*all.under || cap1.quantile > 0.05 {
		t.Errorf("under the cut: CRPS %.4f, with the whole truth %.4f; quantiles off by %.1f%%", cap1.under, all.under, 100*cap1.quantile)
	}
	if cap2.under < cap1.under || cap2.off < 3*cap1.off {
		t.Errorf("dropping the limits is no worse: %+v, %+v", cap2, cap1)
	}
	// In the others a value slid along the slope ends up beyond every limit, and the
	// product-limit estimate closes its tail there.
	if cap1.moreThan < 0.9 || cap1.finite > 0.02 {
		t.Errorf("beyond the cut %.3f say 'more than', and %.3f claim a number", cap1.moreThan, cap1.finite)
	}
	if cap3.moreThan > 0 {
		t.Errorf("values alone say 'more than': %+v", cap3)
	}
	// Dropping limits that were drawn without regard to anything loses numbers and
	// adds no lean, so that it may do as well; nobody can know that they were.
	if stop1.under > 1.08*all.under || stop1.under > stop3.under || stop1.off > stop3.off {
		t.Errorf("stopped at random: CRPS %.4f, with the whole truth %.4f, as values %.4f (dropped %.4f)", stop1.under, all.under, stop3.under, stop2.under)
	}
}

// estimates are the distributions at the sites, each with its own spot hidden.
func estimates(t *testing.T, rows []predict.Observation, sites []predict.Observation) []predict.Distribution {
	t.Helper()
	// The projection is that of the country or of the picks: positions on the plane
	// come with the rows, and sites are asked by degrees.
	projection := predict.Projection(countryProjection())
	if math.Abs(rows[0].At.Lon-countryLon) > 5 {
		projection = picksProjection()
	}
	obs, err := predict.NewObservations(len(rows), func(i int) predict.Observation { return rows[i] }, projection, predict.ObservationOptions{})
	if err != nil {
		t.Fatal(err)
	}
	m, _, err := predict.Calibrate(context.Background(), obs, predict.CalibrationOptions{Holdout: predict.Holdout{Seed: 2, TestWells: 2000}})
	if err != nil {
		t.Fatal(err)
	}
	out := make([]predict.Distribution, len(sites))
	for i, s := range sites {
		e, err := m.At(predict.Site{At: s.At}, predict.LeaveOut{WithinM: 1})
		if err != nil {
			t.Fatal(err)
		}
		out[i] = e.FromNeighbours
	}
	return out
}

func compareUnder(got, truth []predict.Distribution, sites []predict.Observation, cut float64) measure {
	const steps = 50
	var m measure
	var thresholds, quantiles, medians, beyond float64
	for i := range sites {
		g, w, y := &got[i], &truth[i], sites[i].Value
		for k := range steps {
			at := cut * (float64(k) + 0.5) / steps
			p := g.AtLeast(at)
			came := 0.0
			if y >= at {
				came = 1
			}
			m.under += (p - came) * (p - came) * cut / steps
			m.off += math.Abs(p - w.AtLeast(at))
			thresholds++
		}
		for _, q := range []float64{0.1, 0.25, 0.5} {
			if want := w.Quantile(q); want > 0.5 && want < 0.9*cut {
				m.quantile += min(math.Abs(g.Quantile(q)-want)/want, 1)
				quantiles++
			}
		}
		if med := g.Median(); !math.IsInf(med, 1) {
			m.median += math.Abs(med - y)
			medians++
		}
		if w.Quantile(0.9) > 1.3*cut {
			beyond++
			r := g.RangeAt(0.1, 0.9)
			switch {
			case r.AtLeastHigh:
				m.moreThan++
			case r.High > 1.3*cut:
				m.finite++
			}
		}
	}
	m.under /= float64(len(sites))
	m.off /= thresholds
	m.quantile /= quantiles
	m.median /= medians
	m.moreThan /= beyond
	m.finite /= beyond
	return m
}
