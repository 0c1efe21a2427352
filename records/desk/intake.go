package desk

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"sync"

	"golang.org/x/sync/errgroup"

	"tallybook/records"
	"tallybook/records/importer"
)

// chunkWells is how many wells are written in one transaction while a file is
// taken in: few enough that an edit at the same time waits less than a second,
// and many, since each transaction writes most pages of the indexes of public
// names and places again.
const chunkWells = 6144

// firstChunk is how many the first of them holds, the next twice as many and
// so on: a file that cannot be written is known soon.
const firstChunk = 1024

// Intake is how a file is taken in. What it is given to call is called by
// several goroutines, one at a time.
type Intake struct {
	Source *importer.Source
	Name   string // the file's name, for the record of intakes
	// Refused is given every row that is kept out; nil: they are counted only.
	Refused *importer.Refusals
	// Told is shown every row that is refused, or taken in with something to
	// look at; may be nil.
	Told func(*importer.Row)
	// Accepted is shown every row that was taken in, of whose Well only
	// Extra is kept until then; may be nil.
	Accepted func(*importer.Row)
	// Progress may be nil; size is 0 where it is not known.
	Progress func(bytesRead, size, rows int64)
	// Mapping is the mapping by which the source is read, JSON, and Named its
	// name, to be kept with the intake; may be "".
	Mapping, Named string
	// CopyOf is the intake of which the source is a later copy, 0 for none: its
	// rows are then compared with the records that came in before.
	CopyOf int64
}

// TakeIn takes a file in: all of it or, when it breaks off or is interrupted,
// nothing. Rows are staged out of sight in chunks and published by one short
// commit at the end, so that nobody sees half a file and nobody waits long.
// Rows read are rows accepted and rows refused, always.
func (d *Desk) TakeIn(ctx context.Context, actor records.Actor, in Intake) (*records.Batch, error) {
	if err := d.Permit(actor, TakeInFile); err != nil {
		return nil, err
	}
	release, err := d.oneIntake(ctx, actor)
	if err != nil {
		return nil, err
	}
	b, err := d.takeIn(ctx, actor, in)
	return b, errors.Join(err, release())
}

func (d *Desk) takeIn(ctx context.Context, actor records.Actor, in Intake) (*records.Batch, error) {
	later, err := d.beginCopy(ctx, in.CopyOf)
	if err != nil {
		return nil, err
	}
	b := &records.Batch{Source: in.Name, By: actor.Name, State: "staged", CopyOf: in.CopyOf}
	err = d.store.Update(ctx, actor, func(tx records.StoreTx) error {
		b.StartedAt = tx.Now()
		return tx.PutBatch(ctx, b)
	})
	if err != nil {
		return nil, fmt.Errorf("beginning an intake: %w", err)
	}
	bulk, ok := d.store.(records.BulkStore)
	if !ok {
		return nil, errors.New("desk: the store takes no files in")
	}
	t := &intake{d: d, in: in, actor: actor, batch: b, bulk: bulk, most: firstChunk, chunks: make(chan []*importer.Row),
		report: newReportWriter(in.Source, in.Name), copy: later, ids: map[int64]int64{}, legal: legalFinder{store: d.store}}
	t.report.about.Mapping, t.report.about.Named = in.Mapping, in.Named
	err = t.read(ctx)
	if err == nil {
		err = bulk.PlaceBatch(ctx, actor, b.ID)
	}
	if err == nil {
		err = t.publish(ctx)
	}
	if err == nil {
		return b, nil
	}
	if e := d.withdraw(ctx, actor, b); e != nil {
		why := records.MessageOf(err)
		if ctx.Err() != nil {
			why = "the intake was interrupted"
		}
		return nil, records.WrapError(records.CodeOf(err), errors.Join(err, e),
			"%s. Nobody sees anything of the file; what was staged of it could not be taken out yet, and the next intake does that first", why)
	}
	return nil, err
}

// claimer is a store that can tell whether another program is at the same
// work.
type claimer interface {
	Claim(what string) (release func() error, held bool, err error)
}

// oneIntake keeps other intakes out, and takes out what one left behind that
// was not finished because its program ended: no other can be under way.
func (d *Desk) oneIntake(ctx context.Context, actor records.Actor) (release func() error, err error) {
	c, ok := d.store.(claimer)
	if !ok {
		return func() error { return nil }, nil
	}
	release, held, err := c.Claim("intake")
	if err != nil || !held {
		return release, err
	}
	left, err := d.unfinished(ctx)
	for i := range left {
		if err == nil {
			d.log.Info("taking out what an intake left that was not finished", "file", left[i].Source, "begun", left[i].StartedAt)
			err = d.withdraw(ctx, actor, &left[i])
		}
	}
	if err != nil {
		return nil, errors.Join(fmt.Errorf("taking out what an unfinished intake left: %w", err), release())
	}
	return release, nil
}

// unfinished lists the intakes that are staged.
func (d *Desk) unfinished(ctx context.Context) (left []records.Batch, err error) {
	err = d.store.View(ctx, func(v records.StoreView) error {
		all, err := v.Batches(ctx)
		for _, b := range all {
			if b.State == "staged" {
				left = append(left, b)
			}
		}
		return err
	})
	return left, err
}

// intake is a file while it is taken in.
type intake struct {
	d     *Desk
	in    Intake
	actor records.Actor
	batch *records.Batch
	bulk  records.BulkStore

	plain   records.Well         // stands for a record that has been made ready
	chunk   []*importer.Row      // of the goroutine that reads
	most    int                  // how many it takes
	chunks  chan []*importer.Row // to the one that writes
	telling sync.Mutex           // held while the intake's functions are called

	// Of the goroutine that writes.
	report *reportWriter
	ids    map[int64]int64 // records of the chunk's rows with something to look at, by the row
	copy   *laterCopy      // nil: the source is no later copy

	legal legalFinder
}

// read reads the file to its end while what was read is written: the rows are
// decoded and made ready by all processors, and one goroutine writes them.
func (t *intake) read(ctx context.Context) error {
	group, inner := errgroup.WithContext(ctx)
	group.Go(func() error {
		for chunk := range t.chunks {
			if err := t.write(inner, chunk); err != nil {
				return err
			}
		}
		return nil
	})
	group.Go(func() error {
		defer close(t.chunks)
		err := importer.PipelineWith(inner, t.in.Source, runtime.GOMAXPROCS(0), t.ready, func(r *importer.Row) error { return t.row(inner, r) })
		if err == nil && len(t.chunk) > 0 {
			err = t.hand(inner)
		}
		return err
	})
	err := group.Wait()
	if cause := ctx.Err(); err != nil && cause != nil && errors.Is(err, context.Canceled) {
		return cause
	}
	return err
}

// ready makes what is written of a row.
func (t *intake) ready(r *importer.Row) (err error) {
	if r.Refused() {
		return nil
	}
	if err := t.legal.locate(context.Background(), r); err != nil {
		return err
	}
	w := r.Well
	w.ID, w.Revision = 0, 0
	if w.Provenance.Source == "" {
		w.Provenance.Source = "batch"
	}
	w.Provenance.Batch, w.Provenance.Row = t.batch.ID, r.Number
	if r.Ready, err = t.bulk.Ready(w); err != nil {
		return fmt.Errorf("row %d: %w", r.Number, err)
	}
	return nil
}

// row takes the next row.
func (t *intake) row(ctx context.Context, r *importer.Row) error {
	t.batch.Read++
	if !r.Refused() {
		if r.Ready.UID() != r.Well.UID { // its name was settled since
			if err := t.ready(r); err != nil {
				return err
			}
		}
		// Thousands of rows wait to be written: the whole records would take
		// more memory than what is made ready of them.
		if t.copy != nil {
			// it is compared
		} else if len(r.Well.Extra) == 0 {
			r.Well = &t.plain
		} else {
			r.Well = &records.Well{Extra: r.Well.Extra}
		}
	}
	t.chunk = append(t.chunk, r)
	if t.in.Progress != nil && t.batch.Read%500 == 0 {
		done, size := t.in.Source.Done()
		t.telling.Lock()
		t.in.Progress(done, size, t.batch.Read)
		t.telling.Unlock()
	}
	if len(t.chunk) >= t.most {
		return t.hand(ctx)
	}
	return nil
}

// hand hands the chunk to the goroutine that writes.
func (t *intake) hand(ctx context.Context) error {
	select {
	case t.chunks <- t.chunk:
		t.most = min(2*t.most, chunkWells)
		t.chunk = make([]*importer.Row, 0, t.most)
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// write writes a chunk in one transaction and accounts for its rows.
func (t *intake) write(ctx context.Context, chunk []*importer.Row) error {
	clear(t.ids)
	err := t.d.store.Update(ctx, t.actor, func(tx records.StoreTx) error { return t.add(ctx, tx, chunk) })
	if err != nil {
		return fmt.Errorf("writing rows up to %d: %w", chunk[len(chunk)-1].Number, err)
	}
	t.telling.Lock()
	defer t.telling.Unlock()
	for _, r := range chunk {
		if len(r.Faults) > 0 {
			if t.in.Told != nil {
				t.in.Told(r)
			}
			if err := t.report.add(r, t.ids[r.Number]); err != nil {
				return err
			}
		}
		if !r.Refused() {
			t.batch.Accepted++
			if t.in.Accepted != nil {
				t.in.Accepted(r)
			}
			if r.Warned() {
				t.batch.Warned++
			}
			continue
		}
		t.batch.Refused++
		if t.in.Refused != nil {
			if err := t.in.Refused.Write(r); err != nil {
				return err
			}
		}
	}
	return nil
}

// add puts rows into the store, and refuses those whose wells are there
// already.
func (t *intake) add(ctx context.Context, tx records.StoreTx, chunk []*importer.Row) error {
	bulk, ok := tx.(records.BulkTx)
	if !ok {
		return errors.New("desk: the store takes no files in")
	}
	rows := make([]*importer.Row, 0, len(chunk))
	ready := make([]records.ReadyWell, 0, len(chunk))
	for _, r := range chunk {
		if r.Refused() {
			t.copy.refused(r)
			continue
		}
		known := false
		if t.copy != nil {
			var err error
			if known, err = t.copy.row(ctx, tx, r, t.batch, tx); err != nil {
				return fmt.Errorf("row %d: %w", r.Number, err)
			}
		}
		if !known {
			rows, ready = append(rows, r), append(ready, r.Ready)
		}
	}
	ids, there, err := bulk.AddWells(ctx, ready)
	if err != nil {
		return err
	}
	for i, r := range rows {
		if there[i] != 0 {
			r.Faults = append(r.Faults, thereAlready(there[i]))
			continue
		}
		if len(r.Faults) > 0 {
			t.ids[r.Number] = ids[i]
		}
		for _, p := range r.Plates {
			p.WellID, p.LinkedBy, p.LinkedAt = ids[i], t.actor.Name, tx.Now()
			if err := tx.PutPlate(ctx, p, ""); err != nil {
				return err
			}
		}
	}
	return nil
}

// publish makes the whole intake visible.
func (t *intake) publish(ctx context.Context) error {
	if t.in.Refused != nil {
		if err := t.in.Refused.Close(); err != nil {
			return err
		}
	}
	kept, _, err := t.report.end()
	if err != nil {
		return err
	}
	kept.Batch = t.batch.ID
	t.batch.SHA256 = t.in.Source.SHA256()
	t.batch.State = "published"
	return t.d.update(ctx, t.actor, func(tx records.StoreTx) error {
		if t.copy != nil {
			if err := t.copy.publish(ctx, tx, t.batch); err != nil {
				return err
			}
		}
		if err := tx.PutIntakeReport(ctx, kept); err != nil {
			return err
		}
		return tx.PutBatch(ctx, t.batch)
	})
}

// withdraw takes out what was staged, also after an interruption.
func (d *Desk) withdraw(ctx context.Context, actor records.Actor, b *records.Batch) error {
	ctx = context.WithoutCancel(ctx)
	b.State = "withdrawn"
	return d.store.Update(ctx, actor, func(tx records.StoreTx) error {
		if _, _, err := tx.RemoveBatch(ctx, b.ID, "the intake was not finished"); err != nil {
			return err
		}
		return tx.PutBatch(ctx, b)
	})
}
