package predict

import (
	"context"
	"errors"
	"math"
)

// PlainUnit is the unit (see ObservationOptions) under which z is as good as
// proportional to the value, so that slope and blur work on plain differences:
// for levels, whose ratios mean nothing. A level of 5,000 m is bent by 2.5 parts
// in 10,000, and comes back to a millionth of a metre.
const PlainUnit = 1e7

// LevelScore is how one of the two ways did.
type LevelScore struct {
	CRPS, MAE float64
	Params    Params // as the data chose
}

// LevelTrial is what came of trying the same wells in two ways.
type LevelTrial struct {
	By            By
	Wells, Tested int
	Depth, Level  LevelScore
	// Difference is the CRPS of the level less that of the depth, below zero where
	// the level does better, with the range that the luck of the wells allows.
	Difference Drawn
}

// CompareLevels puts to the test whether a depth under a surface (sound bedrock
// under the ground) is better predicted as it is, or as the level that it stands
// at (an elevation), from which it follows where the surface is known. The one
// serves where what lies on the rock is of like thickness, the other where the
// rock goes its own way under hills.
//
// depth and level are the same holes in the same order, on the same projection;
// level may be counted from anywhere below all of them (no value may be
// negative). surface is the level of the surface over each hole. The same test
// wells are predicted in both ways with their site or block hidden, each way with
// the area's weight that the data choose for it. Blocks whose side is left open
// are as Compare has them. What a level would leave above
// the surface counts as at it, since nothing can be. Both are scored in the unit
// of the values, where an error of the one is an error of the other.
//
// It returns ErrTooFew for fewer than 20 holes.
func CompareLevels(ctx context.Context, depth, level *Observations, surface []float64, h Holdout) (LevelTrial, error) {
	if depth.Len() != level.Len() || depth.Len() != len(surface) {
		return LevelTrial{}, errors.New("predict: depths, levels and surface are not of the same holes")
	}
	if depth.Len() < minTrials {
		return LevelTrial{}, ErrTooFew
	}
	if h.By == ByBlock && h.BlockM == 0 {
		h.BlockM = blocksFor(depth)
	}
	out := LevelTrial{By: h.By, Wells: depth.Len()}
	byDepth, err := testLevels(ctx, depth, nil, h, &out.Depth)
	if err != nil {
		return LevelTrial{}, err
	}
	byLevel, err := testLevels(ctx, level, surface, h, &out.Level)
	if err != nil {
		return LevelTrial{}, err
	}
	t, err := draw(depth, h)
	if err != nil {
		return LevelTrial{}, err
	}
	squares, _, n, err := t.squares()
	if err != nil {
		return LevelTrial{}, err
	}
	anew := &resampling{group: squares, groups: n, seed: h.Seed}
	out.Difference, out.Tested = anew.difference(byLevel, byDepth, identity, identity)
	return out, nil
}

// testLevels gives the CRPS of each test well; surface is nil for depths.
func testLevels(ctx context.Context, o *Observations, surface []float64, h Holdout, s *LevelScore) ([]float64, error) {
	t, err := draw(o, h)
	if err != nil {
		return nil, err
	}
	t.total = 2 * len(t.list)
	p := DefaultParams()
	if _, err := t.choose(ctx, &p); err != nil {
		return nil, err
	}
	s.Params = p
	crps, wrong := make([]float64, len(t.list)), make([]float64, len(t.list))
	for j := range crps {
		crps[j], wrong[j] = math.NaN(), math.NaN()
	}
	err = t.each(ctx, p, func(pr *Predictor, q *query, j int) {
		pr.prepare(q, p.Gamma)
		d := &pr.mixed
		pr.distribution(p.Kappa, d)
		y := t.obs.sample(t.list[j].i)
		crps[j] = d.CRPSOf(y)
		median := d.Median()
		if surface != nil {
			top := surface[t.list[j].i]
			if _, high := known(y); high <= top { // what is above the surface is held to it
				crps[j] -= d.above(top)
			}
			median = min(median, top)
		}
		if y.Bound == Exact && finite(median) {
			wrong[j] = math.Abs(median - y.Value)
		}
	})
	if err != nil {
		return nil, err
	}
	var sum, abs mean
	for j := range crps {
		sum.add(crps[j])
		abs.add(wrong[j])
	}
	s.CRPS, s.MAE = sum.value(), abs.value()
	return crps, nil
}

// above is the integral of (1 - F)^2 over all t above a limit: what the CRPS
// loses when all that lies above the limit is put on it.
func (d *Distribution) above(limit float64) float64 {
	var sum, f float64
	at := limit
	step := func(to float64) {
		if to > at {
			sum += float64((1 - f) * (1 - f) * (to - at))
			at = to
		}
	}
	for i, v := range d.values {
		step(v)
		f = d.cum[i]
	}
	if d.upperShare > 0 {
		step(d.upperFrom)
	}
	return sum
}
