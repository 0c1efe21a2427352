package desk

import (
	"context"
	"crypto/sha256"
	"errors"
	"sync"
	"time"

	"tallybook/records"
	"tallybook/records/plates"
)

// Up to these sizes the first reader waits for the plates to be matched, and they
// are matched anew by themselves whenever something was written; beyond them it
// is done when somebody asks. Ours, no source: so that nobody waits for long.
const (
	soonWells  = 20000
	soonPlates = 2000
)

// PlateRun is one matching of all plates against all records, as the data stood
// at a commit.
type PlateRun struct {
	Commit int64
	At     time.Time
	Result *plates.Result

	place map[int64]int    // of a plate in Result.Plates
	seen  map[int64]string // what was compared of each plate, to tell whether it changed
}

// seenRevision tells states of a plate apart by what is compared of it: a link
// that is made or undone changes nothing.
func seenRevision(p *records.Plate) string {
	x := *p
	x.Evidence = ""
	sum := sha256.Sum256(x.AppendPlate(nil))
	return string(sum[:8])
}

// revision is the seenRevision of a plate as it was matched.
func (r *PlateRun) revision(id int64) string {
	if r == nil {
		return ""
	}
	return r.seen[id]
}

// of is what was found for a plate; nil where it was not there yet.
func (r *PlateRun) of(id int64) *plates.PlateMatch {
	if r == nil {
		return nil
	}
	if i, ok := r.place[id]; ok {
		return &r.Result.Plates[i]
	}
	return nil
}

// PlateProgress tells how a matching stands that is under way, and how old the
// kept one is.
type PlateProgress struct {
	Running  bool
	Done, Of int
	Failed   string // why the latest matching failed
	// Wells and Plates count what was written since the kept one was made.
	Wells, Plates int64
}

// plateShelf keeps the latest matching of all plates.
type plateShelf struct {
	mu       sync.Mutex
	run      *PlateRun
	running  chan struct{} // closed when the one under way ends; nil: none is
	done, of int
	failed   error
	board    *PlateBoard
	boardAt  int64
	boardOf  *PlateRun
}

// MatchPlates begins to match all plates anew in the background, unless it is
// being done already.
func (d *Desk) MatchPlates(ctx context.Context, actor records.Actor) error {
	if err := d.Permit(actor, Look); err != nil {
		return err
	}
	d.matchBehind(ctx)
	return nil
}

// AwaitPlates waits for a matching of all plates as the data are now, for those
// who can wait.
func (d *Desk) AwaitPlates(ctx context.Context, actor records.Actor) error {
	if err := d.Permit(actor, Look); err != nil {
		return err
	}
	s := &d.plates
	for { // what is under way may have begun before the latest write
		if run := d.keptRun(); run != nil {
			if news, err := d.plateNews(ctx, run); err != nil || !news {
				return err
			}
		}
		select {
		case <-d.matchBehind(ctx):
		case <-ctx.Done():
			return ctx.Err()
		}
		s.mu.Lock()
		failed := s.failed
		s.mu.Unlock()
		if failed != nil {
			return failed
		}
	}
}

// matchBehind matches in the background and gives what is closed at its end.
func (d *Desk) matchBehind(ctx context.Context) <-chan struct{} {
	s := &d.plates
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.running != nil {
		return s.running
	}
	ended := make(chan struct{})
	s.running, s.done, s.of, s.failed = ended, 0, 0, nil
	background, stop := context.WithCancel(context.WithoutCancel(ctx))
	d.done.Add(2)
	go func() { // the desk's end ends it
		defer d.done.Done()
		select {
		case <-d.closing:
			stop()
		case <-ended:
		}
	}()
	go func() {
		defer d.done.Done()
		defer stop()
		run, err := d.matchAll(background, func(done, of int) {
			s.mu.Lock()
			s.done, s.of = done, of
			s.mu.Unlock()
		})
		s.mu.Lock()
		if err == nil {
			s.run = run
		} else if background.Err() == nil {
			s.failed = err
			d.log.Error("matching plates", "err", err)
		}
		s.running = nil
		s.mu.Unlock()
		close(ended)
	}()
	return ended
}

// matchAll matches every plate against every record. Links that hold are
// matched too: another record may fit better, or two may be exchanged.
func (d *Desk) matchAll(ctx context.Context, progress func(done, of int)) (*PlateRun, error) {
	run := &PlateRun{place: map[int64]int{}, seen: map[int64]string{}, At: d.now()}
	err := d.store.View(ctx, func(v records.StoreView) error {
		run.Commit = v.Commit()
		var all []*records.Plate
		if err := v.EachPlate(ctx, func(p *records.Plate) error {
			all = append(all, p)
			run.seen[p.ID] = seenRevision(p)
			return nil
		}); err != nil {
			return err
		}
		refused, err := refusedPairs(ctx, v)
		if err != nil {
			return err
		}
		run.Result, err = plates.Match(ctx, all, v, plates.Options{Feet: true, Refused: refused, Progress: progress})
		return err
	})
	if err != nil {
		return nil, err
	}
	for i := range run.Result.Plates {
		run.place[run.Result.Plates[i].PlateID] = i
	}
	return run, nil
}

// refusedPairs are those that somebody decided against.
func refusedPairs(ctx context.Context, v records.StoreView) (func(plate, well int64) bool, error) {
	type pair struct{ plate, well int64 }
	no := map[pair]bool{}
	named := map[int64][]string{}
	if err := v.EachPlateState(ctx, func(p *records.PlateState) error {
		if len(p.Decision.Refused) > 0 {
			named[p.ID] = p.Decision.Refused
		}
		return nil
	}); err != nil {
		return nil, err
	}
	for plate, uids := range named {
		for _, uid := range uids {
			well, err := v.WellIDByUID(ctx, uid)
			if records.CodeOf(err) == records.NotFound && err != nil {
				continue // taken out since
			}
			if err != nil {
				return nil, err
			}
			no[pair{plate, well}] = true
		}
	}
	return func(plate, well int64) bool { return no[pair{plate, well}] }, nil
}

// plateRun gives the matching to go by: the kept one, nil until there is one.
// Where there are few plates and records it is made while the first reader
// waits, and anew in the background whenever something was written that is no
// decision about plates; where there are many, when somebody asks.
func (d *Desk) plateRun(ctx context.Context) (*PlateRun, error) {
	run := d.keptRun()
	if run != nil {
		now, err := d.store.Changes(ctx)
		if err != nil || run.Commit >= now {
			return run, err
		}
		if news, err := d.plateNews(ctx, run); err != nil || !news {
			return run, err
		}
	}
	few, err := d.fewPlates(ctx)
	if err != nil {
		return nil, err
	}
	if run != nil {
		if few {
			d.matchBehind(ctx)
		}
		return run, nil
	}
	ended := d.matchBehind(ctx)
	if !few {
		return nil, nil
	}
	select {
	case <-ended:
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	s := &d.plates
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.run, s.failed
}

// keptRun is the latest matching; nil until there is one.
func (d *Desk) keptRun() *PlateRun {
	s := &d.plates
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.run
}

// plateNews says whether anything was written since a matching that changes
// what it would find.
func (d *Desk) plateNews(ctx context.Context, run *PlateRun) (bool, error) {
	var wells, plates int64
	err := d.store.View(ctx, func(v records.StoreView) (err error) {
		wells, plates, err = v.PlateNews(ctx, run.Commit)
		return err
	})
	return wells+plates > 0, err
}

// errEnough ends a count that has gone far enough.
var errEnough = errors.New("enough")

// fewPlates says whether all plates can be matched while somebody waits.
func (d *Desk) fewPlates(ctx context.Context) (few bool, err error) {
	err = d.store.View(ctx, func(v records.StoreView) error {
		wells, err := v.CountWells(ctx)
		if err != nil || wells > soonWells {
			return err
		}
		n := 0
		err = v.EachPlateState(ctx, func(*records.PlateState) error {
			if n++; n > soonPlates {
				return errEnough
			}
			return nil
		})
		if few = n <= soonPlates; errors.Is(err, errEnough) {
			err = nil
		}
		return err
	})
	return few, err
}

// PlateProgress tells how the matching stands.
func (d *Desk) PlateProgress(ctx context.Context, actor records.Actor) (PlateProgress, error) {
	var out PlateProgress
	if err := d.Permit(actor, Look); err != nil {
		return out, err
	}
	s := &d.plates
	s.mu.Lock()
	out.Running, out.Done, out.Of = s.running != nil, s.done, s.of
	if s.failed != nil {
		out.Failed = records.MessageOf(s.failed)
	}
	run := s.run
	s.mu.Unlock()
	if run == nil {
		return out, nil
	}
	return out, d.store.View(ctx, func(v records.StoreView) (err error) {
		out.Wells, out.Plates, err = v.PlateNews(ctx, run.Commit)
		return err
	})
}
