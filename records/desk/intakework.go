package desk

import (
	"context"
	"encoding/json"
	"errors"
	"sync"
	"time"

	"tallybook/records"
	"tallybook/records/importer"
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

// ChooseSent keeps what a person chose of a file: by which mapping it is read
// ("" as guessed), under which name that is kept, and of which intake it is a
// later copy. revision is that of the choice that the person saw.
func (d *Desk) ChooseSent(ctx context.Context, actor records.Actor, token string, revision int64, mapping *importer.Mapping, named string, copyOf int64) (*Sent, error) {
	s, err := d.SentFile(ctx, actor, token)
	if err != nil {
		return nil, err
	}
	if s.Revision != revision {
		return nil, records.Errorf(records.Conflict, "the columns of this file were mapped anew meanwhile, in another window or by somebody else: look at them again")
	}
	if w := d.works.of(token); w != nil && !w.Over() {
		return nil, records.Errorf(records.Busy, "the file is being worked on; wait until that is done, or cancel it")
	}
	s.Mapping, s.Named, s.CopyOf = "", named, copyOf
	if mapping != nil {
		s.Mapping = string(mapping.JSON())
	}
	s.Revision++
	s.Rehearsed = nil
	return s, d.putSent(s)
}

// openSent opens a file that was sent, by the mapping that was chosen.
func (d *Desk) openSent(s *Sent) (*importer.Source, error) {
	path, err := d.sentPath(s.Token)
	if err != nil {
		return nil, err
	}
	o, err := d.sentOptions(s)
	if err != nil {
		return nil, err
	}
	return importer.Open(path, o)
}

func (d *Desk) sentOptions(s *Sent) (importer.Options, error) {
	o := importer.Options{Name: s.Name, Validate: d.Validation()}
	if s.Mapping != "" {
		m, err := importer.ReadMapping([]byte(s.Mapping))
		if err != nil {
			return o, err
		}
		o.Mapping = m
	}
	return o, nil
}

// RehearseSent begins to rehearse a file that was sent. It goes on in the
// background: see IntakeWork and SentReport.
func (d *Desk) RehearseSent(ctx context.Context, actor records.Actor, token string) error {
	s, err := d.waiting(ctx, actor, token)
	if err != nil {
		return err
	}
	return d.works.begin(ctx, IntakeWork{Token: token, Name: s.Name, Begun: d.now(), Size: s.Size}, func(ctx context.Context, progress func(read, size, rows int64)) (int64, error) {
		return 0, d.rehearseSent(ctx, actor, s, progress)
	})
}

// waiting is a file that was sent and not accepted.
func (d *Desk) waiting(ctx context.Context, actor records.Actor, token string) (*Sent, error) {
	s, err := d.SentFile(ctx, actor, token)
	if err == nil && s.Batch != 0 {
		err = records.Errorf(records.Conflict, "this file was accepted already, as intake %d", s.Batch)
	}
	return s, err
}

func (d *Desk) rehearseSent(ctx context.Context, actor records.Actor, s *Sent, progress func(read, size, rows int64)) error {
	if err := d.guessMapping(s); err != nil {
		return err
	}
	src, err := d.openSent(s)
	if err != nil {
		return err
	}
	tally, kept, err := d.rehearse(ctx, actor, Intake{Source: src, Name: s.Name, Progress: progress, CopyOf: s.CopyOf, Mapping: s.Mapping, Named: s.Named})
	if err := errors.Join(err, src.Close()); err != nil {
		return err
	}
	text, err := json.Marshal(kept)
	if err != nil {
		return err
	}
	if err := d.writeSent(s.Token, sentReport, text); err != nil {
		return err
	}
	now, err := d.SentFile(ctx, actor, s.Token)
	if err != nil {
		return err
	}
	now.Mapping = s.Mapping
	now.Rehearsed = &Rehearsed{At: d.now().UTC(), Tally: *tally}
	return d.putSent(now)
}

// guessMapping has a table that nobody mapped read as it seems to be.
func (d *Desk) guessMapping(s *Sent) error {
	if s.Mapping != "" {
		return nil
	}
	path, err := d.sentPath(s.Token)
	if err != nil {
		return err
	}
	l, err := importer.LookAt(path, importer.Options{Name: s.Name, Validate: d.Validation()})
	if err != nil || l.Format == importer.GeoJSON {
		return err
	}
	s.Mapping = string(importer.Guess(l).JSON())
	return nil
}

// SentReport is the row report of the last rehearsal of a file; NotFound
// where it was not rehearsed since its columns were mapped.
func (d *Desk) SentReport(ctx context.Context, actor records.Actor, token string) (*Report, error) {
	s, err := d.SentFile(ctx, actor, token)
	if err != nil {
		return nil, err
	}
	if s.Rehearsed == nil {
		return nil, records.Errorf(records.NotFound, "the file was not rehearsed since its columns were mapped")
	}
	text, err := d.readSent(token, sentReport)
	if err != nil {
		return nil, err
	}
	kept := &records.IntakeReport{}
	if err := json.Unmarshal(text, kept); err != nil {
		return nil, records.WrapError(records.Internal, err, "the row report cannot be read; rehearse the file again")
	}
	return d.report(actor, kept)
}

// AcceptSent begins to take in a file that was sent and rehearsed. revision is
// that of the choice that was rehearsed.
func (d *Desk) AcceptSent(ctx context.Context, actor records.Actor, token string, revision int64) error {
	s, err := d.waiting(ctx, actor, token)
	switch {
	case err != nil:
		return err
	case s.Revision != revision:
		return records.Errorf(records.Conflict, "the columns of this file were mapped anew meanwhile: rehearse it again before it is accepted")
	case s.Rehearsed == nil:
		return records.Errorf(records.Conflict, "the file was not rehearsed since its columns were mapped: do that first")
	}
	return d.works.begin(ctx, IntakeWork{Token: token, Name: s.Name, Accept: true, Begun: d.now(), Size: s.Size}, func(ctx context.Context, progress func(read, size, rows int64)) (int64, error) {
		return d.acceptSent(ctx, actor, s, progress)
	})
}

func (d *Desk) acceptSent(ctx context.Context, actor records.Actor, s *Sent, progress func(read, size, rows int64)) (int64, error) {
	src, err := d.openSent(s)
	if err != nil {
		return 0, err
	}
	b, err := d.TakeIn(ctx, actor, Intake{Source: src, Name: s.Name, Progress: progress, CopyOf: s.CopyOf, Mapping: s.Mapping, Named: s.Named})
	if err := errors.Join(err, src.Close()); err != nil {
		return 0, err
	}
	// It is in, whatever becomes of the file that was sent.
	s.Batch = b.ID
	if err := d.putSent(s); err != nil {
		d.log.Warn("noting that a file was taken in", "err", err)
	}
	if err := d.removeSentFile(s.Token); err != nil {
		d.log.Warn("taking away a file that was taken in", "err", err)
	}
	return b.ID, nil
}

// IntakeReport is the row report of an intake; NotFound where none was kept,
// as of those taken in by earlier versions of the program.
func (d *Desk) IntakeReport(ctx context.Context, actor records.Actor, batch int64) (*Report, error) {
	kept, err := look(ctx, d, actor, func(v records.StoreView) (*records.IntakeReport, error) { return v.IntakeReport(ctx, batch) })
	if err != nil {
		return nil, err
	}
	return d.report(actor, kept)
}

// Intake is one file that was taken in.
func (d *Desk) Intake(ctx context.Context, actor records.Actor, id int64) (*records.Batch, error) {
	all, err := d.Intakes(ctx, actor)
	if err != nil {
		return nil, err
	}
	for i := range all {
		if all[i].ID == id {
			return &all[i], nil
		}
	}
	return nil, records.Errorf(records.NotFound, "there is no intake %d", id)
}
