package predict

import (
	"context"
	"errors"
	"fmt"
	"math"

	"tallybook/geo/near"
)

// Drawn is a mean with the range in which it lay in nine of ten sets drawn anew
// from the same test wells.
type Drawn struct{ Mean, Low, High float64 }

// Tells says whether the range lies on one side of zero.
func (d Drawn) Tells() bool { return d.Low > 0 || d.High < 0 }

// Difference is how much a method's error is above that of another on the same
// test wells: below zero where it did better. In the unit of the observations;
// NaN where either gives no such score.
type Difference struct {
	MAE, RMSE, CRPS Drawn
	// Tested and TestedCRPS are the test wells that both answered, in the two.
	Tested, TestedCRPS int
}

// Comparison is several methods on the same test wells.
type Comparison struct {
	By      By
	Methods []Scores // in the order asked for; those that could not be tried have Tested 0
	// Against is the position of the method that the others are held against, and
	// Differences is each method less it.
	Against     int
	Differences []Difference
	// Test wells near each other share their luck, so they are drawn anew in
	// squares of SquareM metres, of which Squares hold some. Runs is how often.
	SquareM       float64
	Squares, Runs int
	// BlockM is the side of the blocks that were hidden, metres; 0 by site.
	BlockM float64
}

// bootstrapRuns is one less than a multiple of twenty, so that the ends of the
// range are one of the draws and no mean of two.
const bootstrapRuns = 1999

// leastBlocks is how many blocks the wells are to stand in: with fewer a fold is
// a large part of all ground.
const leastBlocks = 25

// leastSquares is how many squares are wanted before a draw of them says
// something.
const leastSquares = 40

// Compare scores several methods on the same test wells, and says which
// differences are more than the luck of those wells. A method that cannot be
// tried here, as kriging where there is nothing to fit to, is passed over. What
// Neighbours learns from test wells it learns here from the half of the sites that
// the well is not in. Blocks whose side is left open are of 10 km or, where the
// wells stand in fewer than 25 of those, half as wide, and so on. Only values enter MAE and RMSE; bounds too enter CRPS.
// Errors: as for Score; a reference that is none of the methods.
func Compare(ctx context.Context, o *Observations, methods []Method, against int, opts ScoreOptions, during func(m Method)) (Comparison, error) {
	if against < 0 || against >= len(methods) {
		return Comparison{}, fmt.Errorf("predict: method %d of %d to compare with", against+1, len(methods))
	}
	c := Comparison{By: opts.By, Against: against, Methods: make([]Scores, len(methods)), Differences: make([]Difference, len(methods))}
	if opts.By == ByBlock {
		if opts.BlockM == 0 {
			opts.BlockM = blocksFor(o)
		}
		c.BlockM = opts.BlockM
	}
	abs, crps := make([][]float64, len(methods)), make([][]float64, len(methods))
	var squares []int32
	for i, m := range methods {
		if during != nil {
			during(m)
		}
		s, t, results, err := scored(ctx, o, m, opts, true)
		if errors.Is(err, ErrTooFew) && m.Kind == Kriging && o.Len() >= minTrials {
			c.Methods[i] = Scores{Method: m, By: opts.By, MAE: math.NaN(), RMSE: math.NaN(), CRPS: math.NaN(), Raw: Coverage{Share: math.NaN()}, Adjusted: Coverage{Share: math.NaN()}, RawWidth: math.NaN(), AdjustedWidth: math.NaN(), Unused: o.bounds}
			continue
		}
		if err != nil {
			return Comparison{}, err
		}
		c.Methods[i] = s
		abs[i], crps[i] = make([]float64, len(results)), make([]float64, len(results))
		for j := range results {
			abs[i][j], crps[i][j] = math.NaN(), math.NaN()
			if t.list[j].failed {
				continue
			}
			crps[i][j] = results[j].crps
			if y := o.sample(t.list[j].i); y.Bound == Exact {
				abs[i][j] = math.Abs(results[j].estimate - y.Value)
			}
		}
		if squares == nil {
			if squares, c.SquareM, c.Squares, err = t.squares(); err != nil {
				return Comparison{}, err
			}
		}
	}
	c.Runs = bootstrapRuns
	anew := &resampling{group: squares, groups: c.Squares, seed: opts.Seed}
	for i := range methods {
		d := &c.Differences[i]
		d.MAE, d.Tested = anew.difference(abs[i], abs[against], identity, identity)
		d.RMSE, _ = anew.difference(abs[i], abs[against], square, math.Sqrt)
		d.CRPS, d.TestedCRPS = anew.difference(crps[i], crps[against], identity, identity)
	}
	return c, nil
}

// squares groups the test wells: by the squares that are hidden as blocks, or
// where sites are hidden and the squares would be few by smaller ones, down to
// sites.
func (t *trials) squares() (of []int32, sideM float64, n int, err error) {
	x, y := make([]float64, len(t.list)), make([]float64, len(t.list))
	for j := range t.list {
		x[j], y[j] = t.obs.index.At(int(t.list[j].i))
	}
	for sideM = t.hold.BlockM; sideM >= 100*t.hold.SiteM; sideM /= 2 {
		// Wells of a hidden block share more than their luck.
		if of, n = squaresOf(x, y, sideM); n >= leastSquares || t.hold.By == ByBlock {
			return of, sideM, n, nil
		}
	}
	of, err = near.Sites(x, y, t.hold.SiteM)
	n = 0
	for _, s := range of {
		n = max(n, int(s)+1)
	}
	return of, t.hold.SiteM, n, err
}

// blocksFor is the side of blocks that suits the extent of the observations.
func blocksFor(o *Observations) float64 {
	side := Holdout{}.withDefaults().BlockM
	x, y := make([]float64, o.Len()), make([]float64, o.Len())
	for i := range x {
		x[i], y[i] = o.index.At(i)
	}
	for ; side > 100; side /= 2 {
		if _, n := squaresOf(x, y, side); n >= leastBlocks {
			break
		}
	}
	return side
}

func squaresOf(x, y []float64, sideM float64) (of []int32, n int) {
	type square struct{ col, row float64 }
	number := map[square]int32{}
	of = make([]int32, len(x))
	for j := range x {
		at := square{math.Floor(x[j] / sideM), math.Floor(y[j] / sideM)}
		k, ok := number[at]
		if !ok {
			k = int32(len(number))
			number[at] = k
		}
		of[j] = k
	}
	return of, len(number)
}
