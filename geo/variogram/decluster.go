package variogram

import (
	"context"
	"fmt"
	"math"
	"slices"

	"golang.org/x/sync/errgroup"
)

// Seek says which of the means over the sizes of cell is taken.
type Seek uint8

const (
	// SeekEither takes the lowest where the means over all sizes lie below the
	// plain mean on average, for then the crowds stand on high values, and the
	// highest where they lie above it.
	SeekEither Seek = iota
	// SeekLowest takes the lowest.
	SeekLowest
	// SeekHighest takes the highest.
	SeekHighest
)

// Cells are the settings of Decluster.
type Cells struct {
	// SmallestM and LargestM are the sides of the smallest and the largest cell
	// tried, metres; equal ends try that one alone.
	SmallestM, LargestM float64
	Sizes               int // how many sides are tried, each longer by the same factor; 0 means 24
	Origins             int // over how many origins of the cells weights are averaged; 0 means 8
	Seek                Seek
}

// CellTry is the mean at one size of cell.
type CellTry struct {
	CellM, Mean float64
	Cells       float64 // how many hold a sample, on average over the origins
}

// Declustered is the samples weighed so that a crowd counts for the ground that
// it stands on and not for its number.
type Declustered struct {
	CellM   float64   // the side that was chosen
	Weights []float64 // of each sample; they sum to the number of samples
	// The plain mean and median beside the weighed ones, in the values' unit.
	PlainMean, PlainMedian, Mean, Median float64
	Lowest                               bool // the mean is the lowest of those tried, else the highest
	Tried                                []CellTry
}

// mostCells bounds the cells of one grid.
const mostCells = 16 << 20

// SmallestCell is the least side of cells, metres, that Decluster takes for these
// samples.
func SmallestCell(x, y []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	wide, high := slices.Max(x)-slices.Min(x), slices.Max(y)-slices.Min(y)
	// (wide/s + 3)(high/s + 3) = mostCells, solved for 1/s; with something to spare.
	a, b, c := wide*high, 3*(wide+high), 9.0-mostCells/2
	if a == 0 {
		return -b / c
	}
	return 2 * a / (-b + math.Sqrt(b*b-4*a*c))
}

// Decluster weighs samples by cells: each occupied cell counts alike, and its
// samples share its part. Weights are averaged over several origins of the
// cells, and the size is chosen whose mean is lowest or highest (A. G. Journel,
// 'Nonparametric estimation of spatial distributions', Mathematical Geology 15,
// 1983; C. V. Deutsch, 'DECLUS', Computers and Geosciences 15, 1989; C. V.
// Deutsch and A. G. Journel, GSLIB, Oxford, 1998; all from memory). Seeking the
// end of a curve makes a difference out of nothing where there are no crowds:
// the curve in Tried is part of the answer.
//
// Errors: as for Measure, ErrNoSamples, sizes out of their range or too small
// for the extent, that of ctx.
func Decluster(ctx context.Context, x, y, values []float64, c Cells) (Declustered, error) {
	if err := checkSamples(x, y, values); err != nil {
		return Declustered{}, err
	}
	if len(x) == 0 {
		return Declustered{}, ErrNoSamples
	}
	if c.Sizes == 0 {
		c.Sizes = 24
	}
	if c.Origins == 0 {
		c.Origins = 8
	}
	if c.SmallestM == c.LargestM {
		c.Sizes = 1
	}
	wide, high := slices.Max(x)-slices.Min(x), slices.Max(y)-slices.Min(y)
	switch {
	case !(c.SmallestM > 0) || !(c.LargestM >= c.SmallestM) || math.IsInf(c.LargestM, 0):
		return Declustered{}, fmt.Errorf("variogram: cells from %g to %g m are none", c.SmallestM, c.LargestM)
	case c.Sizes < 1 || c.Sizes > 1000 || c.Origins < 1 || c.Origins > 1000:
		return Declustered{}, fmt.Errorf("variogram: %d sizes and %d origins of cells", c.Sizes, c.Origins)
	case (wide/c.SmallestM+3)*(high/c.SmallestM+3) > mostCells:
		return Declustered{}, fmt.Errorf("variogram: cells of %g m are too small for samples %g m apart", c.SmallestM, max(wide, high))
	}
	d := Declustered{Tried: make([]CellTry, c.Sizes)}
	g, inner := errgroup.WithContext(ctx)
	g.SetLimit(workers())
	for i := range d.Tried {
		g.Go(func() error {
			if err := inner.Err(); err != nil {
				return err
			}
			side := c.SmallestM
			if c.Sizes > 1 {
				side *= math.Pow(c.LargestM/c.SmallestM, float64(i)/float64(c.Sizes-1))
			}
			weights, cells := cellWeights(x, y, side, c.Origins)
			d.Tried[i] = CellTry{CellM: side, Mean: dot(weights, values) / float64(len(x)), Cells: cells}
			return nil
		})
	}
	if err := g.Wait(); err != nil {
		return Declustered{}, err
	}
	d.PlainMean, d.PlainMedian = weighedMiddle(values, nil)
	best := d.choose(c.Seek)
	d.CellM = d.Tried[best].CellM
	d.Weights, _ = cellWeights(x, y, d.CellM, c.Origins)
	d.Mean, d.Median = weighedMiddle(values, d.Weights)
	return d, nil
}

// choose gives the size tried whose mean is taken; the first of equals.
func (d *Declustered) choose(s Seek) int {
	d.Lowest = s == SeekLowest
	if s == SeekEither {
		sum := 0.0
		for _, t := range d.Tried {
			sum += t.Mean - d.PlainMean
		}
		d.Lowest = sum <= 0
	}
	best := 0
	for i, t := range d.Tried {
		if d.Lowest && t.Mean < d.Tried[best].Mean || !d.Lowest && t.Mean > d.Tried[best].Mean {
			best = i
		}
	}
	return best
}

// cellWeights weighs at one size of cell, and says how many cells hold samples.
// The origins step along the diagonal of a cell.
func cellWeights(x, y []float64, side float64, origins int) (weights []float64, cells float64) {
	weights = make([]float64, len(x))
	minX, minY := slices.Min(x), slices.Min(y)
	cols := int((slices.Max(x)-minX)/side) + 3
	rows := int((slices.Max(y)-minY)/side) + 3
	counts := make([]int32, cols*rows)
	at := make([]int32, len(x))
	for o := range origins {
		clear(counts)
		shift := side * float64(o) / float64(origins)
		occupied := 0
		for i := range x {
			c := int((x[i]-minX+shift)/side) + cols*int((y[i]-minY+shift)/side)
			at[i] = int32(c)
			if counts[c]++; counts[c] == 1 {
				occupied++
			}
		}
		part := float64(len(x)) / float64(occupied) / float64(origins)
		for i, c := range at {
			weights[i] += part / float64(counts[c])
		}
		cells += float64(occupied) / float64(origins)
	}
	return weights, cells
}

// weighedMiddle is the mean and the median; nil weights count alike. A median
// that falls between two values lies halfway.
func weighedMiddle(values, weights []float64) (mean, median float64) {
	order := make([]int, len(values))
	total := 0.0
	weight := func(i int) float64 {
		if weights == nil {
			return 1
		}
		return weights[i]
	}
	for i := range order {
		order[i] = i
		total += weight(i)
		mean += weight(i) * values[i]
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case values[a] < values[b]:
			return -1
		case values[a] > values[b]:
			return 1
		}
		return 0
	})
	sum := 0.0
	for k, i := range order {
		sum += weight(i)
		if near := sum - total/2; math.Abs(near) <= 1e-12*total && k+1 < len(order) {
			return mean / total, (values[i] + values[order[k+1]]) / 2
		} else if near > 0 {
			return mean / total, values[i]
		}
	}
	return mean / total, math.NaN()
}
