package surface

import (
	"context"
	"fmt"
	"runtime"
	"sync"
	"sync/atomic"

	"tallybook/geo/near"
)

// tileSide is the side of a tile in nodes: one unit of work.
const tileSide = 32

// Grid returns the surface over a grid, on the given number of goroutines (0
// means one for each processor). The result does not depend on that number.
// Errors: bad parameters or grid, values that do not fit the index or are not
// finite (naming the first), and the context's own when it ends.
func (w IDW) Grid(ctx context.Context, ix *near.Index, values []float64, grid Grid, workers int) (Field, error) {
	if err := w.Validate(); err != nil {
		return Field{}, err
	}
	if err := grid.Validate(); err != nil {
		return Field{}, err
	}
	if err := checkValues(ix, values); err != nil {
		return Field{}, err
	}
	f := Field{Grid: grid, Values: make([]float64, grid.Len())}
	shared := w.shares(ix)
	var dealt *buckets
	if grid.Len() > ix.Len()/8 {
		// Worth arranging the values so that those of neighbours lie together.
		var old []int32
		ix, old = ix.Renumbered()
		arranged := make([]float64, len(values))
		for i, o := range old {
			arranged[i] = values[o]
		}
		values = arranged
		if shared {
			dealt = newBuckets(ix)
		}
	}
	err := forTiles(ctx, grid, workers, func() func(t tile) {
		if shared {
			return newTiler(w, ix, dealt, values, grid, f.Values).do
		}
		var buf []near.Hit
		return func(t tile) {
			for row := t.row0; row < t.row1; row++ {
				y := grid.Y(row)
				for col := t.col0; col < t.col1; col++ {
					f.Values[grid.Index(col, row)], buf = w.at(ix, values, grid.X(col), y, buf)
				}
			}
		}
	})
	if err != nil {
		return Field{}, err
	}
	return f, nil
}

// checkValues reports values that do not fit the index or are not finite.
func checkValues(ix *near.Index, values []float64) error {
	if len(values) != ix.Len() {
		return fmt.Errorf("surface: %d values for %d wells", len(values), ix.Len())
	}
	for i, v := range values {
		if !finite(v) {
			return fmt.Errorf("surface: value %d is not finite: %g", i, v)
		}
	}
	return nil
}

// tile is the half-open range of nodes [col0, col1) x [row0, row1).
type tile struct{ col0, row0, col1, row1 int }

// forTiles hands the tiles of a grid to workers. Each worker gets a function
// of its own from start, so that it may keep buffers. It stops early, and says
// so, when the context ends.
func forTiles(ctx context.Context, g Grid, workers int, start func() func(tile)) error {
	if workers < 1 {
		workers = runtime.GOMAXPROCS(0)
	}
	across := (g.Cols + tileSide - 1) / tileSide
	up := (g.Rows + tileSide - 1) / tileSide
	workers = min(workers, across*up)
	var (
		next atomic.Int64
		wg   sync.WaitGroup
	)
	for range workers {
		wg.Go(func() {
			do := start()
			for ctx.Err() == nil {
				i := int(next.Add(1)) - 1
				if i >= across*up {
					return
				}
				c, r := i%across*tileSide, i/across*tileSide
				do(tile{c, r, min(c+tileSide, g.Cols), min(r+tileSide, g.Rows)})
			}
		})
	}
	wg.Wait()
	return ctx.Err()
}
