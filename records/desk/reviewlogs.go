package desk

import (
	"cmp"
	"context"
	"fmt"
	"runtime"
	"slices"
	"sync/atomic"

	"golang.org/x/sync/errgroup"

	"tallybook/records"
	"tallybook/records/review"
	"tallybook/records/snapshot"
)

// leastInStrip is how many wells are worth a reader of their own.
const leastInStrip = 2000

// readLogs reads the whole records of the wells chosen, once: side by side in
// strips from west to east, since unpacking them is what takes the time. What is
// marked unreliable is left out and counted.
func (in *reviewInput) readLogs(ctx context.Context, set *review.Settings, progress func(step string, done, total int)) (*review.Logs, error) {
	in.turn.Lock()
	defer in.turn.Unlock()
	if l := in.logs.Load(); l != nil {
		return l, nil
	}
	d := in.owner
	rows := make([]snapshot.Row, 0, len(in.in.Rows))
	for _, row := range in.in.Rows {
		if in.in.Filter.Marked || row.Unreliable()&(records.StrataUnreliable|records.YieldUnreliable) == 0 {
			rows = append(rows, row)
		}
	}
	marked := len(in.in.Rows) - len(rows)
	strips := stripsOf(rows)
	readers := make([]*review.LogReader, len(strips))
	step := fmt.Sprintf("looking through the logs of %d wells", len(rows))
	var done atomic.Int64
	group, ctx := errgroup.WithContext(ctx)
	for i, strip := range strips {
		readers[i] = review.NewLogReader(set, d.vocabulary)
		group.Go(func() error {
			return d.readStrip(ctx, strip, readers[i], func() { progress(step, int(done.Add(500)), len(rows)) })
		})
	}
	if err := group.Wait(); err != nil {
		return nil, err
	}
	if d.Picture().Content() != in.data.Commit {
		return nil, records.Errorf(records.Busy, "records changed while their logs were read; ask again")
	}
	logs := review.NewLogReader(set, d.vocabulary).Logs()
	for _, r := range readers {
		logs.Take(r.Logs())
	}
	logs.Marked = marked
	in.logs.Store(logs)
	return logs, nil
}

// readStrip reads the records of some wells. after is called after every 500.
func (d *Desk) readStrip(ctx context.Context, rows []snapshot.Row, into *review.LogReader, after func()) error {
	if len(rows) == 0 {
		return nil
	}
	chosen := make(map[int64]struct{}, len(rows))
	for _, row := range rows {
		chosen[row.ID()] = struct{}{}
	}
	return d.store.View(ctx, func(v records.StoreView) error {
		n := 0
		return v.EachWell(ctx, boxOf(rows), func(w *records.Well) error {
			if _, ok := chosen[w.ID]; !ok {
				return nil
			}
			if n++; n%500 == 0 {
				after()
				if err := ctx.Err(); err != nil {
					return err
				}
			}
			into.Add(w)
			return nil
		})
	})
}

// stripsOf parts wells that are all located from west to east, as many in each
// as in the others; others stay together.
func stripsOf(rows []snapshot.Row) [][]snapshot.Row {
	n := min(runtime.GOMAXPROCS(0), 4, len(rows)/leastInStrip)
	if n < 2 || boxOf(rows) == nil {
		return [][]snapshot.Row{rows}
	}
	sorted := slices.Clone(rows)
	slices.SortFunc(sorted, func(a, b snapshot.Row) int {
		x, _, _ := a.Position()
		y, _, _ := b.Position()
		return cmp.Compare(x, y)
	})
	out := make([][]snapshot.Row, n)
	for i := range out {
		out[i] = sorted[i*len(sorted)/n : (i+1)*len(sorted)/n]
	}
	return out
}

// boxOf is the box around wells that are all located; nil where one is not.
func boxOf(rows []snapshot.Row) *records.Bounds {
	if len(rows) == 0 {
		return nil
	}
	b := records.Bounds{West: 180, South: 90, East: -180, North: -90}
	for _, r := range rows {
		lon, lat, ok := r.Position()
		if !ok {
			return nil
		}
		b.West, b.East = min(b.West, lon), max(b.East, lon)
		b.South, b.North = min(b.South, lat), max(b.North, lat)
	}
	return &b
}
