package predict_test

import (
	"cmp"
	"math"
	"slices"
	"testing"

	"tallybook/geo/predict"
)

// TestRangesHoldWhereWellsAreFew calibrates on wells that stand in clumps and asks
// for sites spread evenly, most of them farther from wells than most wells are:
// the promise must hold in every fifth of them, from the nearest to the farthest.
func TestRangesHoldWhereWellsAreFew(t *testing.T) {
	c := country{n: 6000, seed: 96, signal: 1, noise: 0.2, clumps: true}
	m, r := calibrate(t, generate(c), predict.CalibrationOptions{Holdout: predict.Holdout{Seed: 3}})
	c.n, c.draw = 10000, 1
	type site struct {
		nearest float64
		held    bool
		plain   bool
	}
	var sites []site
	for i, o := range generate(c) {
		if i%2 == 0 { // half in the clumps, half even
			continue
		}
		e, err := m.At(predict.Site{At: o.At}, predict.LeaveOut{})
		if err != nil {
			t.Fatal(err)
		}
		d := e.FromNeighbours
		alike := d.WithRanks(r.RankLow, r.RankHigh)
		sites = append(sites, site{e.Basis.NearestM, d.Range80().Contains(o.Value), alike.Range80().Contains(o.Value)})
	}
	slices.SortFunc(sites, func(a, b site) int { return cmp.Compare(a.nearest, b.nearest) })
	var worst, worstAlike float64
	for k := range 5 {
		part := sites[k*len(sites)/5 : (k+1)*len(sites)/5]
		var held, alike float64
		for _, s := range part {
			if s.held {
				held += 1 / float64(len(part))
			}
			if s.plain {
				alike += 1 / float64(len(part))
			}
		}
		worst, worstAlike = max(worst, math.Abs(held-0.8)), max(worstAlike, math.Abs(alike-0.8))
		t.Logf("nearest well %.0f to %.0f m: held %.1f%%, with one pair of ranks for all %.1f%%", part[0].nearest, part[len(part)-1].nearest, 100*held, 100*alike)
	}
	if worst > 0.045 { // 1,000 sites a fifth: 3.5 standard errors
		t.Errorf("a fifth of the sites is off by %.1f points", 100*worst)
	}
	if worst > worstAlike {
		t.Errorf("one pair of ranks for all is no worse: %.3f, %.3f", worstAlike, worst)
	}
}
