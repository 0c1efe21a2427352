package desk

import (
	"context"
	"sync"
	"time"

	"tallybook/records"
)

// IntakeWork is what goes on, or went on last, with a file that was sent.
type IntakeWork struct {
	Token   string
	Name    string // the file's
	Accept  bool   // it is taken in; else it is rehearsed
	Begun   time.Time
	Ended   time.Time // zero while it goes on
	Read    int64     // bytes
	Size    int64     // bytes; 0 where that is not known
	Rows    int64
	Closing bool  // the rows are read, and what they come to is written
	Err     error // why it came to nothing
	Batch   int64 // what the file became
}

// Over says whether it has ended.
func (w *IntakeWork) Over() bool { return !w.Ended.IsZero() }

// works are what this program does with files that were sent: one at a time.
type works struct {
	mu     sync.Mutex
	last   map[string]*work // by token
	ending sync.WaitGroup
	shut   bool
}

type work struct {
	IntakeWork
	cancel context.CancelFunc
}

// of tells how it stands with a file; nil where nothing was begun since the
// program started.
func (ws *works) of(token string) *IntakeWork {
	ws.mu.Lock()
	defer ws.mu.Unlock()
	w := ws.last[token]
	if w == nil {
		return nil
	}
	out := w.IntakeWork
	return &out
}

// under is what goes on now, nil for nothing. ws.mu is held.
func (ws *works) under() *work {
	for _, w := range ws.last {
		if !w.Over() {
			return w
		}
	}
	return nil
}

// begin starts do in the background unless something goes on already.
func (ws *works) begin(ctx context.Context, w IntakeWork, do func(ctx context.Context, progress func(read, size, rows int64)) (int64, error)) error {
	ws.mu.Lock()
	defer ws.mu.Unlock()
	if ws.shut {
		return records.Errorf(records.Busy, "the program is ending")
	}
	if other := ws.under(); other != nil {
		if other.Token == w.Token && other.Accept == w.Accept {
			return nil // asked for twice
		}
		what := "rehearsed"
		if other.Accept {
			what = "taken in"
		}
		return records.Errorf(records.Busy, "one file at a time: “%s” is being %s just now, begun at %s. Wait until it is done, then ask again", other.Name, what, other.Begun.Format("15:04"))
	}
	// It goes on when the page is closed, and ends with the program.
	inner, cancel := context.WithCancel(context.WithoutCancel(ctx))
	x := &work{IntakeWork: w, cancel: cancel}
	if ws.last == nil {
		ws.last = map[string]*work{}
	}
	ws.last[w.Token] = x
	ws.ending.Add(1)
	go func() {
		defer ws.ending.Done()
		defer cancel()
		batch, err := do(inner, func(read, size, rows int64) {
			ws.mu.Lock()
			defer ws.mu.Unlock()
			x.Read, x.Size, x.Rows = read, size, rows
			x.Closing = size > 0 && read >= size
		})
		ws.mu.Lock()
		defer ws.mu.Unlock()
		x.Ended, x.Batch, x.Err = time.Now(), batch, err
	}()
	return nil
}

// close cancels what goes on and waits for it.
func (ws *works) close() {
	ws.mu.Lock()
	ws.shut = true
	if w := ws.under(); w != nil {
		w.cancel()
	}
	ws.mu.Unlock()
	ws.ending.Wait()
}

// IntakeWork tells how it stands with a file that was sent; nil where nothing
// was begun with it since the program started.
func (d *Desk) IntakeWork(actor records.Actor, token string) (*IntakeWork, error) {
	if err := d.Permit(actor, TakeInFile); err != nil {
		return nil, err
	}
	return d.works.of(token), nil
}

// CancelWork breaks off what goes on with a file: nothing of it is left.
func (d *Desk) CancelWork(actor records.Actor, token string) error {
	if err := d.Permit(actor, TakeInFile); err != nil {
		return err
	}
	d.works.mu.Lock()
	defer d.works.mu.Unlock()
	if w := d.works.last[token]; w != nil {
		w.cancel()
	}
	return nil
}
