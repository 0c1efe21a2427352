// Package desk holds the use cases: everything a person does to a record, be
// it from a page or from the command line. Each asks Permit first, names its
// actor in every write, and keeps the picture of all wells in step with the
// store.
package desk

import (
	"context"
	"errors"
	"log/slog"
	"sync"
	"time"

	"tallybook/records"
	"tallybook/records/lithology"
	"tallybook/records/snapshot"
)

// Desk is where the work is done. It is safe for concurrent use.
type Desk struct {
	store      records.Store
	snap       *snapshot.Snapshot
	vocabulary *lithology.Vocabulary
	now        func() time.Time
	log        *slog.Logger
	models     models
	pasts      pastShelf
	plates     plateShelf
	pairs      pairShelf
	reviews    reviewShelf
	blind      bool
	program    string
	spool      spool
	works      works
	ground     groundShelf
	heights    heightsShelf
	levels     levelShelf
	copies     copyShelf

	stop    context.CancelFunc
	closing <-chan struct{} // closed when the desk is
	done    sync.WaitGroup
}

// Options are what a Desk is made with; Now, Vocabulary and Log have
// defaults.
type Options struct {
	Store      records.Store
	Vocabulary *lithology.Vocabulary
	Now        func() time.Time
	Log        *slog.Logger
	// Watch is how often the store is asked whether another process wrote;
	// 0: never, as for a single command.
	Watch time.Duration
	// NoPicture leaves the picture of all wells empty: for work that asks
	// nothing of it, such as taking a file in, on a database of any size.
	NoPicture bool
	// Spool is the folder for files that are sent and not yet taken in, beside
	// the database; "": one of the system's own, which goes with the desk.
	Spool string
	// Program names the program and its version, for what is kept of its work.
	Program string
}

// Open reads the picture of all wells and starts to watch the store. The
// desk closes the store when it is closed itself.
func Open(ctx context.Context, o Options) (*Desk, error) {
	if o.Store == nil {
		return nil, errors.New("desk: no store")
	}
	d := &Desk{store: o.Store, vocabulary: o.Vocabulary, now: o.Now, log: o.Log}
	if d.vocabulary == nil {
		d.vocabulary = lithology.Default()
	}
	if d.now == nil {
		d.now = time.Now
	}
	if d.log == nil {
		d.log = slog.New(slog.DiscardHandler)
	}
	d.models.init()
	d.spool.folder, d.program = o.Spool, o.Program
	if d.program == "" {
		d.program = "tallybook"
	}
	if d.blind = o.NoPicture; d.blind {
		d.snap = snapshot.Empty()
	} else {
		snap, err := snapshot.Open(ctx, o.Store)
		if err != nil {
			return nil, err
		}
		d.snap = snap
	}
	background, stop := context.WithCancel(context.WithoutCancel(ctx))
	d.stop, d.closing = stop, background.Done()
	if o.Watch > 0 && !d.blind {
		d.done.Add(2)
		go d.watch(background, o.Watch)
		go d.keepWords(background, o.Watch)
	}
	return d, nil
}

// Close stops what runs in the background and closes the store.
func (d *Desk) Close() error {
	d.works.close()
	left := d.copies.close()
	d.stop()
	d.done.Wait()
	d.pasts.close()
	d.pairs.close()
	d.reviews.close()
	d.snap.Settle()
	return errors.Join(left, d.store.Close(), d.spool.close())
}

// Picture is all wells as they stand now.
func (d *Desk) Picture() *snapshot.Picture { return d.snap.Picture() }

// Vocabulary is the materials that this office reads.
func (d *Desk) Vocabulary() *lithology.Vocabulary { return d.vocabulary }

// Refresh takes in what other programs wrote since the picture was made; a
// desk that watches does so by itself.
func (d *Desk) Refresh(ctx context.Context) error {
	if d.blind {
		return nil
	}
	_, err := d.snap.Refresh(ctx, d.store)
	return err
}

// watch takes in what other processes write.
func (d *Desk) watch(ctx context.Context, every time.Duration) {
	defer d.done.Done()
	tick := time.NewTicker(every)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
			_, err := d.snap.Refresh(ctx, d.store)
			if err == nil {
				err = d.takeInOutside(ctx)
			}
			if err != nil && ctx.Err() == nil && records.CodeOf(err) != records.Busy { // busy: the next time
				d.log.Warn("looking for changes by other programs", "err", err)
			}
		}
	}
}

// update writes in one transaction and then shows it to everybody.
func (d *Desk) update(ctx context.Context, actor records.Actor, fn func(records.StoreTx) error) error {
	if err := d.store.Update(ctx, actor, fn); err != nil {
		return err
	}
	if d.blind {
		return nil
	}
	if _, err := d.snap.Refresh(ctx, d.store); err != nil { // it is written all the same: the watch or the next write will show it
		d.log.Error("showing a write", "err", err)
	}
	return nil
}

// Validation is what records are held against today.
func (d *Desk) Validation() records.ValidateOptions { return ValidationAt(d.now(), d.vocabulary) }

// ValidationAt is what records are held against at a time, for those who read
// a file before they open a desk.
func ValidationAt(now time.Time, vocabulary *lithology.Vocabulary) records.ValidateOptions {
	t := now.UTC()
	return records.ValidateOptions{
		Today:  records.Date{Year: t.Year(), Month: int(t.Month()), Day: t.Day()},
		Reader: vocabulary,
	}
}
