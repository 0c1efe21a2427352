package desk

import (
	"context"
	"errors"
	"fmt"
	"sync"

	"tallybook/records"
	"tallybook/records/plates"
)

// pairShelf runs the search for records of one well in the background, one at
// a time. What it finds is kept in the store.
type pairShelf struct {
	mu      sync.Mutex
	cancel  context.CancelFunc // nil: nothing is under way
	done    int
	total   int
	err     error // why the last search of this process ended without a result
	closed  bool
	working sync.WaitGroup

	marks map[pairMarkKey]string // of records as they stand, see records.PairMark
}

type pairMarkKey struct{ id, revision int64 }

// PairState is what is known of the pairs: the latest search and the one that
// is under way.
type PairState struct {
	Run         records.PairRun // At zero: nobody has searched yet
	Changed     int64           // records written or taken out since
	Working     bool
	Done, Total int
	Err         error
}

// mostPairs is how many pairs are kept, the likeliest: more than an office
// decides in a year.
const mostPairs = 50000

// leastPair is the least probability at which a pair is kept.
const leastPair = 0.02

// PairState tells how far the search is, and how old its latest result.
func (d *Desk) PairState(ctx context.Context, actor records.Actor) (PairState, error) {
	st, err := look(ctx, d, actor, func(v records.StoreView) (PairState, error) {
		var st PairState
		var err error
		if st.Run, _, err = v.FoundPairs(ctx); err != nil || st.Run.At.IsZero() {
			return st, err
		}
		st.Changed, err = v.ChangedSince(ctx, st.Run.Commit)
		return st, err
	})
	s := &d.pairs
	s.mu.Lock()
	defer s.mu.Unlock()
	st.Working, st.Done, st.Total, st.Err = s.cancel != nil, s.done, s.total, s.err
	return st, err
}

// SearchPairs begins to search all records for those of one well, unless that
// is under way. It gives what is closed when it ends.
func (d *Desk) SearchPairs(ctx context.Context, actor records.Actor) (<-chan struct{}, error) {
	if err := d.Permit(actor, Edit); err != nil {
		return nil, err
	}
	s := &d.pairs
	s.mu.Lock()
	defer s.mu.Unlock()
	switch {
	case s.closed:
		return nil, records.Errorf(records.Busy, "the program is ending; search again when it is back")
	case s.cancel != nil:
		return nil, records.Errorf(records.Busy, "the search is under way already")
	}
	work, cancel := context.WithCancel(context.WithoutCancel(ctx))
	s.cancel, s.done, s.total, s.err = cancel, 0, 0, nil
	ended := make(chan struct{})
	s.working.Add(1)
	go func() {
		defer s.working.Done()
		defer close(ended)
		err := d.searchPairs(work, actor)
		cancel()
		s.mu.Lock()
		defer s.mu.Unlock()
		s.cancel = nil
		if err != nil && !errors.Is(err, context.Canceled) {
			s.err = err
			d.log.Error("searching for records of one well", "err", err)
		}
	}()
	return ended, nil
}

// StopPairs ends the search that is under way; what was found before stays.
func (d *Desk) StopPairs(_ context.Context, actor records.Actor) error {
	if err := d.Permit(actor, Edit); err != nil {
		return err
	}
	s := &d.pairs
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.cancel != nil {
		s.cancel()
	}
	return nil
}

func (s *pairShelf) close() {
	s.mu.Lock()
	s.closed = true
	if s.cancel != nil {
		s.cancel()
	}
	s.mu.Unlock()
	s.working.Wait()
}

func (s *pairShelf) progress(done, total int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.done, s.total = done, total
}

// searchPairs compares the records of one state and keeps what it finds.
func (d *Desk) searchPairs(ctx context.Context, actor records.Actor) error {
	var found *plates.Pairs
	var run records.PairRun
	uids := map[int64]string{}
	private := d.Permit(actor, SeePrivate) == nil
	err := d.store.View(ctx, func(v records.StoreView) error {
		var err error
		if found, err = plates.Duplicates(ctx, v, plates.Options{Owners: private, Progress: d.pairs.progress}); err != nil {
			return err
		}
		run.Commit, run.Records = v.Commit(), int64(found.Learned.Records)
		for i := range found.Pairs[:min(len(found.Pairs), mostPairs)] {
			for _, id := range [...]int64{found.Pairs[i].LeftID, found.Pairs[i].RightID} {
				if uids[id] == "" {
					if uids[id], err = v.UIDOf(ctx, id); err != nil {
						return err
					}
				}
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	var keep []records.FoundPair
	for i := range found.Pairs[:min(len(found.Pairs), mostPairs)] {
		p := &found.Pairs[i]
		if p.Probability < leastPair {
			break // they are in the order of their probability
		}
		found.Explain(p)
		keep = append(keep, foundPair(p, uids))
	}
	if found.Learned.Started > found.Learned.Matched {
		run.Note = fmt.Sprintf("There are few such pairs here (about %.0f), so how much each field says follows mostly from common experience and not from this office's own records.", found.Learned.Matched)
	}
	return d.update(ctx, actor, func(tx records.StoreTx) error { return tx.KeepPairs(ctx, &run, keep) })
}

// foundPair puts a pair in the order and the words in which pairs are kept.
func foundPair(p *plates.Pair, uids map[int64]string) records.FoundPair {
	out := records.FoundPair{A: uids[p.LeftID], B: uids[p.RightID], IDA: p.LeftID, IDB: p.RightID, Probability: min(p.Probability, 1)}
	turned := out.B < out.A
	if turned {
		out.A, out.B, out.IDA, out.IDB = out.B, out.A, out.IDB, out.IDA
	}
	for _, f := range p.Fields {
		r := records.PairReason{Name: f.Name, A: f.Left, B: f.Right, Agreement: f.Agreement, Level: f.Level, Weight: f.Weight, Words: f.Words, Private: f.Name == "owner"}
		if turned {
			r.A, r.B = r.B, r.A
		}
		out.Reasons = append(out.Reasons, r)
	}
	return out
}
