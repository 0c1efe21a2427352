package surface

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"tallybook/geo/near"
)

// Score sums up how a method did on wells it did not see, in the unit of the
// values.
type Score struct {
	N          int     // wells that were estimated
	Unanswered int     // wells for which no sample was left within the radius
	MAE        float64 // mean absolute error
	RMSE       float64 // root of the mean squared error
	Bias       float64 // mean of estimate less truth: positive means too large
}

// ScoreSites scores methods by leaving out the site: each test well is
// estimated from the wells of all other sites. site is from near.Sites (one
// metre is customary); tests are the positions of the wells to estimate, nil
// meaning all. The neighbours are searched once and shared by all methods, so
// many powers and numbers of neighbours cost little more than one. Scores come
// in the order of the methods and do not depend on the number of workers.
//
// Errors: a bad method, slices that do not fit the index, values that are not
// finite, a test out of range, and the context's own when it ends.
func ScoreSites(ctx context.Context, ix *near.Index, values []float64, site, tests []int32, methods []IDW, workers int) ([]Score, error) {
	if err := checkScoring(ix, values, site, tests, methods); err != nil {
		return nil, err
	}
	return score(ctx, ix.Len(), tests, values, methods, workers, func(m IDW, i int32, buf []near.Hit) []near.Hit {
		x, y := ix.At(int(i))
		left := site[i]
		skip := func(j int32) bool { return site[j] == left }
		if m.RadiusM > 0 && m.Neighbours == 0 {
			return slices.DeleteFunc(ix.Within(x, y, m.RadiusM, buf), func(h near.Hit) bool { return skip(h.I) })
		}
		k := m.Neighbours
		if k == 0 {
			k = ix.Len()
		}
		return ix.NearestFunc(x, y, k, skip, buf)
	})
}

// ScoreFolds scores methods by leaving out whole folds: each test well is
// estimated from the wells of all other folds. fold is from near.Blocks (10 km
// and 10 folds are customary), counted from 0. The rest is as for ScoreSites.
func ScoreFolds(ctx context.Context, ix *near.Index, values []float64, fold, tests []int32, methods []IDW, workers int) ([]Score, error) {
	if err := checkScoring(ix, values, fold, tests, methods); err != nil {
		return nil, err
	}
	for i, f := range fold {
		if f < 0 || f >= mostFolds {
			return nil, fmt.Errorf("surface: fold %d of well %d is not within 0 to %d", f, i, mostFolds-1)
		}
	}
	others, err := foldIndexes(ctx, ix, fold)
	if err != nil {
		return nil, err
	}
	return score(ctx, ix.Len(), tests, values, methods, workers, func(m IDW, i int32, buf []near.Hit) []near.Hit {
		x, y := ix.At(int(i))
		o := others[fold[i]]
		hits := m.neighbours(o.ix, x, y, buf)
		for j := range hits {
			hits[j].I = o.well[hits[j].I]
		}
		return hits
	})
}

// remainder is the wells outside one fold.
type remainder struct {
	ix   *near.Index
	well []int32 // position in the remainder -> position among all wells
}

// foldIndexes builds an index of the wells outside each fold. A search that
// skipped the fold instead would have to wade through the block around each
// test well.
func foldIndexes(ctx context.Context, ix *near.Index, fold []int32) ([]remainder, error) {
	if len(fold) == 0 {
		return nil, nil
	}
	others := make([]remainder, slices.Max(fold)+1)
	for f := range others {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		var (
			o    = &others[f]
			x, y []float64
			key  []uint64
		)
		for i, g := range fold {
			if int(g) != f {
				px, py := ix.At(i)
				x, y = append(x, px), append(y, py)
				key = append(key, ix.Key(i))
				o.well = append(o.well, int32(i))
			}
		}
		var err error
		if o.ix, err = near.New(x, y, key); err != nil {
			return nil, err
		}
	}
	return others, nil
}

// mostFolds bounds the indexes that ScoreFolds builds.
const mostFolds = 1000

func checkScoring(ix *near.Index, values []float64, group, tests []int32, methods []IDW) error {
	for _, m := range methods {
		if err := m.Validate(); err != nil {
			return err
		}
	}
	if err := checkValues(ix, values); err != nil {
		return err
	}
	if len(group) != ix.Len() {
		return fmt.Errorf("surface: %d groups for %d wells", len(group), ix.Len())
	}
	for j, i := range tests {
		if i < 0 || int(i) >= ix.Len() {
			return fmt.Errorf("surface: test %d is well %d of %d", j, i, ix.Len())
		}
	}
	return nil
}

// scoreChunk is how many tests are summed together. The sums are added chunk
// by chunk in order, so rounding does not depend on who did which.
const scoreChunk = 256

// tally is the running sums of one method.
type tally struct {
	n, unanswered   int
	abs, square, by float64
}

func score(ctx context.Context, n int, tests []int32, values []float64, methods []IDW, workers int,
	search func(m IDW, i int32, buf []near.Hit) []near.Hit) ([]Score, error) {
	if tests == nil {
		tests = make([]int32, n)
		for i := range tests {
			tests[i] = int32(i)
		}
	}
	if workers < 1 {
		workers = runtime.GOMAXPROCS(0)
	}
	widest := widestOf(methods)
	chunks := (len(tests) + scoreChunk - 1) / scoreChunk
	tallies := make([][]tally, chunks)
	var (
		next atomic.Int64
		wg   sync.WaitGroup
	)
	for range min(workers, chunks) {
		wg.Go(func() {
			var buf []near.Hit
			for ctx.Err() == nil {
				c := int(next.Add(1)) - 1
				if c >= chunks {
					return
				}
				sums := make([]tally, len(methods))
				for _, i := range tests[c*scoreChunk : min((c+1)*scoreChunk, len(tests))] {
					buf = search(widest, i, buf)
					for m := range methods {
						sums[m].add(methods[m].mean(methods[m].cut(buf), values), values[i])
					}
				}
				tallies[c] = sums
			}
		})
	}
	wg.Wait()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	scores := make([]Score, len(methods))
	for m := range scores {
		var t tally
		for _, sums := range tallies {
			t.merge(sums[m])
		}
		scores[m] = t.score()
	}
	return scores, nil
}

// widestOf returns the search that holds the neighbours of every method.
func widestOf(methods []IDW) IDW {
	var w IDW
	for i, m := range methods {
		if i == 0 {
			w.Neighbours, w.RadiusM = m.Neighbours, m.RadiusM
			continue
		}
		if m.Neighbours == 0 || w.Neighbours == 0 {
			w.Neighbours = 0
		} else {
			w.Neighbours = max(w.Neighbours, m.Neighbours)
		}
		if m.RadiusM == 0 || w.RadiusM == 0 {
			w.RadiusM = 0
		} else {
			w.RadiusM = max(w.RadiusM, m.RadiusM)
		}
	}
	return w
}

func (t *tally) add(estimate, truth float64) {
	if estimate != estimate {
		t.unanswered++
		return
	}
	e := estimate - truth
	t.n++
	t.abs += math.Abs(e)
	t.square += e * e
	t.by += e
}

func (t *tally) merge(o tally) {
	t.n += o.n
	t.unanswered += o.unanswered
	t.abs += o.abs
	t.square += o.square
	t.by += o.by
}

// score divides the sums; of nothing every mean is NaN.
func (t *tally) score() Score {
	n := float64(t.n)
	return Score{N: t.n, Unanswered: t.unanswered, MAE: t.abs / n, RMSE: math.Sqrt(t.square / n), Bias: t.by / n}
}
