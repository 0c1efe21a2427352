package importer

import (
	"context"
	"errors"
	"io"

	"golang.org/x/sync/errgroup"
)

// A batch is what goes from goroutine to goroutine at a time.
const (
	batchRows  = 256
	batchBytes = 256 << 10
)

type batch struct {
	rows []Row
	done chan struct{}
}

// Pipeline reads a source to its end: one goroutine cuts rows, workers decode
// and check them, and process is called with each row in the order of the
// source, one at a time. What is in memory at once is bounded by the number of
// workers. It returns nil at the end of the source, else the first error of
// the source, of process or of ctx; the rows before it have been processed.
func Pipeline(ctx context.Context, s *Source, workers int, process func(*Row) error) error {
	return PipelineWith(ctx, s, workers, nil, process)
}

// PipelineWith is Pipeline with more work for the workers: also is called by
// several of them at once with each row after it was decoded, in any order,
// and before the row's public name is settled among those of the source.
func PipelineWith(ctx context.Context, s *Source, workers int, also, process func(*Row) error) error {
	workers = max(workers, 1)
	group, inner := errgroup.WithContext(ctx)
	s.ctx = inner
	work := make(chan *batch, workers)
	order := make(chan *batch, workers+1)
	var ended error
	group.Go(func() error {
		defer close(work)
		defer close(order)
		for {
			b, err := s.nextBatch()
			if len(b.rows) > 0 {
				select {
				case order <- b:
				case <-inner.Done():
					return inner.Err()
				}
				select {
				case work <- b:
				case <-inner.Done():
					return inner.Err()
				}
			}
			if errors.Is(err, io.EOF) {
				return nil
			}
			if err != nil {
				ended = err
				return nil // the rows before it are good
			}
		}
	})
	for range workers {
		group.Go(func() error {
			for b := range work {
				for i := range b.rows {
					if inner.Err() != nil {
						break
					}
					s.rows.decode(&b.rows[i])
					if also == nil {
						continue
					}
					if err := also(&b.rows[i]); err != nil {
						return err // and process waits for nothing: inner is done
					}
				}
				close(b.done)
			}
			return nil
		})
	}
	group.Go(func() error {
		for b := range order {
			select {
			case <-b.done:
			case <-inner.Done():
				return inner.Err()
			}
			for i := range b.rows {
				if err := inner.Err(); err != nil {
					return err
				}
				s.names.settle(&b.rows[i])
				if err := process(&b.rows[i]); err != nil {
					return err
				}
			}
		}
		return nil
	})
	if err := group.Wait(); err != nil {
		if cause := ctx.Err(); cause != nil && errors.Is(err, context.Canceled) {
			return cause
		}
		return err
	}
	return ended
}

// nextBatch cuts rows until the batch is full.
func (s *Source) nextBatch() (*batch, error) {
	b := &batch{rows: make([]Row, 0, batchRows), done: make(chan struct{})}
	held := 0
	for len(b.rows) < batchRows && held < batchBytes {
		b.rows = append(b.rows, Row{})
		row := &b.rows[len(b.rows)-1]
		if err := s.split(row); err != nil {
			b.rows = b.rows[:len(b.rows)-1]
			return b, err
		}
		held += len(row.Raw)
	}
	return b, nil
}
